//! Gas of record and run over the days, the sum of it, and the other readings.

use super::Reading;
use super::tables::measured;
use crate::diary::{Interval, Measured, Rolling};
use crate::report::figure::{
    Figure, Layer, Look, Panel, Panels, Plot, Rule, Series, Span, XAxis, XKind,
};
use crate::report::numbers::{percent, significant};
use crate::simulate::DayRow;

const RECORD: Look = Look(1);
const RUN: Look = Look(0);
const WARMTH: Look = Look(3);
const FEED: Look = Look(2);

pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let mut figures = Vec::new();
    if !reading.comparison.intervals.is_empty() {
        figures.push(gas(reading));
        figures.push(so_far(reading));
    }
    figures.push(given(reading));
    figures.extend(liquor(reading));
    figures
}

fn plot(reading: &Reading<'_>, panels: Vec<Panel>) -> Plot {
    let (from, to) = reading.span();
    let start = reading.start;
    let day = |text: &str| {
        let date: jiff::civil::Date = text.parse().ok()?;
        let days = start?.until(date).ok()?.get_days();
        Some(f64::from(days))
    };
    let spans = reading.comparison.gaps.iter().filter_map(|gap| {
        Some(Span {
            from: day(&gap.from)?,
            to: day(&gap.to)? + 1.0,
            name: "nothing noted".into(),
        })
    });
    Plot::Panels(Panels {
        x: XAxis {
            title: "Day of the run".into(),
            kind: XKind::Days {
                start: reading.start,
            },
            range: Some((from, to)),
        },
        panels,
        spans: spans.collect(),
        markers: Vec::new(),
    })
}

fn series(name: &str, look: Look, points: Vec<(f64, f64)>) -> Series {
    Series {
        name: name.into(),
        look,
        points,
    }
}

/// A value of each stretch, held from its beginning to its end, with a gap where nothing was read.
fn held(intervals: &[Interval], value: fn(&Interval) -> f64) -> Vec<(f64, f64)> {
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (i, interval) in intervals.iter().enumerate() {
        points.push((interval.from_day, value(interval)));
        let next = intervals.get(i + 1).map(|n| n.from_day);
        if next != Some(interval.to_day) {
            points.push((interval.to_day, value(interval)));
            points.push((interval.to_day, f64::NAN));
        }
    }
    points
}

fn gas(reading: &Reading<'_>) -> Figure {
    let c = reading.comparison;
    let rolling =
        |value: fn(&Rolling) -> f64| c.rolling.iter().map(|r| (r.day, value(r))).collect();
    let mut panels = vec![Panel {
        title: "Gas from reading to reading".into(),
        unit: "NL/d".into(),
        include: vec![0.0],
        height: 1.2,
        layers: vec![
            Layer::Step(series(
                "run",
                RUN,
                held(&c.intervals, |i| i.computed_nl / i.days()),
            )),
            Layer::Step(series(
                "record",
                RECORD,
                held(&c.intervals, |i| i.measured_nl / i.days()),
            )),
        ],
        ..Panel::default()
    }];
    if c.rolling.len() > 1 {
        panels.push(Panel {
            title: "Mean of the last seven days".into(),
            unit: "NL/d".into(),
            include: vec![0.0],
            height: 1.0,
            layers: vec![
                Layer::Line(series("run", RUN, rolling(|r| r.computed_nl_d))),
                Layer::Line(series("record", RECORD, rolling(|r| r.measured_nl_d))),
            ],
            ..Panel::default()
        });
    }
    let middle = |i: &Interval| 0.5 * (i.from_day + i.to_day);
    panels.push(Panel {
        title: "Record less run".into(),
        unit: "NL/d".into(),
        include: vec![0.0],
        height: 0.8,
        layers: vec![
            Layer::Rule(Rule {
                y: 0.0,
                label: String::new(),
            }),
            Layer::Dots(series(
                "record less run",
                RECORD,
                c.intervals
                    .iter()
                    .map(|i| (middle(i), i.residual_nl / i.days()))
                    .collect(),
            )),
        ],
        ..Panel::default()
    });
    let told = c.totals.ratio.map_or_else(String::new, |r| {
        format!(
            " Over all readings the record has {} % of the run's gas.",
            percent(r, 0)
        )
    });
    Figure {
        id: "diary-gas".into(),
        title: "Gas of the record and of the run".into(),
        caption: "Dry norm litres a day. A steady distance speaks for a leak, a reading factor or slower biology than the \
                  scenario's; one that grows speaks for a change in the tank. Single points far off are often slips. Above 0 in the \
                  difference more was read than the run gives."
            .into(),
        alt: format!("Gas a day by record and run between readings, as seven-day means, and their difference.{told}"),
        plot: plot(reading, panels),
    }
}

fn so_far(reading: &Reading<'_>) -> Figure {
    let c = reading.comparison;
    let sums = |value: fn(&Interval) -> f64| -> Vec<(f64, f64)> {
        let first = c.intervals.first().map(|i| (i.from_day, 0.0));
        first
            .into_iter()
            .chain(c.intervals.iter().map(|i| (i.to_day, value(i))))
            .collect()
    };
    Figure {
        id: "diary-sum".into(),
        title: "Gas so far".into(),
        caption: "Sums over the stretches that readings cover. Scatter of single readings cancels here; a lasting \
                  difference shows as lines that drift apart."
            .into(),
        alt: format!(
            "Sums of gas: record {} and run {} norm litres at the end.",
            significant(c.totals.measured_nl, 3),
            significant(c.totals.computed_nl, 3)
        ),
        plot: plot(
            reading,
            vec![Panel {
                title: "Gas so far".into(),
                unit: "NL".into(),
                include: vec![0.0],
                height: 1.2,
                layers: vec![
                    Layer::Line(series("run", RUN, sums(|i| i.computed_so_far_nl))),
                    Layer::Line(series("record", RECORD, sums(|i| i.measured_so_far_nl))),
                ],
                ..Panel::default()
            }],
        ),
    }
}

/// What the run was given: temperature and feed.
fn given(reading: &Reading<'_>) -> Figure {
    let (from, _) = reading.span();
    let rows = || {
        reading
            .outcome
            .plant
            .iter()
            .filter(|r| f64::from(r.day) >= from)
    };
    let columns = |value: fn(&DayRow) -> f64| -> Vec<(f64, f64)> {
        rows().map(|r| (f64::from(r.day), value(r))).collect()
    };
    Figure {
        id: "diary-given".into(),
        title: "What the run takes from the record".into(),
        caption: "Between two noted temperatures the run draws a straight line. On days without a noted feed it has none."
            .into(),
        alt: "Temperature of the tank and feed by day.".into(),
        plot: plot(
            reading,
            vec![
                Panel {
                    title: "Temperature of the tank".into(),
                    unit: "\u{b0}C".into(),
                    height: 0.8,
                    layers: vec![Layer::Line(series(
                        "temperature",
                        WARMTH,
                        rows().map(|r| (f64::from(r.day) + 0.5, r.temperature_c)).collect(),
                    ))],
                    ..Panel::default()
                },
                Panel {
                    title: "Feed without water".into(),
                    unit: "kg/d".into(),
                    include: vec![0.0],
                    height: 0.8,
                    layers: vec![Layer::Columns(vec![series("feed", FEED, columns(|r| r.fed_kg))])],
                    ..Panel::default()
                },
            ],
        ),
    }
}

/// How a value is taken from a day of the run.
type Value = fn(&DayRow) -> f64;

/// Other readings; `None` without any.
fn liquor(reading: &Reading<'_>) -> Option<Figure> {
    let (from, _) = reading.span();
    let courses: [(Measured, Value); 4] = [
        (Measured::Ph, |r| r.ph),
        (Measured::MethanePct, |r| 100.0 * r.ch4_share),
        (Measured::AcidsMgL, |r| r.acids_mg_l),
        (Measured::AlkalinityMgL, |r| r.alkalinity_mg_l),
    ];
    let panels: Vec<Panel> = courses
        .into_iter()
        .filter_map(|(what, value)| {
            let all = reading
                .comparison
                .readings
                .iter()
                .filter(|r| r.what == what);
            let points: Vec<(f64, f64)> = all.map(|r| (r.day, r.measured)).collect();
            (!points.is_empty()).then_some(())?;
            let rows = reading
                .outcome
                .plant
                .iter()
                .filter(|r| f64::from(r.day) + 1.0 >= from);
            let (name, unit, _) = measured(what);
            Some(Panel {
                title: name.into(),
                unit: unit.into(),
                // Less than a whole step would make the grain of a pH strip look like news.
                include: if what == Measured::Ph {
                    vec![6.5, 7.5]
                } else {
                    Vec::new()
                },
                height: 0.9,
                layers: vec![
                    Layer::Line(series(
                        "run",
                        RUN,
                        rows.map(|r| (f64::from(r.day) + 1.0, value(r))).collect(),
                    )),
                    Layer::Dots(series("record", RECORD, points)),
                ],
                ..Panel::default()
            })
        })
        .collect();
    (!panels.is_empty()).then(|| Figure {
        id: "diary-liquor".into(),
        title: "Other readings beside the run".into(),
        caption: "Points are the record's, lines the run's values at the ends of days. A pH strip reads no closer than \
                  about 0.3 (common practice, no source)."
            .into(),
        alt: "Readings of the record as points over the run's courses.".into(),
        plot: plot(reading, panels),
    })
}
