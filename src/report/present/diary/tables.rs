//! How the record was taken, its doubts, its gaps, and each reading beside the run.

use super::Reading;
use crate::diary::Measured;
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, significant};
use crate::report::present::words::date_of;

pub(super) fn tables(reading: &Reading<'_>) -> Vec<Table> {
    let mut tables = vec![
        doubts(reading),
        taken(reading),
        readings(reading),
        intervals(reading),
        gaps(reading),
    ];
    tables.retain(|t| !t.rows.is_empty());
    tables
}

fn taken(reading: &Reading<'_>) -> Table {
    let taken = &reading.record.taken;
    let row = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = Vec::new();
    if !taken.separator.is_empty() {
        rows.push(row("Cells parted by", taken.separator.clone()));
        rows.push(row("Decimal mark", taken.decimal.clone()));
        rows.push(row("Days written", taken.dates.clone()));
    }
    let notes = taken.notes.iter().chain(reading.notes);
    rows.extend(
        notes
            .chain(&reading.comparison.notes)
            .map(|note| row("Taken", note.clone())),
    );
    Table {
        id: "taken".into(),
        title: "How the record was taken".into(),
        columns: vec![Column::words("What"), Column::words("As")],
        rows,
        note: String::new(),
        weight: Weight::Story,
    }
}

fn doubts(reading: &Reading<'_>) -> Table {
    let doubts = &reading.record.doubts;
    let line = |line: u64| match line {
        0 => "file".to_owned(),
        line => line.to_string(),
    };
    Table {
        id: "doubts".into(),
        title: "Look at these lines again".into(),
        columns: vec![
            Column::number("Line", ""),
            Column::words("What is doubtful"),
        ],
        rows: doubts
            .iter()
            .map(|d| vec![line(d.line), d.reason.clone()])
            .collect(),
        note: String::new(),
        // The terminal tells them as warnings.
        weight: Weight::Folded,
    }
}

fn date(reading: &Reading<'_>, day: f64) -> String {
    date_of(day, reading.start).map_or_else(String::new, |d| d.to_string())
}

fn intervals(reading: &Reading<'_>) -> Table {
    let number = |name: &str| Column::number(name, "NL");
    let rows = reading.comparison.intervals.iter().map(|i| {
        let mark = match (i.after_lime, i.long) {
            (true, true) => "after the lime; long stretch",
            (true, false) => "after the lime",
            (false, true) => "long stretch",
            (false, false) => "",
        };
        vec![
            i.line.to_string(),
            date(reading, i.to_day),
            fixed(i.days(), 1),
            significant(i.measured_nl, 3),
            significant(i.computed_nl, 3),
            significant(i.residual_nl, 2),
            significant(i.measured_so_far_nl, 4),
            significant(i.computed_so_far_nl, 4),
            mark.to_owned(),
        ]
    });
    Table {
        id: "gas".into(),
        title: "Gas from reading to reading".into(),
        columns: vec![
            Column::number("Line", ""),
            Column::words("Read on"),
            Column::number("Stretch", "d"),
            number("Measured"),
            number("Computed"),
            number("Difference"),
            number("Measured so far"),
            number("Computed so far"),
            Column::words("Remark"),
        ],
        rows: rows.collect(),
        note: "NL: norm litres, dry gas at 0 \u{b0}C and 101.325 kPa.".into(),
        weight: Weight::Folded,
    }
}

fn readings(reading: &Reading<'_>) -> Table {
    let rows = reading.comparison.readings.iter().map(|r| {
        let (name, unit, decimals) = measured(r.what);
        vec![
            r.line.to_string(),
            date(reading, r.day),
            name.to_owned(),
            fixed(r.measured, decimals),
            fixed(r.computed, decimals),
            unit.to_owned(),
        ]
    });
    Table {
        id: "readings".into(),
        title: "Other readings beside the run".into(),
        columns: vec![
            Column::number("Line", ""),
            Column::words("Read on"),
            Column::words("What"),
            Column::number("Measured", ""),
            Column::number("Computed", ""),
            Column::words("Unit"),
        ],
        rows: rows.collect(),
        note: String::new(),
        weight: Weight::Folded,
    }
}

/// Name, unit and decimals.
pub(super) fn measured(what: Measured) -> (&'static str, &'static str, usize) {
    match what {
        Measured::Ph => ("pH", "", 2),
        Measured::MethanePct => ("Methane", "% by volume, dry", 0),
        Measured::AcidsMgL => ("Volatile acids", "mg/L as acetic acid", 0),
        Measured::AlkalinityMgL => ("Alkalinity", "mg CaCO\u{2083}/L", 0),
    }
}

fn gaps(reading: &Reading<'_>) -> Table {
    let rows = reading.comparison.gaps.iter();
    Table {
        id: "gaps".into(),
        title: "Days without an entry".into(),
        columns: vec![
            Column::words("From"),
            Column::words("To"),
            Column::number("Days", "d"),
        ],
        rows: rows
            .map(|g| vec![g.from.clone(), g.to.clone(), g.days.to_string()])
            .collect(),
        note: String::new(),
        weight: Weight::Story,
    }
}
