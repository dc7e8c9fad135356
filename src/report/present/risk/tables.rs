//! Levels of feeding, correlations, the unknowns with their sources, the record.

use super::super::words::{given, rough};
use super::story::days;
use super::{BY, View, target_words};
use crate::report::document::{Column, Facts, Table, Weight};
use crate::report::numbers::{fixed, percent};
use crate::study::distribution::Distribution;
use crate::study::risk::{Level, Target};
use crate::study::statistics::Chance;

/// All tables in reading order.
pub(super) fn tables(view: &View<'_>) -> Vec<Table> {
    let mut tables = vec![
        strongest(view),
        levels_in_words(view),
        levels(view),
        matters(view),
        unknowns(view),
    ];
    if !view.risk.failures.is_empty() {
        tables.push(failures(view));
    }
    tables
}

/// So many unknowns are named for each result.
const NAMED: usize = 3;

fn strongest(view: &View<'_>) -> Table {
    let named = |target: Target| {
        let all = view.risk.matters.iter();
        let sure: Vec<String> = all
            .filter(|m| m.target == target && m.sure)
            .take(NAMED)
            .map(|m| format!("{} ({})", view.words_of(m), fixed(m.correlation.abs(), 2)))
            .collect();
        if sure.is_empty() {
            "nothing stands out from chance".to_owned()
        } else {
            sure.join("; ")
        }
    };
    Table {
        id: "strongest".into(),
        title: "What matters most".into(),
        columns: vec![
            Column::words("For"),
            Column::words("Strongest unknowns first"),
        ],
        rows: Target::ALL
            .iter()
            .map(|&t| vec![target_words(t).to_owned(), named(t)])
            .collect(),
        note: "In brackets the size of the rank correlation, 0 none to 1 perfect.".into(),
        weight: Weight::Story,
    }
}

/// Each level as a line that needs no head above it.
fn levels_in_words(view: &View<'_>) -> Table {
    let row = |l: &Level| {
        let sour = l.sour.map_or_else(String::new, |c| {
            format!(
                "{} % turn sour ({} to {})",
                percent(c.share, 0),
                percent(c.low, 0),
                percent(c.high, 0)
            )
        });
        let methane = l
            .methane_nl
            .p50
            .map_or_else(String::new, |v| format!(", {} norm L methane", rough(v)));
        vec![
            format!("{} times", given(l.feed_times)),
            format!(
                "{sour}, steady flame {}{methane}",
                match l.steady_flame.days.p50 {
                    Some(day) => format!("from day {}", fixed(day, 0)),
                    None => "never".into(),
                }
            ),
        ]
    };
    Table {
        id: "levels".into(),
        title: "At multiples of the planned feed".into(),
        columns: vec![Column::words("Feed"), Column::words("What happens")],
        rows: view.risk.levels.iter().map(row).collect(),
        note:
            "In brackets the sampling error (95 %); flame and methane are those of the middle run."
                .into(),
        weight: Weight::Story,
    }
}

fn levels(view: &View<'_>) -> Table {
    let share = |c: Option<Chance>| {
        c.map_or_else(
            || "-".to_owned(),
            |c| {
                format!(
                    "{} ({} to {})",
                    percent(c.share, 0),
                    percent(c.low, 0),
                    percent(c.high, 0)
                )
            },
        )
    };
    let number = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), rough);
    let row = |l: &Level| {
        vec![
            given(l.feed_times),
            rough(l.feed_times * view.risk.planned_feed_kg_d),
            share(l.sour),
            share(l.first_flame.never),
            days(l.first_flame.days.p50),
            days(l.steady_flame.days.p50),
            number(l.methane_nl.p50),
            l.failed.to_string(),
        ]
    };
    Table {
        id: "level-numbers".into(),
        title: "Levels of feeding in numbers".into(),
        columns: vec![
            Column::number("Feed", "times the plan"),
            Column::number("Feed", "kg/d"),
            Column::number("A sour day", "%"),
            Column::number("No flame", "%"),
            Column::number("First flame, middle", "day"),
            Column::number("Steady flame, middle", "day"),
            Column::number("Methane, middle", "norm L"),
            Column::number("Failed", "runs"),
        ],
        rows: view.risk.levels.iter().map(row).collect(),
        note: "Brackets: sampling error (95 %). Middle: half of the runs lie below; never counts as longest.".into(),
        weight: Weight::Folded,
    }
}

fn matters(view: &View<'_>) -> Table {
    let mut columns = vec![Column::words("Unknown")];
    columns.extend(Target::ALL.map(|t| Column::number(target_words(t), "")));
    let of = |name: &str, target: Target| {
        let found = view
            .risk
            .matters
            .iter()
            .find(|m| m.factor == name && m.target == target);
        found.map_or_else(
            || "-".to_owned(),
            |m| {
                format!(
                    "{}{}",
                    fixed(m.correlation, 2),
                    if m.sure { "" } else { " ?" }
                )
            },
        )
    };
    let on = view.risk.factors.iter();
    Table {
        id: "matters".into(),
        title: "Rank correlation of results with unknowns".into(),
        columns,
        rows: on
            .filter(|f| f.is_on())
            .map(|f| {
                let mut row = vec![f.words.clone()];
                row.extend(Target::ALL.map(|t| of(&f.name, t)));
                row
            })
            .collect(),
        note: format!(
            "Above 0 the result grows with the unknown. A question mark: no larger than chance explains. {BY}"
        ),
        weight: Weight::Folded,
    }
}

fn unknowns(view: &View<'_>) -> Table {
    Table {
        id: "unknowns".into(),
        title: "What was not known, and how widely it was spread".into(),
        columns: vec![
            Column::words("Name"),
            Column::words("Unknown"),
            Column::words("Spread"),
            Column::words("Drawn"),
            Column::words("Why"),
            Column::words("Source"),
        ],
        rows: view
            .risk
            .factors
            .iter()
            .map(|f| {
                vec![
                    f.name.clone(),
                    f.words.clone(),
                    format!("{} ({})", spread(&f.distribution), f.unit),
                    match f.every_days {
                        None => "once a run".into(),
                        Some(1) => "each day".into(),
                        Some(n) => format!("every {n} days"),
                    },
                    f.why.clone(),
                    f.source.clone(),
                ]
            })
            .collect(),
        note: "All spreads are assumptions of this project, argued from the sources.".into(),
        weight: Weight::Record,
    }
}

/// A distribution in words.
fn spread(distribution: &Distribution) -> String {
    let n = given;
    match *distribution {
        Distribution::Fixed { value } => format!("held at {}", n(value)),
        Distribution::Uniform { low, high } => format!("evenly {} to {}", n(low), n(high)),
        Distribution::Triangular { low, mode, high } => {
            format!("{} to {}, likeliest {}", n(low), n(high), n(mode))
        }
        Distribution::Normal {
            mean,
            sd,
            low,
            high,
        } => format!(
            "bell around {}, standard deviation {}, cut at {} and {}",
            n(mean),
            n(sd),
            n(low),
            n(high)
        ),
        Distribution::LogNormal {
            median,
            factor,
            low,
            high,
        } => {
            let cut = match (low, high) {
                (Some(low), Some(high)) => format!(", cut at {} and {}", n(low), n(high)),
                _ => String::new(),
            };
            format!(
                "around {}, nine of ten within a factor {} either way{cut}",
                n(median),
                n(factor)
            )
        }
    }
}

fn failures(view: &View<'_>) -> Table {
    Table {
        id: "failures".into(),
        title: "Failed runs".into(),
        columns: vec![
            Column::number("Draw", ""),
            Column::number("Feed", "times the plan"),
            Column::words("Why"),
        ],
        rows: view
            .risk
            .failures
            .iter()
            .map(|f| {
                let level = view.risk.levels.get(f.level);
                vec![
                    f.draw.to_string(),
                    level.map_or_else(String::new, |l| given(l.feed_times)),
                    f.why.clone(),
                ]
            })
            .collect(),
        note: "The first ones; all are counted.".into(),
        weight: Weight::Record,
    }
}

/// The record.
pub(super) fn facts(view: &View<'_>) -> Vec<Facts> {
    let risk = view.risk;
    let row = |name: &str, value: String| (name.to_owned(), value);
    vec![Facts {
        title: "How it was drawn".into(),
        rows: vec![
            row("Draws", risk.draws.to_string()),
            row("Method", risk.method.into()),
            row("Random generator", risk.generator.into()),
            row("Seed", risk.seed.to_string()),
            row(
                "Confidence of the intervals",
                format!("{} %", percent(risk.confidence, 0)),
            ),
            row("marshgas", risk.version.into()),
            row("Scenario file", risk.file.clone()),
            row("SHA-256 of the scenario", risk.sha256.clone()),
        ],
    }]
}
