//! From a table that a spreadsheet writes to a [`Record`].
//!
//! | step | file | what |
//! |---|---|---|
//! | bytes to text | `bytes` | refuses what is no text, in a plain sentence |
//! | text to cells | here | finds separator and heading |
//! | headings to columns | `columns` | own names, units, near names |
//! | cells to entries | `rows`, `numbers`, `dates`, `materials`, `units` | decimal mark and order of dates by the whole column |
//! | entries to record | `order`, `meter` | sorts, makes counts steps, and doubts what does not fit together |
//!
//! A file is refused only where nothing can be read from it. All else becomes a doubt with its line.

mod bytes;
mod columns;
mod dates;
mod materials;
mod meter;
mod numbers;
mod order;
mod rows;
mod units;

use std::path::Path;

use jiff::civil::Date;

pub use bytes::{LARGEST, Refusal, bytes};
pub(crate) use columns::{Column, Placed, STANDARD};
pub(crate) use dates::{days_between, hour, read as written_day};
pub(crate) use materials::{Feeds, feeds, known as known_material, taken_for};
pub(crate) use numbers::{Decimal, may_be_thousands, measured, split};
pub(crate) use rows::{LOOKED, is_formula, out_of_reach};
pub(crate) use units::Quantity;

use super::record::{Doubt, Record, Taken};
use dates::Written;
use numbers::{Evidence, Mark, Pointed};
use rows::{Line, Reader};

/// How many of the first lines may stand above the heading.
const ABOVE: usize = 10;
/// Separators that a file may use, and their names.
const SEPARATORS: [(u8, &str); 3] = [(b',', "comma"), (b';', "semicolon"), (b'\t', "tab")];
/// How many doubts of one file are told one by one.
pub const MOST_DOUBTS: usize = 1000;

/// Reads a record from a file. Days after `today` are doubted, where it is given.
///
/// # Errors
/// [`Refusal`] where the file is no record at all.
pub fn load(path: &Path, today: Option<Date>) -> Result<Record, Refusal> {
    from_bytes(&bytes(path)?, today)
}

/// Reads a record from the bytes of a file.
///
/// # Errors
/// [`Refusal`] where they are no record at all.
pub fn from_bytes(bytes: &[u8], today: Option<Date>) -> Result<Record, Refusal> {
    from_text(bytes::text(bytes)?, today)
}

/// Reads a record from its text.
///
/// # Errors
/// [`Refusal`] where it is no record at all.
pub fn from_text(text: &str, today: Option<Date>) -> Result<Record, Refusal> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let table = table(text)?;
    let mut taken = Taken {
        separator: table.separator.1.to_owned(),
        ..Taken::default()
    };
    let mut doubts = table.doubts(&mut taken);
    let mark = table.decimal();
    let decimal = mark.decimal;
    taken.decimal = decimal.name().to_owned();
    for points in table.points(mark) {
        match points {
            numbers::Taken::Clear(note) => taken.notes.push(note),
            numbers::Taken::Doubtful(line, reason) => doubts.push(Doubt { line, reason }),
        }
    }
    if mark.both {
        taken.notes.push(format!(
            "Numbers stand with points and with commas; where it matters the {} parts whole from fraction.",
            decimal.name()
        ));
    }
    let order = dates::order(&table.days());
    taken.dates = order.name;
    taken.notes.extend(order.guess);
    let mut reader = Reader::new(&table.columns, &table.headings, decimal, order.month_first);
    let entries: Vec<_> = table
        .lines
        .iter()
        .filter_map(|line| reader.entry(line))
        .collect();
    if reader.bare > 0 {
        taken.notes.push(format!(
            "Lines that hold a day and nothing else: {}. They are passed over.",
            reader.bare
        ));
    }
    doubts.append(&mut reader.doubts);
    let mut entries = order::sorted(entries, today, &mut doubts);
    meter::steps(&mut entries, &reader.counts, &mut doubts);
    doubts.sort_by_key(|d| d.line);
    if doubts.len() > MOST_DOUBTS {
        let more = doubts.len() - MOST_DOUBTS;
        doubts.truncate(MOST_DOUBTS);
        doubts.push(Doubt {
            line: 0,
            reason: format!("{more} more like these. Is this the right file?"),
        });
    }
    Ok(Record {
        entries,
        doubts,
        taken,
    })
}

/// A file cut into cells, with its columns found.
pub(crate) struct Table {
    /// The separator and its name.
    pub(crate) separator: (u8, &'static str),
    /// The heading, as it stands.
    pub(crate) headings: Vec<String>,
    /// What each heading means.
    pub(crate) columns: Vec<Option<Placed>>,
    /// Where the heading ends in the text, its line end left out \[bytes\].
    pub(crate) heading_end: usize,
    heading_line: u64,
    lines: Vec<Line>,
    /// Lines above the heading that say something.
    above: Vec<u64>,
    /// Whether a quotation mark is missing somewhere.
    unclosed: bool,
}

/// Finds separator and heading, and cuts the text into cells.
///
/// # Errors
/// [`Refusal`] where no heading with a day is found.
pub(crate) fn table(text: &str) -> Result<Table, Refusal> {
    if text.trim().is_empty() {
        return Err(Refusal::Empty);
    }
    let mut best: Option<(usize, usize, (u8, &str))> = None;
    for separator in SEPARATORS {
        for (i, line) in cut(text, separator.0).take(ABOVE).enumerate() {
            let known = line.cells.iter().filter(|c| columns::placed(c).is_some());
            let count = known.count();
            // A lone remark above the table may be a name by chance: more known names win.
            if count > best.map_or(0, |(most, _, _)| most) {
                best = Some((count, i, separator));
            }
        }
    }
    let Some((_, at, separator)) = best else {
        let first = text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
        return Err(Refusal::NoHeading {
            found: rows::quoted(first),
            mend: format!(
                "Known names: {}. `marshgas diary new` writes a file with all of them.",
                columns::known_names()
            ),
        });
    };
    let mut lines = cut(text, separator.0);
    let above = lines
        .by_ref()
        .take(at)
        .filter(|l| {
            !l.cells
                .iter()
                .all(|c| c.is_empty() || c.starts_with("sep="))
        })
        .map(|l| l.number)
        .collect();
    let heading = lines.next().ok_or(Refusal::Empty)?;
    let columns = columns::columns(&heading.cells)?;
    let lines: Vec<Line> = lines.collect();
    let next = lines.first().map_or(text.len(), |l| l.begin);
    let upto = text.get(..next).unwrap_or(text);
    Ok(Table {
        separator,
        heading_end: upto.trim_end_matches(['\r', '\n']).len(),
        headings: heading.cells,
        columns,
        heading_line: heading.number,
        lines,
        above,
        unclosed: text.bytes().filter(|b| *b == b'"').count() % 2 == 1,
    })
}

/// The lines of a text, cut into cells, with the number of the line on which each begins.
fn cut(text: &str, separator: u8) -> impl Iterator<Item = Line> + '_ {
    let reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut counted = (0usize, 1u64);
    reader.into_records().filter_map(move |record| {
        // The text is UTF-8 and lines may have any length, so nothing is left to fail.
        let record = record.ok()?;
        let begin = record.position().map_or(0, |p| p.byte()) as usize;
        let rest = text.as_bytes().get(begin..).unwrap_or(&[]);
        // Empty lines are passed over before a record, but its position stands in front of them.
        let blank = rest
            .iter()
            .take_while(|b| matches!(b, b'\n' | b'\r'))
            .count();
        let (from, line) = counted;
        let number = line + line_ends(text.as_bytes().get(from..begin + blank).unwrap_or(&[]));
        counted = (begin + blank, number);
        Some(Line {
            number,
            begin: begin + blank,
            cells: record.iter().map(|c| c.trim().to_owned()).collect(),
        })
    })
}

/// Line ends of all three kinds.
fn line_ends(bytes: &[u8]) -> u64 {
    let lone = |i: usize| bytes.get(i + 1) != Some(&b'\n');
    let end = |(i, b): (usize, &u8)| *b == b'\n' || (*b == b'\r' && lone(i));
    bytes.iter().enumerate().filter(|found| end(*found)).count() as u64
}

impl Table {
    /// What is doubtful about the table as a whole; the columns are put on record.
    fn doubts(&self, taken: &mut Taken) -> Vec<Doubt> {
        let mut doubts: Vec<Doubt> = self
            .above
            .iter()
            .map(|line| Doubt {
                line: *line,
                reason: "it stands above the heading; not read".into(),
            })
            .collect();
        if self.unclosed {
            doubts.push(Doubt {
                line: 0,
                reason: "The number of quotation marks is odd: one is missing, and lines may have run together.".into(),
            });
        }
        let mut unknown = Vec::new();
        for (i, (heading, column)) in self.headings.iter().zip(&self.columns).enumerate() {
            let used = self
                .lines
                .iter()
                .any(|l| l.cells.get(i).is_some_and(|c| !c.is_empty()));
            match column {
                Some(placed) => taken.columns.push((heading.clone(), placed.column.words())),
                None if used => {
                    taken.columns.push((heading.clone(), "not read".into()));
                    if columns::placed(heading).is_some() {
                        doubts.push(Doubt {
                            line: self.heading_line,
                            reason: format!(
                                "the column {} is not read: another column gives the gas since the reading before",
                                rows::quoted(heading)
                            ),
                        });
                    } else {
                        unknown.push(heading.as_str());
                    }
                }
                None => {}
            }
        }
        // All at once: a heading that is mended alone would only bring up the next.
        if !unknown.is_empty() {
            doubts.push(Doubt {
                line: self.heading_line,
                reason: format!(
                    "the {} not read: {}. Known names: {}",
                    match unknown.len() {
                        1 => "column whose name is not known is",
                        _ => "columns whose names are not known are",
                    },
                    columns::offered(&unknown),
                    columns::known_names()
                ),
            });
        }
        doubts
    }

    /// The decimal mark.
    pub(crate) fn decimal(&self) -> Mark {
        let mut seen = Evidence::default();
        for (i, placed) in self.columns.iter().enumerate() {
            let has_numbers = |p: &Placed| p.column == Column::Fed || p.column.quantity().is_some();
            if placed.as_ref().is_some_and(has_numbers) {
                let cells = self.lines.iter().filter_map(|l| l.cells.get(i));
                cells.for_each(|cell| seen.see(cell));
            }
        }
        seen.decide(self.separator.0)
    }

    /// What points before three digits were taken for, column by column.
    fn points(&self, mark: Mark) -> Vec<numbers::Taken> {
        let columns = self.columns.iter().enumerate();
        let columns = columns.filter_map(|(i, placed)| Some((i, &placed.as_ref()?.column)));
        columns
            .filter(|(_, column)| column.quantity().is_some())
            .filter_map(|(i, column)| {
                let mut pointed = Pointed::default();
                for line in &self.lines {
                    pointed.see(line.number, line.cells.get(i).map_or("", String::as_str));
                }
                pointed.taken(&column.words(), mark, self.separator.0)
            })
            .collect()
    }

    /// The days of the column of days, as they are written.
    pub(crate) fn days(&self) -> Vec<Written> {
        let is_date = |p: &Option<Placed>| p.as_ref().is_some_and(|p| p.column == Column::Date);
        let Some(at) = self.columns.iter().position(is_date) else {
            return Vec::new();
        };
        self.lines
            .iter()
            .filter_map(|line| dates::read(line.cells.get(at)?))
            .map(|moment| moment.day)
            .collect()
    }
}
