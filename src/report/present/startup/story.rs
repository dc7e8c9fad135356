//! The story of a start, what to do next, and the numbers to take home.

use super::{AIM, Reading, day, fails, kept, range, rule_name, shortener_name};
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{count, list, rough};
use crate::study::startup::{Begin, Feeding, MilestoneKind, Rule, RuleKind, Tally};

/// A first flame before this day is earlier than practice knows well \[d\].
const EARLY_D: f64 = 3.0;
/// What to think of it. The span of practice is from memory, no source.
const BURNS_EARLY: &str =
    "the model lets slurry burn too early: in practice 1 to 42 days, from memory";
/// A share of draws that is worth a word.
const WORTH_A_WORD: f64 = 0.005;

pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let mut story = vec![filling(reading)];
    story.extend(flame(reading));
    story.extend(safe_feed(reading));
    story.extend(plan(reading));
    story.extend(loading(reading));
    story.extend(rules(reading));
    story.extend(shorter(reading));
    story
}

fn amounts(materials: &[(String, f64)], water_kg: f64) -> String {
    let mut parts: Vec<String> = materials
        .iter()
        .map(|(name, kg)| format!("{} kg of {}", significant(*kg, 3), name.to_lowercase()))
        .collect();
    if water_kg > 0.0 {
        parts.push(format!("{} kg of water", significant(water_kg, 3)));
    }
    list(&parts)
}

fn filling(reading: &Reading<'_>) -> String {
    let found = reading.found;
    let wanted = &found.wanted;
    let every = if wanted.every_days > 1.05 {
        format!("every {} days", rough(wanted.every_days))
    } else {
        "a day".into()
    };
    format!(
        "The digester is filled with {} and stands at {} \u{b0}C over the first four weeks. It is to be worked up to {} \
         {every}. What nobody knows, above all how much lives in the starter, was drawn {} times.",
        amounts(&found.filling.materials, found.filling.water_kg),
        fixed(found.filling.temperature_c, 0),
        amounts(&wanted.materials, wanted.water_kg),
        found.draws
    )
}

fn never(share: f64, days: u32) -> String {
    if share < WORTH_A_WORD {
        String::new()
    } else {
        format!(
            " In {} % of the draws it does not within {days} days.",
            percent(share, 0)
        )
    }
}

fn flame(reading: &Reading<'_>) -> Option<String> {
    let steady = &reading.milestone(MilestoneKind::SteadyFlame)?.days;
    let first = &reading.milestone(MilestoneKind::FirstFlame)?.days;
    let days = reading.found.days;
    Some(match (first.p50, steady.p50) {
        (Some(first), Some(steady_day)) => format!(
            "Left alone, the gas burns for the first time on day {}{} in the middle draw and steadily from day {} on: {}.{}",
            fixed(first.floor(), 0),
            if first < EARLY_D {
                format!(" ({BURNS_EARLY})")
            } else {
                String::new()
            },
            fixed(steady_day.floor(), 0),
            range(steady),
            never(steady.never.share, days)
        ),
        _ => format!(
            "Left alone, the gas burns steadily in {} % of the draws only; in the others it does not within {days} days.",
            percent(1.0 - steady.never.share, 0)
        ),
    })
}

fn safe_feed(reading: &Reading<'_>) -> Option<String> {
    let safe = &reading.milestone(MilestoneKind::SafeFeed)?.days;
    let limits = &reading.found.limits;
    let what = format!(
        "the unfed liquor stays below an acid-to-alkalinity ratio of {} and above pH {}",
        limits.acid_ratio_below, limits.ph_above
    );
    Some(match safe.p50 {
        Some(middle) => format!(
            "Feeding can begin once {what}: from day {} on in the middle draw, {}.{}",
            fixed(middle.floor(), 0),
            range(safe),
            never(safe.never.share, reading.found.days)
        ),
        None => format!(
            "In {} % of the draws there is no safe first feed within {} days: {what} in the others only. This starter is \
             too weak or too acid; see below what would help.",
            percent(safe.never.share, 0),
            reading.found.days
        ),
    })
}

fn holds(tally: &Tally) -> String {
    let limits = format!(
        "{} % (95 % interval {} to {} %)",
        kept(tally.holds.share, 1),
        kept(tally.holds.low, 1),
        percent(tally.holds.high, 1)
    );
    format!("{limits} of {} fresh draws", tally.fed)
}

fn plan(reading: &Reading<'_>) -> Option<String> {
    let found = reading.found;
    let Some(feeding) = &found.feeding else {
        return found.searched.then(|| {
            "No plan was found that keeps its limits in 95 % of the draws, not even for a twentieth of the wanted feed. \
             No feed is safe with this start; change the start first."
                .into()
        });
    };
    let mut text = String::new();
    if feeding.size < 1.0 {
        text.push_str(&format!(
            "No plan reaches the wanted feed within {} days and keeps its limits in 95 % of the draws. The largest feed \
             that some plan bears is {} % of it. ",
            found.days,
            percent(feeding.size, 0)
        ));
    }
    if matches!(feeding.begin, Begin::WhenChecksPass { .. }) {
        text.push_str(
            "No fixed first day is safe, since in too many draws the starter itself does not come right in time. The plan \
             therefore begins when the gas has burnt and the pH has been healthy on three mornings running, and its days \
             count from there. ",
        );
    }
    text.push_str(&steps(reading, feeding));
    if let Some(tally) = &feeding.checked {
        text.push_str(&format!(
            " It keeps both limits from the first feed to the end in {}, none of which had a say in its choice.{}",
            holds(tally),
            super::apart(tally)
        ));
        if tally.holds.share < AIM {
            text.push_str(" That is less than the 95 % asked for: take it as the best plan found, and go slower.");
        }
    } else {
        text.push_str(
            " The study was stopped before this plan was checked on draws that had no say in its choice, and maybe before it \
             was the soonest: there is no sheet for the wall.",
        );
    }
    if feeding.attempts > 1 {
        text.push_str(&format!(
            " It took {} searches, each stricter than the last, until fresh draws confirmed a plan or none was left.",
            feeding.attempts
        ));
    }
    Some(text)
}

fn loading(reading: &Reading<'_>) -> Option<String> {
    let feeding = reading.found.feeding.as_ref()?;
    Some(super::against_practice(reading.found, feeding))
}

fn steps(reading: &Reading<'_>, feeding: &Feeding) -> String {
    let (Some(first), Some(last)) = (feeding.plan.steps.first(), feeding.plan.steps.last()) else {
        return String::new();
    };
    let goal = if feeding.size < 1.0 {
        "this feed"
    } else {
        "the full feed"
    };
    let end = reading.plan_day(feeding, last.from_day);
    let second = feeding
        .plan
        .steps
        .get(1)
        .map_or(1.0, |step| step.share / first.share);
    format!(
        "The soonest plan begins on {} with {} % of it, gives about {} times as much every week, and reaches {goal} on \
         {end}.",
        reading.plan_day(feeding, first.from_day),
        percent(first.share, 0),
        rough(second)
    )
}

fn rules(reading: &Reading<'_>) -> Option<String> {
    let told = |rule: &Rule| {
        format!(
            "{} leaves the limits in {} % of the draws and sours in {} %",
            match rule.kind {
                RuleKind::AtOnce => "the full feed from day 0",
                RuleKind::TenthAWeek => "a tenth more every week from day 0",
                RuleKind::FourWeeks => "four weeks of waiting and then the full feed",
            },
            fails(1.0 - rule.tally.holds.share, 0),
            fails(rule.tally.sours.share, 0)
        )
    };
    let parts: Vec<String> = reading.found.rules.iter().map(told).collect();
    let draws = reading.found.rules.first()?.tally.fed;
    Some(format!(
        "By rule of thumb, on the same {draws} draws: {}.",
        list(&parts)
    ))
}

fn shorter(reading: &Reading<'_>) -> Option<String> {
    let best = reading.found.shorteners.first()?;
    let won = best.feed.p50.unwrap_or(0.0);
    let name = shortener_name(best.kind);
    Some(if won >= 0.5 {
        format!(
            "What shortens the wait for the first safe feed most: {}. It wins {} in the middle draw.",
            lowered(&name),
            count(won.round() as usize, "day", "days")
        )
    } else {
        "Of the changes tried, none brings the first safe feed nearer in the middle draw.".into()
    })
}

fn lowered(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .map(char::to_lowercase)
        .into_iter()
        .flatten()
        .collect();
    first + chars.as_str()
}

pub(super) fn advice(reading: &Reading<'_>) -> Vec<String> {
    let found = reading.found;
    let mut advice: Vec<String> = plan(reading).into_iter().collect();
    advice.extend(loading(reading).filter(|_| {
        found
            .feeding
            .as_ref()
            .is_some_and(|f| super::loading(found, f) > super::SIMPLE_PLANT_LOADING)
    }));
    if found.feeding.as_ref().is_some_and(|f| f.checked.is_some()) {
        advice.push(
            "Print plan.html (or plan.txt), hang it beside the digester, and tick off the checks before every step."
                .into(),
        );
        advice.push(
            "Where a check fails, do what the sheet says and move all later steps by the days lost. Never catch up."
                .into(),
        );
    }
    if let Some(best) = found
        .shorteners
        .first()
        .filter(|s| s.feed.p50.unwrap_or(0.0) >= 0.5)
    {
        advice.push(format!(
            "Before filling, think about the cheapest way to be sooner: {}.",
            lowered(&shortener_name(best.kind))
        ));
    }
    if found.feeding.is_none() && found.searched {
        advice.push(
            "Do not feed this start. Change the filling (more living starter, digestate, warmth) and compute again.".into(),
        );
    }
    advice
}

fn number(label: &str, value: String, unit: &str, note: String) -> KeyNumber {
    KeyNumber {
        label: label.into(),
        value,
        unit: unit.into(),
        note,
    }
}

pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let found = reading.found;
    let mut numbers = Vec::new();
    for (kind, label) in [
        (MilestoneKind::FirstFlame, "First flame"),
        (MilestoneKind::SteadyFlame, "Steady flame"),
        (MilestoneKind::SafeFeed, "First safe feed"),
    ] {
        if let Some(milestone) = reading.milestone(kind) {
            let spread = &milestone.days;
            let mut note = range(spread);
            if spread.never.share >= WORTH_A_WORD {
                note.push_str(&format!("; never: {} %", percent(spread.never.share, 0)));
            }
            if kind == MilestoneKind::FirstFlame && spread.p50.is_some_and(|d| d < EARLY_D) {
                note.push_str(&format!("; {BURNS_EARLY}"));
            }
            numbers.push(number(
                label,
                day(spread.p50),
                if spread.p50.is_some() { "d" } else { "" },
                note.trim_start_matches("; ").to_owned(),
            ));
        }
    }
    if let Some(feeding) = &found.feeding {
        let full = feeding.plan.full_day().map_or(f64::NAN, f64::from);
        let (value, counted) = match feeding.begin {
            Begin::Fixed => (
                day(Some(full)),
                "from the filling, with the plan".to_owned(),
            ),
            Begin::WhenChecksPass { start } => (
                day(start.p50.map(|d| d + full)),
                format!(
                    "middle draw; {} d after the checks pass; never: {} %",
                    fixed(full, 0),
                    percent(start.never.share, 0)
                ),
            ),
        };
        numbers.push(number(
            if feeding.size < 1.0 {
                "Largest safe feed"
            } else {
                "Full feed"
            },
            value,
            "d",
            if feeding.size < 1.0 {
                format!(
                    "{} % of the wanted feed; {counted}",
                    percent(feeding.size, 0)
                )
            } else {
                counted
            },
        ));
        numbers.push(number(
            "Loading at its end",
            rough(super::loading(found, feeding)),
            "kg VS/m\u{b3}/d",
            format!(
                "first vessel; simple plants bear at most {} (GTZ 1989)",
                super::SIMPLE_PLANT_LOADING
            ),
        ));
        if let Some(tally) = &feeding.checked {
            numbers.push(number(
                "Plan keeps its limits",
                kept(tally.holds.share, 1),
                "%",
                format!("of {} fresh draws", tally.fed),
            ));
        }
    } else if found.searched {
        numbers.push(number(
            "Full feed",
            "never".into(),
            "",
            "no feed is safe with this start".into(),
        ));
    }
    let worst = found
        .rules
        .iter()
        .max_by(|a, b| b.tally.holds.share.total_cmp(&a.tally.holds.share));
    if let Some(rule) = worst {
        numbers.push(number(
            "Riskiest rule of thumb",
            fails(1.0 - rule.tally.holds.share, 0),
            "%",
            format!("{}: chance of leaving the limits", rule_name(rule.kind)),
        ));
    }
    numbers
}
