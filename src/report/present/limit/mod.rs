//! What the search for a limit has to show.

mod figure;
mod story;
mod tables;

use super::cautions::cautions;
use super::words::{finished, list, rough};
use crate::report::document::{Closing, Document, Facts, KeyNumber};
use crate::report::numbers::{fixed, percent, significant};
use crate::study::limit::{LimitOutcome, Over};

/// How far the numbers can be trusted.
const TRUST: &str = "The biology is uncertain by tens of per cent, and so is every limit here: keep at least \
half of it as a reserve, and believe your own acid ratio before this page.";

/// What the equations do not know.
const LIMITS: [&str; 6] = [
    "The model does not know trace elements (cobalt, nickel, selenium, iron). Food without dung runs short of \
     them long before the limit computed here; the loadings of practice stand before it.",
    "The branch belongs to the averaged stream of the daily mixture in one well mixed vessel at one temperature. \
     Runs with real doses check it; scum, settling and dead corners are not in either.",
    "A limit is where the lasting state ends. A tank can be pushed over from well below it by one large dose: \
     that is what the overfeed tells.",
    "Living groups are taken as they are fed and grown here. A tank that has adapted to much ammonia or acid stands more.",
    "The acid ratio here comes from the acids themselves. A titration on two points counts some bicarbonate as acid: what \
     is computed at 0.01 may titrate at 0.1 to 0.2, so that its sign comes earlier there. Hold readings against your own usual.",
    "Salt, disinfectants, antibiotics and other poisons are not in the equations.",
];

/// The document of one search.
#[must_use]
pub fn limit(outcome: &LimitOutcome) -> Document {
    finished(Document {
        kind: "Limit".into(),
        title: outcome.title.clone(),
        about: outcome.about.clone(),
        story: story::story(outcome),
        advice: story::advice(outcome),
        key_numbers: key_numbers(outcome),
        trust: TRUST.into(),
        figures: figure::figures(outcome),
        tables: tables::tables(outcome),
        cautions: cautions(),
        limits: LIMITS.map(str::to_owned).to_vec(),
        facts: facts(outcome),
        closing: closing(outcome),
        ..Document::default()
    })
}

/// The parameter in words: (name, unit).
fn unit(over: Over) -> &'static str {
    match over {
        Over::Feed => "kg/d",
        Over::Retention => "d",
        Over::Temperature => "\u{b0}C",
    }
}

/// A value of the parameter with its unit.
fn with_unit(over: Over, p: f64) -> String {
    let digits = match over {
        Over::Feed | Over::Retention => significant(p, 3),
        Over::Temperature => fixed(p, 1),
    };
    format!("{digits} {}", unit(over))
}

/// Today's value of the parameter.
fn today(outcome: &LimitOutcome) -> f64 {
    match outcome.over {
        Over::Feed => outcome.feed.kg_per_day,
        Over::Retention => outcome.feed.retention_d,
        Over::Temperature => outcome.temperature_c,
    }
}

fn key_numbers(o: &LimitOutcome) -> Vec<KeyNumber> {
    let number = KeyNumber::new;
    let unit = unit(o.over);
    let mut out = Vec::new();
    out.extend(practical(o));
    match &o.limit {
        Some(l) => {
            out.push(number(
                "It turns at",
                significant(l.at.p, 3),
                unit,
                story::kind_words(l.kind).to_owned(),
            ));
            out.push(number(
                "Slack",
                significant(l.slack, 2),
                if o.over == Over::Temperature {
                    "K"
                } else {
                    unit
                },
                match o.over {
                    Over::Temperature => "between today's mean and the limit".into(),
                    _ => format!("{} % of today's", percent(l.slack / today(o), 0)),
                },
            ));
            if !o.feed.is_stream {
                out.push(number(
                    "Loading there",
                    significant(l.loading_kg_vs_m3_d, 2),
                    "kg VS/m\u{b3}/d",
                    format!("today {}", rough(o.feed.loading_kg_vs_m3_d)),
                ));
            }
        }
        None => out.push(number(
            "No limit up to",
            significant(o.searched_to, 3),
            unit,
            "the end of the search".into(),
        )),
    }
    out.push(number(
        "Today",
        significant(today(o), 3),
        unit,
        format!(
            "mean of the {} days before day {}",
            fixed(o.feed.span_d, 0),
            o.day
        ),
    ));
    if let Some(t) = o.temperature.filter(|_| o.over != Over::Temperature) {
        if let Some(cold) = t.cold_c {
            out.push(number(
                "Too cold below",
                fixed(cold, 1),
                "\u{b0}C",
                format!("at today's feed; today {}", fixed(o.temperature_c, 1)),
            ));
        }
        if let Some(warm) = t.warm_c {
            out.push(number(
                "Too warm above",
                fixed(warm, 1),
                "\u{b0}C",
                "at today's feed".into(),
            ));
        }
    }
    if let Some(s) = &o.shocks {
        let f = &s.overfeed;
        let survives = f.survives_kg.unwrap_or(0.0);
        out.push(number(
            "Largest overfeed",
            significant(survives, 2),
            "kg",
            match f.fails_kg {
                Some(_) => format!(
                    "survived on top of a day's feed; {} times that feed; an upper bound",
                    rough(survives / o.feed.kg_per_day)
                ),
                None => "the largest tried; survived; an upper bound".into(),
            },
        ));
        out.push(number(
            "Largest cold spell",
            significant(s.cold.survives_k.unwrap_or(0.0), 2),
            "K",
            match s.cold.fails_k {
                Some(_) => "below the usual for a week; survived; an upper bound".into(),
                None => "for a week; survived, more would freeze it; an upper bound".into(),
            },
        ));
    }
    if let Some(first) = o.warning.as_ref().and_then(|w| w.signs.first())
        && let Some(ahead) = first.ahead_d
    {
        out.push(number(
            "Earliest sign",
            ahead.to_string(),
            "days ahead",
            match story::earliest(o).as_slice() {
                [_, _, ..] => format!("{} within a day", list(&story::earliest(o))),
                _ => first.sign.name.clone(),
            },
        ));
    }
    out
}

/// What practice does not exceed, as the first number; nothing for a stream, of which no solids are known.
fn practical(o: &LimitOutcome) -> Option<KeyNumber> {
    let loading = o.practice.iter().map(|p| p.loading[0]).reduce(f64::min)?;
    let times = loading / o.feed.loading_kg_vs_m3_d;
    if o.feed.is_stream || !times.is_finite() {
        return None;
    }
    let (value, unit) = match o.over {
        Over::Retention => (o.feed.retention_d / times, unit(Over::Retention)),
        Over::Feed | Over::Temperature => (times * o.feed.kg_per_day, unit(Over::Feed)),
    };
    Some(KeyNumber {
        label: "Practical limit".into(),
        value: significant(value, 3),
        unit: unit.into(),
        note: format!(
            "{} kg VS/m\u{b3}/d; keep to it, whatever the model bears",
            rough(loading)
        ),
    })
}

fn facts(o: &LimitOutcome) -> Vec<Facts> {
    let row = |name: &str, text: String| (name.to_owned(), text);
    let mut method = vec![
        row("Vessel", format!("{}, {} L of liquor", o.vessel, significant(o.liquid_l, 3))),
        row(
            "Feed",
            format!(
                "mean of {} doses in {} days: {}",
                o.feed.doses,
                fixed(o.feed.span_d, 0),
                o.feed
                    .parts
                    .iter()
                    .map(|(name, kg)| format!("{name} {} kg/d", significant(*kg, 2)))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        ),
        row(
            "Branch",
            "steady states followed in pseudo-arclength with exact slopes; stability by eigenvalues; folds solved to \
             rounding, slides to 1e-4 of themselves"
                .into(),
        ),
        row(
            "Failed",
            "pH and acid ratio both beyond their bands, or less than 30 % methane (branch), or less than half of the \
             undisturbed methane in the last 14 days (trials)"
                .into(),
        ),
    ];
    if let Some(c) = &o.confirmation {
        method.push(row("Runs with real doses", format!("{} days each", c.days)));
    }
    let p = &o.provenance;
    let changed = p
        .parameters
        .iter()
        .map(|(name, value)| format!("{name} = {value}"))
        .collect::<Vec<_>>()
        .join(", ");
    vec![
        Facts {
            title: "How it was found".into(),
            rows: method,
        },
        Facts {
            title: "Provenance".into(),
            rows: vec![
                row("Program", format!("marshgas {}", p.version)),
                row("Scenario", p.file.clone()),
                row("SHA-256", p.sha256.clone()),
                row(
                    "Network",
                    format!("{}, activities {}", p.network, p.activity),
                ),
                row(
                    "Changed parameters",
                    if changed.is_empty() {
                        "none".into()
                    } else {
                        changed
                    },
                ),
            ],
        },
    ]
}

fn closing(o: &LimitOutcome) -> Closing {
    // Lumps of feed may move the limit; more than this is a disagreement.
    const FAR: f64 = 0.15;
    const FAR_K: f64 = 1.0;
    let far = if o.over == Over::Temperature {
        FAR_K
    } else {
        FAR
    };
    let agrees = o
        .confirmation
        .as_ref()
        .is_none_or(|c| c.difference.is_some_and(|d| d.abs() <= far));
    let within = o
        .confirmation
        .as_ref()
        .is_some_and(|c| c.sides.iter().map(|s| s.1).eq([true, false]));
    Closing {
        holds: agrees,
        text: match (&o.limit, &o.confirmation) {
            (None, _) => "No limit was found within the search; that is a result.".into(),
            (Some(_), None) => {
                "The limit rests on the branch alone: no run with real doses was made on its two sides.".into()
            }
            (Some(_), Some(c)) if agrees && c.sides.iter().all(|s| s.1) => {
                "Runs with real doses stay healthy somewhat beyond the limit of the averaged feed: of the two values trust the \
                 more careful."
                    .into()
            }
            (Some(_), Some(_)) if agrees && !within => {
                "The lumps of real doses move the limit of the averaged feed: of the two values trust the more careful.".into()
            }
            (Some(_), Some(_)) if agrees => {
                "Runs with real doses stay healthy before the limit of the averaged feed and turn beyond it.".into()
            }
            (Some(_), Some(_)) => {
                "Runs with real doses do not agree with the branch: read the table and trust the more careful of the two.".into()
            }
        },
    }
}
