//! Tables of a sweep.

use super::super::words::{acid_ratio, rough};
use super::reading::{Reading, bare, sentence_name, shown_unit, title, word};
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, percent, significant};
use crate::simulate::EventKind;
use crate::study::sweep::{Level, SweepPoint};

/// What stands where there is no number.
const NONE: &str = "\u{2013}";
/// Grids with more columns than this are left to the maps.
const WIDEST: usize = 9;

/// The points in short, then at length.
pub(super) fn tables(reading: &Reading<'_>) -> Vec<Table> {
    let mut tables = Vec::new();
    match reading.result.axes.as_slice() {
        [_] => tables.push(short(reading)),
        _ if reading.axis(0).values.len() <= WIDEST => tables.push(grid(reading)),
        _ => {}
    }
    tables.push(long(reading));
    tables
}

fn knob_columns(reading: &Reading<'_>) -> Vec<Column> {
    let axes = reading.result.axes.iter();
    axes.map(|axis| Column::number(&axis.label, shown_unit(&axis.unit)))
        .collect()
}

fn knob_cells(reading: &Reading<'_>, point: &SweepPoint) -> Vec<String> {
    let axes = reading.result.axes.iter().zip(&point.values);
    axes.map(|(axis, value)| bare(axis, *value)).collect()
}

fn cell(
    level: Option<&Level>,
    of: impl Fn(&Level) -> Option<f64>,
    show: fn(f64) -> String,
) -> String {
    level.and_then(of).map_or_else(|| NONE.into(), show)
}

fn short(reading: &Reading<'_>) -> Table {
    let axis = reading.axis(0);
    let mut columns = vec![Column::number("value", shown_unit(&axis.unit))];
    columns.extend([
        Column::number(
            "yield",
            if reading.per_vs {
                "NL/kg VS"
            } else {
                "NL/kg COD"
            },
        ),
        Column::number("gas", "L/d"),
        Column::number("CH\u{2084}", "%"),
        Column::number("pH", ""),
        Column::number("acid ratio", ""),
        Column::number("fed", "kg/d"),
        Column::number("stay", "d"),
        Column::words("outcome"),
    ]);
    let rows = reading.result.points.iter().map(|p| {
        let level = p.level.as_ref();
        let mut row = knob_cells(reading, p);
        row.extend([
            cell(level, |l| reading.yield_of(l), rough),
            cell(level, |l| Some(l.gas_read_l_d), rough),
            cell(level, |l| l.ch4_share, |s| percent(s, 0)),
            cell(level, |l| Some(l.ph), |v| fixed(v, 1)),
            cell(level, |l| Some(l.acid_ratio), acid_ratio),
            cell(level, |l| Some(l.fed_kg_d), |v| significant(v, 3)),
            cell(level, |l| l.retention_d, |v| significant(v, 3)),
            ending(p),
        ]);
        row
    });
    Table {
        id: "sweep".into(),
        title: format!("Against {}", sentence_name(axis)),
        columns,
        rows: rows.collect(),
        note: "yield: methane in norm litres; gas as the owner reads it; fed: material without water, a day; stay: \
               retention time, over what was really fed; pauses within the window count in both; * not settled"
            .into(),
        weight: Weight::Story,
    }
}

/// The class, with a star where the level has not settled.
fn ending(point: &SweepPoint) -> String {
    let moving = point.works() && point.level.as_ref().is_some_and(|l| !l.settled);
    format!("{}{}", word(point.class), if moving { " *" } else { "" })
}

/// Yields over two knobs: a letter tells what does not work.
fn grid(reading: &Reading<'_>) -> Table {
    let (across, down) = (reading.axis(0), reading.axis(1));
    let rows = down.values.len();
    let mut columns = vec![Column::number(&down.label, shown_unit(&down.unit))];
    columns.extend(
        across
            .values
            .iter()
            .map(|v| Column::number(&bare(across, *v), "")),
    );
    let rows = (0..rows).rev().map(|row| {
        let mut cells = vec![bare(down, down.values[row])];
        cells.extend((0..across.values.len()).map(
            |column| match reading.at(column * rows + row) {
                Some(p) if p.works() => cell(p.level.as_ref(), |l| reading.yield_of(l), rough),
                Some(p) => word(p.class).to_owned(),
                None => NONE.into(),
            },
        ));
        cells
    });
    Table {
        id: "sweep".into(),
        title: format!(
            "Methane yield ({}) over {}",
            reading.yield_unit(),
            sentence_name(across)
        ),
        columns,
        rows: rows.collect(),
        note: format!("across: {}; down: {}", title(across), title(down)),
        weight: Weight::Story,
    }
}

fn long(reading: &Reading<'_>) -> Table {
    let mut columns = knob_columns(reading);
    columns.extend([
        Column::words("outcome"),
        Column::number("methane yield", reading.yield_unit()),
        Column::number("gas", "norm L/d"),
        Column::number("gas rate", "norm L/L/d"),
        Column::number("methane", "%"),
        Column::number("pH", ""),
        Column::number("acids", "mg/L"),
        Column::number("acid ratio", ""),
        Column::number("loading", "kg VS/m\u{b3}/d"),
        Column::number("retention", "d"),
        Column::number("material", "kg/d"),
        Column::number("water", "kg/d"),
        Column::number("run", "d"),
        Column::number("window", "d"),
        Column::number("drift", "%"),
        Column::number("first flame", "day"),
        Column::number("burns steadily", "day"),
        Column::number("turns sour", "day"),
        Column::number("washes out", "day"),
        Column::words("remark"),
    ]);
    let three = |v: f64| significant(v, 3);
    let rows = reading.result.points.iter().map(|p| {
        let level = p.level.as_ref();
        let day = |kind: EventKind| cell(level, |l| l.first(kind), |d| fixed(d, 0));
        let mut row = knob_cells(reading, p);
        row.extend([
            ending(p),
            cell(level, |l| reading.yield_of(l), three),
            cell(level, |l| Some(l.gas_nl_d), three),
            cell(level, |l| Some(l.gas_nl_l_d), three),
            cell(level, |l| l.ch4_share, |s| percent(s, 1)),
            cell(level, |l| Some(l.ph), |v| fixed(v, 2)),
            cell(level, |l| Some(l.acids_mg_l), three),
            cell(level, |l| Some(l.acid_ratio), acid_ratio),
            cell(level, |l| Some(l.loading_kg_vs_m3_d), three),
            cell(level, |l| l.retention_d, three),
            cell(level, |l| Some(l.fed_kg_d), three),
            cell(level, |l| Some(l.water_kg_d), three),
            cell(level, |l| Some(f64::from(l.days)), |v| fixed(v, 0)),
            cell(level, |l| Some(f64::from(l.window_d)), |v| fixed(v, 0)),
            cell(level, |l| l.drift, |v| percent(v, 1)),
            day(EventKind::FirstFlame),
            day(EventKind::BurnsSteadily),
            day(EventKind::TurnsSour),
            day(EventKind::WashesOut),
            p.mishap
                .as_ref()
                .map(|m| m.message.clone())
                .unwrap_or_default(),
        ]);
        row
    });
    Table {
        id: "points".into(),
        title: "All points".into(),
        columns,
        rows: rows.collect(),
        note: "Means over the window at the end of each run; days of events are their first ones."
            .into(),
        weight: Weight::Folded,
    }
}
