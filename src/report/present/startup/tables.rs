//! Milestones, plan, rules of thumb and changes as tables.

use super::{Reading, day, fails, milestone_name, rule_name, short, shortener_name};
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, percent};
use crate::report::present::words::{date_of, long_date, rough};
use crate::study::startup::{Begin, Feeding, Rule, Shortener, Spread};

pub(super) fn tables(reading: &Reading<'_>) -> Vec<Table> {
    let mut tables = vec![milestones(reading)];
    if let Some(feeding) = &reading.found.feeding {
        tables.push(plan(reading, feeding));
    }
    tables.push(rules(reading));
    tables.extend(shorteners(reading));
    tables.retain(|t| !t.rows.is_empty());
    tables
}

fn table(id: &str, title: &str, columns: Vec<Column>, rows: Vec<Vec<String>>, note: &str) -> Table {
    Table {
        id: id.into(),
        title: title.into(),
        columns,
        rows,
        note: note.into(),
        weight: Weight::Story,
    }
}

fn milestones(reading: &Reading<'_>) -> Table {
    let columns = vec![
        Column::words("Days from the filling"),
        Column::number("5 %", "d"),
        Column::number("25 %", "d"),
        Column::number("half", "d"),
        Column::number("75 %", "d"),
        Column::number("95 %", "d"),
        Column::number("never, %", ""),
    ];
    let rows = reading.found.milestones.iter().map(|m| {
        let s = &m.days;
        let mut row = vec![milestone_name(m.kind).to_owned()];
        row.extend([s.p05, s.p25, s.p50, s.p75, s.p95].map(day));
        row.push(percent(s.never.share, 0));
        row
    });
    let note = format!(
        "By this day so many of the draws are there; never: not within {} days. First safe feed: from then on the \
         unfed liquor keeps its limits. Full feed, own pace: each draw fed as fast as it bears, known in advance; no plan \
         can promise that.",
        reading.found.days
    );
    table(
        "milestones",
        "From the filling to a flame",
        columns,
        rows.collect(),
        &note,
    )
}

fn plan(reading: &Reading<'_>, feeding: &Feeding) -> Table {
    let wanted = &reading.found.wanted;
    let dated = reading.start.filter(|_| feeding.begin == Begin::Fixed);
    let mut columns = vec![Column::number("From day", "d")];
    if dated.is_some() {
        columns.push(Column::words("Date"));
    }
    for (name, _) in &wanted.materials {
        columns.push(Column::number(&short(name), "kg"));
    }
    columns.push(Column::number("Water", "kg"));
    columns.push(Column::number("share, %", ""));
    let rows = feeding.plan.steps.iter().map(|step| {
        let share = step.share * feeding.size;
        let mut row = vec![step.from_day.to_string()];
        if dated.is_some() {
            let date = date_of(f64::from(step.from_day), dated);
            row.push(date.map(long_date).unwrap_or_default());
        }
        row.extend(wanted.materials.iter().map(|(_, kg)| fixed(kg * share, 2)));
        row.push(fixed(wanted.water_kg * share, 2));
        row.push(percent(share, 0));
        row
    });
    let note = match feeding.begin {
        Begin::Fixed => {
            "Days count from the filling; nothing is fed before the first. No step gives more than twice what the week before had: see what it does first."
        }
        Begin::WhenChecksPass { .. } => {
            "Days count from the morning on which the checks have passed three times running; nothing is fed before. No step gives more than twice what the week before had: see what it does first."
        }
    };
    table(
        "plan",
        "The feeding plan, each feeding",
        columns,
        rows.collect(),
        note,
    )
}

fn rules(reading: &Reading<'_>) -> Table {
    let columns = vec![
        Column::words("Rule"),
        Column::number("full feed, d from filling", ""),
        Column::number("never fed, %", ""),
        Column::number("leaves, %", ""),
        Column::number("sours, %", ""),
        Column::number("methane lost, norm m\u{b3}", ""),
    ];
    let found = reading.found;
    let checked = found.feeding.as_ref().and_then(|f| f.checked);
    let fresh = found.rules.first().map_or(0, |r| r.tally.fed);
    let mut rows = Vec::new();
    if let Some((feeding, tally)) = found.feeding.as_ref().and_then(|f| Some((f, f.checked?))) {
        let own = f64::from(feeding.plan.full_day().unwrap_or(0));
        let full = match feeding.begin {
            Begin::Fixed => day(Some(own)),
            Begin::WhenChecksPass { start } => day(start.p50.map(|d| d + own)),
        };
        let name = if feeding.size < 1.0 {
            format!("The plan, {} % of the feed", percent(feeding.size, 0))
        } else {
            "The plan".into()
        };
        rows.push(vec![
            name,
            full,
            fails(tally.unfed() as f64 / tally.draws as f64, 0),
            fails(1.0 - tally.holds.share, 0),
            fails(tally.sours.share, 0),
            "0".into(),
        ]);
    }
    rows.extend(found.rules.iter().map(rule_row));
    let note = format!(
        "Full feed: its day from the filling{}. Never fed: of all {} fresh draws, those whose checks never passed; a \
         rule of thumb would feed them all the same. Leaves: chance of leaving the limits after the first feed. Leaves, \
         sours and methane lost are told over the same {} draws, those by which the plan is judged. A rule whose full feed comes less than 28 days before the end is left out. Methane lost: against the plan, over all {} days, draw by draw: the \
         middle, and between which two values nine draws in ten lie. A rule that begins before the plan can give more gas \
         where it goes well.",
        match found.feeding.as_ref().map(|f| f.begin) {
            Some(Begin::WhenChecksPass { .. }) => ", of the plan in the middle draw",
            _ => "",
        },
        checked.map_or(fresh, |t| t.draws),
        fresh,
        found.days
    );
    table(
        "rules",
        "The plan beside rules of thumb",
        columns,
        rows,
        &note,
    )
}

fn rule_row(rule: &Rule) -> Vec<String> {
    // A dash, since a line must not end in nothing.
    let lost = rule.methane_lost_nl.as_ref().map_or_else(
        || "\u{2013}".into(),
        |s| {
            let cubic = |v: Option<f64>| v.map_or_else(String::new, |v| rough(v / 1000.0));
            format!("{} ({} to {})", cubic(s.p50), cubic(s.p05), cubic(s.p95))
        },
    );
    vec![
        rule_name(rule.kind).to_owned(),
        rule.plan
            .full_day()
            .map_or_else(String::new, |d| d.to_string()),
        fails(rule.tally.unfed() as f64 / rule.tally.draws as f64, 0),
        fails(1.0 - rule.tally.holds.share, 0),
        fails(rule.tally.sours.share, 0),
        lost,
    ]
}

/// Changes, those that win days and those that win none apart.
fn shorteners(reading: &Reading<'_>) -> [Table; 2] {
    let columns = || {
        vec![
            Column::words("Change"),
            Column::number("safe feed, d", ""),
            Column::number("flame, d", ""),
            Column::number("never safe, %", ""),
        ]
    };
    let won = |s: &Spread| {
        let whole = |v: Option<f64>| v.map_or_else(String::new, |v| fixed(v, 0));
        format!("{} ({} to {})", whole(s.p50), whole(s.p05), whole(s.p95))
    };
    let row = |s: &Shortener| {
        vec![
            shortener_name(s.kind),
            won(&s.feed),
            won(&s.flame),
            format!(
                "{} and {}",
                percent(s.never_safe.0, 0),
                percent(s.never_safe.1, 0)
            ),
        ]
    };
    let (sooner, other): (Vec<_>, Vec<_>) = reading.found.shorteners.iter().partition(|s| {
        let middle = |s: &Spread| s.p50.unwrap_or(0.0);
        middle(&s.feed) >= 0.5 || (middle(&s.feed) > -0.5 && middle(&s.flame) >= 0.5)
    });
    let note = "Days won until the first safe feed and until the steady flame, on the same draws: the middle, and between \
                which two values nine draws in ten lie; below zero it comes later. A draw that never gets there counts as \
                the last day, so that days won there are at least these. Never safe: without the change, and with it.";
    let all = |list: Vec<&Shortener>| list.into_iter().map(row).collect();
    [
        table(
            "sooner",
            "What would make it sooner",
            columns(),
            all(sooner),
            note,
        ),
        table(
            "not-sooner",
            "Tried, and no sooner in the middle draw",
            columns(),
            all(other),
            note,
        ),
    ]
}
