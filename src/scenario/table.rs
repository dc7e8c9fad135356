//! Tables of a course in CSV files: days or dates, and columns of numbers.

use std::path::Path;

use super::address::Address;
use super::calendar::{Calendar, days_between, parse_date};
use super::check::Checker;
use super::limits::Limit;
use super::near::did_you_mean;
use super::problem::{Problem, shown, tame};
use super::read;
use super::temperature::is_near;

/// How many bad rows are listed.
const BAD_ROWS: usize = 20;
/// Columns that say when.
const WHEN: [&str; 2] = ["day", "date"];

/// A column that a table may have.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Wanted {
    name: &'static str,
    limit: &'static Limit,
    must: bool,
}

impl Wanted {
    /// A column that must be there.
    pub(crate) fn must(name: &'static str, limit: &'static Limit) -> Self {
        Self {
            name,
            limit,
            must: true,
        }
    }

    /// A column that may be there.
    pub(crate) fn may(name: &'static str, limit: &'static Limit) -> Self {
        Self {
            must: false,
            ..Self::must(name, limit)
        }
    }
}

/// What a table holds.
#[derive(Debug, Default)]
pub(crate) struct Read {
    /// Day of each row.
    pub(crate) days: Vec<f64>,
    /// Values of each wanted column by row; `None` where the table has no such column.
    pub(crate) values: Vec<Option<Vec<f64>>>,
}

impl Read {
    /// (day, value) of a wanted column; `None` where the table has no such column.
    pub(crate) fn course(&self, column: usize) -> Option<Vec<(f64, f64)>> {
        let values = self.values.get(column)?.as_ref()?;
        Some(
            self.days
                .iter()
                .copied()
                .zip(values.iter().copied())
                .collect(),
        )
    }
}

/// Where to find the cells of a row.
struct Columns {
    when: usize,
    by_date: bool,
    /// (place in the row, column) of each wanted column that is there, with its place among the wanted.
    cells: Vec<(usize, Wanted, usize)>,
}

/// What is wrong with a row: the cell or row, and what to do.
type BadRow = (String, String);

/// Reads days and the wanted columns from a file; bad rows are noted with their line.
pub(crate) fn read(
    checker: &mut Checker,
    at: &Address,
    file: &str,
    calendar: &Calendar,
    folder: Option<&Path>,
    wanted: &[Wanted],
) -> Read {
    let Some(folder) = folder else {
        checker.wrong(
            at,
            "This scenario stands in no folder, so the table cannot be found.",
            "Save the scenario as a file, or use \"points\".",
        );
        return Read::default();
    };
    if file.chars().any(char::is_control) || file.trim().is_empty() {
        checker.wrong_value(
            at,
            shown(&format!("\"{file}\"")),
            "That is no file name.",
            "",
        );
        return Read::default();
    }
    let path = folder.join(file);
    let label = tame(&path.display().to_string());
    let bytes = match read::bytes(&path, &label) {
        Ok(bytes) => bytes,
        Err(problem) => {
            let seen = format!("{label}: {}", problem.why);
            checker.wrong_value(at, format!("\"{}\"", shown(file)), seen, problem.mend);
            return Read::default();
        }
    };
    match read::text(&bytes, &label) {
        Ok(text) => rows(checker, at, text, &label, calendar, wanted),
        Err(problem) => {
            checker.push(*problem);
            Read::default()
        }
    }
}

/// The separator that the header uses most.
fn separator(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or("");
    let count = |separator: u8| header.bytes().filter(|b| *b == separator).count();
    // Of equals the last is taken: the comma, where there is no separator at all.
    [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|separator| count(*separator))
        .unwrap_or(b',')
}

fn rows(
    checker: &mut Checker,
    at: &Address,
    text: &str,
    label: &str,
    calendar: &Calendar,
    wanted: &[Wanted],
) -> Read {
    let separator = separator(text);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let header: Vec<String> = match reader.headers() {
        Ok(header) => header.iter().map(str::to_lowercase).collect(),
        Err(_) => Vec::new(),
    };
    let Some(columns) = columns(checker, &header, label, wanted) else {
        return Read::default();
    };
    if columns.by_date && calendar.start().is_none() {
        calendar.need_start(checker, at);
        return Read::default();
    }
    let mut out = Read {
        days: Vec::new(),
        values: vec![None; wanted.len()],
    };
    for (_, _, place) in &columns.cells {
        out.values[*place] = Some(Vec::new());
    }
    let mut bad = 0;
    for record in reader.records() {
        let (line, row) = match &record {
            Ok(record) => (
                record.position().map(csv::Position::line),
                row(record, &columns, header.len(), separator, calendar),
            ),
            Err(error) => (
                error.position().map(csv::Position::line),
                Err(("This row cannot be read.".to_owned(), String::new())),
            ),
        };
        match row {
            Ok((day, values)) => {
                out.days.push(day);
                for ((_, _, place), value) in columns.cells.iter().zip(values) {
                    out.values[*place].get_or_insert_default().push(value);
                }
            }
            Err((why, mend)) => {
                bad += 1;
                if bad <= BAD_ROWS {
                    checker.push(Problem {
                        file: label.to_owned(),
                        line: line.and_then(|line| usize::try_from(line).ok()),
                        why,
                        mend,
                        ..Problem::default()
                    });
                }
            }
        }
    }
    if bad > BAD_ROWS {
        checker.push(Problem {
            file: label.to_owned(),
            why: format!("{} more rows are wrong.", bad - BAD_ROWS),
            ..Problem::default()
        });
    }
    out
}

fn columns(
    checker: &mut Checker,
    header: &[String],
    label: &str,
    wanted: &[Wanted],
) -> Option<Columns> {
    let find = |name: &str| header.iter().position(|cell| cell == name);
    let mut wrong = |why: String, mend: String| {
        checker.push(Problem {
            file: label.to_owned(),
            line: Some(1),
            why,
            mend,
            ..Problem::default()
        });
        None
    };
    let heads = shown(&header.join(", "));
    let mut cells = Vec::new();
    for (place, column) in wanted.iter().enumerate() {
        let name = column.name;
        let near = header
            .iter()
            .filter(|cell| find(cell).is_some() && !wanted.iter().any(|w| w.name == **cell))
            .map(|cell| (cell, did_you_mean(cell, [name])))
            .find(|(_, near)| !near.is_empty());
        match (find(name), near) {
            (Some(cell), _) => cells.push((cell, *column, place)),
            (None, near) if column.must => {
                let near = near.map(|(_, near)| near).unwrap_or_default();
                return wrong(
                    format!("There is no column {name}; the first line says: {heads}."),
                    format!("Name the columns day or date, and {name}. {near}")
                        .trim_end()
                        .to_owned(),
                );
            }
            (None, Some((cell, near))) => {
                return wrong(format!("Nobody knows the column {}.", shown(cell)), near);
            }
            (None, None) => {}
        }
    }
    let first = wanted.iter().find(|w| w.must).map_or("", |w| w.name);
    match (find(WHEN[0]), find(WHEN[1])) {
        (Some(_), Some(_)) => wrong(
            "There is a column day and a column date.".to_owned(),
            "Keep one of the two.".to_owned(),
        ),
        (None, None) => wrong(
            format!("There is no column day or date; the first line says: {heads}."),
            if find("month").is_some() {
                format!(
                    "A month is no day: give each mean the day in the middle of its month, counted from the start of the run, in \
                     a column day, and {first}."
                )
            } else {
                format!("Name the columns day or date, and {first}.")
            },
        ),
        (day, date) => Some(Columns {
            when: day.or(date)?,
            by_date: date.is_some(),
            cells,
        }),
    }
}

fn row(
    record: &csv::StringRecord,
    columns: &Columns,
    width: usize,
    separator: u8,
    calendar: &Calendar,
) -> Result<(f64, Vec<f64>), BadRow> {
    if record.len() > width && separator == b',' {
        return Err((
            format!(
                "This row has {} cells where the first line has {width}.",
                record.len()
            ),
            "If the comma is a decimal comma, part the columns by semicolons.".to_owned(),
        ));
    }
    let cell = |i: usize, name: &str| {
        record
            .get(i)
            .filter(|cell| !cell.is_empty())
            .ok_or_else(|| {
                (
                    format!("The cell {name} is empty."),
                    "Fill it, or remove the row.".to_owned(),
                )
            })
    };
    let when = cell(columns.when, if columns.by_date { "date" } else { "day" })?;
    let day = if columns.by_date {
        match (parse_date(when), calendar.start()) {
            (Some(date), Some(start)) => days_between(start, date),
            _ => {
                return Err((
                    format!("\"{}\" is no date of the calendar.", shown(when)),
                    "Write dates as 2026-03-01.".to_owned(),
                ));
            }
        }
    } else {
        number(when, separator)?
    };
    if !is_near(day) {
        return Err((
            format!("Day {day} lies more than a century away."),
            "Count days from the start of the run.".to_owned(),
        ));
    }
    let mut values = Vec::with_capacity(columns.cells.len());
    for (place, column, _) in &columns.cells {
        let value = number(cell(*place, column.name)?, separator)?;
        let limit = column.limit;
        if !limit.admits(value) {
            return Err((
                format!("{value} {} cannot be taken. {}", limit.unit, limit.why),
                format!("Allowed: {}.", limit.allowed()),
            ));
        }
        values.push(value);
    }
    Ok((day, values))
}

/// A number; with a decimal comma where commas do not part the columns.
fn number(cell: &str, separator: u8) -> Result<f64, BadRow> {
    let pointed = if separator == b',' {
        cell.to_owned()
    } else {
        cell.replacen(',', ".", 1)
    };
    match pointed.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err((
            format!("\"{}\" is no number.", shown(cell)),
            "Write digits, without a unit.".to_owned(),
        )),
    }
}
