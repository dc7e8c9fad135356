//! What a study has to say, ready to be rendered: words, numbers as text, tables, figures.

use super::figure::Figure;
use jiff::civil::Date;

/// Everything that a renderer needs. Empty parts are left out of the page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Document {
    /// What kind of report it is, for example "Run".
    pub kind: String,
    /// Title.
    pub title: String,
    /// The author's words on it.
    pub about: String,
    /// What happened, one paragraph each.
    pub story: Vec<String>,
    /// What to do next, one piece each.
    pub advice: Vec<String>,
    /// The numbers to take home.
    pub key_numbers: Vec<KeyNumber>,
    /// How far the key numbers can be trusted, in one sentence.
    pub trust: String,
    /// Daily courses for a summary without figures.
    pub trends: Trends,
    /// Figures in reading order.
    pub figures: Vec<Figure>,
    /// Tables in reading order.
    pub tables: Vec<Table>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
    /// Limits of validity, one piece each.
    pub limits: Vec<String>,
    /// The record: solver, provenance and the like.
    pub facts: Vec<Facts>,
    /// The last line: whether the balances hold.
    pub closing: Closing,
}

/// A number to take home.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyNumber {
    /// What it is.
    pub label: String,
    /// The number, already rounded.
    pub value: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
    /// What it rests on.
    pub note: String,
}

impl KeyNumber {
    /// A number with its label, unit and what it rests on.
    #[must_use]
    pub fn new(label: &str, value: String, unit: &str, note: String) -> Self {
        Self {
            label: label.into(),
            value,
            unit: unit.into(),
            note,
        }
    }
}

/// A table; every cell is text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Name for anchors: lower-case letters, digits and hyphens.
    pub id: String,
    /// Title.
    pub title: String,
    /// Columns.
    pub columns: Vec<Column>,
    /// Rows, each as long as `columns`.
    pub rows: Vec<Vec<String>>,
    /// A sentence below the table; may be empty.
    pub note: String,
    /// Whether it belongs to the story or to the record.
    pub weight: Weight,
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Name.
    pub name: String,
    /// Unit; empty where there is none.
    pub unit: String,
    /// Numbers are set to the right.
    pub numeric: bool,
}

/// How prominent a table is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// Part of the story: shown in every rendering.
    Story,
    /// Behind the story: folded away on a page.
    Folded,
    /// Part of the record at the end.
    Record,
}

/// Something that can hurt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// In a few words.
    pub title: String,
    /// What can happen and what to do.
    pub text: String,
    /// Where the facts come from.
    pub source: String,
}

/// Named facts for the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Facts {
    /// Title.
    pub title: String,
    /// (name, value).
    pub rows: Vec<(String, String)>,
}

/// Daily courses over one stretch of days.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trends {
    /// Calendar date of day 0.
    pub start: Option<Date>,
    /// Number of days.
    pub days: u32,
    /// The courses.
    pub courses: Vec<Trend>,
    /// Days that need attention, with their name.
    pub marks: Vec<Mark>,
}

/// One daily course.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// What it is.
    pub label: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
    /// Decimals worth showing.
    pub decimals: usize,
    /// One value a day; not finite where there is none.
    pub values: Vec<f64>,
}

/// Days that need attention.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// What they are.
    pub label: String,
    /// One flag a day.
    pub days: Vec<bool>,
}

/// The last line of a report.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Closing {
    /// Whether all balances stay within their limits.
    pub holds: bool,
    /// The line.
    pub text: String,
}

impl Column {
    /// A column of words.
    #[must_use]
    pub fn words(name: &str) -> Self {
        Self {
            name: name.into(),
            unit: String::new(),
            numeric: false,
        }
    }

    /// A column of numbers.
    #[must_use]
    pub fn number(name: &str, unit: &str) -> Self {
        Self {
            name: name.into(),
            unit: unit.into(),
            numeric: true,
        }
    }
}

impl Document {
    /// Tables of one weight, in reading order.
    pub fn tables_of(&self, weight: Weight) -> impl Iterator<Item = &Table> {
        self.tables.iter().filter(move |t| t.weight == weight)
    }
}
