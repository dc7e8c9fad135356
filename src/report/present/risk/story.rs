//! A study under uncertainty in sentences and key numbers.

use super::super::words::{count, given, list, rough};
use super::{View, target_words};
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent};
use crate::study::risk::{Level, Matter, Spread, Target, Waiting};
use crate::study::statistics::Chance;

/// A factor below this share of the strongest is not named beside it.
const WORTH_NAMING: f64 = 0.2;
/// A chance of souring from which the feed counts as risky.
const RISKY: f64 = 0.1;

/// A first flame before this day is earlier than practice knows well \[d\].
const EARLY_D: f64 = 3.0;
/// What to think of it. The span of practice is from memory, no source.
const BURNS_EARLY: &str =
    "The model lets slurry burn too early: in practice it takes 1 to 42 days, from memory";

fn burns_early(level: &Level) -> bool {
    level.first_flame.days.p50.is_some_and(|d| d < EARLY_D)
}

/// What came out.
pub(super) fn story(view: &View<'_>) -> Vec<String> {
    let risk = view.risk;
    let mut story = Vec::new();
    let on = risk.factors.iter().filter(|f| f.is_on()).count();
    story.push(format!(
        "The scenario was run {} times at {} of feeding ({} times the planned feed), each time with {} drawn anew.",
        risk.draws,
        count(risk.levels.len(), "level", "levels"),
        list(&risk.levels.iter().map(|l| given(l.feed_times)).collect::<Vec<_>>()),
        count(on, "unknown", "unknowns"),
    ));
    if let Some(main) = view.main() {
        if let Some(sour) = main.sour {
            story.push(format!(
                "At {} it has a sour day in {} of the runs ({}).",
                feed_words(main.feed_times),
                share(sour),
                between(sour)
            ));
        }
        let mut first = flame("The gas burns for the first time", &main.first_flame);
        if burns_early(main) {
            first.push_str(&format!(" {BURNS_EARLY}."));
        }
        story.push(first);
        story.push(flame("It burns steadily", &main.steady_flame));
    }
    story.extend(Target::ALL.into_iter().filter_map(|t| matter(view, t)));
    if let Some(failure) = risk.failures.first() {
        let failed: u64 = risk.levels.iter().map(|l| l.failed).sum();
        story.push(format!(
            "{} failed, counted in no share; the first says: {}.",
            count(failed as usize, "run", "runs"),
            failure.why.trim_end_matches('.')
        ));
    }
    if risk.not_begun > 0 {
        story.push(format!(
            "The study was stopped early: {} not begun. What stands here rests on those done.",
            count(risk.not_begun, "run was", "runs were")
        ));
    }
    story
}

/// A level of feeding in words.
fn feed_words(times: f64) -> String {
    if times == 1.0 {
        "the planned feed".into()
    } else {
        format!("{} times the planned feed", given(times))
    }
}

/// "23 %".
fn share(chance: Chance) -> String {
    format!("{} %", percent(chance.share, 0))
}

/// "95 % sampling error: 19 to 27 %".
fn between(chance: Chance) -> String {
    format!(
        "sampling error {} to {} %",
        percent(chance.low, 0),
        percent(chance.high, 0)
    )
}

/// Days as text; "never" where the percentile lies beyond the run.
pub(super) fn days(value: Option<f64>) -> String {
    value.map_or_else(|| "never".to_owned(), |d| fixed(d.floor(), 0))
}

fn flame(what: &str, waiting: &Waiting) -> String {
    let Spread { p05, p50, p95, .. } = waiting.days;
    if waiting.reached == 0 {
        return format!("{what} in no run.");
    }
    let never = waiting
        .never
        .filter(|c| c.share > 0.0)
        .map_or_else(String::new, |c| {
            format!(
                ", and never within the run in {} ({})",
                share(c),
                between(c)
            )
        });
    match (p05, p50, p95) {
        (Some(early), Some(middle), Some(late)) => format!(
            "{what} on day {} in the middle run, between day {} and day {} in nine of ten{never}.",
            fixed(middle.floor(), 0),
            fixed(early.floor(), 0),
            fixed(late.floor(), 0)
        ),
        (Some(early), Some(middle), None) => format!(
            "{what} on day {} in the middle run, not before day {} in nineteen of twenty{never}.",
            fixed(middle.floor(), 0),
            fixed(early.floor(), 0)
        ),
        _ => format!("{what} in only {} runs{never}.", waiting.reached),
    }
}

/// "What you do not know about the starter matters three times as much for ... as the temperature."
fn matter(view: &View<'_>, target: Target) -> Option<String> {
    let sure: Vec<&Matter> = view
        .risk
        .matters
        .iter()
        .filter(|m| m.target == target && m.sure)
        .collect();
    let what = target_words(target);
    let Some(first) = sure.first() else {
        return view
            .risk
            .matters
            .iter()
            .any(|m| m.target == target)
            .then(|| format!("For {what} no unknown stands out from chance."));
    };
    let lead = format!("For {what}, {} matters most", view.words_of(first));
    let strongest = first.correlation.abs();
    let next = sure
        .get(1)
        .filter(|m| m.correlation.abs() > WORTH_NAMING * strongest);
    Some(match next {
        None => format!("{lead}; nothing else comes near."),
        Some(second) => format!(
            "{lead}: {} {}.",
            times(strongest / second.correlation.abs()),
            view.words_of(second)
        ),
    })
}

/// A ratio of correlations in words.
fn times(ratio: f64) -> String {
    match ratio {
        r if r < 1.15 => "hardly more than".into(),
        r if r < 1.35 => "somewhat more than".into(),
        r if r < 1.75 => "half as much again as".into(),
        r if r < 2.5 => "twice as much as".into(),
        r if r < 3.5 => "three times as much as".into(),
        r => format!("{r:.0} times as much as"),
    }
}

/// What to do.
pub(super) fn advice(view: &View<'_>) -> Vec<String> {
    let mut advice = Vec::new();
    let levels = &view.risk.levels;
    let safe = levels
        .iter()
        .take_while(|l| l.sour.is_some_and(|c| c.high < RISKY))
        .last();
    let lowest = levels.first().and_then(|l| l.sour);
    let unfed = view.main().is_some_and(sours_unfed);
    let main_share = view.main().and_then(|m| m.sour).map_or(0.0, |c| c.share);
    if unfed && main_share >= RISKY {
        advice.push(
            "Most of the sour runs turn sour before anything is fed: the filling brings more food than its microbes \
             can keep up with. Take digestate from a running digester into it, or thin it more."
                .into(),
        );
    }
    match (safe, levels.len()) {
        (Some(safe), 2..) => advice.push(format!(
            "Up to {} times the planned feed fewer than one run in ten turns sour, sampling error included.",
            given(safe.feed_times)
        )),
        (None, 2..) if !unfed && lowest.is_some_and(|c| c.share < RISKY) => advice.push(
            "No level of feeding is surely below one sour run in ten: more draws would tell (--draws), and less feed is \
             safer."
                .into(),
        ),
        (None, 2..) if !unfed => advice.push(
            "At every level of feeding one run in ten or more turns sour: start slower, or with more starter."
                .into(),
        ),
        _ if main_share >= RISKY && !unfed => advice.push(
            "One run in ten or more turns sour. Run again with --feed 0.25..1.5 in 6 to see how much less is safe."
                .into(),
        ),
        _ => {}
    }
    let strongest = view
        .risk
        .matters
        .iter()
        .filter(|m| m.sure)
        .max_by(|a, b| a.correlation.abs().total_cmp(&b.correlation.abs()));
    if let Some(remedy) = strongest.and_then(|m| remedy(&m.factor)) {
        advice.push(format!("To know more, {remedy}"));
    }
    advice.push(
        "Watch the acid ratio and the flame in the first weeks: they tell in which of these runs you are."
            .into(),
    );
    advice
}

/// Whether most of the runs that turn sour do so before anything is fed.
fn sours_unfed(level: &Level) -> bool {
    level
        .sour
        .is_some_and(|c| 2.0 * level.sour_unfed as f64 > c.share * level.finished as f64)
}

/// How an unknown can be made smaller.
fn remedy(factor: &str) -> Option<&'static str> {
    const REMEDIES: [(&str, &str); 7] = [
        (
            "starter",
            "begin with as much fresh digestate from a running digester as you can get: then its life matters less.",
        ),
        (
            "temperature",
            "measure the liquor itself, at two depths, morning and evening, and put that into the scenario.",
        ),
        (
            "alkalinity",
            "have the alkalinity of the starter measured, or titrate it with vinegar and a pH meter.",
        ),
        (
            "degradable",
            "weigh what goes in for a few weeks and compare the gas with the run at typical values.",
        ),
        (
            "hydrolysis",
            "leave one day's feed alone and watch how fast its gas comes: fast feeds sour first.",
        ),
        (
            "daily-feed",
            "weigh every bucket for some weeks and write it down: then the feed is known.",
        ),
        (
            "batches",
            "dry a weighed handful of each batch and weigh it again: that tells its solids.",
        ),
    ];
    REMEDIES.iter().find(|(f, _)| *f == factor).map(|(_, r)| *r)
}

/// The numbers to take home.
pub(super) fn key_numbers(view: &View<'_>) -> Vec<KeyNumber> {
    let Some(main) = view.main() else {
        return Vec::new();
    };
    let number = KeyNumber::new;
    let chance = |label: &str, c: Option<Chance>| {
        c.map(|c| number(label, percent(c.share, 0), "%", between(c)))
    };
    let span = |label: &str, s: Spread, unit: &str, text: &dyn Fn(Option<f64>) -> String| {
        number(
            label,
            text(s.p50),
            unit,
            format!("nine of ten: {} to {}", text(s.p05), text(s.p95)),
        )
    };
    let plain =
        |decimals| move |v: Option<f64>| v.map_or_else(|| "-".to_owned(), |v| fixed(v, decimals));
    let whole = |v: Option<f64>| v.map_or_else(|| "-".to_owned(), rough);
    let mut numbers = Vec::new();
    numbers.extend(chance("chance of a sour day", main.sour));
    numbers.extend(chance("sour on the last day", main.sour_at_end));
    // "day 8" and not "8 day"; the range beside it needs no word.
    let waiting = |label: &str, s: Spread| {
        let mut number = span(label, s, "", &days);
        if s.p50.is_some() {
            number.value = format!("day {}", number.value);
        }
        number
    };
    let mut first = waiting("first flame", main.first_flame.days);
    if burns_early(main) {
        first
            .note
            .push_str("; the model lets slurry burn too early");
    }
    numbers.push(first);
    numbers.push(waiting("steady flame", main.steady_flame.days));
    numbers.push(span("lowest pH", main.lowest_ph, "", &plain(1)));
    numbers.push(span(
        "methane over the run",
        main.methane_nl,
        "norm L",
        &whole,
    ));
    numbers.push(span(
        "methane yield",
        main.yield_nl_kg_vs,
        "norm L/kg VS",
        &whole,
    ));
    numbers.push(runs(main));
    numbers
}

fn runs(main: &Level) -> KeyNumber {
    KeyNumber {
        label: "runs".into(),
        value: main.finished.to_string(),
        unit: String::new(),
        note: format!("at {}; {} failed", feed_words(main.feed_times), main.failed),
    }
}
