//! The story of a start, what to do next, and the numbers to take home.

use super::{AIM, FOR_THE_STUCK, Reading, day, fails, kept, range, rule_name, shortener_name};
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{count, day_name, list, rough};
use crate::study::startup::{
    Begin, Feeding, MilestoneKind, Rule, RuleKind, Shortener, Spread, Tally,
};

/// A first flame before this day is earlier than practice knows well \[d\].
const EARLY_D: f64 = 3.0;
/// What to think of it. The span of practice is from memory, no source.
const BURNS_EARLY: &str =
    "the model lets slurry and dung burn too early: in practice 1 to 42 days, from memory";
/// A share of draws that is worth a word.
const WORTH_A_WORD: f64 = 0.005;

pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let mut story = vec![filling(reading)];
    story.extend(flame(reading));
    story.extend(safe_feed(reading));
    story.extend(stuck(reading));
    story.extend(plan(reading));
    story.extend(cold(reading));
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
            if is_early(&reading.milestone(MilestoneKind::FirstFlame)?.days) {
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

/// Whether some of the draws burn earlier than practice knows.
fn is_early(first_flame: &Spread) -> bool {
    first_flame.p05.is_some_and(|day| day < EARLY_D)
}

/// Draws whose checks never pass, and why.
fn stuck(reading: &Reading<'_>) -> Option<String> {
    let s = reading.found.stuck.filter(|s| s.never > 0)?;
    let plan = reading.found.feeding.as_ref();
    if plan.is_some_and(|f| f.begin == Begin::Fixed) {
        return None;
    }
    let mut text = format!(
        "Left unfed, {} of the {} draws never come to a burning gas and a pH above {} on three mornings running",
        s.never, s.draws, reading.found.limits.ph_check
    );
    if 2 * s.sour >= s.never {
        text.push_str(&format!(
            "; {} turn sour on the filling alone, before anything is fed: it brings more food than its microbes can keep up with. \
             {FOR_THE_STUCK}",
            if s.sour == s.never {
                "all of these".to_owned()
            } else {
                format!("{} of these", s.sour)
            }
        ));
    } else {
        text.push_str(
            ": too little of it lives, or it is too cold for them. Digestate from a running digester and warmth help.",
        );
    }
    Some(text)
}

/// Where the year ends the plan.
fn cold(reading: &Reading<'_>) -> Option<String> {
    let found = reading.found;
    let c = found.cold.as_ref()?;
    let name = |day: u32| day_name(f64::from(day), reading.start);
    let celsius = fixed(c.pause_c, 0);
    let back = match c.warm_again {
        Some(day) => format!("about {}", name(day)),
        None => format!("later than the {} days of this scenario", c.run_days),
    };
    if !c.has_room || found.feeding.is_none() {
        let head = if c.has_room {
            format!(
                "The study ends with {}, since the cold ends what this feed bears from about then on, with the liquor at {celsius} \
                 \u{b0}C and cooling.",
                name(c.pause_from)
            )
        } else {
            format!(
                "The cold overtakes this start: from about {} on, with the liquor at {celsius} \u{b0}C and cooling, feeding sours it, \
                 before a plan could have reached its feed and borne it for four weeks.",
                name(c.pause_from)
            )
        };
        return Some(format!(
            "{head} Fill it in spring instead: the liquor is as warm again {back}. Set the start of the scenario to that day \
             and plan again. What is filled already stays unfed until then."
        ));
    }
    let through = c.comes_through.map_or_else(String::new, |t| {
        format!(
            " Of the fresh draws that kept the plan until then, {} % come through this pause without turning sour.",
            kept(t.share, 0)
        )
    });
    Some(format!(
        "The cold of the year ends this plan on {}, with the liquor at {celsius} \u{b0}C and cooling: of the digesters fed on for \
         longer, more than one in twenty would leave the limits, or turn sour as it goes on cooling. The study ends there. \
         Pause from that day on, and feed nothing until the liquor is as warm again, {back}; then begin again with a tenth \
         and with the checks.{through}",
        name(c.pause_from)
    ))
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
            if found.cold.as_ref().is_some_and(|c| !c.has_room) {
                return "No plan was looked for: the cold leaves no time for one.".to_owned();
            }
            if found.search_cut_short {
                return "No plan was found that keeps its limits in 95 % of the draws before the search reached its bound of \
                        work. A smaller feed (--full 0.5) or a run that ends before the cold may have one; without one, do \
                        not feed this start."
                    .to_owned();
            }
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
    if found.search_cut_short {
        text.push_str(" The search ended at its bound of work: a sooner or larger plan may exist.");
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
    let best = helps_most(reading)?;
    let won = best.feed.p50.unwrap_or(0.0);
    let name = lowered(&shortener_name(best.kind));
    let days = count(won.round() as usize, "day", "days");
    let (before, after) = best.never_safe;
    Some(if before - after >= TELLS {
        let wins = if won >= 0.5 {
            format!(" In the middle draw it wins {days} as well.")
        } else {
            String::new()
        };
        format!(
            "What helps most: {name}. The draws in which feeding never becomes safe fall from {} to {} %.{wins}",
            percent(before, 0),
            percent(after, 0)
        )
    } else if won >= 0.5 {
        format!(
            "What shortens the wait for the first safe feed most: {name}. It wins {days} in the middle draw."
        )
    } else {
        "Of the changes tried, none brings the first safe feed nearer in the middle draw.".into()
    })
}

/// A fall of a share that is the headline.
const TELLS: f64 = 0.05;

/// The change that saves most draws from never being fit for feed; where none saves any worth a word, the quickest.
fn helps_most<'r>(reading: &Reading<'r>) -> Option<&'r Shortener> {
    let all = &reading.found.shorteners;
    let saved = |s: &Shortener| s.never_safe.0 - s.never_safe.1;
    let saves = all.iter().max_by(|a, b| saved(a).total_cmp(&saved(b)))?;
    match saved(saves) >= TELLS {
        true => Some(saves),
        false => all.first(),
    }
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
    let mut advice: Vec<String> = found
        .feeding
        .as_ref()
        .map(|f| match f.begin {
            Begin::Fixed => steps(reading, f),
            Begin::WhenChecksPass { .. } => format!(
                "Wait, unfed, for three mornings running on which the gas burns and the pH is above {}: the last of them is day 0. {}",
                found.limits.ph_check,
                steps(reading, f)
            ),
        })
        .into_iter()
        .collect();
    if let Some(cold) = found.cold.as_ref().filter(|_| found.feeding.is_some()) {
        advice.push(format!(
            "Feed nothing from {} on until the liquor is at {} \u{b0}C again, however well it burns.",
            day_name(f64::from(cold.pause_from), reading.start),
            fixed(cold.pause_c, 0)
        ));
    }
    if stuck(reading).is_some_and(|told| told.contains(FOR_THE_STUCK)) {
        advice.push(FOR_THE_STUCK.into());
    }
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
    if let Some(best) = helps_most(reading)
        .filter(|s| s.feed.p50.unwrap_or(0.0) >= 0.5 || s.never_safe.0 - s.never_safe.1 >= TELLS)
    {
        advice.push(format!(
            "Before filling, think about what helps this start most: {}.",
            lowered(&shortener_name(best.kind))
        ));
    }
    if found.feeding.is_none() && found.searched && found.cold.is_some() {
        advice.push("Fill it in spring, or leave it unfed until the warmth is back.".into());
    } else if found.feeding.is_none() && found.searched {
        advice.push(
            "Do not feed this start. Change the filling (more living starter, digestate, warmth) and compute again.".into(),
        );
    }
    advice
}

pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let number = KeyNumber::new;
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
            if kind == MilestoneKind::FirstFlame && is_early(spread) {
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
                match tally.unfed() {
                    0 => format!("of {} fresh draws", tally.fed),
                    unfed => format!(
                        "of the {} fresh draws that are fed; {} % of all {} never are",
                        tally.fed,
                        percent(unfed as f64 / tally.draws as f64, 0),
                        tally.draws
                    ),
                },
            ));
        }
        if let Some(cold) = &found.cold {
            numbers.push(number(
                "Pause before the cold",
                cold.pause_from.to_string(),
                "d",
                format!(
                    "from the filling, with the liquor at {} \u{b0}C and cooling",
                    fixed(cold.pause_c, 0)
                ),
            ));
        }
    } else if found.searched {
        numbers.push(number(
            "Full feed",
            "never".into(),
            "",
            if found.cold.is_some() {
                "the cold comes first".into()
            } else {
                "no feed is safe with this start".into()
            },
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
