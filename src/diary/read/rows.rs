//! From the cells of a line to an entry; whatever cannot be taken is noted.

use std::collections::HashSet;

use jiff::civil::Date;

use super::columns::{Column, Placed};
use super::dates::{self, Moment};
use super::materials::{self, Feeds};
use super::numbers::{self, Decimal};
use super::units::Quantity;
use crate::diary::record::{Doubt, Entry, Fed, GasReading};

/// Longest piece of a cell that is quoted in a doubt \[letters\].
const QUOTED: usize = 40;

/// One line of the file, cut into cells.
#[derive(Debug, Clone)]
pub(super) struct Line {
    pub(super) number: u64,
    /// Where it begins in the text \[bytes\].
    pub(super) begin: usize,
    pub(super) cells: Vec<String>,
}

/// Reads lines by their columns.
pub(super) struct Reader<'a> {
    pub(super) columns: &'a [Option<Placed>],
    pub(super) headings: &'a [String],
    pub(super) decimal: Decimal,
    pub(super) month_first: bool,
    pub(super) doubts: Vec<Doubt>,
    /// Lines that hold a day and nothing else.
    pub(super) bare: usize,
    /// Lines whose gas is the count of a meter, not yet a step.
    pub(super) counts: HashSet<u64>,
    last: Option<(u64, Date)>,
}

/// A piece of a cell for a message: short, on one line.
pub(super) fn quoted(cell: &str) -> String {
    let tame: String = cell
        .trim()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let mut short: String = tame.chars().take(QUOTED).collect();
    if short.chars().count() < tame.chars().count() {
        short.push_str("...");
    }
    format!("\"{short}\"")
}

/// What a spreadsheet runs as a formula.
const FORMULA: [char; 4] = ['=', '+', '-', '@'];

/// Whether a spreadsheet would run a text, the marks that keep it from that left out.
pub(crate) fn is_formula(text: &str) -> bool {
    text.trim_start_matches('\'').starts_with(FORMULA)
}

/// A remark without the mark that keeps a spreadsheet from running it.
fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if is_formula(rest) => rest,
        _ => cell,
    }
}

/// What is wrong with a number that is out of reach: whether it must go, and why.
pub(crate) fn out_of_reach(quantity: Quantity, value: f64) -> Option<(bool, String)> {
    let reach = quantity.reach();
    let within = |(low, high): (f64, f64)| value >= low && value <= high;
    let unit = match reach.unit {
        "" => String::new(),
        unit => format!(" {unit}"),
    };
    if !within(reach.possible) {
        let (low, high) = reach.possible;
        let why = reach
            .beyond
            .map_or_else(String::new, |why| format!(" ({why})"));
        return Some((
            true,
            format!("cannot be: possible is {low} to {high}{unit}{why}"),
        ));
    }
    if quantity == Quantity::Percent && value > 0.0 && value <= 1.0 {
        return Some((
            false,
            "is very little for per cent: a share such as 0.6 is written 60".into(),
        ));
    }
    if !within(reach.likely) {
        let (low, high) = reach.likely;
        return Some((
            false,
            format!("is unlikely: usual is {low} to {high}{unit}"),
        ));
    }
    None
}

impl<'a> Reader<'a> {
    pub(super) fn new(
        columns: &'a [Option<Placed>],
        headings: &'a [String],
        decimal: Decimal,
        month_first: bool,
    ) -> Self {
        Self {
            columns,
            headings,
            decimal,
            month_first,
            doubts: Vec::new(),
            bare: 0,
            counts: HashSet::new(),
            last: None,
        }
    }

    fn doubt(&mut self, line: u64, reason: String) {
        self.doubts.push(Doubt { line, reason });
    }

    /// The entry of a line; `None` where there is nothing to keep.
    pub(super) fn entry(&mut self, line: &Line) -> Option<Entry> {
        if line.cells.iter().all(|c| c.trim().is_empty()) {
            return None;
        }
        self.spare_cells(line);
        let (date, hour) = self.day(line)?;
        let mut entry = Entry {
            line: line.number,
            time_h: hour,
            ..Entry::blank(date)
        };
        if let Some(cell) = self.cell(line, &Column::Time) {
            match dates::hour(cell) {
                Some(hour) => entry.time_h = Some(hour),
                None => self.unreadable(line, &Column::Time, cell, "is no hour of the day"),
            }
        }
        entry.fed = self.feeds(line);
        entry.water_l = self.number(line, &Column::Water);
        entry.temperature_c = self.number(line, &Column::Tank);
        (entry.gas, entry.gas_seen) = self.gas(line);
        entry.ph = self.number(line, &Column::Ph);
        entry.methane_pct = self.number(line, &Column::Methane);
        entry.burns = self.yes_or_no(line, &Column::Burns, &BURNS, &BURNS_NOT);
        entry.acids_mg_l = self.number(line, &Column::Acids);
        entry.alkalinity_mg_l = self.number(line, &Column::Alkalinity);
        if let Some(cell) = self.cell(line, &Column::Remark) {
            entry.remark = unguarded(cell).to_owned();
        }
        let blank = Entry {
            line: entry.line,
            time_h: entry.time_h,
            ..Entry::blank(date)
        };
        if entry == blank {
            self.bare += 1;
            return None;
        }
        Some(entry)
    }

    /// Cells beyond the last heading, and those below a heading that is not known.
    fn spare_cells(&mut self, line: &Line) {
        let beyond = line.cells.get(self.headings.len()..).unwrap_or(&[]);
        if let Some(cell) = beyond.iter().find(|c| !c.trim().is_empty()) {
            self.doubt(
                line.number,
                format!(
                    "it has {} cells and the heading {}: {} and what follows it is not read. A comma inside a number or \
                     remark needs quotation marks round the cell",
                    line.cells.len(),
                    self.headings.len(),
                    quoted(cell)
                ),
            );
        }
    }

    /// The text of a column, trimmed; `None` where it is empty or missing.
    fn cell<'l>(&self, line: &'l Line, column: &Column) -> Option<&'l str> {
        let at = self
            .columns
            .iter()
            .position(|p| p.as_ref().is_some_and(|p| p.column == *column))?;
        let cell = line.cells.get(at)?.trim();
        (!cell.is_empty()).then_some(cell)
    }

    fn unit(&self, column: &Column) -> Option<(f64, f64)> {
        let placed = self.columns.iter().flatten();
        placed.into_iter().find(|p| p.column == *column)?.unit
    }

    fn unreadable(&mut self, line: &Line, column: &Column, cell: &str, why: &str) {
        self.doubt(
            line.number,
            format!("{}: {} {why}; left out", column.words(), quoted(cell)),
        );
    }

    fn day(&mut self, line: &Line) -> Option<(Date, Option<f64>)> {
        let Some(cell) = self.cell(line, &Column::Date) else {
            let Some((above, date)) = self.last else {
                self.doubt(
                    line.number,
                    "it has no day, and no line above has one; the whole line is left out".into(),
                );
                return None;
            };
            self.doubt(
                line.number,
                format!("it has no day; taken for {date}, the day of line {above}"),
            );
            return Some((date, None));
        };
        let read = dates::read(cell);
        let date = read.and_then(|Moment { day, .. }| day.date(self.month_first));
        let Some(date) = date else {
            let why = if dates::is_day_count(cell) {
                "looks like a spreadsheet's count of days: show the column as dates there, and save again"
            } else if FROM_TODAY.contains(&cell.to_lowercase().as_str()) {
                "counts from the day on which it was written, which the file does not tell: write 2026-04-30"
            } else {
                "is no day of the calendar"
            };
            self.doubt(
                line.number,
                format!("day: {} {why}; the whole line is left out", quoted(cell)),
            );
            return None;
        };
        self.last = Some((line.number, date));
        Some((date, read.and_then(|m| m.hour)))
    }

    /// A number of a column, within what is possible.
    fn number(&mut self, line: &Line, column: &Column) -> Option<f64> {
        let cell = self.cell(line, column)?;
        let quantity = column.quantity()?;
        match numbers::measured(cell, quantity, self.unit(column), self.decimal) {
            Ok(value) => self.within(line, column, cell, quantity, value),
            Err(why) => {
                self.unreadable(line, column, cell, why);
                None
            }
        }
    }

    fn within(
        &mut self,
        line: &Line,
        column: &Column,
        cell: &str,
        quantity: Quantity,
        value: f64,
    ) -> Option<f64> {
        let Some((goes, why)) = out_of_reach(quantity, value) else {
            return Some(value);
        };
        if goes {
            self.unreadable(line, column, cell, &why);
            return None;
        }
        self.doubt(
            line.number,
            format!("{}: {} {why}; kept", column.words(), quoted(cell)),
        );
        Some(value)
    }

    fn feeds(&mut self, line: &Line) -> Vec<Fed> {
        let mut fed = Vec::new();
        let kg = self.number(line, &Column::Kg);
        let cell = self.cell(line, &Column::Fed).map(str::to_owned);
        match cell
            .as_deref()
            .map(|c| (c, materials::feeds(c, self.decimal)))
        {
            None | Some((_, Ok(Feeds::None))) => {
                if let Some(kg) = kg.filter(|kg| *kg > 0.0) {
                    self.doubt(
                        line.number,
                        format!(
                            "{kg} kg were fed, and it is not said of what; kept without a name"
                        ),
                    );
                    fed.push(Fed {
                        material: String::new(),
                        kg,
                    });
                }
            }
            Some((cell, Ok(Feeds::Named(material)))) => match kg {
                Some(kg) => fed.push(Fed { material, kg }),
                None => self.unreadable(line, &Column::Fed, cell, "has no amount"),
            },
            Some((cell, Ok(Feeds::All(all)))) => {
                if let Some(kg) = kg {
                    self.doubt(
                        line.number,
                        format!(
                            "amounts stand twice, in {} and as {kg} kg; the first are kept",
                            quoted(cell)
                        ),
                    );
                }
                for one in all {
                    let kept = self.within(line, &Column::Fed, cell, Quantity::Mass, one.kg);
                    fed.extend(kept.map(|kg| Fed { kg, ..one }));
                }
            }
            Some((cell, Err(why))) => {
                self.unreadable(line, &Column::Fed, cell, &why);
                if let Some(kg) = kg {
                    self.doubt(line.number, format!("{kg} kg without a name are left out"));
                }
            }
        }
        let columns = self.columns;
        for placed in columns.iter().flatten() {
            if let Column::KgOf(material) = &placed.column
                && let Some(kg) = self.number(line, &placed.column)
            {
                fed.push(Fed {
                    material: material.clone(),
                    kg,
                });
            }
        }
        for one in fed
            .iter()
            .filter(|f| f.material.is_empty() && cell.is_some())
        {
            self.doubts.push(Doubt {
                line: line.number,
                reason: format!(
                    "{} kg were fed, and it is not said of what; kept without a name",
                    one.kg
                ),
            });
        }
        fed.retain(|f| f.kg > 0.0);
        fed
    }

    /// The gas of a line, and whether there was a look at it that tells no amount. What a meter counts stays a count
    /// here: steps are told once the lines are in order.
    fn gas(&mut self, line: &Line) -> (Option<GasReading>, bool) {
        let temperature_c = self.number(line, &Column::GasTemperature);
        let pressure_mbar = self.number(line, &Column::GasPressure);
        let wet = self.yes_or_no(line, &Column::Wet, &WET, &DRY);
        let lime = self.yes_or_no(line, &Column::Lime, &AFTER, &BEFORE);
        let count = self.number(line, &Column::Meter);
        if count.is_some() {
            self.counts.insert(line.number);
        }
        let litres = count.or_else(|| self.since_last(line));
        let Some(litres) = litres else {
            if temperature_c.is_some() || pressure_mbar.is_some() {
                self.doubt(
                    line.number,
                    "temperature or pressure of the gas is given without a reading of gas; left out".into(),
                );
            }
            return (None, self.cell(line, &Column::Gas).is_some());
        };
        let reading = GasReading {
            litres,
            temperature_c,
            pressure_mbar,
            wet,
            lime,
        };
        (Some(reading), false)
    }

    fn since_last(&mut self, line: &Line) -> Option<f64> {
        let cell = self.cell(line, &Column::Gas)?;
        if cell == LOOKED {
            return None;
        }
        let read = numbers::measured(cell, Quantity::Gas, self.unit(&Column::Gas), self.decimal);
        if let Ok(value) = read
            && value < 0.0
        {
            self.unreadable(
                line,
                &Column::Gas,
                cell,
                "is less than nothing: gas was used or lost between two readings, or the bell was read wrongly",
            );
            return None;
        }
        self.number(line, &Column::Gas)
    }

    fn yes_or_no(
        &mut self,
        line: &Line,
        column: &Column,
        yes: &[&str],
        no: &[&str],
    ) -> Option<bool> {
        let cell = self.cell(line, column)?;
        let word = cell
            .to_lowercase()
            .replace(['\'', '\u{2019}', '.', '!'], "");
        let word = word.trim();
        let is = |own: &[&str], common: &[&str]| own.contains(&word) || common.contains(&word);
        if is(yes, &YES) {
            return Some(true);
        }
        if is(no, &NO) {
            return Some(false);
        }
        self.unreadable(line, column, cell, "is neither yes nor no");
        None
    }
}

/// Days that only the day of writing tells.
const FROM_TODAY: [&str; 3] = ["today", "yesterday", "tomorrow"];
/// In the column of gas: the bell or meter was looked at and told no amount.
pub(crate) const LOOKED: &str = "?";
const YES: [&str; 6] = ["yes", "y", "true", "1", "x", "ok"];
const NO: [&str; 6] = ["no", "n", "false", "0", "-", "not"];
const BURNS: [&str; 6] = ["burns", "burnt", "burned", "flame", "lit", "well"];
const BURNS_NOT: [&str; 7] = [
    "doesnt",
    "doesnt burn",
    "does not burn",
    "no flame",
    "goes out",
    "out",
    "didnt burn",
];
const WET: [&str; 3] = ["wet", "moist", "saturated"];
const DRY: [&str; 2] = ["dry", "dried"];
const AFTER: [&str; 4] = ["after", "after lime", "lime", "after the lime"];
const BEFORE: [&str; 4] = ["before", "before lime", "raw", "before the lime"];
