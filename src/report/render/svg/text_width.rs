//! How wide a text will be, without asking a font.
//!
//! The widths are those of DejaVu Sans 2.37, in thousandths of the size: a wide face, and the one
//! that PNG files are set in, so that a text in the reader's own font takes rather less room.

/// Advance widths of the characters U+0020 to U+007E.
#[rustfmt::skip]
const ASCII: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
    636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
    1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
    603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
    500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
    635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];
/// Latin letters with marks, Greek and the like are hardly wider than this.
const OTHER: u16 = 838;
/// Everything from here on (East Asian scripts, pictures) may fill a square and a little.
const SQUARE_FROM: u32 = 0x1100;
const SQUARE: u16 = 1050;
/// The bold cut against the regular one, on the mean over ASCII (1.115), rounded up.
const BOLD: f64 = 1.13;

/// Width \[px\] of `text` set at `size` \[px\].
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    let sum: u32 = text.chars().map(|c| u32::from(advance(c))).sum();
    f64::from(sum) / 1000.0 * size
}

/// As [`wrap`], for text set bold.
pub(super) fn wrap_bold(text: &str, size: f64, width: f64) -> Vec<String> {
    wrap(text, BOLD * size, width)
}

fn advance(c: char) -> u16 {
    let code = c as u32;
    let ascii = code.checked_sub(0x20).and_then(|i| usize::try_from(i).ok());
    match ascii.and_then(|i| ASCII.get(i)) {
        Some(width) => *width,
        None if c == '\u{202F}' => 200,
        None if (0x2000..0x3000).contains(&code) || code < SQUARE_FROM => OTHER,
        None => SQUARE,
    }
}

/// `text` cut at a character so that it fits `width` \[px\], with an ellipsis where cut.
pub(super) fn fit(text: &str, size: f64, width: f64) -> String {
    if text_width(text, size) <= width {
        return text.into();
    }
    let mut out = String::new();
    for c in text.chars() {
        let longer = format!("{out}{c}\u{2026}");
        if text_width(&longer, size) > width {
            break;
        }
        out.push(c);
    }
    out.push('\u{2026}');
    out
}

/// `text` broken at spaces into lines of at most `width` \[px\]; a longer word keeps its own line.
pub(super) fn wrap(text: &str, size: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), size) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.into()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten digits of DejaVu Sans at 1000 units are 6360 wide (its horizontal metrics table: 1303/2048 em each).
    #[test]
    fn digits_are_as_wide_as_the_face_says() {
        assert!((text_width("0123456789", 1000.0) - 10_000.0 * 1303.0 / 2048.0).abs() < 5.0);
    }

    #[test]
    fn wrapped_and_fitted_lines_stay_within_the_width() {
        let text =
            "acetic acid, propionic acid and butyric acid in the liquor of the second vessel";
        for width in [60.0, 90.0, 200.0] {
            for line in wrap(text, 12.0, width) {
                assert!(text_width(&line, 12.0) <= width || !line.contains(' '));
            }
            assert!(text_width(&fit(text, 12.0, width), 12.0) <= width);
        }
        assert_eq!(wrap(text, 12.0, 1e4), vec![text.to_owned()]);
    }
}
