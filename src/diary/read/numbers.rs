//! Numbers as people write them in a table: decimal point or comma, with or without a unit.

use super::units::Quantity;

/// What parts whole from fraction in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Decimal {
    /// 7.1
    Point,
    /// 7,1
    Comma,
}

impl Decimal {
    fn mark(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }

    /// As people call it.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// What the cells of a file show of its decimal mark.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Evidence {
    points: usize,
    commas: usize,
    /// Three digits after a comma: a fraction or thousands.
    either: usize,
}

impl Evidence {
    /// Looks at one cell of numbers.
    pub(crate) fn see(&mut self, cell: &str) {
        let (digits, _) = split(cell);
        let tail = |mark: char| digits.rsplit_once(mark).map(|(_, tail)| tail.len());
        match (tail('.'), tail(',')) {
            (None, Some(3)) => self.either += 1,
            (None, Some(_)) => self.commas += 1,
            (Some(n), None) if n != 3 => self.points += 1,
            _ => {}
        }
    }

    /// The mark of the file, and whether the file has both.
    pub(crate) fn decide(self, comma_separates: bool) -> (Decimal, bool) {
        let comma =
            self.commas > self.points || (self.points == 0 && self.either > 0 && !comma_separates);
        let mark = if comma {
            Decimal::Comma
        } else {
            Decimal::Point
        };
        (mark, self.commas > 0 && self.points > 0)
    }
}

/// The digits at the front of a cell, and the rest.
pub(crate) fn split(cell: &str) -> (&str, &str) {
    let cell = cell.trim();
    let part_of = |(i, c): (usize, char)| {
        let exponent = matches!(c, 'e' | 'E')
            && i > 0
            && cell[i + 1..].starts_with(|n: char| n.is_ascii_digit() || n == '-')
            && cell[..i].ends_with(|p: char| p.is_ascii_digit());
        let sign =
            matches!(c, '-' | '+' | '\u{2212}') && (i == 0 || cell[..i].ends_with(['e', 'E']));
        exponent
            || sign
            || c.is_ascii_digit()
            || matches!(c, '.' | ',' | '\'' | '\u{a0}' | '\u{202f}')
    };
    let end = cell
        .char_indices()
        .find(|found| !part_of(*found))
        .map_or(cell.len(), |(i, _)| i);
    let (digits, rest) = cell.split_at(end);
    (
        digits.trim_end_matches([',', '.', '\'', '\u{a0}']),
        rest.trim(),
    )
}

/// A plain number; `None` where the digits make none.
pub(crate) fn plain(digits: &str, decimal: Decimal) -> Option<f64> {
    let bare: String = digits
        .chars()
        .filter(|c| !matches!(c, '\'' | '\u{a0}' | '\u{202f}'))
        .map(|c| if c == '\u{2212}' { '-' } else { c })
        .collect();
    if !bare.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let count = |mark: char| bare.matches(mark).count();
    let mark = match (count('.'), count(',')) {
        (0, 0) => None,
        (0, 1) => single(&bare, ',', decimal),
        (1, 0) => single(&bare, '.', decimal),
        (0, _) | (_, 0) => None,
        (points, commas) => {
            // The last one parts the fraction, and there is one of it only.
            let last = if bare.rfind('.') > bare.rfind(',') {
                ('.', points)
            } else {
                (',', commas)
            };
            (last.1 == 1).then_some(last.0)?.into()
        }
    };
    let (whole, fraction) = match mark.and_then(|mark| bare.split_once(mark)) {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (bare.as_str(), None),
    };
    if whole.contains(['.', ',']) && !is_grouped(whole) {
        return None;
    }
    let mut clean: String = whole.chars().filter(|c| !matches!(c, '.' | ',')).collect();
    if let Some(fraction) = fraction {
        clean.push('.');
        clean.push_str(fraction);
    }
    clean.parse().ok().filter(|v: &f64| v.is_finite())
}

/// Whether a lone mark parts the fraction: not where it is the other mark and three digits follow.
fn single(bare: &str, mark: char, decimal: Decimal) -> Option<char> {
    let thousands = mark != decimal.mark() && is_grouped(bare);
    (!thousands).then_some(mark)
}

/// Whether marks stand before each three digits.
fn is_grouped(whole: &str) -> bool {
    let mut groups = whole.trim_start_matches(['-', '+']).split(['.', ',']);
    let digits = |g: &str| !g.is_empty() && g.bytes().all(|b| b.is_ascii_digit());
    let first = groups
        .next()
        .is_some_and(|g| g.len() <= 3 && digits(g) && g != "0");
    first && groups.all(|g| g.len() == 3 && digits(g))
}

/// Whether a lone comma with three digits behind it may part thousands or a fraction: 1,234 but not 0,125.
pub(crate) fn may_be_thousands(text: &str) -> bool {
    let (digits, _) = split(text);
    digits.matches(',').count() == 1 && !digits.contains('.') && is_grouped(digits)
}

/// A measured number in the unit of the record. The unit of the cell goes before that of the heading.
///
/// # Errors
/// What is wrong with it, as the end of a sentence.
pub(crate) fn measured(
    cell: &str,
    quantity: Quantity,
    heading: Option<(f64, f64)>,
    decimal: Decimal,
) -> Result<f64, &'static str> {
    let bare = cell.trim().trim_start_matches(['~', '\u{2248}']).trim();
    let (digits, rest) = split(bare);
    let value = plain(digits, decimal).ok_or("is no number")?;
    let (factor, offset) = if rest.is_empty() {
        heading.unwrap_or((1.0, 0.0))
    } else {
        quantity
            .unit(rest)
            .ok_or("has a unit that is not known here")?
    };
    Ok(value * factor + offset)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_commas_and_thousands() {
        use Decimal::{Comma, Point};
        for (text, mark, value) in [
            ("7.1", Point, 7.1),
            ("7,1", Point, 7.1),
            ("7,1", Comma, 7.1),
            ("1.234", Point, 1.234),
            ("1.234", Comma, 1234.0),
            ("1,234", Point, 1234.0),
            ("1,234", Comma, 1.234),
            ("0,125", Point, 0.125),
            ("1.234,5", Point, 1234.5),
            ("1,234.5", Comma, 1234.5),
            ("1'234.5", Point, 1234.5),
            ("1,234,567", Point, 1_234_567.0),
            ("-3", Point, -3.0),
            ("\u{2212}3,5", Comma, -3.5),
            ("1e3", Point, 1000.0),
        ] {
            assert_eq!(plain(text, mark), Some(value), "{text}");
        }
        for text in ["", "-", "1.2.3", "1,2,3", "1.2,3.4", "--3", "1-2", "."] {
            assert_eq!(plain(text, Decimal::Point), None, "{text}");
        }
    }

    #[test]
    fn units_of_cells_and_headings() {
        let read = |cell, quantity, heading| measured(cell, quantity, heading, Decimal::Point);
        assert_eq!(read("2 kg", Quantity::Mass, None), Ok(2.0));
        assert_eq!(read("250g", Quantity::Mass, None), Ok(0.25));
        assert_eq!(read("250", Quantity::Mass, Some((0.001, 0.0))), Ok(0.25));
        assert_eq!(read("24 \u{b0}C", Quantity::Tank, None), Ok(24.0));
        // Definition of the scale: 212 F is 100 C.
        assert!((read("212 F", Quantity::GasTemperature, None).unwrap() - 100.0).abs() < 1e-12);
        assert!(read("2 kg", Quantity::Water, None).is_err());
        assert!(read("some", Quantity::Mass, None).is_err());
    }

    #[test]
    fn the_cells_of_a_file_decide_its_mark() {
        let decide = |cells: &[&str], comma_separates| {
            let mut seen = Evidence::default();
            cells.iter().for_each(|c| seen.see(c));
            seen.decide(comma_separates)
        };
        assert_eq!(decide(&["7,1", "3"], true), (Decimal::Comma, false));
        assert_eq!(decide(&["7.1", "3"], false), (Decimal::Point, false));
        assert_eq!(
            decide(&["7.1", "7,1", "7.2"], false),
            (Decimal::Point, true)
        );
        assert_eq!(decide(&["1,234"], true), (Decimal::Point, false));
        assert_eq!(decide(&["1,234"], false), (Decimal::Comma, false));
        assert_eq!(decide(&[], false), (Decimal::Point, false));
    }
}
