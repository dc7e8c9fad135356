//! A sweep in sentences, and its numbers to take home.

use super::super::words::{count, list, rough};
use super::reading::{Reading, bare, is_lost, sentence_name, with_unit, word};
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent, significant};
use crate::simulate::EventKind;
use crate::study::sweep::{Class, SweepPoint};

/// Feed against that of the most gas at which "a little less" is judged.
const LITTLE_LESS: (f64, f64) = (0.6, 0.95);
/// Feeds closer than this are the same feed.
const SAME_FEED: f64 = 1e-6;
/// Highest loading of a simple plant \[kg VS/m3/d\]. Source: Werner, Stoehr and Hees (1989), GTZ.
const PRACTICE: f64 = 1.5;
/// Reasons of mishaps that are told in full.
const TOLD: usize = 3;

/// Near the border a digester has two lasting states, and its past decides between them.
const FROM_THE_START: &str = "Every run begins with the filling of the scenario and goes straight to its feeding: \
a digester that already works well, and is led there slowly, may hold a little farther.";

/// One paragraph each.
pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let mut story = vec![runs(reading)];
    story.extend(bests(reading));
    story.extend(load(reading));
    story.extend(border(reading));
    story.extend(little_less(reading));
    story.extend(on_the_way(reading));
    story.extend(unsettled(reading));
    story.extend(slow(reading));
    story.extend(repeated(reading));
    story.extend(not_repeated(reading));
    story.extend(mishaps(reading));
    story
}

fn runs(reading: &Reading<'_>) -> String {
    let axes: Vec<String> = reading
        .result
        .axes
        .iter()
        .map(|axis| {
            let (first, last) = (axis.values.first(), axis.values.last());
            let ends = match (first, last) {
                (Some(a), Some(b)) if a != b => {
                    format!(" from {} to {}", with_unit(axis, *a), with_unit(axis, *b))
                }
                (Some(a), _) => format!(" at {}", with_unit(axis, *a)),
                _ => String::new(),
            };
            format!("{}{ends}", sentence_name(axis))
        })
        .collect();
    let levels = || {
        reading
            .result
            .points
            .iter()
            .filter_map(|p| p.level.as_ref())
    };
    let span = |of: fn(&crate::study::sweep::Level) -> u32| {
        let (low, high) = (levels().map(of).min(), levels().map(of).max());
        match (low, high) {
            (Some(low), Some(high)) if low == high => format!("{low} d"),
            (Some(low), Some(high)) => format!("{low} to {high} d"),
            _ => "0 d".into(),
        }
    };
    format!(
        "{} over {}. The runs last {}, and every number is the mean of the last {}.",
        count(reading.result.points.len(), "run", "runs"),
        list(&axes),
        span(|l| l.days),
        span(|l| l.window_d)
    ) + &feed_in_kg(reading)
}

/// What the knob `feed` amounts to; nothing for other knobs.
fn feed_in_kg(reading: &Reading<'_>) -> String {
    let Some(place) = reading.result.axes.iter().position(|a| a.knob == "feed") else {
        return String::new();
    };
    let kg = reading.result.points.iter().find_map(|p| {
        let value = *p.values.get(place).filter(|v| **v > 0.0)?;
        Some(p.level.as_ref()?.fed_kg_d / value)
    });
    kg.map(|kg| {
        format!(
            " A feeding of 1 is {} kg of material a day.",
            significant(kg, 3)
        )
    })
    .unwrap_or_default()
}

fn bests(reading: &Reading<'_>) -> Option<String> {
    let unit = reading.yield_unit();
    let best_yield = reading.best(|l| reading.yield_of(l));
    let most_gas = reading.best(|l| Some(l.gas_read_l_d));
    let (gas_point, gas) = most_gas?;
    let gas_text = format!(
        "the most gas per day is at {} ({} L/d as read)",
        reading.place(gas_point),
        rough(gas)
    );
    let mut text = match best_yield {
        Some((point, value)) => format!(
            "The best yield per kilogram is at {} ({} {unit}); {gas_text}.",
            reading.place(point),
            rough(value)
        ),
        None => format!("Of what was tried, {gas_text}."),
    };
    let edges: Vec<&str> = [(best_yield, "best yield"), (most_gas, "most gas")]
        .into_iter()
        .filter(|(best, _)| best.is_some_and(|(p, _)| at_edge(reading, p)))
        .map(|(_, name)| name)
        .collect();
    if !edges.is_empty() {
        text.push_str(&format!(
            " The {} {} at the edge of what was tried: the true best may lie beyond it.",
            edges.join(" and the "),
            if edges.len() == 1 { "lies" } else { "lie" }
        ));
    }
    Some(text)
}

/// The line of practice, where points that work lie beyond it.
fn load(reading: &Reading<'_>) -> Option<String> {
    let points = || reading.result.points.iter().filter(|p| p.works());
    let of = |p: &SweepPoint| p.level.as_ref().map(|l| l.loading_kg_vs_m3_d);
    let beyond = points()
        .filter(|p| of(p).is_some_and(|l| l > PRACTICE))
        .count();
    if beyond == 0 {
        return None;
    }
    let most = reading
        .best(|l| Some(l.gas_read_l_d))
        .and_then(|(p, _)| of(p))
        .map_or_else(String::new, |l| {
            format!(" The point of most gas loads {}.", rough(l))
        });
    Some(format!(
        "{} of the {} that work load more than {PRACTICE} kg VS/m\u{b3}/d, which simple plants bear at most (GTZ 1989).{most} \
         The model is known to bear too much load: what works here beyond that line is no advice to feed so much.",
        beyond,
        count(points().count(), "run", "runs")
    ))
}

/// Whether a point lies at the end of an axis beyond which nobody has looked.
fn at_edge(reading: &Reading<'_>, point: &SweepPoint) -> bool {
    reading
        .result
        .axes
        .iter()
        .zip(&point.values)
        .any(|(axis, value)| {
            axis.values.len() > 1
                && (axis.values.first() == Some(value) || axis.values.last() == Some(value))
        })
}

/// Where along the first axis the digester ceases to work: pairs of (works, lost) values.
pub(super) fn borders(reading: &Reading<'_>) -> Vec<(f64, f64, Class)> {
    let values = &reading.axis(0).values;
    (1..values.len())
        .filter_map(|i| {
            let (a, b) = (reading.at(i - 1)?, reading.at(i)?);
            match (a.works() && is_lost(b), is_lost(a) && b.works()) {
                (true, _) => Some((values[i - 1], values[i], b.class)),
                (_, true) => Some((values[i], values[i - 1], a.class)),
                _ => None,
            }
        })
        .collect()
}

fn border(reading: &Reading<'_>) -> Option<String> {
    let lost = reading.result.points.iter().filter(|p| is_lost(p)).count();
    let known = reading
        .result
        .points
        .iter()
        .filter(|p| p.level.is_some())
        .count();
    if known == 0 {
        return None;
    }
    if lost == 0 {
        return Some(if known < reading.result.points.len() {
            format!("No run that came through, {known} in all, ends sour or washed out.")
        } else {
            "Nothing that was tried ends sour or washed out.".into()
        });
    }
    if lost == known {
        return Some(if known < reading.result.points.len() {
            format!("Every run that came through, {known} in all, ends sour or washed out.")
        } else {
            "Everything that was tried ends sour or washed out.".into()
        });
    }
    if reading.result.axes.len() > 1 {
        return Some(format!(
            "{lost} of {known} {} sour or washed out; the thick line on the maps is the border to those that work. \
             {FROM_THE_START}",
            if lost == 1 { "ends" } else { "end" }
        ));
    }
    let axis = reading.axis(0);
    let sentences: Vec<String> = borders(reading)
        .into_iter()
        .map(|(works, lost, class)| {
            let side = if lost < works { "Below" } else { "Above" };
            let fate = match class {
                Class::WashedOut => "washes out",
                _ => "turns sour",
            };
            format!(
                "{side} a {} of about {} it {fate}: {} still works, {} does not.",
                sentence_name(axis),
                with_unit(axis, significant_middle(works, lost)),
                with_unit(axis, works),
                with_unit(axis, lost)
            )
        })
        .collect();
    (!sentences.is_empty()).then(|| format!("{} {FROM_THE_START}", sentences.join(" ")))
}

/// The middle of two values: the border is known no better than that.
fn significant_middle(a: f64, b: f64) -> f64 {
    f64::midpoint(a, b)
}

/// What feeding a little less than for the most gas costs.
fn little_less(reading: &Reading<'_>) -> Option<String> {
    let [_] = reading.result.axes.as_slice() else {
        return None;
    };
    let (most, gas) = reading.best(|l| Some(l.gas_read_l_d))?;
    let most = most.level.as_ref()?;
    if most.fed_kg_d <= 0.0 || gas <= 0.0 {
        return None;
    }
    let less = reading
        .result
        .points
        .iter()
        .filter(|p| p.works())
        .filter_map(|p| p.level.as_ref())
        .filter(|l| {
            let share = l.fed_kg_d / most.fed_kg_d;
            (LITTLE_LESS.0..=LITTLE_LESS.1).contains(&share)
                && (l.temperature_c - most.temperature_c).abs() < SAME_FEED
        })
        .max_by(|a, b| a.fed_kg_d.total_cmp(&b.fed_kg_d))?;
    Some(format!(
        "Feeding {} % less than for the most gas costs {} % of the gas and takes the ratio of acids from {} to {}.",
        percent(1.0 - less.fed_kg_d / most.fed_kg_d, 0),
        percent(1.0 - less.gas_read_l_d / gas, 0),
        significant(most.acid_ratio, 2),
        significant(less.acid_ratio, 2)
    ))
}

/// Points that work in the end but were sour on the way there.
fn on_the_way(reading: &Reading<'_>) -> Option<String> {
    let scares = reading.result.points.iter().filter(|p| {
        let soured = |l: &crate::study::sweep::Level| l.first(EventKind::TurnsSour).is_some();
        p.works() && p.level.as_ref().is_some_and(soured)
    });
    let places: Vec<String> = scares.map(|p| reading.place(p)).collect();
    match places.as_slice() {
        [] => None,
        [one] => Some(format!("At {one} it was sour for a while and recovered.")),
        many => Some(format!(
            "{} of the runs that work in the end were sour for a while.",
            many.len()
        )),
    }
}

fn unsettled(reading: &Reading<'_>) -> Option<String> {
    let moving = |p: &&SweepPoint| p.works() && p.level.as_ref().is_some_and(|l| !l.settled);
    let n = reading.result.points.iter().filter(moving).count();
    (n > 0).then(|| {
        format!(
            "{} not settled: still moving at the end, or too short. Read their values as being on the way; longer runs \
             (--days) tell more.",
            if n == 1 {
                "1 run has".to_owned()
            } else {
                format!("{n} runs have")
            }
        )
    })
}

/// What "slow" means, where something is.
fn slow(reading: &Reading<'_>) -> Option<String> {
    let any = reading.result.points.iter().any(|p| p.class == Class::Slow);
    any.then(|| {
        format!(
            "Slow means: healthy, but with less than {} % of the methane that its feed could give at most.",
            percent(reading.result.rules.slow_share.value, 0)
        )
    })
}

/// Pauses that a longer run has in every year.
fn repeated(reading: &Reading<'_>) -> Option<String> {
    reading.result.pauses_repeated_after.map(|days| {
        format!(
            "The runs are longer than the {} d of the scenario: after them the pauses of its last year come again in every year.",
            fixed(days, 0)
        )
    })
}

/// A feeding that is not repeated in the years after it.
fn not_repeated(reading: &Reading<'_>) -> Option<String> {
    let days = reading.result.not_repeated_after?;
    let levels = reading
        .result
        .points
        .iter()
        .filter_map(|p| p.level.as_ref());
    let longest = levels.map(|l| l.days).max()?;
    let what = if reading.result.pauses_repeated_after.is_some() {
        "Its single feeds and its lines that end"
    } else {
        "Its pauses, its single feeds and its lines that end"
    };
    Some(format!(
        "Some runs are longer than the {days} d of the scenario. {what} are given for these days only: the days after them, \
         from which the numbers come, are fed without them. To have them there, set \"days\" to {longest} in the scenario \
         and write them for all these days; or keep to the scenario's own days with --days {days}."
    ))
}

fn mishaps(reading: &Reading<'_>) -> Vec<String> {
    let failed = reading.result.points.iter().filter(|p| p.mishap.is_some());
    // Many points of a grid can fail for one reason; each reason is told once, at its first point.
    let mut reasons: Vec<(&str, &SweepPoint, usize)> = Vec::new();
    for point in failed {
        let why = point.mishap.as_ref().map_or("", |m| m.message.as_str());
        match reasons.iter_mut().find(|(known, _, _)| *known == why) {
            Some((_, _, times)) => *times += 1,
            None => reasons.push((why, point, 1)),
        }
    }
    let mut told: Vec<String> = reasons
        .iter()
        .take(TOLD)
        .map(|(why, point, times)| {
            let more = match times - 1 {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            format!("No result at {}{more}: {why}", reading.place(point))
        })
        .collect();
    if reasons.len() > TOLD {
        told.push(
            "Other points have no result for other reasons; the table of points says why.".into(),
        );
    }
    told
}

/// In order of interest.
pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let number = KeyNumber::new;
    let mut numbers = Vec::new();
    if let Some((point, value)) = reading.best(|l| reading.yield_of(l)) {
        numbers.push(number(
            "Best yield",
            rough(value),
            reading.yield_unit(),
            format!("methane; at {}", reading.place(point)),
        ));
    }
    if let Some((point, value)) = reading.best(|l| Some(l.gas_read_l_d)) {
        numbers.push(number(
            "Most gas",
            rough(value),
            "L/d",
            format!("wet, as read; at {}", reading.place(point)),
        ));
    }
    if let [axis] = reading.result.axes.as_slice() {
        for (works, lost, class) in borders(reading) {
            numbers.push(number(
                "Border",
                bare(axis, works),
                super::reading::shown_unit(&axis.unit),
                format!("still works; {} is {}", with_unit(axis, lost), word(class)),
            ));
        }
    }
    let classes = [
        Class::Steady,
        Class::Slow,
        Class::Sour,
        Class::WashedOut,
        Class::Unfed,
        Class::Failed,
    ];
    for class in classes {
        let n = reading
            .result
            .points
            .iter()
            .filter(|p| p.class == class)
            .count();
        if n > 0 {
            let of = count(reading.result.planned, "point", "points");
            numbers.push(number(
                &format!("Points: {}", word(class)),
                n.to_string(),
                "",
                format!("of {of}"),
            ));
        }
    }
    numbers
}
