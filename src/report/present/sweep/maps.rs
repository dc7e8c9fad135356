//! Two things varied: maps over both.

use super::super::words::count;
use super::reading::{Reading, bare, is_lost, sentence_name, title};
use crate::report::figure::{Figure, Map, MapAxis, MapCell, Plot, extent};
use crate::report::numbers::significant;
use crate::study::sweep::{Level, SweepAxis};

/// Yield, gas and acids over both knobs.
pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let unit = reading.yield_unit();
    // A soured digester's ratio is many times its bands and would flatten everything else.
    let most = reading.bands.acid_ratio.danger;
    let acids = format!("Acids over alkalinity, cut at {most}");
    vec![
        map(reading, "map-yield", "Methane yield", unit, |r, l| {
            r.yield_of(l)
        }),
        map(reading, "map-gas", "Gas as read", "L/d", |_, l| {
            Some(l.gas_read_l_d)
        }),
        map(reading, "map-acids", &acids, "", |r, l| {
            Some(l.acid_ratio.min(r.bands.acid_ratio.danger))
        }),
    ]
}

fn map(
    reading: &Reading<'_>,
    id: &str,
    name: &str,
    unit: &str,
    of: fn(&Reading<'_>, &Level) -> Option<f64>,
) -> Figure {
    let (across, up) = (reading.axis(0), reading.axis(1));
    let (columns, rows) = (across.values.len(), up.values.len());
    let cells: Vec<MapCell> = (0..rows)
        .flat_map(|row| (0..columns).map(move |column| column * rows + row))
        .map(|index| {
            let point = reading.at(index);
            let level = point.and_then(|p| p.level.as_ref());
            MapCell {
                value: level.and_then(|l| of(reading, l)),
                beyond: point.is_some_and(is_lost),
            }
        })
        .collect();
    let range = extent(cells.iter().filter_map(|c| c.value));
    let heading = format!(
        "{name} over {} and {}",
        sentence_name(across),
        sentence_name(up)
    );
    let lost = cells.iter().filter(|c| c.beyond).count();
    let alt = match range {
        Some((low, high)) => format!(
            "{heading}: a grid of {columns} by {rows} cells from {} to {} {unit}; {lost} of them sour or washed out.",
            significant(low, 3),
            significant(high, 3)
        ),
        None => format!("{heading}: no values."),
    };
    let side = |axis: &SweepAxis| MapAxis {
        title: title(axis),
        labels: axis.values.iter().map(|v| bare(axis, *v)).collect(),
    };
    Figure {
        id: id.into(),
        title: heading,
        caption: match lost {
            0 => "Each cell is the lasting level of one run. No run that was tried ends sour or washed out.".into(),
            _ => format!(
                "Each cell is the lasting level of one run. The thick line is the border between the runs that work and \
                 the {}, marked \u{d7}; it is no finer than the cells.",
                count(lost, "run that ends sour or washed out", "runs that end sour or washed out")
            ),
        },
        alt,
        plot: Plot::Map(Map {
            title: name.into(),
            unit: unit.into(),
            x: side(across),
            y: side(up),
            cells,
            beyond: "sour or washed out".into(),
            hatched: "no result".into(),
        }),
    }
}
