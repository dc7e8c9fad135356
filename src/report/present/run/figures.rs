//! Gas, headspace, weather and feed as figures; the liquor has its own file.

use super::super::words::{count, rough};
use super::liquor;
use super::reading::Reading;
use crate::report::figure::{
    Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Series, Span, XAxis, XKind, extent,
};
use crate::report::numbers::{fixed, percent};
use crate::simulate::{DayRow, EventKind};

/// Looks, the same in all figures of a run.
const METHANE: Look = Look(0);
const OTHER_GAS: Look = Look(5);
const AIR: Look = Look(1);
const SULPHIDE: Look = Look(7);
const HYDROGEN: Look = Look(3);
/// Hydrogen above 1 % of the gas is drawn.
const HYDROGEN_SHOWN_PPM: f64 = 1e4;
const THEORY: Look = Look(5);
const YIELD: Look = Look(0);
const WARMTH: Look = Look(1);
const MATERIAL: Look = Look(2);
const WATER: Look = Look(6);
const LOADING: Look = Look(3);
/// Up to so many days, gas is drawn as a column a day.
const COLUMN_DAYS: usize = 60;
/// Short words for events that are marked in figures; sour spells are shaded instead.
const MARKED: [(EventKind, &str); 5] = [
    (EventKind::FirstGas, "first gas"),
    (EventKind::FirstFlame, "first flame"),
    (EventKind::BurnsSteadily, "burns steadily"),
    (EventKind::WashesOut, "washed out"),
    (EventKind::Freezes, "freezes"),
];

/// All figures but the fate of the COD.
pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let mut figures = vec![gas(reading), headspace(reading)];
    figures.extend(liquor::figures(reading));
    figures.push(feed(reading));
    if reading.outcome.vessels.len() > 1 {
        figures.push(vessels(reading));
    }
    figures
}

/// Panels over the days of the run, with sour spells shaded and events marked.
pub(super) fn over_days(reading: &Reading<'_>, panels: Vec<Panel>) -> Plot {
    with_spells(reading, panels, &reading.spells)
}

/// The same with the spells of one vessel.
pub(super) fn with_spells(
    reading: &Reading<'_>,
    panels: Vec<Panel>,
    spells: &[(f64, f64)],
) -> Plot {
    let spans = spells.iter().map(|(from, to)| Span {
        from: *from,
        to: *to,
        name: "sour days".into(),
    });
    let markers = MARKED.iter().filter_map(|(kind, label)| {
        let event = reading.first(*kind)?;
        Some(Marker {
            x: event.day,
            label: (*label).into(),
        })
    });
    Plot::Panels(Panels {
        x: XAxis {
            title: "Day of the run".into(),
            kind: XKind::Days {
                start: reading.start,
            },
            range: Some((0.0, f64::from(reading.outcome.days.max(1)))),
        },
        panels,
        spans: spans.collect(),
        markers: markers.collect(),
    })
}

/// A series of what holds over a day, placed at its middle.
pub(super) fn over_day(
    name: &str,
    look: Look,
    rows: &[DayRow],
    of: impl Fn(&DayRow) -> f64,
) -> Series {
    series(name, look, rows, 0.5, of)
}

/// A series of what is found at the end of a day.
pub(super) fn at_end(
    name: &str,
    look: Look,
    rows: &[DayRow],
    of: impl Fn(&DayRow) -> f64,
) -> Series {
    series(name, look, rows, 1.0, of)
}

fn from_start(name: &str, look: Look, rows: &[DayRow], of: impl Fn(&DayRow) -> f64) -> Series {
    series(name, look, rows, 0.0, of)
}

fn series(
    name: &str,
    look: Look,
    rows: &[DayRow],
    shift: f64,
    of: impl Fn(&DayRow) -> f64,
) -> Series {
    Series {
        name: name.into(),
        look,
        points: rows
            .iter()
            .map(|r| (f64::from(r.day) + shift, of(r)))
            .collect(),
    }
}

fn gas(reading: &Reading<'_>) -> Figure {
    let rows = reading.rows();
    let rest = |r: &DayRow| (r.gas_nl - r.ch4_nl).max(0.0);
    let layer = if rows.len() <= COLUMN_DAYS {
        Layer::Columns(vec![
            from_start("methane", METHANE, rows, |r| r.ch4_nl),
            from_start("other gases", OTHER_GAS, rows, rest),
        ])
    } else {
        Layer::Stack(vec![
            over_day("methane", METHANE, rows, |r| r.ch4_nl),
            over_day("other gases", OTHER_GAS, rows, rest),
        ])
    };
    let daily = Panel {
        title: "Gas for the store".into(),
        unit: "norm litres per day, dry".into(),
        height: 1.4,
        layers: vec![layer],
        ..Panel::default()
    };
    let yields = Panel {
        title: "Methane per volatile solids put in, since the start".into(),
        unit: "norm litres per kg".into(),
        include: vec![0.0],
        layers: vec![
            Layer::Line(at_end("yield", YIELD, rows, |r| {
                if r.yield_nl_kg_vs > 0.0 {
                    r.yield_nl_kg_vs
                } else {
                    f64::NAN
                }
            })),
            Layer::Line(at_end("theoretical", THEORY, rows, |r| {
                r.theoretical_yield_nl_kg_vs
            })),
        ],
        ..Panel::default()
    };
    let peak = reading.peak(|r| r.gas_nl);
    Figure {
        id: "gas".into(),
        title: "Gas per day and yield".into(),
        caption: "The whole height is the day's gas, its lower part the methane. Below: when the yield levels \
                  off under the theoretical line, more time or warmth would still bring gas. Both count the starter in."
            .into(),
        alt: format!(
            "Areas over time. Gas peaks at {} norm litres a day on day {} and ends near {}, of which {} are \
             methane. The yield ends at {} norm litres of methane per kg of volatile solids.",
            rough(peak.map_or(0.0, |r| r.gas_nl)),
            peak.map_or(0, |r| r.day),
            rough(reading.usual.gas_nl),
            rough(reading.usual.ch4_nl),
            rough(rows.last().map_or(0.0, |r| r.yield_nl_kg_vs))
        ),
        plot: over_days(reading, vec![daily, yields]),
    }
}

fn headspace(reading: &Reading<'_>) -> Figure {
    let rows = reading.rows();
    let flame = &reading.bands.flame;
    let mut shares = Panel {
        title: "Dry gas in the headspace".into(),
        unit: "% by volume".into(),
        include: vec![0.0],
        height: 1.5,
        layers: vec![
            Layer::Line(at_end("methane", METHANE, rows, |r| 100.0 * r.ch4_share)),
            Layer::Line(at_end("carbon dioxide", OTHER_GAS, rows, |r| {
                100.0 * r.co2_share
            })),
            Layer::Line(at_end("air", AIR, rows, |r| 100.0 * r.air_share)),
            Layer::Rule(Rule {
                y: 100.0 * flame.methane,
                label: "flame".into(),
            }),
        ],
        ..Panel::default()
    };
    // A healthy digester holds a few ppm; only a souring one has hydrogen worth a line.
    if rows.iter().any(|r| r.h2_ppm > HYDROGEN_SHOWN_PPM) {
        let hydrogen = at_end("hydrogen", HYDROGEN, rows, |r| r.h2_ppm / 1e4);
        shares.layers.insert(3, Layer::Line(hydrogen));
    }
    let sulphide = Panel {
        title: "Hydrogen sulphide in the headspace".into(),
        unit: "ppm by volume".into(),
        include: vec![0.0],
        height: 0.7,
        layers: vec![Layer::Line(at_end(
            "Hydrogen sulphide in the headspace",
            SULPHIDE,
            rows,
            |r| r.h2s_ppm,
        ))],
        ..Panel::default()
    };
    let last = rows.last();
    Figure {
        id: "headspace".into(),
        title: "What is in the gas".into(),
        caption: format!(
            "The gas burns once methane stands above the dashed line ({} %) and the air of the first days is \
             gone (below {} %). Hydrogen sulphide of 100 ppm already endangers life.",
            percent(flame.methane, 0),
            percent(flame.air, 0)
        ),
        alt: format!(
            "Lines over time. At the end the headspace holds {} % methane, {} % carbon dioxide and {} % air, and \
             {} ppm of hydrogen sulphide.",
            percent(last.map_or(0.0, |r| r.ch4_share), 0),
            percent(last.map_or(0.0, |r| r.co2_share), 0),
            percent(last.map_or(0.0, |r| r.air_share), 0),
            rough(last.map_or(0.0, |r| r.h2s_ppm))
        ),
        plot: over_days(reading, vec![shares, sulphide]),
    }
}

fn feed(reading: &Reading<'_>) -> Figure {
    let rows = reading.rows();
    let warmth = Panel {
        title: "Temperature of the liquor".into(),
        unit: "\u{b0}C, daily mean".into(),
        layers: vec![Layer::Line(over_day(
            "Temperature of the liquor",
            WARMTH,
            rows,
            |r| r.temperature_c,
        ))],
        ..Panel::default()
    };
    let fed = Panel {
        title: "Fed".into(),
        unit: "kg per day".into(),
        layers: vec![Layer::Columns(vec![
            from_start("material", MATERIAL, rows, |r| r.fed_kg),
            from_start("water", WATER, rows, |r| r.water_kg),
        ])],
        ..Panel::default()
    };
    let loading = Panel {
        title: "Organic loading, past seven days".into(),
        unit: "kg volatile solids per m\u{b3} and day".into(),
        include: vec![0.0],
        height: 0.8,
        layers: vec![Layer::Line(at_end(
            "Organic loading, past seven days",
            LOADING,
            rows,
            |r| r.loading_kg_vs_m3_d,
        ))],
        ..Panel::default()
    };
    let range = extent(rows.iter().map(|r| r.temperature_c)).unwrap_or((f64::NAN, f64::NAN));
    Figure {
        id: "feed".into(),
        title: "Temperature and feed".into(),
        caption: "Causes to set beside the figures above: a fall in temperature or a rise in loading comes days \
                  before acids rise and gas falls."
            .into(),
        alt: format!(
            "Temperature lies between {} and {} degrees Celsius. In {} {} kg of material and {} kg of water were fed.",
            fixed(range.0, 0),
            fixed(range.1, 0),
            count(rows.len(), "day", "days"),
            rough(reading.total.fed_kg),
            rough(reading.total.water_kg)
        ),
        plot: over_days(reading, vec![warmth, fed, loading]),
    }
}

/// Methane of each vessel of a row.
fn vessels(reading: &Reading<'_>) -> Figure {
    let all = &reading.outcome.vessels;
    let layers = all
        .iter()
        .enumerate()
        .map(|(i, v)| Layer::Line(over_day(&v.name, Look(i), &v.days, |r| r.ch4_nl)));
    let panel = Panel {
        title: "Methane for the store".into(),
        unit: "norm litres per day".into(),
        include: vec![0.0],
        layers: layers.collect(),
        ..Panel::default()
    };
    let sums: Vec<String> = all
        .iter()
        .map(|v| {
            format!(
                "{}: {}",
                v.name,
                rough(v.days.iter().map(|r| r.ch4_nl).sum())
            )
        })
        .collect();
    Figure {
        id: "vessels".into(),
        title: "Methane of each vessel".into(),
        caption: "The first vessel takes all the feed and carries the risk; what the later ones add is what it \
                  left behind."
            .into(),
        alt: format!("Lines over time. Norm litres of methane in the whole run: {}.", sums.join("; ")),
        plot: over_days(reading, vec![panel]),
    }
}
