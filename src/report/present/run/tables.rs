//! Events, courses by week and by day, balances.

use super::super::words::{acid_ratio, date_of, long_date};
use super::reading::{Reading, mean};
use super::{closes, heat};
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, percent, power_of_ten, significant};
use crate::simulate::{DayRow, EventKind};

/// A page holds no more daily rows than this; the rest is in the CSV file.
const DAILY_ROWS: usize = 400;
/// Runs up to so many days are summed up by week, longer ones by four weeks.
const WEEKLY_UP_TO: usize = 2000;
const WEEK: usize = 7;
const FOUR_WEEKS: usize = 28;

/// Names of events as sentences.
const EVENTS: [(EventKind, &str); 7] = [
    (EventKind::FirstGas, "First gas leaves for the store"),
    (EventKind::FirstFlame, "The gas burns for the first time"),
    (EventKind::BurnsSteadily, "The gas burns steadily"),
    (EventKind::TurnsSour, "Turns sour"),
    (EventKind::Recovers, "Recovers"),
    (
        EventKind::WashesOut,
        "Methane makers are washed out or dead",
    ),
    (EventKind::Freezes, "The liquor reaches freezing point"),
];

/// All tables in reading order.
pub(super) fn tables(reading: &Reading<'_>) -> Vec<Table> {
    let mut tables = vec![events(reading)];
    tables.extend(heat::table(reading));
    tables.extend(summary(reading));
    tables.push(daily(reading));
    tables.push(closures(reading));
    tables
}

fn events(reading: &Reading<'_>) -> Table {
    let several = reading.outcome.vessels.len() > 1;
    let mut columns = vec![Column::number("Day", "d")];
    if reading.start.is_some() {
        columns.push(Column::words("Date"));
    }
    if several {
        columns.push(Column::words("Vessel"));
    }
    columns.push(Column::words("What happened"));
    let rows = reading.outcome.events.iter().map(|event| {
        // Cut, not rounded: what happens at 93.97 happens on day 93, as the text says.
        let mut row = vec![fixed((10.0 * event.day).floor() / 10.0, 1)];
        if reading.start.is_some() {
            row.push(
                date_of(event.day, reading.start)
                    .map(long_date)
                    .unwrap_or_default(),
            );
        }
        if several {
            row.push(reading.vessel(event.vessel).into());
        }
        let name = EVENTS.iter().find(|(kind, _)| *kind == event.kind);
        row.push(name.map_or("", |(_, name)| name).into());
        row
    });
    let rows: Vec<_> = rows.collect();
    let note = if rows.is_empty() {
        "Nothing out of the ordinary happened."
    } else {
        ""
    };
    table("events", "Events", columns, rows, note, Weight::Story)
}

fn course_columns(dated: bool) -> Vec<Column> {
    let mut columns = vec![Column::number("Day", "d")];
    if dated {
        columns.push(Column::words("Date"));
    }
    columns.extend([
        Column::number("Liquor", "\u{b0}C"),
        Column::number("Fed", "kg/d"),
        Column::number("Gas as read", "L/d"),
        Column::number("Gas", "norm L/d"),
        Column::number("Methane", "%"),
        Column::number("pH", ""),
        Column::number("Acids", "mg/L"),
        Column::number("Acid ratio", ""),
        Column::words("State"),
    ]);
    columns
}

/// A line for one or more days: means, and the liquor and methane share at the end.
fn course_row(reading: &Reading<'_>, rows: &[DayRow]) -> Vec<String> {
    let (Some(first), Some(last)) = (rows.first(), rows.last()) else {
        return Vec::new();
    };
    let mut cells = vec![first.day.to_string()];
    if reading.start.is_some() {
        let date = date_of(f64::from(first.day), reading.start);
        cells.push(date.map(|d| d.to_string()).unwrap_or_default());
    }
    let sour = rows.iter().filter(|r| r.sour).count();
    let state = match (sour, rows.len(), last.burns) {
        (0, _, true) => "burns".into(),
        (0, _, false) => String::new(),
        (_, 1, _) => "sour".into(),
        (sour, _, _) => format!("sour on {sour}"),
    };
    cells.extend([
        fixed(mean(rows, |r| r.temperature_c), 1),
        fixed(mean(rows, |r| r.fed_kg), 1),
        fixed(mean(rows, |r| r.gas_read_l), 0),
        fixed(mean(rows, |r| r.gas_nl), 0),
        percent(last.ch4_share, 0),
        fixed(last.ph, 2),
        fixed(last.acids_mg_l, 0),
        acid_ratio(last.acid_ratio),
        state,
    ]);
    cells
}

fn summary(reading: &Reading<'_>) -> Option<Table> {
    let rows = reading.rows();
    let (length, title) = if rows.len() <= WEEKLY_UP_TO {
        (WEEK, "Week by week")
    } else {
        (FOUR_WEEKS, "Four weeks by four weeks")
    };
    if rows.len() < 2 * length {
        return None;
    }
    let lines = rows
        .chunks(length)
        .map(|chunk| course_row(reading, chunk))
        .collect();
    let columns = course_columns(reading.start.is_some());
    let note = "Means over the days of a line, which begins on the given day; methane share and liquor at its end.";
    Some(table(
        "summary",
        title,
        columns,
        lines,
        note,
        Weight::Folded,
    ))
}

fn daily(reading: &Reading<'_>) -> Table {
    let rows = reading.rows();
    let shown = &rows[rows.len() - rows.len().min(DAILY_ROWS)..];
    let lines = shown
        .chunks(1)
        .map(|chunk| course_row(reading, chunk))
        .collect();
    let note = if shown.len() < rows.len() {
        format!(
            "The last {DAILY_ROWS} days; the CSV file holds all {}.",
            rows.len()
        )
    } else {
        "Gas over the day; methane share and liquor at its end, before the next feeding.".into()
    };
    let columns = course_columns(reading.start.is_some());
    table("daily", "Day by day", columns, lines, &note, Weight::Folded)
}

fn closures(reading: &Reading<'_>) -> Table {
    let columns = vec![
        Column::words("Quantity"),
        Column::words("Unit"),
        Column::number("Entered", ""),
        Column::number("Accounted for", ""),
        Column::number("Relative gap", ""),
        Column::number("Limit", ""),
        Column::words("Closes"),
    ];
    let rows = reading.outcome.closures.iter().map(|c| {
        vec![
            c.quantity.clone(),
            c.unit.clone(),
            significant(c.entered, 6),
            significant(c.accounted, 6),
            power_of_ten(c.relative_gap),
            power_of_ten(c.limit),
            if closes(c) { "yes" } else { "NO" }.into(),
        ]
    });
    let note = "What was there and came in, against what left and is still there. A gap above its limit \
                would mean that the computation lost or made matter.";
    table(
        "closures",
        "Balances",
        columns,
        rows.collect(),
        note,
        Weight::Record,
    )
}

fn table(
    id: &str,
    title: &str,
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
    note: &str,
    weight: Weight,
) -> Table {
    Table {
        id: id.into(),
        title: title.into(),
        columns,
        rows,
        note: note.into(),
        weight,
    }
}
