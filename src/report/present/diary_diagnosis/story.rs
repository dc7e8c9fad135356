//! A diagnosis in words: what may be wrong, what speaks for it, what to do.

use jiff::civil::Date;

use super::{DRAWN, telling};
use crate::diary::diagnose::result::{Diagnosis, Evidence, Expected, Ranked, TestWorth};
use crate::diary::fit::unknown::COLD_C;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::diary_fit::{kind, litres};
use crate::report::present::words::{count, day_name, list, rough};
use crate::study::normal;

/// Above this chance a story is called likely.
const LIKELY: f64 = 0.8;
/// Below this chance a story is not named in a sentence.
const NAMED: f64 = 0.05;
/// A reading kind speaks for or against a story from this logarithm on.
const SPEAKS: f64 = 1.0;
/// A chance that changed by fewer times counts as unchanged.
const MOVED: f64 = 1.25;
/// Below this chance nobody is told to act on a story (convention of this project).
const ACTED_ON: f64 = 0.2;
/// So many times the chance of the next story leads by a clear factor (convention of this project).
const CLEARLY: f64 = 2.0;
/// Readings that scatter so many times as wide as readings do are out of their band.
const WIDE: f64 = 1.2;
/// How a story ends that tells of something constant.
const ALWAYS: &str = ", each time the same";
/// The story in which nothing is wrong.
const SOUND: &str = "nothing";
/// A value so many standard deviations from the middle of what was thought of it is worth naming: 1 in 10 lies as far.
const UNUSUAL: f64 = 1.645;
/// A test that tells so much among all stories is worth naming where none tells the best two apart \[bits\].
const WORTH_AMONG_ALL: f64 = 0.2;
/// Chance above which it is said without a number that a story began on the way.
const SURE: f64 = 0.95;

pub(super) fn story(d: &Diagnosis, start: Option<Date>) -> Vec<String> {
    let mut story = vec![format!(
        "{} up to {} were held against {} stories.",
        count(d.readings, "reading", "readings"),
        day_name(d.last_day, start),
        d.stories.len()
    )];
    story.extend(d.expected.as_ref().map(|e| measure(e, d.last_day, start)));
    if let Some(first) = d.stories.first() {
        let named = |skip: usize| -> Vec<String> {
            let some = d.stories.iter().skip(skip);
            some.filter(|s| s.chance >= NAMED)
                .map(|s| format!("{} ({} %)", wording(s), percent(s.chance, 0)))
                .collect()
        };
        story.push(if quiet(d) {
            let else_ = match named(1).as_slice() {
                [] => String::new(),
                others => format!(" What else it could be: that {}.", others.join("; that ")),
            };
            format!(
                "Nothing speaks of a fault: with {} % {}.{else_}",
                percent(first.chance, 0),
                wording(first)
            )
        } else if first.chance >= LIKELY {
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
fn quiet(d: &Diagnosis) -> bool {
    let [first, next, ..] = d.stories.as_slice() else {
        return false;
    };
    let within = d.expected.is_some_and(|e| {
        let [low, _, high] = e.gas_nl_d;
        e.tank_c >= COLD_C && e.read_nl_d.is_none_or(|read| (low..=high).contains(&read))
    });
    first.name == SOUND
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
    let needs = match times < 1.0 {
        true => needs(ranked).map_or_else(String::new, |needs| format!(" (it needs {needs})")),
        false => String::new(),
    };
    format!("its chance {way} {because}{needs}")
}

fn short(evidence: &Evidence) -> &'static str {
    let whole = kind(evidence.what);
    whole.split([',', '(']).next().unwrap_or(whole).trim()
}

pub(super) fn advice(d: &Diagnosis) -> Vec<String> {
    let mut advice = Vec::new();
    if let (Some(test), [a, b, ..]) = (d.tests.first(), d.stories.as_slice()) {
        if telling(d).is_some() {
            let now = match quiet(d) {
                true => "Nothing has to be tested now. If you want to be surer, do this one",
                false => "The one test to do now",
            };
            advice.push(format!(
                "{now}: {}. {} It tells most between \"{}\" and \"{}\".",
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
mod tests {
    use super::*;
    use crate::diary::diagnose::result::{Changed, Since};
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

    fn diagnosis(bits: f64) -> Diagnosis {
        let names = ["leak", "meter", "cold", "held"];
        Diagnosis {
            title: String::new(),
            start_date: String::new(),
            last_day: 9.0,
            readings: 5,
            expected: None,
            stories: names.map(|n| ranked(n, 0.25, 0.1, -12.0, 0.0)).into(),
            tests: vec![TestWorth {
                name: "soap".into(),
                title: "Soap-water leak test".into(),
                how: "Brush.".into(),
                between_best_two_bits: bits,
                among_all_bits: 0.3,
                outcomes: Vec::new(),
                chances: Vec::new(),
            }],
            noise: 1.0,
            usual_gas_nl: 100.0,
            runs: 0,
            failed: 0,
            seed: 1,
            notes: Vec::new(),
            source: String::new(),
            version: "",
            file: String::new(),
            sha256: String::new(),
        }
    }

    #[test]
    fn a_test_that_tells_nothing_is_not_called_the_best() {
        let of = |bits: f64| {
            let d = diagnosis(bits);
            let best = super::super::key_numbers(&d).pop().unwrap();
            (best.label, best.value, advice(&d).join(" "))
        };
        let (label, value, words) = of(0.0016);
        assert_eq!((label.as_str(), value.as_str()), ("Best test", "none"));
        assert!(
            words.contains("No cheap test tells \"leak\" from \"meter\""),
            "{words}"
        );
        assert!(
            words.contains("Among all stories the soap-water leak test tells most"),
            "{words}"
        );
        let (label, _, words) = of(0.4);
        assert_eq!(label, "Best test: soap-water leak test");
        assert!(words.contains("The one test to do now"), "{words}");
    }

    #[test]
    fn a_sound_record_is_told_so_and_nobody_acts_on_a_small_chance() {
        let mut d = diagnosis(0.4);
        d.stories = vec![
            ranked(SOUND, 0.4, 0.6, -10.0, 0.0),
            ranked("sour", 0.1, 0.13, -10.0, 0.0),
            ranked("leak", 0.1, 0.03, -10.0, 0.0),
        ];
        for story in &mut d.stories {
            story.words = format!("it is {}", story.name);
        }
        d.expected = Some(Expected {
            from_day: 1.0,
            tank_c: 35.0,
            gas_nl_d: [330.0, 510.0, 570.0],
            read_nl_d: Some(480.0),
        });
        let told = |d: &Diagnosis| (story(d, None).join(" "), advice(d).join(" "));
        let (words, acts) = told(&d);
        assert!(
            words.contains("Nothing speaks of a fault: with 60 % it is nothing. What else it could be: that it is sour (13 %)."),
            "{words}"
        );
        assert!(
            acts.contains("If it is so (nothing)") && !acts.contains("(sour)"),
            "{acts}"
        );
        assert!(acts.contains("Nothing has to be tested now"), "{acts}");
        // Each of these takes the word back.
        let open = |change: fn(&mut Diagnosis)| {
            let mut other = d.clone();
            change(&mut other);
            assert!(
                told(&other).0.contains("The record leaves it open"),
                "{other:?}"
            );
        };
        open(|d| d.stories[1].chance = 0.31);
        open(|d| d.noise = 1.3);
        open(|d| d.stories[0].evidence[0].gain = -1.5);
        open(|d| d.expected.as_mut().unwrap().read_nl_d = Some(300.0));
        open(|d| d.expected.as_mut().unwrap().tank_c = 14.0);
    }

    #[test]
    fn what_began_on_the_way_is_not_each_time_the_same() {
        let mut own = ranked("meter", 0.2, 0.4, -7.0, 0.2);
        own.words = "the reading shows a wrong share of the gas, each time the same".into();
        assert!(wording(&own).ends_with(ALWAYS));
        let mut since = |chance: f64| {
            own.since = Some(Since {
                chance,
                from_day: 30.0,
                day: 31.0,
                to_day: 33.0,
            });
            wording(&own).to_owned()
        };
        assert!(since(0.3).ends_with(ALWAYS));
        assert_eq!(since(0.99), "the reading shows a wrong share of the gas");
        // The story as it is told ends like this.
        let stories = include_str!("../../../diary/diagnose/data/stories.json");
        assert!(stories.contains(ALWAYS));
    }

    #[test]
    fn what_speaks_is_said_once() {
        let table = super::super::chances(&diagnosis(0.4));
        let said: Vec<&str> = table.rows.iter().map(|row| row[3].as_str()).collect();
        assert!(said[0].starts_with("its chance fell"), "{said:?}");
        assert_eq!(said[1..], ["the same"; 3]);
    }

    #[test]
    fn what_was_read_stands_beside_what_a_sound_tank_gives() {
        let told = |tank_c: f64, read_nl_d: Option<f64>| {
            let expected = Expected {
                from_day: 3.0,
                tank_c,
                gas_nl_d: [12.0, 60.0, 150.0],
                read_nl_d,
            };
            measure(&expected, 9.0, None)
        };
        let cold = told(14.2, Some(0.0));
        assert!(
            cold.contains("Over the whole record, day 3 to day 9, at 14 C on average")
                && cold.contains("about 60 norm"),
            "{cold}"
        );
        assert!(
            cold.contains("(12 to 150 in nine cases of ten); none was read. So cold"),
            "{cold}"
        );
        let warm = told(34.8, Some(41.0));
        assert!(warm.ends_with("; 41 were read on average."), "{warm}");
        assert!(told(34.8, None).ends_with("cases of ten)."));
    }

    #[test]
    fn a_chance_that_fell_tells_the_value_that_it_needs() {
        let mut own = ranked("own", 0.2, 0.05, -14.0, 0.2);
        own.changed.push(Changed {
            name: "hydrolysis".into(),
            words: String::new(),
            value: 0.31,
            unit: "times".into(),
            place: -2.576,
            since: None,
        });
        let rival = ranked("rival", 0.2, 0.3, -10.0, 0.0);
        let words = speaks(&own, &[own.clone(), rival.clone()]);
        // 1 in 100 lies beyond 2.576 standard deviations.
        assert!(
            words.contains("(it needs hydrolysis 0.31 times, as 1 tank in 100)"),
            "{words}"
        );
        own.changed[0].place = 1.0;
        assert!(!speaks(&own, &[own.clone(), rival]).contains("it needs hydrolysis"));
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
        assert_eq!(
            told(0.99, [31.0; 3]),
            "it began on the way, about day 31, give or take a day"
        );
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
