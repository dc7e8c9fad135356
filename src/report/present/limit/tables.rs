//! Confirmation, rescues, signs and the loadings of practice as tables.

use super::super::words::acid_ratio;
use super::story::measure_words;
use super::{unit, with_unit};
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, significant};
use crate::study::limit::{LimitOutcome, Measure, Over};

/// What stands where there is nothing.
const NONE: &str = "\u{2013}";

/// All tables.
pub(super) fn tables(o: &LimitOutcome) -> Vec<Table> {
    [rescues(o), signs(o), practice(o), sides(o), branch(o)]
        .into_iter()
        .flatten()
        .collect()
}

fn rescues(o: &LimitOutcome) -> Option<Table> {
    let f = &o.shocks.as_ref()?.overfeed;
    let kg = f.beyond_kg?;
    let days = |d: Option<u32>| d.map_or_else(|| "no".to_owned(), |d| format!("{d} d"));
    let limed = f
        .rescues
        .iter()
        .any(|r| matches!(r.measure, Measure::Lime { .. }));
    Some(Table {
        id: "rescues".into(),
        title: format!(
            "After {} kg too much{}: what brings it back, and how fast",
            significant(kg, 2),
            if f.beyond_days > 1 {
                format!(" over {} days", f.beyond_days)
            } else {
                String::new()
            }
        ),
        columns: vec![
            Column::words("Done after the overfeed"),
            Column::words("Feeding on"),
            Column::words("With a pause"),
        ],
        rows: f
            .rescues
            .iter()
            .map(|r| vec![measure_words(r.measure), days(r.fed_on_d), days(r.paused_d)])
            .collect(),
        note: format!(
            "Begun {} days after the last day of the overfeed; the pause lasts {} days. Days until pH, acid ratio and methane are back for good; \
             \"no\" means not within the trial. Salts are dosed to pH 6.8 with all carbonate kept in, but no more than 10 g/L: much sodium inhibits by itself, which \
             the model does not know.{}",
            f.rescue_after_d,
            f.rescue_pause_d,
            if limed {
                " Slaked lime burns eyes and skin: wear goggles and gloves, stir it into water first, dose in parts."
            } else {
                ""
            }
        ),
        weight: Weight::Story,
    })
}

fn signs(o: &LimitOutcome) -> Option<Table> {
    let w = o.warning.as_ref()?;
    let rows = w.signs.iter().map(|s| {
        let value = |v: f64| {
            format!("{} {}", significant(v, 2), s.sign.unit)
                .trim()
                .to_owned()
        };
        let side = if s.sign.above { "above" } else { "below" };
        vec![
            s.sign.name.clone(),
            format!("{side} {}", value(s.sign.edge)),
            value(s.at_start),
            match (s.ahead_d, s.from_the_start) {
                (Some(days), _) => format!("{days} d ahead"),
                (None, true) => "beyond it in health".into(),
                (None, false) => "not before the failure".into(),
            },
        ]
    });
    Some(Table {
        id: "signs".into(),
        title: format!(
            "Signs before the methane fails, at {}",
            with_unit(Over::Feed, w.kg_per_day)
        ),
        columns: vec![
            Column::words("Sign"),
            Column::words("Warns"),
            Column::words("In health"),
            Column::words("First for good"),
        ],
        rows: rows.collect(),
        note: format!(
            "A sign warns where it is beyond its band and worse than in a healthy tank on the same feed. The feed rises by {} % each week from today's; methane falls below half of its mean on day {}, at {} times today's \
             feed. Sources: {}.",
            fixed(100.0 * (w.raised_per_week - 1.0), 0),
            w.fails_day,
            significant(w.factor, 2),
            w.signs
                .iter()
                .map(|s| format!("{}: {}", s.sign.name, s.sign.source))
                .collect::<Vec<_>>()
                .join("; ")
        ),
        weight: Weight::Story,
    })
}

fn practice(o: &LimitOutcome) -> Option<Table> {
    if o.feed.is_stream || o.practice.is_empty() {
        return None;
    }
    let kg = |loading: f64| loading / o.feed.loading_kg_vs_m3_d * o.feed.kg_per_day;
    let mut rows = vec![vec![
        "today".to_owned(),
        significant(o.feed.loading_kg_vs_m3_d, 2),
        significant(o.feed.kg_per_day, 2),
        String::new(),
    ]];
    rows.extend(o.practice.iter().map(|p| {
        vec![
            p.name.clone(),
            significant(p.loading[0], 2),
            significant(kg(p.loading[0]), 2),
            p.source.clone(),
        ]
    }));
    if let Some(l) = &o.limit {
        rows.push(vec![
            "this model".to_owned(),
            significant(l.loading_kg_vs_m3_d, 2),
            significant(kg(l.loading_kg_vs_m3_d), 2),
            "does not know trace elements".to_owned(),
        ]);
    }
    Some(Table {
        id: "practice".into(),
        title: "The limit of practice beside the model's".into(),
        columns: vec![
            Column::words("What"),
            Column::number("Loading", "kg VS/m\u{b3}/d"),
            Column::number("This mixture", "kg/d"),
            Column::words("Source"),
        ],
        rows,
        note: String::new(),
        weight: Weight::Folded,
    })
}

fn sides(o: &LimitOutcome) -> Option<Table> {
    let c = o.confirmation.as_ref()?;
    Some(Table {
        id: "sides".into(),
        title: "Runs with real doses on both sides of the limit".into(),
        columns: vec![
            Column::number("Value", unit(o.over)),
            Column::words("After the run"),
        ],
        rows: c
            .sides
            .iter()
            .map(|(p, ok)| {
                vec![
                    significant(*p, 3),
                    if *ok { "healthy" } else { "turned" }.to_owned(),
                ]
            })
            .collect(),
        note: format!(
            "{} days each. Highest that stays healthy {}, first that turns {}.",
            c.days,
            c.stays.map_or(NONE.into(), |p| with_unit(o.over, p)),
            c.turns.map_or(NONE.into(), |p| with_unit(o.over, p))
        ),
        weight: Weight::Folded,
    })
}

/// Points of the branch shown at most.
const SHOWN: usize = 60;

fn branch(o: &LimitOutcome) -> Option<Table> {
    let all: Vec<_> = o
        .pieces
        .iter()
        .flat_map(|piece| piece.points.iter().map(move |p| (piece.kind, p)))
        .collect();
    let step = all.len().div_ceil(SHOWN).max(1);
    let rows = all.iter().step_by(step).map(|(kind, p)| {
        vec![
            format!("{kind:?}").to_lowercase(),
            significant(p.p, 3),
            fixed(p.ph, 2),
            fixed(p.acids_mg_l, 0),
            acid_ratio(p.acid_ratio),
            significant(p.ch4_nl_d, 3),
            significant(p.leading_per_d, 2),
        ]
    });
    Some(Table {
        id: "branch".into(),
        title: "Steady states along the branch".into(),
        columns: vec![
            Column::words("Kind"),
            Column::number("Value", unit(o.over)),
            Column::number("pH", ""),
            Column::number("Acids", "mg/L"),
            Column::number("Acid ratio", ""),
            Column::number("Methane", "norm L/d"),
            Column::number("Slowest eigenvalue", "1/d"),
        ],
        rows: rows.collect(),
        note: "Above zero the largest eigenvalue tells how fast the tank leaves the state, below how slowly it returns.".into(),
        weight: Weight::Record,
    })
}
