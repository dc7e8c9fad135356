//! Figures of a diagnosis: chances, the record beside the likeliest story, the week to come.

use jiff::civil::Date;

use super::{DRAWN, listed, share, telling};
use crate::diary::diagnose::result::{Diagnosis, GasRead, Since};
use crate::report::figure::{
    Amount, Amounts, Figure, Layer, Look, Marker, Panel, Panels, Plot, Scale, Series, Span, XAxis,
    XKind,
};
use crate::report::present::diary_fit::NO_GAS;
use crate::report::present::words::day_name;

const STORY: Look = Look(0);
const READ: Look = Look(1);
const AFTER_LIME: Look = Look(2);

/// Gas that a figure always reaches up to, in parts of the usual gas.
const LITTLE: f64 = 0.1;

pub(super) fn figures(d: &Diagnosis, start: Option<Date>) -> Vec<Figure> {
    let some = [Some(chances(d)), record(d, start), week(d)];
    some.into_iter().flatten().collect()
}

/// Gas as far as a bell shows it \[norm litres\].
fn seen(gas: f64) -> f64 {
    if gas < NO_GAS { 0.0 } else { gas }
}

fn chances(d: &Diagnosis) -> Figure {
    let bars = listed(d).map(|s| Amount {
        name: s.title.clone(),
        look: Look(0),
        value: 100.0 * s.chance,
        text: format!("{} %", share(s.chance)),
    });
    Figure {
        id: "stories".into(),
        title: "What may be wrong".into(),
        caption: format!(
            "Look first where the bar is longest{}.{}",
            match telling(d) {
                Some(_) => ", and do the cheap test that tells the longest two apart",
                None => "; no cheap test tells the longest two apart",
            },
            super::left_out(d)
        ),
        alt: "Bars of the chance of each story.".into(),
        plot: Plot::Amounts(Amounts {
            title: "Chance, %".into(),
            bars: bars.collect(),
            reach: Some(100.0),
        }),
    }
}

/// When the likeliest story began, if rather on a day of the record than before it.
fn onset(d: &Diagnosis) -> Option<Since> {
    d.stories.first()?.since.filter(|since| since.chance > 0.5)
}

/// The record's gas beside the run of the likeliest story; `None` without either.
fn record(d: &Diagnosis, start: Option<Date>) -> Option<Figure> {
    let first = d.stories.first()?;
    let (begin, end) = (d.course.first()?.day, d.course.last()?.day + 1.0);
    if d.gas.is_empty() {
        return None;
    }
    let onset = onset(d);
    let mut layers = vec![Layer::Line(Series {
        name: first.title.clone(),
        look: STORY,
        points: d
            .course
            .iter()
            .map(|c| (c.day + 0.5, seen(c.gas_nl)))
            .collect(),
    })];
    for (lime, name, look) in [
        (false, "the record", READ),
        (true, "the record, after the lime", AFTER_LIME),
    ] {
        let dots = d.gas.iter().filter(|g| g.after_lime == lime);
        let points: Vec<(f64, f64)> = dots.map(dot).collect();
        if !points.is_empty() {
            layers.push(Layer::Dots(Series {
                name: name.into(),
                look,
                points,
            }));
        }
    }
    let began = onset.map_or_else(String::new, |since| {
        format!(
            " The line marks {}, the day on which that most likely began{}.",
            day_name(since.day, start),
            match since.to_day > since.from_day {
                true => "; the shaded days are meant with nine chances in ten",
                false => "",
            }
        )
    });
    let spans = onset.filter(|since| since.to_day > since.from_day);
    Some(Figure {
        id: "record".into(),
        title: "Gas of the record, and of the likeliest story".into(),
        caption: format!(
            "Dots are readings, spread over the days since the one before; the line is what \"{}\" would give at its best. \
             Where the dots leave it for days, that story does not tell all.{began}",
            first.title
        ),
        alt: format!(
            "Daily gas of the likeliest story, and {} readings as dots.{began}",
            d.gas.len()
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Day of the run".into(),
                kind: XKind::Days { start },
                range: Some((begin, end)),
            },
            panels: vec![Panel {
                title: "Gas, as read".into(),
                unit: "norm litres per day, dry".into(),
                include: vec![0.0, LITTLE * d.usual_gas_nl],
                height: 1.0,
                layers,
                ..Panel::default()
            }],
            spans: spans
                .map(|since| Span {
                    from: since.from_day,
                    to: since.to_day,
                    name: "may have begun".into(),
                })
                .into_iter()
                .collect(),
            markers: onset
                .map(|since| Marker {
                    x: since.day,
                    label: "began".into(),
                })
                .into_iter()
                .collect(),
        }),
    })
}

/// A reading as gas a day, in the middle of the days over which it gathered.
fn dot(gas: &GasRead) -> (f64, f64) {
    (
        0.5 * (gas.from_day + gas.day),
        gas.gas_nl / (gas.day - gas.from_day),
    )
}

fn week(d: &Diagnosis) -> Option<Figure> {
    let some = listed(d).filter(|s| !s.week.is_empty()).take(DRAWN);
    let lines: Vec<Layer> = some
        .enumerate()
        .map(|(i, s)| {
            Layer::Line(Series {
                name: s.title.clone(),
                look: Look(i),
                points: s
                    .week
                    .iter()
                    .map(|w| (f64::from(w.ahead), seen(w.gas_nl[1])))
                    .collect(),
            })
        })
        .collect();
    (!lines.is_empty()).then(|| Figure {
        id: "week".into(),
        title: "How next week would look".into(),
        caption: "The gas that each of the likeliest stories expects, fed like the last week: keep reading, and see which \
                  line the dots follow."
            .into(),
        alt: "Lines of the expected gas of the next week, one for each of the likeliest stories.".into(),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "Days after the record".into(),
                kind: XKind::Number(Scale::Linear),
                range: None,
            },
            panels: vec![Panel {
                title: "Gas, as read".into(),
                unit: "norm litres per day, dry".into(),
                // A tank that gives nothing shows a line at none, and not the last digits of it.
                include: vec![0.0, LITTLE * d.usual_gas_nl],
                height: 1.0,
                layers: lines,
                ..Panel::default()
            }],
            spans: Vec::new(),
            markers: Vec::new(),
        }),
    })
}
