//! What a fit of a digester to its record has to show.

use jiff::civil::Date;

use super::cautions::cautions;
use super::words::{bind, count, day_name, rough};
use crate::diary::fit::fitted::guesses;
use crate::diary::fit::jump::Jump;
use crate::diary::fit::readings::What;
use crate::diary::fit::result::{DayBand, Fit, HARDLY, Learnt};
use crate::report::document::{Closing, Column, Document, Facts, KeyNumber, Table, Weight};
use crate::report::figure::{
    Fan, FanRange, Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Series, XAxis, XKind,
};
use crate::report::numbers::{fixed, percent, significant};

const GAS: Look = Look(0);
const READ: Look = Look(1);

/// Gas below this is told as none \[norm litres\]: no bell or bag shows it.
pub(super) const NO_GAS: f64 = 0.5;
/// From this share on it counts as learnt.
const WELL: f64 = 0.6;

const TRUST: &str = "Each band holds nine in ten, if the equations and the errors assumed for the readings are right. They \
never are quite: trust comparisons and the next days more than any single number.";

const LIMITS: [&str; 5] = [
    "What a record does not fix rests on what was thought before; those thoughts are assumptions with sources, shown in the \
     table of unknowns.",
    "Everything is taken as constant from the first day on: a leak that opened last week looks like a small one that was \
     always there. A diagnosis (\"marshgas diary diagnose\") looks for the day on which such a thing began.",
    "The errors of the readings are assumed (a tenth of the gas, 0.2 in pH, 4 points of methane) and widened where the \
     readings scatter more.",
    "The forecast feeds the next days like the last week, at the last temperature noted or the scenario's own course.",
    "Values that act alike on the gas, such as a meter that reads high and a feed that gives more, cannot be told apart by \
     gas alone: a measured pH, methane share or a leak test helps.",
];

/// The report of a fit. `notes` say what was assumed on the way.
#[must_use]
pub fn diary_fit(fit: &Fit, notes: &[String]) -> Document {
    let start = fit.start_date.parse().ok();
    let bound = |pieces: Vec<String>| pieces.iter().map(|p| bind(p)).collect();
    Document {
        kind: "Fit".into(),
        title: fit.title.clone(),
        about: "The digester as its owner's record shows it.".into(),
        story: bound(story(fit, start)),
        advice: bound(advice(fit)),
        key_numbers: key_numbers(fit),
        trust: TRUST.into(),
        figures: figures(fit, start),
        tables: vec![
            values(fit),
            forecast(fit, start),
            priors(fit),
            residuals(fit),
        ],
        cautions: cautions(),
        limits: LIMITS.map(bind).to_vec(),
        facts: vec![facts(fit, notes)],
        closing: closing(fit),
        ..Document::default()
    }
}

/// An amount of gas in norm litres, as rough as it is known; 0 where no bell would show it.
pub(super) fn litres(norm: f64) -> String {
    if norm < NO_GAS {
        "0".into()
    } else {
        rough(norm)
    }
}

/// "1.3 times (0.9 to 1.8)".
fn banded(learnt: &Learnt) -> String {
    let unit = &learnt.unknown.unit;
    format!(
        "{} {unit} ({} to {})",
        rough(learnt.p50),
        rough(learnt.p05),
        rough(learnt.p95)
    )
}

fn story(fit: &Fit, start: Option<Date>) -> Vec<String> {
    let mut story = vec![format!(
        "{} up to {} were held against the model. The walk stopped because {}.",
        count(fit.readings, "reading", "readings"),
        day_name(fit.last_day, start),
        fit.stop.words()
    )];
    story.extend(fit.jump.as_ref().map(|jump| leaves(jump, start)));
    for learnt in fit.unknowns.iter().filter(|l| l.learnt >= HARDLY) {
        let middle = learnt.unknown.middle();
        let way = if learnt.p05 > middle {
            format!(": {}", learnt.unknown.more)
        } else if learnt.p95 < middle {
            format!(": {}", learnt.unknown.less)
        } else {
            ", which is nothing unusual".to_owned()
        };
        story.push(format!(
            "It says {} about {}: {}{way}.",
            if learnt.learnt >= WELL {
                "much"
            } else {
                "something"
            },
            learnt.unknown.words,
            banded(learnt)
        ));
    }
    let hardly = |unmoved: bool| -> Vec<String> {
        let some = fit.unknowns.iter().filter(|l| l.learnt < HARDLY);
        some.filter(|l| l.as_before() == unmoved)
            .map(|l| l.unknown.words.clone())
            .collect()
    };
    let (unmoved, moved) = (hardly(true), hardly(false));
    if !unmoved.is_empty() {
        story.push(format!(
            "It says next to nothing about {}.",
            super::words::list(&unmoved)
        ));
    }
    if !moved.is_empty() {
        story.push(format!(
            "It moves what is thought about {}, but makes it hardly surer.",
            super::words::list(&moved)
        ));
    }
    if let Some(next) = fit.days.iter().find(|d| d.ahead) {
        story.push(format!(
            "On {} about {} norm litres are expected; a reading would lie between {} and {} on nine days in ten, if the feed \
             stays like last week's.{}",
            day_name(f64::from(next.day), start),
            litres(next.gas_nl[2]),
            litres(next.gas_read_nl[0]),
            litres(next.gas_read_nl[4]),
            unchanged(fit, start)
        ));
    }
    if fit.noise > 1.2 {
        story.push(format!(
            "The readings scatter {} times as wide as readings do. All bands are widened by as much; something in the record \
             or in the model does not go together.",
            rough(fit.noise)
        ));
    }
    story.push(format!(
        "What is in fitted.json (written with \"--out\"): your scenario with the likeliest values of all unknowns together. {}",
        guesses(fit).unwrap_or_else(|| "The record tells something about each value in it.".into())
    ));
    story
}

/// What to do next: where something began on the way, what that is comes before what the record leaves open.
fn advice(fit: &Fit) -> Vec<String> {
    let jump = fit.jump.iter().map(|_| {
        "Ask \"marshgas diary diagnose\", with the same record and scenario, what began on the way and what to do about it. \
         Until then trust neither the values nor the forecast of this fit."
            .to_owned()
    });
    jump.chain(fit.open.iter().cloned()).collect()
}

/// What a forecast leaves out where something began on the way: a sentence with a space before it; else nothing.
fn unchanged(fit: &Fit, start: Option<Date>) -> String {
    let Some(jump) = &fit.jump else {
        return String::new();
    };
    let after = fit.residuals.iter().filter(|r| r.what.is_gas());
    let after = after.filter(|r| r.day > jump.day);
    let (days, gas) = after.fold((0.0, 0.0), |(days, gas), r| {
        (days + r.day - r.from_day, gas + r.seen)
    });
    let read = match days > 0.0 {
        true => format!(
            " Since then about {} norm litres a day were read; if nothing is done, expect that.",
            litres(gas / days)
        ),
        false => String::new(),
    };
    format!(
        " That mixes the days before and after what changed about {}: it is no forecast of yours.{read}",
        day_name(jump.day, start)
    )
}

/// What a day means on which the readings leave the fit.
fn leaves(jump: &Jump, start: Option<Date>) -> String {
    let way = if jump.after > jump.before {
        "more"
    } else {
        "less"
    };
    format!(
        "About {} something seems to have begun: from then on the readings show {way} beside the fit than before, by {} standard \
         deviations of a reading. A fit takes everything as constant, so what it says below mixes before and after. Ask \
         \"marshgas diary diagnose\" first.",
        day_name(jump.day, start),
        rough((jump.after - jump.before).abs())
    )
}

fn key_numbers(fit: &Fit) -> Vec<KeyNumber> {
    let named = fit.unknowns.iter().map(|l| KeyNumber {
        label: l.unknown.words.clone(),
        value: rough(l.p50),
        unit: l.unknown.unit.clone(),
        note: format!("nine in ten: {} to {}", rough(l.p05), rough(l.p95)),
    });
    named.collect()
}

fn values(fit: &Fit) -> Table {
    let number = |v: f64| significant(v, 3);
    Table {
        id: "values".into(),
        title: "What the record taught".into(),
        columns: vec![
            Column::words("Unknown"),
            Column::number("5 %", ""),
            Column::number("50 %", ""),
            Column::number("95 %", ""),
            Column::words("Before, 5 to 95 %"),
            Column::number("Learnt", "%"),
        ],
        rows: fit
            .unknowns
            .iter()
            .map(|l| {
                vec![
                    format!("{}, {}", l.unknown.name, short(&l.unknown.unit)),
                    number(l.p05),
                    number(l.p50),
                    number(l.p95),
                    format!("{} to {}", number(l.before.0), number(l.before.1)),
                    percent(l.learnt, 0),
                ]
            })
            .collect(),
        note: "Learnt: the share of what was open before that the record has closed, 0 nothing to 100 all. x: times the usual.".into(),
        weight: Weight::Story,
    }
}

/// A unit for a narrow column.
fn short(unit: &str) -> &str {
    match unit {
        "times" => "x",
        other => other,
    }
}

fn forecast(fit: &Fit, start: Option<Date>) -> Table {
    Table {
        id: "forecast".into(),
        title: match fit.jump {
            Some(_) => "The next days with the jump left out, fed like the last week".into(),
            None => "The next days, fed like the last week".into(),
        },
        columns: vec![
            Column::words("Day"),
            Column::number("Gas", "norm L"),
            Column::number("Reading, 5 %", "norm L"),
            Column::number("95 %", "norm L"),
            Column::number("pH", ""),
        ],
        rows: fit
            .days
            .iter()
            .filter(|d| d.ahead)
            .map(|d| {
                vec![
                    day_name(f64::from(d.day), start),
                    litres(d.gas_nl[2]),
                    litres(d.gas_read_nl[0]),
                    litres(d.gas_read_nl[4]),
                    fixed(d.ph[1], 1),
                ]
            })
            .collect(),
        note: format!(
            "Norm litres: dry, 0 C, 101.325 kPa. Gas and pH are middles; nine in ten readings lie between the two ends.{}",
            unchanged(fit, start)
        ),
        weight: Weight::Story,
    }
}

fn priors(fit: &Fit) -> Table {
    Table {
        id: "before".into(),
        title: "What was thought before, and why".into(),
        columns: vec![
            Column::words("Unknown"),
            Column::words("Why that wide"),
            Column::words("Source"),
        ],
        rows: fit
            .unknowns
            .iter()
            .map(|l| {
                vec![
                    l.unknown.name.clone(),
                    l.unknown.why.clone(),
                    l.unknown.source.clone(),
                ]
            })
            .collect(),
        note: String::new(),
        weight: Weight::Record,
    }
}

pub(super) const fn kind(what: What) -> &'static str {
    match what {
        What::Gas => "gas, norm L",
        What::GasAfterLime => "gas after the lime, norm L",
        What::Ph => "pH",
        What::Methane => "methane, %",
        What::Burns => "flame (1 burns), methane share",
        What::Acids => "acids, mg/L",
        What::Alkalinity => "alkalinity, mg/L",
    }
}

fn residuals(fit: &Fit) -> Table {
    Table {
        id: "residuals".into(),
        title: "Every reading beside the fit".into(),
        columns: vec![
            Column::number("Line", ""),
            Column::number("Day", ""),
            Column::words("What"),
            Column::number("Read", ""),
            Column::number("Fit", ""),
            Column::number("Off", "sd"),
        ],
        rows: fit
            .residuals
            .iter()
            .map(|r| {
                vec![
                    r.line.to_string(),
                    fixed(r.day, 1),
                    kind(r.what).into(),
                    significant(r.seen, 3),
                    match r.what.is_gas() && r.computed < NO_GAS {
                        true => "0".into(),
                        false => significant(r.computed, 3),
                    },
                    fixed(r.off, 1),
                ]
            })
            .collect(),
        note: "Off: reading less fit, in assumed standard deviations of a reading; above 0 more was read. Beyond 3 look at the line again.".into(),
        weight: Weight::Folded,
    }
}

/// Day of the run on which the figures begin: that of the first reading.
fn begin(fit: &Fit) -> f64 {
    let days = fit.residuals.iter().map(|r| r.from_day.floor());
    let first = days.fold(f64::INFINITY, f64::min);
    if first.is_finite() { first } else { 0.0 }
}

/// The days that the figures show.
fn shown(fit: &Fit) -> impl Iterator<Item = &DayBand> {
    let from = begin(fit);
    fit.days.iter().filter(move |d| f64::from(d.day) >= from)
}

fn over_days(start: Option<Date>, fit: &Fit, panels: Vec<Panel>) -> Plot {
    Plot::Panels(Panels {
        x: XAxis {
            title: "Day of the run".into(),
            kind: XKind::Days { start },
            range: Some((begin(fit), fit.days.len().max(1) as f64)),
        },
        panels,
        spans: Vec::new(),
        markers: vec![Marker {
            x: fit.last_day,
            label: "last reading".into(),
        }],
    })
}

fn figures(fit: &Fit, start: Option<Date>) -> Vec<Figure> {
    let edges = |low: fn(&DayBand) -> f64, high: fn(&DayBand) -> f64| -> Vec<(f64, f64, f64)> {
        shown(fit)
            .map(|d| (f64::from(d.day) + 0.5, low(d), high(d)))
            .collect()
    };
    let read = fit.residuals.iter().filter(|r| r.what.is_gas());
    let dots: Vec<(f64, f64)> = read
        .map(|r| (0.5 * (r.from_day + r.day), r.seen / (r.day - r.from_day)))
        .collect();
    let gas = Panel {
        title: "Gas, as read".into(),
        unit: "norm litres per day, dry".into(),
        include: vec![0.0],
        height: 1.0,
        layers: vec![
            Layer::Fan(Fan {
                name: "the fit".into(),
                look: GAS,
                ranges: vec![
                    FanRange {
                        name: "9 of 10 readings".into(),
                        edges: edges(|d| d.gas_read_nl[0], |d| d.gas_read_nl[4]),
                    },
                    FanRange {
                        name: "9 of 10, without the error of a reading".into(),
                        edges: edges(|d| d.gas_nl[0], |d| d.gas_nl[4]),
                    },
                ],
                middle: shown(fit)
                    .map(|d| (f64::from(d.day) + 0.5, d.gas_nl[2]))
                    .collect(),
            }),
            Layer::Dots(Series {
                name: "the record".into(),
                look: READ,
                points: dots,
            }),
        ],
        ..Panel::default()
    };
    let off = |gas: bool, name: &str, look: Look| {
        let points = fit.residuals.iter().filter(|r| r.what.is_gas() == gas);
        Layer::Dots(Series {
            name: name.into(),
            look,
            points: points.map(|r| (r.day, r.off)).collect(),
        })
    };
    let rule = |y: f64, label: &str| {
        Layer::Rule(Rule {
            y,
            label: label.into(),
        })
    };
    let left = Panel {
        title: "Reading less fit".into(),
        unit: "standard deviations of a reading".into(),
        include: vec![-3.0, 3.0],
        height: 1.0,
        layers: vec![
            rule(0.0, "0"),
            rule(2.0, "2"),
            rule(-2.0, "\u{2212}2"),
            off(true, "gas", GAS),
            off(false, "pH, flame and the like", READ),
        ],
        ..Panel::default()
    };
    let far = fit.residuals.iter().filter(|r| r.off.abs() > 2.0).count();
    vec![
        Figure {
            id: "gas".into(),
            title: "Gas of the record, of the fit, and of the next days".into(),
            caption: format!(
                "Dots are readings, spread over the days since the one before. Beyond the last reading the band is the \
                 forecast: {}",
                match fit.jump {
                    Some(_) => format!("it leaves the jump out.{}", unchanged(fit, start)),
                    None => "a reading outside it is worth a second look.".into(),
                }
            ),
            alt: format!(
                "Daily gas with a band and the readings as dots over {} days.",
                shown(fit).count()
            ),
            plot: over_days(start, fit, vec![gas]),
        },
        Figure {
            id: "residuals".into(),
            title: "How far each reading lies from the fit".into(),
            caption: "Above the line more was read than the fit has, below it less. A good fit looks like rain: no waves, no trend, about one in twenty beyond the lines at 2. A wave means \
                      that something changes which the fit takes as constant."
                .into(),
            alt: format!(
                "Residuals over time; {far} of {} lie beyond two standard deviations.",
                fit.residuals.len()
            ),
            plot: over_days(start, fit, vec![left]),
        },
    ]
}

fn facts(fit: &Fit, notes: &[String]) -> Facts {
    let mut rows = vec![
        (
            "Runs".to_owned(),
            format!("{}, {} failed", fit.runs, fit.failed),
        ),
        (
            "Sum of squares at the end of each walk".to_owned(),
            fit.starts
                .iter()
                .map(|s| s.map_or_else(|| "failed".to_owned(), |s| fixed(s, 1)))
                .collect::<Vec<_>>()
                .join(", "),
        ),
        (
            "Draws".to_owned(),
            format!(
                "{}, worth {} equal ones{}",
                fit.draws,
                fixed(fit.effective_draws, 0),
                if fit.weighted {
                    ""
                } else {
                    "; too few, so they stand unweighted"
                }
            ),
        ),
        ("Scatter against assumed".to_owned(), fixed(fit.noise, 2)),
        (
            "Usual gas at typical values".to_owned(),
            format!("{} norm L/d", rough(fit.usual_gas_nl)),
        ),
        ("Seed".to_owned(), fit.seed.to_string()),
        ("Version".to_owned(), fit.version.to_owned()),
        ("Scenario".to_owned(), fit.file.clone()),
        (
            "SHA-256 of the joined scenario".to_owned(),
            fit.sha256.clone(),
        ),
    ];
    for direction in &fit.directions {
        let parts = direction.along.iter().zip(&fit.unknowns);
        let words: Vec<String> = parts
            .filter(|(share, _)| share.abs() >= 0.3)
            .map(|(share, l)| format!("{} {}", fixed(*share, 2), l.unknown.name))
            .collect();
        rows.push((
            format!(
                "Information {} times the prior's",
                significant(direction.information, 2)
            ),
            words.join(", "),
        ));
    }
    rows.extend(
        fit.notes
            .iter()
            .chain(notes)
            .map(|n| ("Note".to_owned(), n.clone())),
    );
    Facts {
        title: "How it was fitted".into(),
        rows,
    }
}

fn closing(fit: &Fit) -> Closing {
    Closing {
        holds: fit.stop.is_minimum() && fit.failed == 0,
        text: format!(
            "{} runs, {} failed; it stopped because {}.",
            fit.runs,
            fit.failed,
            fit.stop.words()
        ),
    }
}

#[cfg(test)]
mod tests;
