//! What plants reach over their size, by warmth; the year of the plant.

use super::{month, warmth, wished};
use crate::report::figure::{
    Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Scale, Series, XAxis, XKind,
};
use crate::report::present::words::rough;
use crate::study::size::{Curve, CurvePoint, MonthRow, SizeOutcome, Target};

/// From so many times the smallest size on the axis goes by ratios.
const WIDE: f64 = 40.0;

pub(super) fn figures(o: &SizeOutcome) -> Vec<Figure> {
    [trade(o), year(o)].into_iter().flatten().collect()
}

fn trade(o: &SizeOutcome) -> Option<Figure> {
    let sizes = || o.curves.iter().flat_map(|c| &c.points).map(|p| p.volume_l);
    let (low, high) = (
        sizes().fold(f64::INFINITY, f64::min),
        sizes().fold(0.0, f64::max),
    );
    if high <= 0.0 {
        return None;
    }
    let title = match o.wish.target {
        Target::BurnerHours(_) => "Burner, leanest month",
        Target::WinterHeat(_) => "Heat over the winter",
        Target::WinterCurrent(_) => "Current over the winter",
        Target::Treat(_) => "Treated, leanest month",
    };
    let lines = |of: &dyn Fn(&CurvePoint) -> f64| -> Vec<Layer> {
        o.curves
            .iter()
            .enumerate()
            .filter_map(|(i, curve)| {
                let points = course(curve, of);
                (!points.is_empty()).then(|| {
                    Layer::Line(Series {
                        name: warmth(curve.set_c),
                        look: Look(i),
                        points,
                    })
                })
            })
            .collect()
    };
    let mut first = lines(&|p| p.reach);
    first.push(Layer::Rule(Rule {
        y: o.wish.target.amount(),
        label: "wished".into(),
    }));
    let unsound: Vec<(f64, f64)> = {
        let all = o.curves.iter().flat_map(|c| &c.points);
        let mut points: Vec<(f64, f64)> = all
            .filter(|p| !p.sound)
            .map(|p| (p.volume_l, p.reach))
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        points
    };
    if !unsound.is_empty() {
        first.push(Layer::Dots(Series {
            name: "breaks a limit".into(),
            look: Look(o.curves.len()),
            points: unsound,
        }));
    }
    let mut second = lines(&|p| p.net_kwh_d);
    second.push(Layer::Rule(Rule {
        y: 0.0,
        label: String::new(),
    }));
    let by_ratio = high / low > WIDE;
    let plant = o.plant.as_ref().map_or_else(
        || "no plant came through".to_owned(),
        |p| {
            format!(
                "the plant reaches {} {}",
                rough(p.tried.reach),
                o.wish.target.unit()
            )
        },
    );
    Some(Figure {
        id: "trade".into(),
        title: "Smaller and warmer, or larger and cold".into(),
        caption: "Each corner is one run of the trimming that was expected to give most at that size and warmth; the marks along a \
                  line only tell it from the others. In a row the first unit takes the whole feed, so that more units are not \
                  always more. Below zero in the lower panel the heater takes more than the gas holds."
            .into(),
        alt: format!(
            "What plants reach over their whole volume, one line for each warmth; wished were {}; {plant}.",
            wished(o)
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Whole volume of all units [L]".into(),
                kind: XKind::Number(if by_ratio { Scale::Log } else { Scale::Linear }),
                range: Some(if by_ratio { (low * 0.9, high * 1.1) } else { (0.0, high * 1.05) }),
            },
            panels: vec![
                Panel {
                    title: title.into(),
                    unit: o.wish.target.unit().into(),
                    include: vec![0.0],
                    height: 1.3,
                    layers: first,
                    ..Panel::default()
                },
                Panel {
                    title: "Left for use".into(),
                    unit: "kWh/d".into(),
                    include: vec![0.0],
                    height: 1.0,
                    layers: second,
                    ..Panel::default()
                },
            ],
            spans: Vec::new(),
            markers: o
                .plant
                .iter()
                .map(|p| Marker {
                    x: p.tried.plant.unit_l * p.tried.plant.units as f64,
                    label: "the plant".into(),
                })
                .collect(),
        }),
    })
}

/// Points of a curve with x rising; of two of one volume the better.
fn course(curve: &Curve, of: &dyn Fn(&CurvePoint) -> f64) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = curve.points.iter().map(|p| (p.volume_l, of(p))).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
    points.dedup_by(|later, first| (later.0 - first.0).abs() < 1e-9);
    points
}

fn year(o: &SizeOutcome) -> Option<Figure> {
    let months = &o.plant.as_ref()?.tried.months;
    if months.is_empty() {
        return None;
    }
    let steps = |of: &dyn Fn(&MonthRow) -> f64| -> Vec<(f64, f64)> {
        // The last value is held to the end of December.
        let held = months.iter().map(|m| (m.month as f64, of(m)));
        held.chain(months.last().map(|m| (13.0, of(m)))).collect()
    };
    let line = |name: &str, look: usize, of: &dyn Fn(&MonthRow) -> f64| {
        Layer::Step(Series {
            name: name.into(),
            look: Look(look),
            points: steps(of),
        })
    };
    let best = months
        .iter()
        .max_by(|a, b| a.net_kwh_d.total_cmp(&b.net_kwh_d))?;
    let worst = months
        .iter()
        .min_by(|a, b| a.net_kwh_d.total_cmp(&b.net_kwh_d))?;
    Some(Figure {
        id: "months".into(),
        title: "The plant through a usual year".into(),
        caption: "Means of each month, 1 for January. What is left is the methane of days on which the gas burns, less own gas burnt for heat."
            .into(),
        alt: format!(
            "Energy, feed and temperature by month: {} kWh a day are left in {}, {} in {}.",
            rough(best.net_kwh_d),
            month(best.month),
            rough(worst.net_kwh_d),
            month(worst.month)
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Month".into(),
                kind: XKind::Number(Scale::Linear),
                range: Some((1.0, 13.0)),
            },
            panels: vec![
                Panel {
                    title: "Energy".into(),
                    unit: "kWh/d".into(),
                    include: vec![0.0],
                    height: 1.2,
                    layers: vec![
                        line("methane", 0, &|m| m.methane_kwh_d),
                        line("heating", 1, &|m| m.heating_kwh_d),
                        line("left for use", 2, &|m| m.net_kwh_d),
                    ],
                    ..Panel::default()
                },
                Panel {
                    title: "Feed".into(),
                    unit: "kg/d".into(),
                    include: vec![0.0],
                    height: 1.0,
                    layers: vec![
                        line("fed", 3, &|m| m.feed.kg_per_day),
                        line("there", 4, &|m| o.wish.kg(m.month - 1)),
                    ],
                    ..Panel::default()
                },
                Panel {
                    title: "Temperature".into(),
                    unit: "\u{b0}C".into(),
                    height: 1.0,
                    layers: vec![
                        line("liquor", 5, &|m| m.liquor_c),
                        line("air", 6, &|m| m.air_c),
                    ],
                    ..Panel::default()
                },
            ],
            spans: Vec::new(),
            markers: Vec::new(),
        }),
    })
}
