//! What a diagnosis has to show.

mod figures;
mod story;

use jiff::civil::Date;

use super::cautions::cautions;
use super::diary_fit::litres;
use super::words::{bind, day_name, rough};
use crate::diary::diagnose::MISLED;
use crate::diary::diagnose::result::{Changed, Diagnosis, Ranked, TestWorth};
use crate::diary::diagnose::worth::{LEAST_BITS, doubt};
use crate::report::document::{Closing, Column, Document, Facts, KeyNumber, Table, Weight};
use crate::report::numbers::{fixed, percent, significant};
use figures::figures;
use story::{advice, lower, quiet, speaks};

/// Stories whose next week is drawn.
const DRAWN: usize = 3;
/// Below this chance a story is not named in a sentence, nor listed where nothing speaks of a fault.
const NAMED: f64 = 0.05;

const TRUST: &str = "The chances hold among these stories alone and rest on how likely each was thought before, which is an \
assumption. Take them as an order to look in, never as a verdict.";

/// What a diagnosis leaves out.
fn limits() -> [String; 6] {
    [
        "Only the listed stories compete. Two faults at once, poisons, and anything else that is not listed are not among them."
            .into(),
        format!(
            "{} % of every chance is kept for what was thought before: a record can mislead the model as a whole. That is the \
             share of published comparisons that the model misses; that tanks at home mislead as often is an assumption.",
            percent(MISLED, 0)
        ),
        "A weak starter and ammonia are taken as true from the first day on, the other faults from the first day or from one \
         day of the record on. None is taken to come slowly, to grow or to end."
            .into(),
        "Salt has no term in the equations; it shares a story with ammonia.".into(),
        "A story's evidence is taken about its own best fit as if everything were straight there (Laplace); that of the day on \
         which it began, at the values of the likeliest day."
            .into(),
        "What a soap-water test, stirring or a known volume shows under a story is an assumption; what a pH strip, a flame, a \
         thermometer or a pause shows comes from the story's own run."
            .into(),
    ]
}

/// The report of a diagnosis. `notes` say what was assumed on the way.
#[must_use]
pub fn diary_diagnosis(diagnosis: &Diagnosis, notes: &[String]) -> Document {
    let start: Option<Date> = diagnosis.start_date.parse().ok();
    let bound = |pieces: Vec<String>| pieces.iter().map(|p| bind(p)).collect();
    let mut tables = vec![chances(diagnosis), next_week(diagnosis), tests(diagnosis)];
    tables.extend(diagnosis.tests.first().map(|t| outcomes(t, diagnosis)));
    tables.extend([ways(diagnosis), values(diagnosis, start)]);
    Document {
        kind: "Diagnosis".into(),
        title: diagnosis.title.clone(),
        about: "What may be wrong, by the owner's record.".into(),
        story: bound(story::story(diagnosis, start)),
        advice: bound(advice(diagnosis)),
        key_numbers: key_numbers(diagnosis),
        trust: TRUST.into(),
        figures: figures(diagnosis, start),
        tables,
        cautions: cautions(),
        limits: limits().map(|l| bind(&l)).to_vec(),
        facts: vec![facts(diagnosis, notes)],
        closing: closing(diagnosis),
        ..Document::default()
    }
}

/// The test that tells most between the best two stories for its effort, where it is worth the walk.
fn telling(d: &Diagnosis) -> Option<&TestWorth> {
    d.tests
        .first()
        .filter(|t| t.between_best_two_bits >= LEAST_BITS)
}

/// The stories worth a line: all of them, but where nothing speaks of a fault.
fn listed(d: &Diagnosis) -> impl Iterator<Item = &Ranked> {
    let all = !quiet(d);
    d.stories.iter().filter(move |s| all || s.chance >= NAMED)
}

/// What is said below a list that leaves stories out; nothing below one that has all.
fn left_out(d: &Diagnosis) -> String {
    match listed(d).count() < d.stories.len() {
        true => format!(" Stories below {} % are left out here.", percent(NAMED, 0)),
        false => String::new(),
    }
}

/// Of what is open between the best two stories, or among all, the share that a test is expected to settle.
fn settled(d: &Diagnosis, bits: f64, among: usize) -> f64 {
    let known = d.stories.iter().filter(|s| s.failed.is_none());
    let chances: Vec<f64> = known.take(among).map(|s| s.chance).collect();
    match doubt(&chances) {
        open if open > 0.0 => (bits / open).clamp(0.0, 1.0),
        _ => 0.0,
    }
}

/// The same between the best two stories.
fn settles(d: &Diagnosis, test: &TestWorth) -> f64 {
    settled(d, test.between_best_two_bits, 2)
}

fn key_numbers(d: &Diagnosis) -> Vec<KeyNumber> {
    let mut numbers: Vec<KeyNumber> = listed(d)
        .take(DRAWN)
        .map(|s| KeyNumber {
            label: s.title.clone(),
            value: percent(s.chance, 0),
            unit: "%".into(),
            note: format!("before the record: {} %", percent(s.before, 0)),
        })
        .collect();
    numbers.extend(d.tests.first().map(|t| {
        if telling(d).is_some() {
            KeyNumber {
                label: format!("Best test: {}", lower(&t.title)),
                value: percent(settles(d, t), 0),
                unit: "%".into(),
                note: "of the doubt between the best two, as is expected".into(),
            }
        } else {
            KeyNumber {
                label: "Best test".into(),
                value: "none".into(),
                unit: String::new(),
                note: "no cheap test tells the best two apart".into(),
            }
        }
    }));
    numbers
}

fn chances(d: &Diagnosis) -> Table {
    let mut said: Vec<String> = Vec::new();
    let mut once = |words: String| match said.contains(&words) {
        true => "the same".to_owned(),
        false => {
            said.push(words.clone());
            words
        }
    };
    let rows = listed(d).map(|s| {
        vec![
            s.title.clone(),
            share(s.chance),
            percent(s.before, 0),
            once(speaks(s, &d.stories)),
        ]
    });
    let rows = rows.collect();
    Table {
        id: "stories".into(),
        title: "What may be wrong".into(),
        columns: vec![
            Column::words("Story"),
            Column::number("Chance", "%"),
            Column::number("Before", "%"),
            Column::words("What speaks"),
        ],
        rows,
        note: format!(
            "In brackets how many readings of a kind there are. Where no kind is named, none alone tells the story from the \
             likeliest other one.{}",
            left_out(d)
        ),
        weight: Weight::Story,
    }
}

/// A chance as a percentage; never quite none and never quite sure.
fn share(chance: f64) -> String {
    if chance < 0.01 {
        "below 1".into()
    } else if chance > 0.99 {
        "above 99".into()
    } else {
        percent(chance, 0)
    }
}

fn next_week(d: &Diagnosis) -> Table {
    let row = |s: &Ranked| {
        let last = s.week.last()?;
        let band =
            |b: &[f64; 3]| format!("{} ({} to {})", litres(b[1]), litres(b[0]), litres(b[2]));
        Some(vec![
            s.title.clone(),
            band(&last.gas_nl),
            fixed(last.ph[1], 1),
            percent(last.methane[1], 0),
        ])
    };
    Table {
        id: "week".into(),
        title: "How next week would look".into(),
        columns: vec![
            Column::words("Story"),
            Column::number("In a week", "norm L/d"),
            Column::number("pH", ""),
            Column::number("CH4", "%"),
        ],
        rows: listed(d).filter_map(row).collect(),
        note: "Gas as read, pH and methane on the seventh day, fed like the last week. In brackets nine in ten, without the error \
               of a reading."
            .into(),
        weight: Weight::Story,
    }
}

fn tests(d: &Diagnosis) -> Table {
    Table {
        id: "tests".into(),
        title: "Cheap tests, the best for its effort first".into(),
        columns: vec![
            Column::words("Test"),
            Column::number("Minutes", ""),
            Column::number("Best two", "%"),
            Column::number("All", "%"),
        ],
        rows: d
            .tests
            .iter()
            .map(|t| {
                let all = settled(d, t.among_all_bits, d.stories.len());
                vec![
                    t.title.clone(),
                    fixed(t.effort_min, 0),
                    percent(settles(d, t), 0),
                    percent(all, 0),
                ]
            })
            .collect(),
        note: format!(
            "How much of the doubt a test is expected to settle, between the best two stories and among all: 0 tells nothing, \
             100 settles it. Minutes are what it costs beyond the walk, an assumption.{}",
            telling(d)
                .map(|t| format!(" How the first is done: {}", t.how))
                .unwrap_or_default()
        ),
        weight: Weight::Story,
    }
}

/// How each test is done.
fn ways(d: &Diagnosis) -> Table {
    Table {
        id: "how".into(),
        title: "How each test is done".into(),
        columns: vec![Column::words("Test"), Column::words("How")],
        rows: d
            .tests
            .iter()
            .map(|t| vec![t.title.clone(), t.how.clone()])
            .collect(),
        note: String::new(),
        weight: Weight::Folded,
    }
}

fn outcomes(test: &TestWorth, d: &Diagnosis) -> Table {
    let mut columns = vec![Column::words("Story")];
    columns.extend(test.outcomes.iter().map(|o| Column::number(o, "%")));
    Table {
        id: "outcomes".into(),
        title: format!("What the {} would show", lower(&test.title)),
        columns,
        rows: test
            .chances
            .iter()
            .map(|(name, row)| {
                let story = d.stories.iter().find(|s| s.name == *name);
                let title = story.map_or(name.clone(), |s| s.title.clone());
                let mut cells = vec![title];
                cells.extend(row.iter().map(|&p| share(p)));
                cells
            })
            .collect(),
        note: d.source.clone(),
        weight: Weight::Folded,
    }
}

fn value(changed: &Changed, start: Option<Date>) -> String {
    let value = format!("{} {}", changed.name, significant(changed.value, 2));
    match changed.since {
        Some(day) => format!("{value} from about {} on", day_name(day, start)),
        None => value,
    }
}

fn values(d: &Diagnosis, start: Option<Date>) -> Table {
    let row = |s: &Ranked| {
        let values = s.changed.iter().map(|c| value(c, start));
        vec![
            s.title.clone(),
            values.collect::<Vec<_>>().join(", "),
            s.why.clone(),
        ]
    };
    Table {
        id: "values".into(),
        title: "Each story at its best".into(),
        columns: vec![
            Column::words("Story"),
            Column::words("Its values"),
            Column::words("Why, and what is assumed"),
        ],
        rows: d.stories.iter().map(row).collect(),
        note: "Units as in a fit: times the usual, K for the temperature, parts of the usual gas for the leak.".into(),
        weight: Weight::Record,
    }
}

fn facts(d: &Diagnosis, notes: &[String]) -> Facts {
    let mut rows = vec![
        (
            "Runs".to_owned(),
            format!("{}, {} failed", d.runs, d.failed),
        ),
        ("Scatter against assumed".to_owned(), fixed(d.noise, 2)),
        (
            "Usual gas at typical values".to_owned(),
            format!("{} norm L/d", rough(d.usual_gas_nl)),
        ),
        ("Seed".to_owned(), d.seed.to_string()),
        ("Version".to_owned(), d.version.to_owned()),
        ("Scenario".to_owned(), d.file.clone()),
        (
            "SHA-256 of the joined scenario".to_owned(),
            d.sha256.clone(),
        ),
    ];
    rows.extend(
        d.notes
            .iter()
            .chain(notes)
            .map(|n| ("Note".to_owned(), n.clone())),
    );
    Facts {
        title: "How it was judged".into(),
        rows,
    }
}

fn closing(d: &Diagnosis) -> Closing {
    let told = d.stories.iter().filter(|s| s.failed.is_none()).count();
    Closing {
        holds: told == d.stories.len() && d.failed == 0,
        text: format!(
            "{told} of {} stories could be told; {} runs, {} failed.",
            d.stories.len(),
            d.runs,
            d.failed
        ),
    }
}
