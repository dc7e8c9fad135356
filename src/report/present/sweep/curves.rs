//! One thing varied: curves over it.

use super::super::zones::zone;
use super::reading::{Reading, is_lost, sentence_name, title};
use crate::report::figure::{
    Figure, Layer, Look, Panel, Panels, Plot, Scale, Series, Span, Stretch, Tone, XAxis, XKind,
};
use crate::report::numbers::significant;
use crate::study::sweep::Level;

const YIELD: Look = Look(2);
const RATE: Look = Look(0);
const ACIDS: Look = Look(1);
const RATIO: Look = Look(3);
const PH: Look = Look(5);
/// The ratio of acids is cut at so many times the band of danger.
const MOST_RATIO: f64 = 1.25;

/// Yield against rate, then gas against acids.
pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let name = sentence_name(reading.axis(0));
    let unit = reading.yield_unit();
    let yields = panel("Methane yield", unit, YIELD, reading, |r, l| r.yield_of(l));
    let rate = panel(
        "Gas per litre of digester",
        "norm L/L/d",
        RATE,
        reading,
        |_, l| Some(l.gas_nl_l_d),
    );
    let gas = panel("Gas as read", "L/d", RATE, reading, |_, l| {
        Some(l.gas_read_l_d)
    });
    let acids = panel("Volatile acids", "mg/L", ACIDS, reading, |_, l| {
        Some(l.acids_mg_l)
    });
    // A soured digester's ratio is many times its bands and would flatten everything else.
    let most = MOST_RATIO * reading.bands.acid_ratio.danger;
    let mut ratio = panel(
        &format!("Acids over alkalinity, cut at {most}"),
        "",
        RATIO,
        reading,
        |r, l| Some(l.acid_ratio.min(MOST_RATIO * r.bands.acid_ratio.danger)),
    );
    let band = &reading.bands.acid_ratio;
    ratio.include.push(1.2 * band.watch);

    ratio
        .layers
        .insert(0, zone(Some(band.danger), None, "danger", Tone::Danger));
    ratio.layers.insert(
        0,
        zone(Some(band.watch), Some(band.danger), "act", Tone::Act),
    );
    let mut ph = panel("pH", "", PH, reading, |_, l| Some(l.ph));
    ph.include = vec![reading.bands.ph.healthy[0], reading.bands.ph.healthy[1]];
    vec![
        figure(
            reading,
            "yield-and-rate",
            format!("Yield and gas rate against {name}"),
            "Yield says what a kilogram gives, the rate what the digester gives; they pull in opposite ways.",
            vec![yields, rate],
        ),
        figure(
            reading,
            "gas-and-acids",
            format!("Gas and acids against {name}"),
            "Acids over alkalinity rise before the gas falls: keep a distance from where they climb.",
            vec![gas, acids, ratio, ph],
        ),
    ]
}

fn panel(
    title: &str,
    unit: &str,
    look: Look,
    reading: &Reading<'_>,
    of: fn(&Reading<'_>, &Level) -> Option<f64>,
) -> Panel {
    let values = &reading.axis(0).values;
    let points: Vec<(f64, f64)> = values
        .iter()
        .enumerate()
        .map(|(i, x)| {
            let level = reading.at(i).and_then(|p| p.level.as_ref());
            (*x, level.and_then(|l| of(reading, l)).unwrap_or(f64::NAN))
        })
        .collect();
    let known = points.iter().filter(|p| p.1.is_finite()).count();
    let series = Series {
        name: title.into(),
        look,
        points,
    };
    Panel {
        title: title.into(),
        unit: unit.into(),
        include: vec![0.0],
        // A dot at each value that was computed; its name stands at the line.
        layers: if known > 1 {
            let dots = Series {
                name: String::new(),
                ..series.clone()
            };
            vec![Layer::Line(series), Layer::Dots(dots)]
        } else {
            vec![Layer::Dots(series)]
        },
        ..Panel::default()
    }
}

fn figure(
    reading: &Reading<'_>,
    id: &str,
    heading: String,
    hint: &str,
    mut panels: Vec<Panel>,
) -> Figure {
    let axis = reading.axis(0);
    let safe = reading.stretches(0.0, |p| reading.is_safe(p));
    if let Some(first) = panels.first_mut() {
        // The sample in the legend stands once, above the first panel; the stretch is in all.
        first
            .layers
            .splice(0..0, stretches(&safe, "works, acids in their bands"));
    }
    for panel in panels
        .iter_mut()
        .skip(1)
        .filter(|p| !p.layers.iter().any(|l| matches!(l, Layer::Zone(_))))
    {
        panel.layers.splice(0..0, stretches(&safe, ""));
    }
    let lost = reading.stretches(0.5, is_lost);
    let spans = lost.iter().map(|(from, to)| Span {
        from: *from,
        to: *to,
        name: "sour or washed out".into(),
    });
    let said: Vec<String> = panels
        .iter()
        .filter_map(|p| Some((p, p.layers.iter().find_map(series_of)?)))
        .map(|(p, s)| {
            let finite = || s.points.iter().filter(|q| q.1.is_finite());
            let ends = (finite().next(), finite().next_back());
            match ends {
                (Some(a), Some(b)) => format!(
                    "{}: {} at {}, {} at {}.",
                    p.title,
                    significant(a.1, 3),
                    significant(a.0, 3),
                    significant(b.1, 3),
                    significant(b.0, 3)
                ),
                _ => format!("{}: no values.", p.title),
            }
        })
        .collect();
    Figure {
        id: id.into(),
        alt: format!("{heading}. {}", said.join(" ")),
        title: heading,
        caption: format!(
            "{hint} Each value is the lasting level of one run, joined by straight lines."
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: title(axis),
                kind: XKind::Number(Scale::Linear),
                range: match axis.values.as_slice() {
                    [first, .., last] => Some((*first, *last)),
                    _ => None,
                },
            },
            panels,
            spans: spans.collect(),
            markers: Vec::new(),
        }),
    }
}

fn stretches(safe: &[(f64, f64)], name: &str) -> Vec<Layer> {
    safe.iter()
        .map(|(from, to)| {
            Layer::Stretch(Stretch {
                from: *from,
                to: *to,
                name: name.into(),
                tone: Tone::Good,
            })
        })
        .collect()
}

fn series_of(layer: &Layer) -> Option<&Series> {
    match layer {
        Layer::Line(series) | Layer::Dots(series) => Some(series),
        _ => None,
    }
}
