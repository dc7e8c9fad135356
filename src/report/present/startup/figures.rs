//! The start over time, and plans side by side.

use super::{Reading, fails, rule_name};
use crate::report::figure::{
    Amount, Amounts, Fan, FanRange, Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Scale,
    Series, Tone, XAxis, XKind,
};
use crate::report::numbers::fixed;
use crate::report::present::words::rough;
use crate::report::present::zones::zone;
use crate::study::bands::Bands;
use crate::study::startup::{Begin, Courses, Feeding, Plan};

const METHANE: Look = Look(0);
const RATIO: Look = Look(1);
/// Not the green of the zone behind it.
const PH: Look = Look(5);
const FEED: Look = Look(3);
/// Looks of the rules of thumb begin here; the plan wears [`FEED`].
const FIRST_RULE: usize = 4;

pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let mut figures = Vec::new();
    if let Some((feeding, courses)) = reading
        .found
        .feeding
        .as_ref()
        .zip(reading.found.courses.as_ref())
    {
        figures.push(start(reading, feeding, courses));
    }
    if !reading.found.rules.is_empty() {
        figures.push(feeds(reading));
        figures.push(risks(reading));
    }
    figures
}

fn axis(reading: &Reading<'_>) -> XAxis {
    XAxis {
        title: "Day from the filling".into(),
        kind: XKind::Days {
            start: reading.start,
        },
        range: Some((0.0, f64::from(reading.found.days))),
    }
}

/// Bands from the end of day `from` on.
fn fan(name: &str, look: Look, (from, bands): (i32, &[Bands]), times: f64) -> Layer {
    let end = |i: usize| f64::from(from) + (i + 1) as f64;
    let edges = |low: fn(&Bands) -> f64, high: fn(&Bands) -> f64| {
        bands
            .iter()
            .enumerate()
            .map(|(i, b)| (end(i), times * low(b), times * high(b)))
            .collect()
    };
    Layer::Fan(Fan {
        name: name.into(),
        look,
        ranges: vec![
            FanRange {
                name: format!("{name}, 9 in 10"),
                edges: edges(|b| b.p05, |b| b.p95),
            },
            FanRange {
                name: format!("{name}, half"),
                edges: edges(|b| b.p25, |b| b.p75),
            },
        ],
        middle: bands
            .iter()
            .enumerate()
            .map(|(i, b)| (end(i), times * b.p50))
            .collect(),
    })
}

fn steps(name: &str, look: Look, plan: &Plan, size: f64, (from, to): (i32, u32)) -> Series {
    // Before the first of its days a plan feeds nothing.
    let first = u32::try_from(from).map_or(0.0, |day| plan.share(day));
    let mut points = vec![(f64::from(from), 100.0 * size * first)];
    points.extend(
        plan.steps
            .iter()
            .filter(|s| f64::from(s.from_day) > f64::from(from) && s.from_day < to)
            .map(|s| (f64::from(s.from_day), 100.0 * size * s.share)),
    );
    points.push((f64::from(to), 100.0 * size * plan.share(to)));
    Series {
        name: name.into(),
        look,
        points,
    }
}

/// The plan by the calendar, where it stands beside rules that are: one that waits for the checks stands at the middle
/// day of their passing.
fn by_calendar(feeding: &Feeding) -> (Plan, &'static str) {
    match feeding.begin {
        Begin::Fixed => (feeding.plan.clone(), ""),
        Begin::WhenChecksPass { start } => (
            feeding.plan.later(start.p50.map_or(0, |d| d as u32)),
            " The plan waits for the checks; it is drawn for the middle draw, others begin sooner or later.",
        ),
    }
}

/// The axis of the days of the plan, and what is to be said of it.
fn plan_axis(reading: &Reading<'_>, feeding: &Feeding, courses: &Courses) -> (XAxis, String) {
    let Begin::WhenChecksPass { start } = feeding.begin else {
        return (axis(reading), String::new());
    };
    let last = f64::from(courses.from_day) + courses.ph.len() as f64;
    let axis = XAxis {
        title: "Day from the morning on which a draw's own checks pass".into(),
        kind: XKind::Number(Scale::Linear),
        range: Some((f64::from(courses.from_day), last)),
    };
    let early = match (start.p05, start.p50) {
        (Some(early), Some(middle)) => format!(
            " (day {} after the filling in the middle draw, before day {} in one of twenty)",
            fixed(middle, 0),
            fixed(early, 0)
        ),
        _ => String::new(),
    };
    let remark = format!(
        " Each draw counts from the morning on which its own checks pass{early}. Only draws that are fed are shown; near \
         the left and the right end up to a quarter of them has no day."
    );
    (axis, remark)
}

fn start(reading: &Reading<'_>, feeding: &Feeding, courses: &Courses) -> Figure {
    let limits = &reading.found.limits;
    let flame = &reading.bands.flame;
    let plan = &feeding.plan;
    let (x, remark) = plan_axis(reading, feeding, courses);
    let from = courses.from_day;
    let to = (from + courses.ph.len() as i32).max(0) as u32;
    let methane = Panel {
        title: "Methane in the gas".into(),
        unit: "% by volume, dry".into(),
        include: vec![0.0],
        layers: vec![
            fan("methane", METHANE, (from, &courses.ch4_share), 100.0),
            Layer::Rule(Rule {
                y: 100.0 * flame.methane,
                label: "flame".into(),
            }),
        ],
        ..Panel::default()
    };
    let ratio = Panel {
        title: "Acids over alkalinity (cut at 2)".into(),
        include: vec![0.0, 1.5 * limits.acid_ratio_below],
        layers: vec![
            zone(Some(0.0), Some(limits.acid_ratio_below), "kept", Tone::Good),
            fan("acid ratio", RATIO, (from, &courses.acid_ratio), 1.0),
        ],
        ..Panel::default()
    };
    let ph = Panel {
        title: "pH".into(),
        include: vec![limits.ph_above],
        layers: vec![
            zone(Some(limits.ph_above), None, "kept", Tone::Good),
            fan("pH", PH, (from, &courses.ph), 1.0),
        ],
        ..Panel::default()
    };
    let feed = Panel {
        title: "Feed of the plan".into(),
        unit: "% of the wanted feed".into(),
        include: vec![0.0, 100.0],
        height: 0.7,
        layers: vec![Layer::Step(steps(
            "plan",
            FEED,
            plan,
            feeding.size,
            (from, to),
        ))],
        ..Panel::default()
    };
    let mut markers = Vec::new();
    if let (Some(first), Some(full)) = (plan.first_day(), plan.full_day()) {
        markers.push(Marker {
            x: f64::from(first),
            label: "first feed".into(),
        });
        if full > first {
            markers.push(Marker {
                x: f64::from(full),
                label: "whole feed".into(),
            });
        }
    }
    let last = |bands: &[Bands]| bands.last().map_or(f64::NAN, |b| b.p50);
    Figure {
        id: "start".into(),
        title: "The start with the plan".into(),
        caption: format!(
            "Line: the middle draw. Dark: half of the draws. Light: nine in ten. Before the first feed the acids of the \
             starter itself may stand outside the green zones; from then on the plan keeps nearly all draws inside.{remark}"
        ),
        alt: format!(
            "Ranges over time under the plan. At the end the middle draw has {} % methane, an acid ratio of {} and pH {}. \
             Below, the feed as steps, whole from day {} on.",
            rough(100.0 * last(&courses.ch4_share)),
            rough(last(&courses.acid_ratio)),
            rough(last(&courses.ph)),
            plan.full_day().unwrap_or(0)
        ),
        plot: Plot::Panels(Panels {
            x,
            panels: vec![methane, ratio, ph, feed],
            spans: Vec::new(),
            markers,
        }),
    }
}

fn feeds(reading: &Reading<'_>) -> Figure {
    let found = reading.found;
    let mut remark = "";
    let mut layers = Vec::new();
    if let Some(feeding) = &found.feeding {
        let plan;
        (plan, remark) = by_calendar(feeding);
        layers.push(Layer::Step(steps(
            "the plan",
            FEED,
            &plan,
            feeding.size,
            (0, found.days),
        )));
    }
    for (i, rule) in found.rules.iter().enumerate() {
        layers.push(Layer::Step(steps(
            &rule_name(rule.kind).to_lowercase(),
            Look(FIRST_RULE + i),
            &rule.plan,
            1.0,
            (0, found.days),
        )));
    }
    Figure {
        id: "feeds".into(),
        title: "What is fed when".into(),
        caption: format!(
            "The plan beside three rules of thumb. Which of them the digester bears shows the next figure.{remark}"
        ),
        alt: "Steps over time: the share of the wanted feed under the plan and under each rule of thumb.".into(),
        plot: Plot::Panels(Panels {
            x: axis(reading),
            panels: vec![Panel {
                title: "Feed".into(),
                unit: "% of the wanted feed".into(),
                include: vec![0.0, 105.0],
                layers,
                ..Panel::default()
            }],
            spans: Vec::new(),
            markers: Vec::new(),
        }),
    }
}

fn risks(reading: &Reading<'_>) -> Figure {
    let found = reading.found;
    let bar = |name: String, look: usize, share: f64| Amount {
        name,
        look: Look(look),
        value: 100.0 * share,
        text: format!("{} %", fails(share, 0)),
    };
    let mut bars = Vec::new();
    if let Some(tally) = found.feeding.as_ref().and_then(|f| f.checked) {
        bars.push(bar("The plan".into(), FEED.0, 1.0 - tally.holds.share));
    }
    for (i, rule) in found.rules.iter().enumerate() {
        let share = 1.0 - rule.tally.holds.share;
        bars.push(bar(rule_name(rule.kind).into(), FIRST_RULE + i, share));
    }
    Figure {
        id: "risks".into(),
        title: "Chance of leaving the limits".into(),
        caption: format!(
            "Share of the fresh draws, the same for all, in which the acid ratio passes {} or the pH falls below {} after the first feed. A \
             shorter bar is safer.",
            found.limits.acid_ratio_below, found.limits.ph_above
        ),
        alt: format!(
            "Bars: {}.",
            bars.iter()
                .map(|b| format!("{} {}", b.name, b.text))
                .collect::<Vec<_>>()
                .join("; ")
        ),
        plot: Plot::Amounts(Amounts {
            reach: None,
            title: "% of the draws".into(),
            bars,
        }),
    }
}
