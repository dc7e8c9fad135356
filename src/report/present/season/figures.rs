//! Figures: temperatures, gas by day, two weeks of the store, months.

use super::super::words::rough;
use super::Reading;
use crate::report::figure::{
    Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Series, Span, XAxis, XKind,
};
use crate::report::numbers::{fixed, percent};
use crate::study::season::{Season, SeasonDay, WeekHour};

const MADE: Look = Look(0);
const USED: Look = Look(2);
const OVERFLOW: Look = Look(1);
const SHORT: Look = Look(3);
const HEATER: Look = Look(4);
const LEVEL: Look = Look(0);
const AIR: Look = Look(5);
const REFUSED: Look = Look(7);
/// Runs longer than this show means of so many days.
const SMOOTHED_FROM: usize = 60;
const SMOOTH_D: usize = 7;
/// So many changes of beds are named above the panels; more are dots only.
const NAMED: usize = 8;

pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let mut figures = vec![temperatures(reading), gas(reading)];
    let season = reading.season;
    let weeks = [
        (&season.winter_week, "winter", "A week in the cold months"),
        (&season.summer_week, "summer", "A week in the warm months"),
    ];
    for (week, name, title) in weeks {
        if !week.is_empty() {
            figures.push(store(reading, week, name, title));
        }
    }
    if season.months.len() > 1 {
        figures.push(months(reading));
    }
    figures
}

fn plot(reading: &Reading<'_>, panels: Vec<Panel>, markers: Vec<Marker>) -> Plot {
    let winter = reading.season.winter.as_ref().map(|w| Span {
        from: f64::from(w.from_day),
        to: f64::from(w.from_day + w.days),
        name: "coldest three months".into(),
    });
    Plot::Panels(Panels {
        x: XAxis {
            title: "Day of the run".into(),
            kind: XKind::Days {
                start: reading.start,
            },
            range: Some((0.0, f64::from(reading.outcome.days))),
        },
        panels,
        spans: winter.into_iter().collect(),
        markers,
    })
}

fn series(name: &str, look: Look, points: Vec<(f64, f64)>) -> Series {
    Series {
        name: name.into(),
        look,
        points,
    }
}

/// A course by day, over a week in a long run.
fn course(reading: &Reading<'_>, name: &str, look: Look, of: fn(&SeasonDay) -> f64) -> Layer {
    let days = &reading.season.days;
    let width = if days.len() > SMOOTHED_FROM {
        SMOOTH_D
    } else {
        1
    };
    let points = (0..days.len()).map(|i| {
        // Even on both sides, or the ends would bend.
        let half = (width / 2).min(i).min(days.len() - 1 - i);
        let around = &days[i - half..=i + half];
        let mean = around.iter().map(of).sum::<f64>() / around.len() as f64;
        (f64::from(days[i].day) + 0.5, mean)
    });
    Layer::Line(series(name, look, points.collect()))
}

fn unit(reading: &Reading<'_>, unit: &str) -> String {
    if reading.season.days.len() > SMOOTHED_FROM {
        format!("{unit}, over {SMOOTH_D} days")
    } else {
        unit.into()
    }
}

fn temperatures(reading: &Reading<'_>) -> Figure {
    let ends = |of: fn(&SeasonDay) -> f64| {
        let values = || reading.season.days.iter().map(of);
        let low = values().fold(f64::INFINITY, f64::min);
        let high = values().fold(f64::NEG_INFINITY, f64::max);
        format!("{} to {}", fixed(low, 0), fixed(high, 0))
    };
    Figure {
        id: "season-temperatures".into(),
        title: "Tank and air".into(),
        caption: "The line is pipes, beds and store: they follow the air where the scenario has a climate. The tank lags \
                  behind by its mass, or is held by its heater."
            .into(),
        alt: format!(
            "Lines over the run. The liquor goes from {} degrees Celsius, the line from {}.",
            ends(|d| d.liquor_c),
            ends(|d| d.line_c)
        ),
        plot: plot(
            reading,
            vec![Panel {
                title: "Temperature".into(),
                unit: unit(reading, "\u{b0}C, daily mean"),
                height: 1.2,
                layers: vec![
                    course(reading, "liquor", OVERFLOW, |d| d.liquor_c),
                    course(reading, "line and store", AIR, |d| d.line_c),
                ],
                ..Panel::default()
            }],
            Vec::new(),
        ),
    }
}

fn gas(reading: &Reading<'_>) -> Figure {
    let season = reading.season;
    let mut gas = vec![
        course(reading, "made", MADE, |d| d.made_nl),
        course(reading, "used", USED, |d| d.used_nl),
        course(reading, "overflow", OVERFLOW, |d| d.overflow_nl),
    ];
    if season.days.iter().any(|d| d.heater_nl > 0.0) {
        gas.push(course(reading, "burnt for the tank's heat", HEATER, |d| {
            d.heater_nl
        }));
    }
    let mut panels = vec![
        Panel {
            title: "Gas".into(),
            unit: unit(reading, "NL/d"),
            include: vec![0.0],
            height: 1.5,
            layers: gas,
            ..Panel::default()
        },
        Panel {
            title: "Hours wanted and not served".into(),
            unit: unit(reading, "h/d"),
            include: vec![0.0],
            height: 0.9,
            layers: vec![
                course(reading, "short of gas", SHORT, |d| d.short_h),
                course(reading, "gas does not burn, or refused", REFUSED, |d| {
                    d.no_flame_h + d.refused_h
                }),
            ],
            ..Panel::default()
        },
    ];
    let names: Vec<(usize, &str)> = season
        .stages
        .iter()
        .enumerate()
        .filter(|(i, _)| season.changes.iter().any(|c| c.stage == *i))
        .map(|(i, stage)| (i, stage.name.as_str()))
        .collect();
    if !names.is_empty() {
        let dots = names.iter().enumerate().map(|(place, (stage, name))| {
            let days = season.changes.iter().filter(|c| c.stage == *stage);
            let points = days.map(|c| (c.day, (place + 1) as f64)).collect();
            Layer::Dots(series(name, Look([6, 3, 7, 1, 2][place % 5]), points))
        });
        panels.push(Panel {
            title: "Beds spent".into(),
            unit: "one row for each bed".into(),
            include: vec![0.5, names.len() as f64 + 0.5],
            height: 0.6,
            layers: dots.collect(),
            ..Panel::default()
        });
    }
    let markers = if season.changes.len() <= NAMED {
        let changes = season.changes.iter();
        changes
            .map(|c| Marker {
                x: c.day,
                label: c.name.clone(),
            })
            .collect()
    } else {
        Vec::new()
    };
    Figure {
        id: "season-gas".into(),
        title: "Gas made, used and lost, and hours not served".into(),
        caption: "What lies between made and used went over the top of the store, into the heater, into the cleaning beds, \
                  or stands in the store. Spent beds hold poison and heat up in the air: read what can hurt before you \
                  open one."
            .into(),
        alt: format!(
            "Lines over the run. Means{}: made {} norm litres a day, used {}, overflow {}; {} hours a day short.",
            if reading.is_longer() {
                " of the last year"
            } else {
                ""
            },
            rough(reading.mean(|d| d.made_nl)),
            rough(reading.mean(|d| d.used_nl)),
            rough(reading.mean(|d| d.overflow_nl)),
            rough(reading.mean(|d| d.short_h))
        ),
        plot: plot(reading, panels, markers),
    }
}

fn store(reading: &Reading<'_>, week: &[WeekHour], name: &str, title: &str) -> Figure {
    let ends = week.first().zip(week.last());
    let range = ends.map(|(a, b)| (a.t_d, b.t_d + 1.0 / 24.0));
    let held = |of: fn(&WeekHour) -> f64| -> Vec<(f64, f64)> {
        let mut points: Vec<(f64, f64)> = week.iter().map(|h| (h.t_d, of(h))).collect();
        if let (Some(last), Some((_, end))) = (week.last(), range) {
            points.push((end, of(last)));
        }
        points
    };
    let hour = 1.0 / 24.0;
    let mut level: Vec<(f64, f64)> = week
        .iter()
        .map(|h| (h.t_d + hour, 100.0 * h.level_share))
        .collect();
    if let Some(first) = level.first().copied() {
        level.insert(0, (first.0 - hour, first.1));
    }
    let full = week.iter().filter(|h| h.overflow_nl > 1e-6).count();
    Figure {
        id: format!("season-week-{name}"),
        title: format!("{title}, hour by hour"),
        caption: format!(
            "Level of the store between its lowest stand and full, and what flows in and out. It overflows in {full} of \
             {} hours. {}: outdoors, high up, away from flames.",
            week.len(),
            if reading.season.wasted.flared_ch4_kg > 0.0 {
                "The flare burns overflow as far as its power goes and the gas can be lit; the rest is raw methane"
            } else {
                "Overflow is raw methane"
            }
        ),
        alt: format!(
            "Level of the store through the week: {} % in the mean, overflow in {full} hours.",
            percent(
                week.iter().map(|h| h.level_share).sum::<f64>() / week.len().max(1) as f64,
                0
            )
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Day of the run".into(),
                kind: XKind::Days {
                    start: reading.start,
                },
                range,
            },
            panels: vec![
                Panel {
                    title: "Level of the store".into(),
                    unit: "%".into(),
                    include: vec![0.0, 100.0],
                    height: 1.0,
                    layers: vec![
                        Layer::Rule(Rule {
                            y: 100.0,
                            label: "full".into(),
                        }),
                        Layer::Line(series("level", LEVEL, level)),
                    ],
                    ..Panel::default()
                },
                Panel {
                    title: "Gas in and out".into(),
                    unit: "NL/h".into(),
                    include: vec![0.0],
                    height: 1.0,
                    layers: vec![
                        Layer::Step(series("arriving", MADE, held(|h| h.arrived_nl))),
                        Layer::Step(series("drawn", USED, held(|h| h.drawn_nl))),
                        Layer::Step(series("overflow", OVERFLOW, held(|h| h.overflow_nl))),
                    ],
                    ..Panel::default()
                },
            ],
            spans: Vec::new(),
            markers: Vec::new(),
        }),
    }
}

fn months(reading: &Reading<'_>) -> Figure {
    let months = &reading.season.months;
    let columns = |name: &str, look: Look, of: &dyn Fn(&Season) -> f64| {
        series(
            name,
            look,
            months
                .iter()
                .map(|m| (f64::from(m.from_day), of(m)))
                .collect(),
        )
    };
    let a_day = |kwh: f64, m: &Season| kwh / f64::from(m.days.max(1));
    let mut gas = vec![
        columns("used", USED, &|m| m.used_nl_d),
        columns("overflow", OVERFLOW, &|m| m.overflow_nl_d),
    ];
    if months.iter().any(|m| m.heater_kwh > 0.0) {
        gas.push(columns("burnt for the tank's heat", HEATER, &|m| {
            m.heating_share.unwrap_or(0.0) * m.made_nl_d
        }));
    }
    Figure {
        id: "season-months".into(),
        title: "Month by month".into(),
        caption: "Where the gas went, and what became of the hours that were wanted. The shaded months are the coldest \
                  three."
            .into(),
        alt: months
            .iter()
            .map(|m| {
                format!(
                    "{}: {} norm litres used a day, {} of {} hours served.",
                    m.name,
                    rough(m.used_nl_d),
                    fixed(m.served_h, 0),
                    fixed(m.wanted_h, 0)
                )
            })
            .collect::<Vec<_>>()
            .join(" "),
        plot: plot(
            reading,
            vec![
                Panel {
                    title: "Gas".into(),
                    unit: "NL/d".into(),
                    include: vec![0.0],
                    height: 1.2,
                    layers: vec![Layer::Columns(gas)],
                    ..Panel::default()
                },
                Panel {
                    title: "Hours wanted".into(),
                    unit: "h/d".into(),
                    include: vec![0.0],
                    height: 1.0,
                    layers: vec![Layer::Columns(vec![
                        columns("served", USED, &|m| a_day(m.served_h, m)),
                        columns("short of gas", SHORT, &|m| a_day(m.short_h, m)),
                        columns("gas does not burn, or refused", REFUSED, &|m| {
                            a_day(m.no_flame_h + m.refused_h, m)
                        }),
                    ])],
                    ..Panel::default()
                },
            ],
            Vec::new(),
        ),
    }
}
