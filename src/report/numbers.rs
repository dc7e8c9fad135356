//! Numbers as people read them.

/// A typographic minus; a hyphen is too short beside digits.
const MINUS: char = '\u{2212}';
/// Narrow no-break space, the separator of thousands in SI texts (BIPM SI brochure, 5.4.4).
const THIN: char = '\u{202F}';
/// Numbers from here on get separators.
const GROUP_FROM: usize = 5;
/// What stands for an absent number.
const ABSENT: &str = "\u{2013}";

/// `value` with a fixed number of decimals, thousands grouped from 10 000 on; a dash when not finite.
#[must_use]
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return ABSENT.into();
    }
    let text = format!("{:.decimals$}", value.abs());
    let (whole, rest) = text.split_once('.').unwrap_or((&text, ""));
    let mut out = String::new();
    if value < 0.0 && text.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
        out.push(MINUS);
    }
    for (i, digit) in whole.chars().enumerate() {
        let left = whole.len() - i;
        if i > 0 && left % 3 == 0 && whole.len() >= GROUP_FROM {
            out.push(THIN);
        }
        out.push(digit);
    }
    if !rest.is_empty() {
        out.push('.');
        out.push_str(rest);
    }
    out
}

/// `value` rounded to `digits` significant digits, without trailing decimals that say nothing more.
#[must_use]
pub(crate) fn significant(value: f64, digits: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return fixed(value, 0);
    }
    let rounded = round_significant(value, digits);
    #[allow(clippy::cast_possible_truncation)] // a decimal exponent is within +-324
    let magnitude = rounded.abs().log10().floor() as i32;
    fixed(rounded, decimals_for(digits - 1 - magnitude))
}

/// A number as text without decimals that are zero: for numbers that somebody gave, where an idle zero would claim a
/// measurement.
#[must_use]
pub(crate) fn trimmed(text: String) -> String {
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// `value` rounded to `digits` significant digits.
#[must_use]
pub(crate) fn round_significant(value: f64, digits: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let unit = 10f64.powf(value.abs().log10().floor() - f64::from(digits - 1));
    (value / unit).round() * unit
}

/// `value` as a computer writes it (1.1e-8), for numbers of which only the size matters.
#[must_use]
pub(crate) fn power_of_ten(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return fixed(value, 0);
    }
    format!("{value:.1e}")
}

/// A share (0..1) in per cent, without the sign.
#[must_use]
pub(crate) fn percent(share: f64, decimals: usize) -> String {
    fixed(share * 100.0, decimals)
}

fn decimals_for(wanted: i32) -> usize {
    usize::try_from(wanted).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thousands_are_grouped_and_minus_is_a_minus() {
        assert_eq!(fixed(12_345.678, 1), "12\u{202F}345.7");
        assert_eq!(fixed(1234.0, 0), "1234");
        assert_eq!(fixed(-0.5, 1), "\u{2212}0.5");
        assert_eq!(fixed(-0.01, 1), "0.0");
        assert_eq!(fixed(f64::NAN, 1), "\u{2013}");
        assert_eq!(fixed(f64::INFINITY, 1), "\u{2013}");
    }

    #[test]
    fn significant_digits_round_up_across_a_power_of_ten() {
        assert_eq!(significant(9.96, 2), "10");
        assert_eq!(significant(0.012_34, 2), "0.012");
        assert_eq!(significant(347.0, 2), "350");
        assert_eq!(significant(-347.0, 2), "\u{2212}350");
        assert_eq!(significant(0.0, 2), "0");
        assert_eq!(
            ["1.0", "0.50", "100"].map(|t| trimmed(t.into())),
            ["1", "0.5", "100"]
        );
        assert_eq!(significant(123_456.0, 3), "123\u{202F}000");
    }
}
