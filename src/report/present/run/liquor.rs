//! Acids, alkalinity and pH as figures.

use super::super::words::rough;
use super::super::zones::{acid_ratio_zones, ph_zones};
use super::figures::{at_end, over_days, with_spells};
use super::reading::{Reading, sour_spells};
use crate::report::figure::{Figure, Layer, Look, Panel, Series, extent};
use crate::report::numbers::fixed;
use crate::simulate::VesselSeries;

const ACETIC: Look = Look(1);
const PROPIONIC: Look = Look(3);
const BUTYRIC: Look = Look(4);
const TOTAL: Look = Look(5);
const ALKALINITY: Look = Look(2);
const PARTIAL: Look = Look(6);
const RATIO: Look = Look(0);
/// The ratio of acids is cut at so many times the band of danger.
const MOST_RATIO: f64 = 1.25;
const AMMONIA: Look = Look(3);
/// Looks of the pH of several vessels begin here.
const FIRST_PH: usize = 0;
/// Up to so many points the finer trajectory is drawn, which shows what a feeding does within the day.
const FINE_POINTS: usize = 1500;

/// Acids of each vessel, then pH of all.
pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let vessels = &reading.outcome.vessels;
    let mut figures: Vec<Figure> = vessels
        .iter()
        .enumerate()
        .map(|(i, v)| acids(reading, i, v))
        .collect();
    figures.push(ph(reading));
    figures
}

fn acids(reading: &Reading<'_>, index: usize, vessel: &VesselSeries) -> Figure {
    let rows = &vessel.days;
    let acids = Panel {
        title: "Volatile acids".into(),
        unit: "mg/L".into(),
        include: vec![0.0],
        height: 1.3,
        layers: vec![
            Layer::Line(at_end("acetic", ACETIC, rows, |r| r.acetic_mg_l)),
            Layer::Line(at_end("propionic", PROPIONIC, rows, |r| r.propionic_mg_l)),
            Layer::Line(at_end("butyric", BUTYRIC, rows, |r| r.butyric_mg_l)),
            Layer::Line(at_end("all, as acetic", TOTAL, rows, |r| r.acids_mg_l)),
        ],
        ..Panel::default()
    };
    let alkalinity = Panel {
        title: "Alkalinity".into(),
        unit: "mg CaCO\u{2083}/L".into(),
        include: vec![0.0],
        height: 0.9,
        layers: vec![
            Layer::Line(at_end("to pH 4.3", ALKALINITY, rows, |r| r.alkalinity_mg_l)),
            Layer::Line(at_end("to pH 5.75", PARTIAL, rows, |r| {
                r.partial_alkalinity_mg_l
            })),
        ],
        ..Panel::default()
    };
    let band = &reading.bands.acid_ratio;
    // A soured tank's ratio is many times its bands and would flatten them.
    let most = MOST_RATIO * band.danger;
    let is_cut = rows.iter().any(|r| r.acid_ratio > most);
    let mut ratios = acid_ratio_zones(reading.bands);
    ratios.push(Layer::Line(at_end(
        "Acids over alkalinity",
        RATIO,
        rows,
        |r| r.acid_ratio.min(most),
    )));
    let ratio = Panel {
        title: if is_cut {
            format!("Acids over alkalinity, cut at {most}")
        } else {
            "Acids over alkalinity".into()
        },
        include: vec![0.0, 1.2 * band.watch],
        layers: ratios,
        ..Panel::default()
    };
    let name = reading.vessel(index);
    let (id, title) = match name {
        "" => ("acids".to_owned(), "Acids against alkalinity".to_owned()),
        name => (
            format!("acids-{}", index + 1),
            format!("Acids against alkalinity in {name}"),
        ),
    };
    let peak = extent(rows.iter().map(|r| r.acid_ratio));
    Figure {
        id,
        title,
        caption: format!(
            "Acids are made before they are eaten: when the ratio leaves the green zone (above {}), stop raising \
             the feed; above {} feed less; above {} stop. Partial alkalinity (to pH 5.75) falls first.",
            band.good, band.watch, band.danger
        ),
        alt: format!(
            "Lines over time: acetic, propionic and butyric acid, alkalinity, and their ratio, which reaches {} \
             and ends at {}.",
            rough(peak.map_or(f64::NAN, |p| p.1)),
            rough(rows.last().map_or(f64::NAN, |r| r.acid_ratio))
        ),
        plot: with_spells(reading, vec![acids, alkalinity, ratio], &sour_spells(rows)),
    }
}

fn ph(reading: &Reading<'_>) -> Figure {
    let band = &reading.bands.ph;
    let vessels = &reading.outcome.vessels;
    let single = vessels.len() == 1;
    let mut layers = ph_zones(reading.bands);
    layers.extend(vessels.iter().enumerate().map(|(i, vessel)| {
        let name = if single {
            "pH of the liquor"
        } else {
            &vessel.name
        };
        Layer::Line(ph_series(name, Look(FIRST_PH + i), vessel))
    }));
    let ph = Panel {
        title: "pH of the liquor".into(),
        include: vec![band.tolerable[0], band.healthy[1]],
        height: 1.4,
        layers,
        ..Panel::default()
    };
    let ammonia = Panel {
        title: "Free ammonia".into(),
        unit: "mg N/L".into(),
        include: vec![0.0],
        height: 0.8,
        layers: vessels
            .iter()
            .enumerate()
            .map(|(i, vessel)| {
                let (name, look) = if single {
                    ("Free ammonia", AMMONIA)
                } else {
                    (vessel.name.as_str(), Look(i))
                };
                Layer::Line(at_end(name, look, &vessel.days, |r| r.free_ammonia_mg_l))
            })
            .collect(),
        ..Panel::default()
    };
    let range =
        extent(vessels.iter().flat_map(|v| &v.days).map(|r| r.ph)).unwrap_or((f64::NAN, f64::NAN));
    Figure {
        id: "ph".into(),
        title: "pH and free ammonia".into(),
        caption: format!(
            "pH is a late sign: it falls only when the alkalinity is used up, after the acid ratio has warned. \
             Healthy lies between {} and {}.",
            band.healthy[0], band.healthy[1]
        ),
        alt: format!(
            "Lines over time. pH lies between {} and {}.",
            fixed(range.0, 1),
            fixed(range.1, 1)
        ),
        plot: over_days(reading, vec![ph, ammonia]),
    }
}

/// pH from the finer trajectory where it is short enough to be seen, else from the daily rows.
fn ph_series(name: &str, look: Look, vessel: &VesselSeries) -> Series {
    if vessel.trace.is_empty() || vessel.trace.len() > FINE_POINTS {
        return at_end(name, look, &vessel.days, |r| r.ph);
    }
    Series {
        name: name.into(),
        look,
        points: vessel.trace.iter().map(|p| (p.t_d, p.ph)).collect(),
    }
}
