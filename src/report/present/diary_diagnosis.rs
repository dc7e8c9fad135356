//! What a diagnosis has to show.

use jiff::civil::Date;

use super::cautions::cautions;
use super::diary_fit::{kind, litres};
use super::words::{bind, count, day_name, list, rough};
use crate::diary::diagnose::MISLED;
use crate::diary::diagnose::result::{Changed, Diagnosis, Evidence, Ranked, TestWorth};
use crate::report::document::{Closing, Column, Document, Facts, KeyNumber, Table, Weight};
use crate::report::figure::{
    Amount, Amounts, Figure, Layer, Look, Panel, Panels, Plot, Scale, Series, XAxis, XKind,
};
use crate::report::numbers::{fixed, percent, significant};

/// Above this chance a story is called likely.
const LIKELY: f64 = 0.8;
/// Below this chance a story is not named in a sentence.
const NAMED: f64 = 0.05;
/// A reading kind speaks for or against a story from this logarithm on.
const SPEAKS: f64 = 1.0;
/// A chance that changed by fewer times counts as unchanged.
const MOVED: f64 = 1.25;
/// Chance above which it is said without a number that a story began on the way.
const SURE: f64 = 0.95;
/// Stories whose next week is drawn.
const DRAWN: usize = 3;
/// A test that tells less than this is not worth the walk \[bits\].
const WORTH: f64 = 0.05;

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
        story: bound(story(diagnosis, start)),
        advice: bound(advice(diagnosis)),
        key_numbers: key_numbers(diagnosis),
        trust: TRUST.into(),
        figures: figures(diagnosis),
        tables,
        cautions: cautions(),
        limits: limits().map(|l| bind(&l)).to_vec(),
        facts: vec![facts(diagnosis, notes)],
        closing: closing(diagnosis),
        ..Document::default()
    }
}

fn story(d: &Diagnosis, start: Option<Date>) -> Vec<String> {
    let mut story = vec![format!(
        "{} up to {} were held against {} stories.",
        count(d.readings, "reading", "readings"),
        day_name(d.last_day, start),
        d.stories.len()
    )];
    if let Some(first) = d.stories.first() {
        story.push(if first.chance >= LIKELY {
            format!(
                "Most likely {} ({} %).",
                first.words,
                percent(first.chance, 0)
            )
        } else {
            let open: Vec<String> = d
                .stories
                .iter()
                .filter(|s| s.chance >= NAMED)
                .map(|s| format!("{} ({} %)", s.words, percent(s.chance, 0)))
                .collect();
            format!(
                "The record leaves it open. It may be that {}.",
                open.join("; or that ")
            )
        });
    }
    for ranked in d.stories.iter().take(DRAWN).filter(|s| s.chance >= NAMED) {
        let mut words = format!("{}: {}", ranked.title, speaks(ranked, &d.stories));
        if let Some(began) = began(ranked, start) {
            words.push_str(&format!(" If it is so, {began}."));
        }
        story.push(words);
    }
    if d.noise > 1.5 {
        story.push(format!(
            "Even the best story leaves the readings scattering {} times as wide as readings do, so all stories are told with \
             less confidence. Something may be going on that none of them tells.",
            rough(d.noise)
        ));
    }
    story
}

/// What speaks for and against a story, in words.
fn speaks(ranked: &Ranked, stories: &[Ranked]) -> String {
    if let Some(why) = &ranked.failed {
        return format!("could not be computed ({why}).");
    }
    let side = |wanted: fn(&Evidence) -> bool| -> Vec<String> {
        let chosen = ranked.evidence.iter().filter(|e| wanted(e));
        chosen
            .map(|e| format!("{} ({})", short(e), e.readings))
            .collect()
    };
    let (pro, con) = (side(|e| e.gain >= SPEAKS), side(|e| e.gain <= -SPEAKS));
    let rival = ranked.evidence.first();
    let rival = rival.and_then(|e| stories.iter().find(|s| s.name == e.against));
    let other = rival.map_or("the others".into(), |s| format!("\"{}\"", s.title));
    // Where the chance went the other way than the readings point, that needs its own reason.
    let yet = |side: f64| match (ranked.chance / ranked.before).ln() * side < -MOVED.ln() {
        true => format!("; yet {}", moved(ranked, stories)),
        false => String::new(),
    };
    match (pro.is_empty(), con.is_empty()) {
        (true, true) => format!(
            "no kind of reading alone tells it from {other}; {}.",
            moved(ranked, stories)
        ),
        (false, true) => format!(
            "the readings of {} speak for it against {other}{}.",
            list(&pro),
            yet(1.0)
        ),
        (true, false) => format!(
            "the readings of {} speak against it and for {other}{}.",
            list(&con),
            yet(-1.0)
        ),
        (false, false) => format!(
            "the readings of {} speak for it against {other}, those of {} the other way.",
            list(&pro),
            list(&con)
        ),
    }
}

/// When a story began, in words; nothing of one that holds from the first day on whatever it is.
fn began(ranked: &Ranked, start: Option<Date>) -> Option<String> {
    let since = ranked.since?;
    let [from, day, to] = [since.from_day, since.day, since.to_day].map(|d| day_name(d, start));
    let when = match to == from {
        true => format!("on {day}"),
        false => format!("about {day}, between {from} and {to}"),
    };
    let odds = percent(since.chance, 0);
    Some(if since.chance > SURE {
        format!("it began on the way, {when}")
    } else if since.chance > 0.5 {
        format!("it rather began on the way ({odds} %), {when}, than before the record")
    } else if since.chance > 1.0 - SURE {
        format!(
            "it rather was so from the first day on ({} %)",
            percent(1.0 - since.chance, 0)
        )
    } else {
        "it was so from the first day on".into()
    })
}

/// What moved the chance of a story that no single kind of reading tells from its rival, in words.
fn moved(ranked: &Ranked, stories: &[Ranked]) -> String {
    let times = ranked.chance / ranked.before;
    if (1.0 / MOVED..MOVED).contains(&times) {
        return "its chance rests on what was thought before".into();
    }
    let way = if times > 1.0 { "rose" } else { "fell" };
    let rival = ranked
        .evidence
        .first()
        .and_then(|e| stories.iter().find(|s| s.name == e.against));
    let ahead = match (ranked.log_evidence, rival.and_then(|s| s.log_evidence)) {
        (Some(own), Some(other)) => own - other,
        _ => 0.0,
    };
    let read: f64 = ranked.evidence.iter().map(|e| e.gain).sum();
    // What is left of the evidence is how far its values lie from what was thought before, and how many of them do.
    let strain = ahead - read;
    let because = match times > 1.0 {
        true if read >= SPEAKS => "because all readings together speak for it",
        true if strain >= SPEAKS => {
            "because it needs less unusual or less exact values to say the same"
        }
        true => "because the record speaks against other stories",
        false if read <= -SPEAKS => "because all readings together speak against it",
        false if strain <= -SPEAKS => {
            "because it needs more unusual or more exact values to say the same"
        }
        false => "because the record speaks more for other stories",
    };
    format!("its chance {way} {because}")
}

fn short(evidence: &Evidence) -> &'static str {
    let whole = kind(evidence.what);
    whole.split([',', '(']).next().unwrap_or(whole).trim()
}

fn advice(d: &Diagnosis) -> Vec<String> {
    let mut advice = Vec::new();
    if let (Some(test), [a, b, ..]) = (d.tests.first(), d.stories.as_slice()) {
        if test.between_best_two_bits >= WORTH {
            advice.push(format!(
                "The one test to do now: {}. {} It tells most between \"{}\" and \"{}\".",
                lower(&test.title),
                test.how,
                a.title,
                b.title
            ));
        } else {
            advice.push(format!(
                "No cheap test tells \"{}\" from \"{}\"; go on writing for another week.",
                a.title, b.title
            ));
        }
    }
    for ranked in d.stories.iter().take(2).filter(|s| s.chance >= NAMED) {
        advice.push(format!(
            "If it is so ({}): {}",
            lower(&ranked.title),
            ranked.act
        ));
    }
    advice
}

fn lower(title: &str) -> String {
    // "pH" keeps its shape.
    let mut letters = title.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

fn key_numbers(d: &Diagnosis) -> Vec<KeyNumber> {
    let mut numbers: Vec<KeyNumber> = d
        .stories
        .iter()
        .take(DRAWN)
        .map(|s| KeyNumber {
            label: s.title.clone(),
            value: percent(s.chance, 0),
            unit: "%".into(),
            note: format!("before the record: {} %", percent(s.before, 0)),
        })
        .collect();
    numbers.extend(d.tests.first().map(|t| KeyNumber {
        label: format!("Best test: {}", lower(&t.title)),
        value: significant(t.between_best_two_bits, 2),
        unit: "bit".into(),
        note: "expected, between the best two; 1 would settle two even stories".into(),
    }));
    numbers
}

fn chances(d: &Diagnosis) -> Table {
    Table {
        id: "stories".into(),
        title: "What may be wrong".into(),
        columns: vec![
            Column::words("Story"),
            Column::number("Chance", "%"),
            Column::number("Before", "%"),
            Column::words("What speaks"),
        ],
        rows: d
            .stories
            .iter()
            .map(|s| {
                vec![
                    s.title.clone(),
                    share(s.chance),
                    percent(s.before, 0),
                    speaks(s, &d.stories),
                ]
            })
            .collect(),
        note: "In brackets how many readings of a kind there are.".into(),
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
        rows: d.stories.iter().filter_map(row).collect(),
        note: "Gas as read, pH and methane on the seventh day, fed like the last week. In brackets nine in ten, without the error \
               of a reading."
            .into(),
        weight: Weight::Story,
    }
}

fn tests(d: &Diagnosis) -> Table {
    Table {
        id: "tests".into(),
        title: "Cheap tests, the one that tells most first".into(),
        columns: vec![
            Column::words("Test"),
            Column::number("Best two", "bit"),
            Column::number("All", "bit"),
        ],
        rows: d
            .tests
            .iter()
            .map(|t| {
                vec![
                    t.title.clone(),
                    fixed(t.between_best_two_bits, 2),
                    fixed(t.among_all_bits, 2),
                ]
            })
            .collect(),
        note: format!(
            "Expected information, between the best two stories and among all: 0 tells nothing; 1 bit settles two even \
             stories.{}",
            d.tests
                .first()
                .filter(|t| t.between_best_two_bits >= WORTH)
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
        Some(day) => format!("{value} from {} on", day_name(day, start)),
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

fn figures(d: &Diagnosis) -> Vec<Figure> {
    let bars = d.stories.iter().map(|s| Amount {
        name: s.title.clone(),
        look: Look(0),
        value: 100.0 * s.chance,
        text: format!("{} %", share(s.chance)),
    });
    let mut figures = vec![Figure {
        id: "stories".into(),
        title: "What may be wrong".into(),
        caption: "Look first where the bar is longest, and do the cheap test that tells the longest two apart.".into(),
        alt: "Bars of the chance of each story.".into(),
        plot: Plot::Amounts(Amounts {
            title: "Chance, %".into(),
            bars: bars.collect(),
            reach: Some(100.0),
        }),
    }];
    let lines: Vec<Layer> = d
        .stories
        .iter()
        .filter(|s| !s.week.is_empty())
        .take(DRAWN)
        .enumerate()
        .map(|(i, s)| {
            Layer::Line(Series {
                name: s.title.clone(),
                look: Look(i),
                points: s
                    .week
                    .iter()
                    .map(|w| (f64::from(w.ahead), w.gas_nl[1]))
                    .collect(),
            })
        })
        .collect();
    if !lines.is_empty() {
        figures.push(Figure {
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
                    include: vec![0.0],
                    height: 1.0,
                    layers: lines,
                    ..Panel::default()
                }],
                spans: Vec::new(),
                markers: Vec::new(),
            }),
        });
    }
    figures
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::diagnose::result::Since;
    use crate::diary::fit::readings::What;

    fn ranked(name: &str, before: f64, chance: f64, log: f64, gain: f64) -> Ranked {
        Ranked {
            name: name.into(),
            title: name.into(),
            words: String::new(),
            act: String::new(),
            why: String::new(),
            before,
            chance,
            log_evidence: Some(log),
            since: None,
            evidence: vec![Evidence {
                what: What::Gas,
                readings: 5,
                against: "rival".into(),
                gain,
            }],
            changed: Vec::new(),
            week: Vec::new(),
            failed: None,
        }
    }

    #[test]
    fn a_day_is_worded_as_surely_as_it_is_known() {
        let mut own = ranked("own", 0.2, 0.4, -7.0, 0.2);
        assert_eq!(began(&own, None), None);
        let mut told = |chance: f64, span: [f64; 3]| {
            let [from_day, day, to_day] = span;
            own.since = Some(Since {
                chance,
                from_day,
                day,
                to_day,
            });
            began(&own, None).unwrap()
        };
        assert_eq!(
            told(0.99, [30.0, 31.0, 33.0]),
            "it began on the way, about day 31, between day 30 and day 33"
        );
        assert_eq!(told(0.99, [31.0; 3]), "it began on the way, on day 31");
        assert!(told(0.7, [30.0, 31.0, 33.0]).contains("rather began on the way (70 %)"));
        assert!(told(0.3, [30.0, 31.0, 33.0]).contains("from the first day on (70 %)"));
        assert_eq!(
            told(0.01, [30.0, 31.0, 33.0]),
            "it was so from the first day on"
        );
    }

    #[test]
    fn a_chance_is_worded_by_what_moved_it() {
        let rival = ranked("rival", 0.2, 0.3, -10.0, 0.0);
        let told = |before: f64, chance: f64, log: f64| {
            let own = ranked("own", before, chance, log, 0.2);
            speaks(&own, &[own.clone(), rival.clone()])
        };
        assert!(told(0.2, 0.21, -10.0).contains("rests on what was thought before"));
        for (before, chance, log, because) in [
            (
                0.2,
                0.4,
                -7.0,
                "rose because it needs less unusual or less exact values",
            ),
            (
                0.2,
                0.4,
                -10.0,
                "rose because the record speaks against other stories",
            ),
            (
                0.2,
                0.05,
                -14.0,
                "fell because it needs more unusual or more exact values",
            ),
            (
                0.2,
                0.1,
                -10.0,
                "fell because the record speaks more for other stories",
            ),
        ] {
            let words = told(before, chance, log);
            assert!(words.contains(because), "{words}");
            assert!(!words.contains("rests on"), "{words}");
        }
        // The readings point against it, and still it gained.
        let own = ranked("own", 0.2, 0.4, -7.0, -1.5);
        let words = speaks(&own, &[own.clone(), rival]);
        assert!(
            words.contains("speak against it") && words.contains("; yet its chance rose because"),
            "{words}"
        );
    }
}
