//! A diagnosis in words: what may be wrong, what speaks for it, what to do.

use jiff::civil::Date;

use super::{DRAWN, NAMED, settles, telling};
use crate::diary::diagnose::SOUR_PH;
use crate::diary::diagnose::result::{Alarm, Diagnosis, Evidence, Expected, Ranked, TestWorth};
use crate::diary::fit::unknown::COLD_C;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::diary_fit::{kind, litres};
use crate::report::present::words::{count, day_name, list, rough};
use crate::study::normal;

/// Above this chance a story is called likely.
const LIKELY: f64 = 0.8;
/// A reading kind speaks for or against a story from this logarithm on.
const SPEAKS: f64 = 1.0;
/// A chance that changed by fewer times counts as unchanged.
const MOVED: f64 = 1.25;
/// Below this chance nobody is told to act on a story (convention of this project).
const ACTED_ON: f64 = 0.2;
/// So many times the chance of the next story leads by a clear factor. Assumed: before any reading "nothing is wrong" leads
/// the next by just this (30 against 15 %), so a lead as large says that no reading took anything from it.
const CLEARLY: f64 = 2.0;
/// Readings that scatter so many times as wide as readings do are out of their band.
const WIDE: f64 = 1.2;
/// How a story ends that tells of something constant.
const ALWAYS: &str = ", each time the same";
/// The test that reads the pH.
const PH_TEST: &str = "ph";
/// The story in which nothing is wrong.
const SOUND: &str = "nothing";
/// A value so many standard deviations from the middle of what was thought of it is worth naming: 1 in 10 lies as far.
const UNUSUAL: f64 = 1.645;
/// A test that tells so much among all stories is worth naming where none tells the best two apart \[bits\].
const WORTH_AMONG_ALL: f64 = 0.2;
/// What to look out for while all is well (common practice, no source; the quarter is what stands out of readings that
/// err by a tenth, when it stays for days).
const WATCH: &str = "Watch for gas that falls by a quarter for three days on the same feed and warmth, a pH below 6.8, a flame that \
goes out, or a sour smell. Then feed less, and ask again.";
/// Chance above which it is said without a number that a story began on the way.
const SURE: f64 = 0.95;

pub(super) fn story(d: &Diagnosis, start: Option<Date>) -> Vec<String> {
    let mut story = Vec::new();
    let named = |skip: usize| -> Vec<String> {
        let some = d.stories.iter().skip(skip);
        some.filter(|s| s.chance >= NAMED)
            .map(|s| format!("{} ({} %)", wording(s), percent(s.chance, 0)))
            .collect()
    };
    let quiet = quiet(d);
    story.extend(d.alarm.map(|a| alarm(a, start)));
    if let (true, Some(first)) = (quiet, d.stories.first()) {
        let else_ = match named(1).as_slice() {
            [] => String::new(),
            others => format!(" What else it could be: that {}.", others.join("; that ")),
        };
        story.push(format!(
            "The tank looks well: nothing speaks of a fault. With {} % {}.{else_}",
            percent(first.chance, 0),
            wording(first)
        ));
    }
    story.push(format!(
        "{} up to {} were held against {} stories.",
        count(d.readings, "reading", "readings"),
        day_name(d.last_day, start),
        d.stories.len()
    ));
    story.extend(d.expected.as_ref().map(|e| measure(e, d.last_day, start)));
    if quiet {
        return story;
    }
    if let Some(first) = d.stories.first() {
        story.push(if first.chance >= LIKELY {
            format!(
                "Most likely {} ({} %).",
                wording(first),
                percent(first.chance, 0)
            )
        } else {
            format!(
                "The record leaves it open. It may be that {}.",
                named(0).join("; or that ")
            )
        });
    }
    for ranked in d.stories.iter().take(DRAWN).filter(|s| s.chance >= NAMED) {
        let alone = match alone(ranked, &d.stories) {
            Some(other) => format!("no kind of reading alone tells it from {other}; "),
            None => String::new(),
        };
        let mut words = format!("{}: {alone}{}", ranked.title, speaks(ranked, &d.stories));
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

/// What the readings say by themselves.
fn alarm(alarm: Alarm, start: Option<Date>) -> String {
    let day = day_name(alarm.day, start);
    match alarm.ph {
        Some(ph) => format!(
            "The pH was {} on {day}. Below 6.5 a tank is sour or on its way there, whatever made it so and whatever the chances \
             below say (common practice, no source).",
            fixed(ph, 1)
        ),
        None => format!(
            "The gas burnt before and did not on {day}, and no pH of these days says why: a tank that turns sour begins so."
        ),
    }
}

/// What to do before anything else is known.
fn stop_feeding(alarm: Alarm) -> String {
    match alarm.ph {
        Some(_) => "First of all stop feeding, whatever the cause. Read the pH every day; feed again, a third of what you fed, when it \
             has stayed above 6.8 for a week. Let gas that does not burn go outdoors, unlit."
            .to_owned(),
        None => "First of all stop feeding until a pH strip in the liquor says 6.8 or more. Let gas that does not burn go outdoors, \
             unlit."
            .to_owned(),
    }
}

/// The likeliest story's own tank is sour in the days to come, which no reading has shown yet.
fn sour_ahead(d: &Diagnosis) -> Option<String> {
    let (first, None) = (d.stories.first()?, d.alarm) else {
        return None;
    };
    let lowest = first.week.iter().map(|day| day.ph[1]).reduce(f64::min)?;
    (lowest < SOUR_PH).then(|| {
        format!(
            "In this story's own run the tank stands at pH {} in the coming week, which is sour: feed nothing until a pH strip says \
             6.8 or more.",
            fixed(lowest, 1)
        )
    })
}

/// What a story tells that rather began on the way is not the same from the first reading to the last.
fn wording(ranked: &Ranked) -> &str {
    let on_the_way = ranked.since.is_some_and(|since| since.chance > 0.5);
    match on_the_way {
        true => ranked.words.strip_suffix(ALWAYS).unwrap_or(&ranked.words),
        false => &ranked.words,
    }
}

/// Whether nothing speaks of a fault: "nothing is wrong" leads clearly, the gas lies in the band of a sound tank, the readings
/// scatter as readings do, and no kind of them speaks against it. A cold tank is no such case: it wants warming.
pub(super) fn quiet(d: &Diagnosis) -> bool {
    let [first, next, ..] = d.stories.as_slice() else {
        return false;
    };
    let within = d.expected.is_some_and(|e| {
        let [low, _, high] = e.gas_nl_d;
        e.tank_c >= COLD_C && e.read_nl_d.is_none_or(|read| (low..=high).contains(&read))
    });
    d.alarm.is_none()
        && first.name == SOUND
        && first.chance >= CLEARLY * next.chance
        && within
        && d.noise <= WIDE
        && sides(first).1.is_empty()
}

/// What was read beside what a sound tank would have given.
fn measure(expected: &Expected, last_day: f64, start: Option<Date>) -> String {
    let Expected {
        from_day,
        tank_c,
        gas_nl_d: [low, middle, high],
        read_nl_d,
    } = expected;
    let read = match read_nl_d {
        Some(read) if *read > 0.0 => format!("; {} were read on average", litres(*read)),
        Some(_) => "; none was read".into(),
        None => String::new(),
    };
    let cold = match *tank_c < COLD_C {
        true => {
            " So cold, microbes work slowly, and how slowly is known badly: below 15 C most hand-fed digesters give hardly \
             any gas (common practice, no source)."
        }
        false => "",
    };
    format!(
        "Over the whole record, {} to {}, at {} C on average, a sound tank like this would give about {} norm litres a day ({} \
         to {} in nine cases of ten){read}.{cold}",
        day_name(*from_day, start),
        day_name(last_day, start),
        fixed(*tank_c, 0),
        litres(*middle),
        litres(*low),
        litres(*high)
    )
}

/// Kinds of readings that speak for a story, and against it.
fn sides(ranked: &Ranked) -> (Vec<String>, Vec<String>) {
    let side = |wanted: fn(&Evidence) -> bool| -> Vec<String> {
        let chosen = ranked.evidence.iter().filter(|e| wanted(e));
        chosen
            .map(|e| format!("{} ({})", short(e), e.readings))
            .collect()
    };
    (side(|e| e.gain >= SPEAKS), side(|e| e.gain <= -SPEAKS))
}

/// The story that a story is held against.
fn rival(ranked: &Ranked, stories: &[Ranked]) -> String {
    let rival = ranked.evidence.first();
    let rival = rival.and_then(|e| stories.iter().find(|s| s.name == e.against));
    rival.map_or("the others".into(), |s| format!("\"{}\"", s.title))
}

/// The story that no kind of reading alone tells from this one, if that is so.
fn alone(ranked: &Ranked, stories: &[Ranked]) -> Option<String> {
    let (pro, con) = sides(ranked);
    let is = ranked.failed.is_none() && pro.is_empty() && con.is_empty();
    is.then(|| rival(ranked, stories))
}

/// What speaks for and against a story, in words.
pub(super) fn speaks(ranked: &Ranked, stories: &[Ranked]) -> String {
    if let Some(why) = &ranked.failed {
        return format!("could not be computed ({why}).");
    }
    let (pro, con) = sides(ranked);
    let other = rival(ranked, stories);
    // Where the chance went the other way than the readings point, that needs its own reason.
    let yet = |side: f64| match (ranked.chance / ranked.before).ln() * side < -MOVED.ln() {
        true => format!("; yet {}", moved(ranked, stories)),
        false => String::new(),
    };
    match (pro.is_empty(), con.is_empty()) {
        (true, true) => format!("{}.", moved(ranked, stories)),
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

/// The most unusual value that a story needs, with how rarely one lies so far out; nothing where none is unusual.
fn needs(ranked: &Ranked) -> Option<String> {
    let far = ranked
        .changed
        .iter()
        .max_by(|a, b| a.place.abs().total_cmp(&b.place.abs()))
        .filter(|c| c.place.abs() >= UNUSUAL)?;
    let rarely = 1.0 / (2.0 * normal::cumulative(-far.place.abs()));
    Some(format!(
        "{} {} {}, as 1 tank in {}",
        far.name,
        significant(far.value, 2),
        far.unit,
        rough(rarely)
    ))
}

/// When a story began, in words; nothing of one that holds from the first day on whatever it is.
fn began(ranked: &Ranked, start: Option<Date>) -> Option<String> {
    let since = ranked.since?;
    let [from, day, to] = [since.from_day, since.day, since.to_day].map(|d| day_name(d, start));
    let when = match to == from {
        // A day is as close as readings of a day can tell.
        true => format!("about {day}, give or take a day"),
        false => {
            format!("about {day}, between {from} and {to} if it came at once, sooner if slowly")
        }
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
            "because it tells the readings with ordinary values, where others need rare or finely tuned ones"
        }
        true => "because the record speaks against other stories",
        false if read <= -SPEAKS => "because all readings together speak against it",
        false if strain <= -SPEAKS => {
            "because it tells the readings only with rare or finely tuned values"
        }
        false => "because the record speaks more for other stories",
    };
    let more = match times < 1.0 {
        true => needs(ranked).map_or_else(String::new, |needs| format!(" (it needs {needs})")),
        // A chance that rises with those of others has its own reason to.
        false => format!("; it would look like this: {}", ranked.looks),
    };
    format!("its chance {way} {because}{more}")
}

fn short(evidence: &Evidence) -> &'static str {
    let whole = kind(evidence.what);
    whole.split([',', '(']).next().unwrap_or(whole).trim()
}

pub(super) fn advice(d: &Diagnosis) -> Vec<String> {
    let mut advice = Vec::new();
    let quiet = quiet(d);
    advice.extend(d.alarm.map(stop_feeding));
    advice.extend(sour_ahead(d));
    if let (true, Some(first)) = (quiet, d.stories.first()) {
        advice.extend([first.act.clone(), WATCH.to_owned()]);
    }
    if let (Some(test), [a, b, ..]) = (d.tests.first(), d.stories.as_slice()) {
        if telling(d).is_some() {
            let read = test.name == PH_TEST && d.alarm.is_some_and(|a| a.ph.is_some());
            let now = match quiet {
                _ if read => "The pH is read already; once more would tell most",
                true => "Nothing has to be tested now. If you want to be surer, do this one",
                false => "The one test to do now",
            };
            advice.push(format!(
                "{now}: {}. {} It is expected to settle {} % of the doubt between \"{}\" and \"{}\", the most for its effort.",
                lower(&test.title),
                test.how,
                percent(settles(d, test), 0),
                a.title,
                b.title
            ));
        } else if !quiet {
            advice.push(format!(
                "No cheap test tells \"{}\" from \"{}\"; go on writing for another week.",
                a.title, b.title
            ));
            let of_all = |t: &&TestWorth| t.among_all_bits >= WORTH_AMONG_ALL;
            let other = d.tests.iter().filter(of_all);
            let other = other.max_by(|a, b| a.among_all_bits.total_cmp(&b.among_all_bits));
            advice.extend(other.map(|test| {
                format!(
                    "Among all stories the {} tells most, if you want to do one: {}",
                    lower(&test.title),
                    test.how
                )
            }));
        }
    }
    if quiet {
        return advice;
    }
    let cold = d.expected.is_some_and(|e| e.tank_c < COLD_C);
    let told = d.stories.iter().enumerate();
    // In the cold the first thing to do is to warm it, whatever else may be wrong.
    let told = told.filter(|(i, s)| match cold && s.name == SOUND {
        true => s.chance >= NAMED,
        false => s.chance >= ACTED_ON && *i < 2,
    });
    for (_, ranked) in told {
        advice.push(format!(
            "If it is so ({}): {}",
            lower(&ranked.title),
            ranked.act
        ));
    }
    advice
}

pub(super) fn lower(title: &str) -> String {
    // "pH" keeps its shape.
    let mut letters = title.chars();
    match letters.next() {
        Some(first) => first.to_lowercase().chain(letters).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests;
