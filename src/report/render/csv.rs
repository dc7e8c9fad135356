//! Tables for spreadsheets and scripts.

use super::columns::{Cell, DAY, HEAT, RowColumn, SEASON, TRACE};
use crate::report::calendar::date_after;
use crate::report::error::ReportError;
use crate::simulate::{Outcome, VesselSeries};
use crate::study::season::SeasonOutcome;
use jiff::civil::Date;

/// Name under which the rows of several vessels taken together are listed.
const WHOLE_PLANT: &str = "whole plant";
/// Signs that make some spreadsheets take a text for a formula.
const FORMULA_SIGNS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// Dialect of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Flavour {
    /// RFC 4180: commas, decimal points, UTF-8.
    #[default]
    Plain,
    /// For spreadsheets set to a decimal comma: byte order mark, semicolons, decimal commas, and
    /// texts that a spreadsheet might run as a formula defused by an apostrophe.
    Spreadsheet,
}

/// The daily rows, one line per vessel and day; with several vessels those of the whole plant come first.
///
/// Columns carry their units in their names (`nL` is a norm litre: dry gas at 0 C and 101.325 kPa);
/// an absent number is an empty cell; `burns` and `sour` are 1 or 0; `date` is empty without a start date.
///
/// # Errors
/// [`ReportError::NotFinite`] with the vessel, the day and the column.
pub fn csv_daily(outcome: &Outcome, flavour: Flavour) -> Result<String, ReportError> {
    let start = start_of(outcome);
    let mut table = Table::new(flavour, &["vessel", "date"], DAY)?;
    let mut parts: Vec<(&str, _)> = Vec::new();
    match outcome.vessels.as_slice() {
        [only] => parts.push((&only.name, &outcome.plant)),
        several => {
            parts.push((WHOLE_PLANT, &outcome.plant));
            parts.extend(several.iter().map(|v| (v.name.as_str(), &v.days)));
        }
    }
    for (name, rows) in parts {
        for row in rows {
            let date = start.and_then(|s| date_after(s, f64::from(row.day)));
            let date = date.map(|d| d.to_string()).unwrap_or_default();
            let place = || format!("{name}, day {}", row.day);
            table.push(&[name, &date], DAY, row, place)?;
        }
    }
    table.finish()
}

/// The finer trajectory of every vessel.
///
/// # Errors
/// [`ReportError::NotFinite`] with the vessel, the time and the column.
pub fn csv_trace(outcome: &Outcome, flavour: Flavour) -> Result<String, ReportError> {
    let mut table = Table::new(flavour, &["vessel"], TRACE)?;
    for VesselSeries { name, trace, .. } in &outcome.vessels {
        for point in trace {
            let place = || format!("{name}, time {} d", point.t_d);
            table.push(&[name], TRACE, point, place)?;
        }
    }
    table.finish()
}

/// Heat flows by day of every vessel that keeps a heat balance; `None` where none does.
///
/// # Errors
/// [`ReportError::NotFinite`] with the vessel, the day and the column.
pub fn csv_heat(outcome: &Outcome, flavour: Flavour) -> Result<Option<String>, ReportError> {
    if outcome.vessels.iter().all(|v| v.heat.is_none()) {
        return Ok(None);
    }
    let start = start_of(outcome);
    let mut table = Table::new(flavour, &["vessel", "date"], HEAT)?;
    for vessel in &outcome.vessels {
        for row in vessel.heat.iter().flat_map(|heat| &heat.days) {
            let date = start.and_then(|s| date_after(s, f64::from(row.day)));
            let date = date.map(|d| d.to_string()).unwrap_or_default();
            let place = || format!("{}, day {}", vessel.name, row.day);
            table.push(&[&vessel.name, &date], HEAT, row, place)?;
        }
    }
    table.finish().map(Some)
}

/// The plant by day.
///
/// # Errors
/// [`ReportError::NotFinite`] with the day and the column.
pub fn csv_season(season: &SeasonOutcome, flavour: Flavour) -> Result<String, ReportError> {
    let start: Option<Date> = season.start_date.as_ref().and_then(|d| d.parse().ok());
    let mut table = Table::new(flavour, &["date"], SEASON)?;
    for row in &season.days {
        let date = start.and_then(|s| date_after(s, f64::from(row.day)));
        let date = date.map(|d| d.to_string()).unwrap_or_default();
        table.push(&[&date], SEASON, row, || format!("day {}", row.day))?;
    }
    table.finish()
}

fn start_of(outcome: &Outcome) -> Option<Date> {
    outcome.start_date.as_ref().and_then(|d| d.parse().ok())
}

struct Table {
    writer: csv::Writer<Vec<u8>>,
    flavour: Flavour,
}

impl Table {
    fn new<T>(
        flavour: Flavour,
        words: &[&str],
        columns: &[RowColumn<T>],
    ) -> Result<Self, ReportError> {
        let mut builder = csv::WriterBuilder::new();
        builder.terminator(csv::Terminator::CRLF);
        let mut out = Vec::new();
        if flavour == Flavour::Spreadsheet {
            builder.delimiter(b';');
            out.extend_from_slice("\u{FEFF}".as_bytes());
        }
        let mut writer = builder.from_writer(out);
        let names = words.iter().copied().chain(columns.iter().map(|c| c.name));
        writer.write_record(names).map_err(failed)?;
        Ok(Self { writer, flavour })
    }

    fn push<T>(
        &mut self,
        words: &[&str],
        columns: &[RowColumn<T>],
        row: &T,
        place: impl Fn() -> String,
    ) -> Result<(), ReportError> {
        for word in words {
            self.writer.write_field(self.word(word)).map_err(failed)?;
        }
        for column in columns {
            let cell = (column.value)(row);
            if let Some(value) = cell.not_finite() {
                let place = format!("{}, {}", place(), column.field);
                return Err(ReportError::NotFinite { place, value });
            }
            self.writer.write_field(self.cell(cell)).map_err(failed)?;
        }
        self.writer.write_record(None::<&[u8]>).map_err(failed)
    }

    fn word(&self, word: &str) -> String {
        if self.flavour == Flavour::Spreadsheet && word.starts_with(FORMULA_SIGNS) {
            return format!("'{word}");
        }
        word.into()
    }

    fn cell(&self, cell: Cell) -> String {
        let text = match cell {
            Cell::Count(n) => n.to_string(),
            Cell::Number(v) | Cell::Maybe(Some(v)) => seven_digits(v),
            Cell::Maybe(None) => String::new(),
            Cell::Flag(flag) => u8::from(flag).to_string(),
        };
        match self.flavour {
            Flavour::Plain => text,
            Flavour::Spreadsheet => text.replace('.', ","),
        }
    }

    fn finish(self) -> Result<String, ReportError> {
        let bytes = self
            .writer
            .into_inner()
            .map_err(|e| ReportError::Table(e.to_string()))?;
        String::from_utf8(bytes).map_err(|e| ReportError::Table(e.to_string()))
    }
}

/// A number to seven significant digits: far beyond what is known, and short enough to be read.
fn seven_digits(value: f64) -> String {
    // Through text, so that the last digit is rounded as it is written; such text always reads back.
    format!("{value:.6e}").parse().unwrap_or(value).to_string()
}

#[allow(clippy::needless_pass_by_value)] // the shape that map_err asks for
fn failed(error: csv::Error) -> ReportError {
    ReportError::Table(error.to_string())
}
