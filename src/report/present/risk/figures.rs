//! Fans over time, the chance against the feed, bars of what matters.

use super::super::words::{given, rough};
use super::super::zones::{acid_ratio_zones, ph_zones};
use super::{View, by_words, target_words};
use crate::report::figure::{
    Amount, Amounts, Fan, FanRange, Figure, Layer, Look, Panel, Panels, Plot, Scale, Series, XAxis,
    XKind,
};
use crate::report::numbers::{fixed, percent};
use crate::study::risk::{Course, MOST_ACID_RATIO, Matter, Quantity, Target};
use crate::study::statistics::Chance;

const GAS: Look = Look(0);
const METHANE: Look = Look(2);
const RATIO: Look = Look(0);
const PH: Look = Look(0);
const TYPICAL: Look = Look(5);
const SOUR: Look = Look(1);
const NO_FLAME: Look = Look(0);
const RAISES: Look = Look(0);
const LOWERS: Look = Look(1);
const UNSURE: Look = Look(5);

/// All figures in reading order.
pub(super) fn figures(view: &View<'_>) -> Vec<Figure> {
    let mut figures = Vec::new();
    if view.risk.levels.len() > 1 {
        figures.push(chances(view));
    }
    if !view.risk.courses.courses.is_empty() {
        figures.push(gas(view));
        figures.push(liquor(view));
    }
    figures.extend(Target::ALL.into_iter().filter_map(|t| matters(view, t)));
    figures
}

fn over_days(view: &View<'_>, panels: Vec<Panel>) -> Plot {
    Plot::Panels(Panels {
        x: XAxis {
            title: "Day of the run".into(),
            kind: XKind::Days { start: view.start },
            range: Some((0.0, f64::from(view.risk.days.max(1)))),
        },
        panels,
        spans: Vec::new(),
        markers: Vec::new(),
    })
}

/// A fan of one quantity, each day at its middle, and the typical run as a line.
fn fan(view: &View<'_>, quantity: Quantity, name: &str, look: Look) -> Vec<Layer> {
    let Some(course) = view.risk.courses.of(quantity) else {
        return Vec::new();
    };
    let day = |i: usize| i as f64 + 0.5;
    let edges = |low: fn(&crate::study::bands::Bands) -> f64,
                 high: fn(&crate::study::bands::Bands) -> f64| {
        let days = course.days.iter().enumerate();
        days.map(|(i, b)| (day(i), low(b), high(b))).collect()
    };
    let middle = course.days.iter().enumerate();
    let mut layers = vec![Layer::Fan(Fan {
        name: format!("{name}: half of the runs lie below"),
        look,
        ranges: vec![
            FanRange {
                name: "9 of 10 runs".into(),
                edges: edges(|b| b.p05, |b| b.p95),
            },
            FanRange {
                name: "half of the runs".into(),
                edges: edges(|b| b.p25, |b| b.p75),
            },
        ],
        middle: middle.map(|(i, b)| (day(i), b.p50)).collect(),
    })];
    if let Some(typical) = &view.risk.typical {
        let rows = typical.days.iter().enumerate();
        layers.push(Layer::Line(Series {
            name: "all unknowns at their middle".into(),
            look: TYPICAL,
            points: rows
                .map(|(i, row)| (day(i), row[place(quantity)]))
                .collect(),
        }));
    }
    layers
}

/// Place of a quantity in a member's daily row.
const fn place(quantity: Quantity) -> usize {
    match quantity {
        Quantity::GasNl => 0,
        Quantity::Ch4Nl => 1,
        Quantity::AcidRatio => 2,
        Quantity::Ph => 3,
    }
}

fn gas(view: &View<'_>) -> Figure {
    let panel = |title: &str, quantity, name, look, height| Panel {
        title: title.into(),
        unit: "norm litres per day, dry".into(),
        include: vec![0.0],
        height,
        layers: fan(view, quantity, name, look),
        ..Panel::default()
    };
    Figure {
        id: "gas".into(),
        title: "How widely the gas may spread".into(),
        caption: "Each day's gas in all runs of the planned feed: half of them lie in the darker band, nine of ten in \
                  the wider one. The bands join days, not runs: no single run need follow an edge."
            .into(),
        alt: format!("Bands over time of gas and methane. {}", last_words(view, Quantity::GasNl)),
        plot: over_days(
            view,
            vec![
                panel("Gas for the store", Quantity::GasNl, "gas", GAS, 1.2),
                panel("Methane", Quantity::Ch4Nl, "methane", METHANE, 1.0),
            ],
        ),
    }
}

/// "On the last day half of the runs lie between 10 and 20, nine of ten between 5 and 30."
fn last_words(view: &View<'_>, quantity: Quantity) -> String {
    let last = view
        .risk
        .courses
        .of(quantity)
        .and_then(|c: &Course| c.days.last());
    last.map_or_else(String::new, |b| {
        format!(
            "On the last day half of the runs lie between {} and {}, nine of ten between {} and {}.",
            rough(b.p25),
            rough(b.p75),
            rough(b.p05),
            rough(b.p95)
        )
    })
}

fn liquor(view: &View<'_>) -> Figure {
    let mut ratios = acid_ratio_zones(view.bands);
    ratios.extend(fan(view, Quantity::AcidRatio, "ratio", RATIO));
    let mut phs = ph_zones(view.bands);
    phs.extend(fan(view, Quantity::Ph, "pH", PH));
    Figure {
        id: "liquor".into(),
        title: "How widely acids and pH may spread".into(),
        caption: format!(
            "Acids over alkalinity and pH at the end of each day in all runs of the planned feed. Where the wide \
             band enters the zone of danger, at least one run in twenty is there on that day. Ratios above {} are \
             drawn at {}: the alkalinity is spent.",
            given(MOST_ACID_RATIO),
            given(MOST_ACID_RATIO)
        ),
        alt: format!(
            "Bands over time of the acid ratio and the pH. {}",
            last_words(view, Quantity::Ph)
        ),
        plot: over_days(
            view,
            vec![
                Panel {
                    title: format!("Acids over alkalinity (cut at {})", given(MOST_ACID_RATIO)),
                    include: vec![0.0, 1.2 * view.bands.acid_ratio.watch],
                    height: 1.0,
                    layers: ratios,
                    ..Panel::default()
                },
                Panel {
                    title: "pH".into(),
                    height: 1.0,
                    layers: phs,
                    ..Panel::default()
                },
            ],
        ),
    }
}

fn chances(view: &View<'_>) -> Figure {
    let levels = &view.risk.levels;
    let curve = |name: &str, look, of: &dyn Fn(&crate::study::risk::Level) -> Option<Chance>| {
        let seen: Vec<(f64, Chance)> = levels
            .iter()
            .filter_map(|l| Some((l.feed_times, of(l)?)))
            .collect();
        let middle: Vec<(f64, f64)> = seen.iter().map(|(x, c)| (*x, 100.0 * c.share)).collect();
        [
            Layer::Fan(Fan {
                name: name.into(),
                look,
                ranges: vec![FanRange {
                    name: "sampling error".into(),
                    edges: seen
                        .iter()
                        .map(|(x, c)| (*x, 100.0 * c.low, 100.0 * c.high))
                        .collect(),
                }],
                middle: middle.clone(),
            }),
            Layer::Dots(Series {
                name: format!("{name}, computed"),
                look,
                points: middle,
            }),
        ]
    };
    let panel = |title: &str, layers: [Layer; 2]| Panel {
        title: title.into(),
        unit: "% of the runs".into(),
        include: vec![0.0, 100.0],
        height: 1.0,
        layers: layers.to_vec(),
        ..Panel::default()
    };
    let (first, last) = (levels.first(), levels.last());
    let said = |l: Option<&crate::study::risk::Level>| {
        l.and_then(|l| Some((l.feed_times, l.sour?.share)))
            .map_or_else(String::new, |(times, share)| {
                format!(
                    "{} % at {} times the planned feed",
                    percent(share, 0),
                    given(times)
                )
            })
    };
    Figure {
        id: "chance".into(),
        title: "Chance of souring against the feed".into(),
        caption: format!(
            "Share of the runs with a sour day, and without any flame, at multiples of the planned feed ({} kg a day \
             on average). The band is the sampling error of {} draws (95 %); it says nothing of the assumptions. The \
             same draws serve at each level, so the steps between levels are surer than the band.",
            rough(view.risk.planned_feed_kg_d),
            view.risk.draws
        ),
        alt: format!(
            "Chance of a sour day against the feed: {}, {}.",
            said(first),
            said(last)
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Times the planned feed".into(),
                kind: XKind::Number(Scale::Linear),
                range: None,
            },
            panels: vec![
                panel("A sour day", curve("sour", SOUR, &|l| l.sour)),
                panel(
                    "No flame within the run",
                    curve("no flame", NO_FLAME, &|l| l.first_flame.never),
                ),
            ],
            spans: Vec::new(),
            markers: Vec::new(),
        }),
    }
}

fn matters(view: &View<'_>, target: Target) -> Option<Figure> {
    let all = &view.risk.matters;
    let of_target: Vec<&Matter> = all.iter().filter(|m| m.target == target).collect();
    let first = *of_target.first()?;
    let (id, more, less) = match target {
        Target::FirstFlame => ("matters-flame", "later", "sooner"),
        Target::LowestPh => ("matters-ph", "higher pH", "lower pH"),
        Target::Yield => ("matters-yield", "more", "less"),
    };
    let bars = of_target.iter().map(|m| Amount {
        name: view.words(&m.factor).to_owned(),
        look: match (m.sure, m.correlation > 0.0) {
            (false, _) => UNSURE,
            (true, true) => RAISES,
            (true, false) => LOWERS,
        },
        value: m.correlation.abs(),
        text: match (m.sure, m.correlation > 0.0) {
            (false, _) => format!("{} (chance)", fixed(m.correlation.abs(), 2)),
            (true, true) => format!("{} {more}", fixed(m.correlation.abs(), 2)),
            (true, false) => format!("{} {less}", fixed(m.correlation.abs(), 2)),
        },
    });
    Some(Figure {
        id: id.into(),
        title: format!("What matters for {}", target_words(target)),
        caption: format!(
            "Size of the rank correlation with each unknown, 0 none to 1 perfect; the word says which way a higher \
             value of the unknown pulls. Below {} it may be mere chance.{}",
            view.risk
                .chance_level
                .map_or_else(|| "1".into(), |c| fixed(c, 2)),
            summed(&of_target)
        ),
        alt: format!(
            "Bars of correlation; the longest is {} with {}.",
            view.words_of(first),
            fixed(first.correlation.abs(), 2)
        ),
        plot: Plot::Amounts(Amounts {
            reach: Some(1.0),
            title: "Size of the rank correlation".into(),
            bars: bars.collect(),
        }),
    })
}

/// What stands for the unknowns that change from day to day, as a sentence; empty without any.
fn summed(matters: &[&Matter]) -> String {
    let by = matters.iter().find_map(|m| by_words(m.by));
    by.map_or_else(String::new, |days| {
        format!(
            " Daily feed and batches: kilograms fed, or kilograms of solids fed, in the {days}, in times of the plan."
        )
    })
}
