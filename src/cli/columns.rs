//! Text in aligned columns.

/// Side on which a column lines up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// Rows as lines, every column as wide as its widest cell, two blanks between them, no blanks at the ends.
pub(super) fn lines(sides: &[Side], rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        rows.iter()
            .filter_map(|row| row.get(column))
            .map(|cell| cell.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..sides.len()).map(width).collect();
    let mut text = String::new();
    for row in rows {
        let cells = row
            .iter()
            .zip(sides)
            .zip(&widths)
            .map(|((cell, side), width)| match side {
                Side::Left => format!("{cell:<width$}"),
                Side::Right => format!("{cell:>width$}"),
            });
        text.push_str(cells.collect::<Vec<_>>().join("  ").trim_end());
        text.push('\n');
    }
    text
}

/// A text broken into lines of at most `width` characters, each after `indent` blanks; a longer word stands alone.
pub(super) fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let margin = " ".repeat(indent);
    let mut out = String::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = line.chars().count() + 1 + word.chars().count() + indent;
        if !line.is_empty() && longer > width {
            out.push_str(&format!("{margin}{line}\n"));
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        out.push_str(&format!("{margin}{line}\n"));
    }
    out
}

/// A number with about three digits that count.
pub(super) fn short(value: f64) -> String {
    let decimals = match value.abs() {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 0.1 => 2,
        0.0 => 0,
        _ => 3,
    };
    // Adding zero turns a negative zero into a plain one.
    format!("{:.decimals$}", value + 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up_and_lines_end_at_their_last_word() {
        let rows = vec![
            vec!["a".into(), "1.5".into(), "x".into()],
            vec!["méthane".into(), "10".into(), String::new()],
        ];
        assert_eq!(
            lines(&[Side::Left, Side::Right, Side::Left], &rows),
            "a        1.5  x\nméthane   10\n"
        );
    }

    #[test]
    fn text_keeps_within_its_width() {
        assert_eq!(wrapped("one two three", 9, 2), "  one two\n  three\n");
        assert_eq!(wrapped("unbreakable", 4, 0), "unbreakable\n");
        assert_eq!(wrapped("", 4, 0), "");
    }

    #[test]
    fn numbers_have_about_three_digits() {
        let shown: Vec<String> = [0.0, -0.0, 0.0123, 0.123, 1.234, 12.34, 1234.5]
            .map(short)
            .to_vec();
        assert_eq!(shown, ["0", "0", "0.012", "0.12", "1.23", "12.3", "1234"]);
    }
}
