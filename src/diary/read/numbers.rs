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

/// The decimal mark of a file, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Mark {
    pub(crate) decimal: Decimal,
    /// Both marks part fractions somewhere.
    pub(crate) both: bool,
    /// No cell shows it: only the separator of the file speaks for it.
    pub(crate) guessed: bool,
}

/// What the cells of a file show of its decimal mark.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Evidence {
    points: usize,
    commas: usize,
    /// Three digits after a comma: a fraction or thousands.
    either: usize,
    /// The same after a point.
    grouped: usize,
}

impl Evidence {
    /// Looks at one cell of numbers.
    pub(crate) fn see(&mut self, cell: &str) {
        let (digits, _) = split(cell);
        let count = |mark: char| digits.matches(mark).count();
        let grouped = is_grouped(digits);
        match (count('.'), count(',')) {
            (0, 1) if grouped => self.either += 1,
            (0, 1) => self.commas += 1,
            (1, 0) if grouped => self.grouped += 1,
            (1, 0) => self.points += 1,
            // A mark that stands twice parts thousands, so the other one is left for fractions.
            (2.., 0) if grouped => self.commas += 1,
            (0, 2..) if grouped => self.points += 1,
            // Of two marks the last parts the fraction.
            (1.., 1..) if digits.rfind('.') < digits.rfind(',') => self.commas += 1,
            (1.., 1..) => self.points += 1,
            _ => {}
        }
    }

    /// The mark of a file whose cells `separator` parts. Where spreadsheets part cells by a semicolon, a comma parts
    /// fractions (common practice, no source).
    pub(crate) fn decide(self, separator: u8) -> Mark {
        let bare = self.points == 0 && self.commas == 0;
        let comma = self.commas > self.points
            || (self.points == 0 && self.either > 0 && separator != b',')
            || (bare && self.grouped > 0 && separator == b';');
        Mark {
            decimal: match comma {
                true => Decimal::Comma,
                false => Decimal::Point,
            },
            both: self.commas > 0 && self.points > 0,
            guessed: bare,
        }
    }
}

/// The numbers of a column with one point and no other mark.
#[derive(Debug, Default)]
pub(crate) struct Pointed<'c> {
    /// The first with three digits behind it, with its line, and how many there are.
    first: Option<(u64, &'c str)>,
    count: usize,
    /// How many have another number of digits there.
    others: usize,
}

/// What the points of a column were taken for.
#[derive(Debug, PartialEq, Eq)]
pub(crate) enum Taken {
    /// It is clear, and worth a note.
    Clear(String),
    /// It may be otherwise: a line and the reason for a doubt.
    Doubtful(u64, String),
}

impl<'c> Pointed<'c> {
    /// Looks at a cell of the column.
    pub(crate) fn see(&mut self, line: u64, cell: &'c str) {
        let (digits, _) = split(cell);
        if digits.matches('.').count() != 1 || digits.contains(',') {
            return;
        }
        if is_grouped(digits) {
            self.first.get_or_insert((line, digits));
            self.count += 1;
        } else {
            self.others += 1;
        }
    }

    /// What points before three digits are taken for in a file with such a mark; `None` where nobody would ask.
    pub(crate) fn taken(&self, column: &str, mark: Mark, separator: u8) -> Option<Taken> {
        let (line, digits) = self.first?;
        let thousand = plain(digits, Decimal::Comma)?;
        let fraction = plain(digits, Decimal::Point)?;
        let like_it = match self.count {
            1 => "it is".to_owned(),
            more => format!("it and {} more like it in this column are", more - 1),
        };
        let doubtful = |why: &str, mend: &str| {
            Taken::Doubtful(
                line,
                format!(
                    "{column}: \"{digits}\" may be {thousand} or {fraction}; {like_it} taken for {why}. {mend}"
                ),
            )
        };
        let thousands = |because: &str| {
            doubtful(
                &format!("thousands, {because}"),
                "If that is wrong, write a comma before the fraction; else leave the point out",
            )
        };
        match mark.decimal {
            Decimal::Comma if self.others > 0 => Some(thousands(
                "since a comma parts fractions in this file, and other points of this column do so too",
            )),
            Decimal::Comma if mark.guessed => {
                Some(thousands("as is usual where semicolons part the cells"))
            }
            Decimal::Comma => Some(Taken::Clear(format!(
                "{column}: every point stands before three digits and is taken for one of thousands, so {digits} is {thousand}."
            ))),
            Decimal::Point if self.others == 0 && separator != b',' => Some(doubtful(
                "a fraction, since a point parts fractions in this file",
                "If that is wrong, leave the point out",
            )),
            Decimal::Point => None,
        }
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

/// Whether a lone mark with three digits behind it may part thousands or a fraction: 1,234 but not 0,125. A point only in
/// litres of gas, of which there are thousands and nobody reads thousandths; a scale shows 1.250 kg.
pub(crate) fn may_be_thousands(text: &str, quantity: Quantity) -> bool {
    let (digits, unit) = split(text);
    let lone =
        |mark: char, other: char| digits.matches(mark).count() == 1 && !digits.contains(other);
    // A gas meter shows 1.234 m3.
    let litres = matches!(quantity, Quantity::Gas) && !unit.trim_start().starts_with('m');
    let mark = lone(',', '.') || litres && lone('.', ',');
    mark && is_grouped(digits)
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
        let decide = |cells: &[&str], separator| {
            let mut seen = Evidence::default();
            cells.iter().for_each(|c| seen.see(c));
            let mark = seen.decide(separator);
            (mark.decimal, mark.both)
        };
        use Decimal::{Comma, Point};
        for (cells, separator, mark) in [
            (&["7,1", "3"][..], b',', (Comma, false)),
            (&["7.1", "3"], b'\t', (Point, false)),
            (&["7.1", "7,1", "7.2"], b'\t', (Point, true)),
            (&["1,234"], b',', (Point, false)),
            (&["1,234"], b'\t', (Comma, false)),
            (&[], b'\t', (Point, false)),
            (&["1.234"], b';', (Comma, false)),
            (&["1.234"], b'\t', (Point, false)),
            (&["0.125", "1.234"], b';', (Point, false)),
            (&["1.234,5"], b',', (Comma, false)),
            (&["1.234.567"], b',', (Comma, false)),
            (&["1,234,567"], b';', (Point, false)),
        ] {
            assert_eq!(decide(cells, separator), mark, "{cells:?}");
        }
    }

    #[test]
    fn points_before_three_digits_are_told_or_doubted() {
        let taken = |cells: &[&'static str], elsewhere: &str, separator| {
            let mut seen = Evidence::default();
            cells.iter().for_each(|c| seen.see(c));
            seen.see(elsewhere);
            let mut pointed = Pointed::default();
            for (i, cell) in cells.iter().enumerate() {
                pointed.see(i as u64 + 2, cell);
            }
            pointed.taken("count", seen.decide(separator), separator)
        };
        let meter = &["900", "1.000", "1.450"];
        let Some(Taken::Clear(note)) = taken(meter, "7,1", b';') else {
            panic!("a comma elsewhere makes it clear");
        };
        assert!(note.contains("so 1.000 is 1000"), "{note}");
        for (cells, elsewhere, separator, part) in [
            (&meter[..], "", b';', "taken for thousands"),
            (meter, "7.1", b';', "taken for a fraction"),
            (meter, "", b'\t', "taken for a fraction"),
            (&["950.5", "1.000"], "7,12 and", b';', "taken for thousands"),
        ] {
            // One comma against one point is no majority.
            let elsewhere_too = elsewhere.contains("and");
            let cells: Vec<&'static str> = match elsewhere_too {
                true => cells.iter().copied().chain(["7,1", "7,2"]).collect(),
                false => cells.to_vec(),
            };
            let found = taken(&cells, elsewhere, separator);
            let Some(Taken::Doubtful(3, why)) = &found else {
                panic!("{cells:?}: {found:?}");
            };
            assert!(why.contains("\"1.000\" may be 1000 or 1;"), "{why}");
            assert!(why.contains(part), "{why}");
        }
        // Three digits behind a point are nothing odd where commas part the cells, nor beside other fractions.
        assert_eq!(taken(meter, "", b','), None);
        assert_eq!(taken(&["950.5", "1.000"], "", b';'), None);
    }
}
