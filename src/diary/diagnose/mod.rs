//! What may be wrong: competing stories told against the same record, weighed, and the cheap test that would tell.
//!
//! Each story is a small change of what is known before. Its evidence is the chance of the record averaged over
//! everything that the story leaves open (by Laplace about its own best fit); chances follow by Bayes' rule, hedged by
//! the chance that the record misleads the model as a whole.
//!
//! | file | holds |
//! |---|---|
//! | [`story`] | the stories and tests, as data |
//! | `tell` | one story against the record |
//! | `begun` | a story that began on a day of the record |
//! | `expected` | what a sound tank would have given |
//! | [`worth`] | what a test is expected to tell |
//! | [`result`] | what a diagnosis gives |

mod begun;
mod expected;
pub mod result;
pub mod story;
mod tell;
pub mod worth;

use std::sync::atomic::{AtomicBool, Ordering};

use result::{
    Alarm, Changed, Diagnosis, Evidence, Expected, GasRead, Ranked, Since, TestWorth, WeekDay,
};
use story::{Book, Story};
use tell::{Teller, Told};

pub use tell::WEEK;

use crate::case::Case;
use crate::diary::fit::digester::{DigesterFailure, FitOptions, scatter};
use crate::diary::fit::readings::{Reading, Readings, What};
use crate::diary::fit::unknown::{COLD_C, Unknown};
use crate::study::batch::{self, BatchError, BatchOptions};

/// How a diagnosis is made.
#[derive(Debug, Clone, Copy)]
pub struct Options<'a> {
    /// Seed of all draws.
    pub seed: u64,
    /// Worker threads.
    pub threads: Option<usize>,
    /// Ends it early.
    pub stop: &'a AtomicBool,
}

/// Why there is no diagnosis.
#[derive(Debug, thiserror::Error)]
pub enum DiagnosisFailure {
    /// The record holds no number.
    #[error("the record holds no gas, pH, methane, flame, acids or alkalinity to judge by")]
    NoReadings,
    /// No story could be computed; the reason of the first.
    #[error("no story could be computed: {0}")]
    NoStory(String),
    /// The batch could not begin.
    #[error(transparent)]
    Batch(#[from] BatchError),
    /// Stopped from outside.
    #[error("the diagnosis was stopped")]
    Stopped,
}

/// Chance that a record misleads the model as a whole, for weeks and in all readings alike, so that what was thought
/// before still stands. Errors of readings are taken as independent; those of equations and feeds are not, and a few zeros
/// in a row would else count as proof.
///
/// It is the share of published comparisons that the model misses by more than was agreed: 13 of 73 (`marshgas evidence`).
/// That a tank at home misleads as often as a published one is an assumption; it was not set by what diagnoses of made-up
/// records gave.
pub const MISLED: f64 = 0.18;
/// All kinds of readings.
const KINDS: [What; 7] = [
    What::Gas,
    What::GasAfterLime,
    What::Ph,
    What::Methane,
    What::Burns,
    What::Acids,
    What::Alkalinity,
];

/// A past that the tank may have had, with the case that goes on from it and the record's readings on its days.
#[derive(Debug, Clone, Copy)]
pub struct Past<'a> {
    /// Reaches [`WEEK`] days beyond the record.
    pub case: &'a Case,
    /// The readings.
    pub readings: &'a Readings,
}

/// Ranks the stories of `book`. `case` must reach [`WEEK`] days beyond the record.
///
/// # Errors
/// [`DiagnosisFailure`]. A story that cannot be computed is told as such and takes no part.
pub fn diagnose(
    book: &Book,
    case: &Case,
    readings: &Readings,
    usual_nl: f64,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Diagnosis, DiagnosisFailure> {
    diagnose_pasts(
        book,
        Past { case, readings },
        None,
        usual_nl,
        options,
        progress,
    )
}

/// The same where the tank may also have been filled when the record began, each of the two pasts as likely as the other
/// before the record is looked at. The result counts days as the scenario's does.
///
/// # Errors
/// [`DiagnosisFailure`].
pub fn diagnose_pasts(
    book: &Book,
    own: Past<'_>,
    fresh: Option<Past<'_>>,
    usual_nl: f64,
    options: &Options<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<Diagnosis, DiagnosisFailure> {
    let Past { case, readings } = own;
    if readings.readings.is_empty() {
        return Err(DiagnosisFailure::NoReadings);
    }
    // A reading that only one of the two has would be counted against the other.
    let fresh = fresh.filter(|f| f.readings.readings.len() == readings.readings.len());
    let pasts: Vec<Past<'_>> = std::iter::once(own).chain(fresh).collect();
    let each = FitOptions {
        draws: 1,
        seed: options.seed,
        threads: Some(1),
        stop: options.stop,
    };
    let batch = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let teller = |past: usize, story: usize| Teller {
        book,
        story: &book.stories[story],
        case: pasts[past].case,
        readings: pasts[past].readings,
        usual_nl,
        options: &each,
    };
    // Days of a past count from its own filling, those of the result from the scenario's.
    let later_by = |past: usize| readings.last_day - pasts[past].readings.last_day;
    // Stories that hold from the start, then those that began on the way: their search starts from what is sound.
    let first: Vec<(usize, (usize, Vec<Unknown>))> = (0..pasts.len())
        .flat_map(|past| {
            ways(book, move |story| {
                let ways = book.ways(story).into_iter();
                ways.map(|way| (past, way)).collect()
            })
        })
        .collect();
    // Where the past is in doubt, days are looked for in the one that is known: it began with the record.
    let dated = pasts.len() - 1;
    let days = begun::days(pasts[dated].readings);
    let later: Vec<(usize, usize)> = match days.first() {
        None => Vec::new(),
        Some(&day) => ways(book, |story| {
            (0..book.ways_since(story, day).len()).collect()
        }),
    };
    // What began on the way takes about twice as long.
    let whole = (first.len() + 2 * later.len()) as f64;
    let from_start = told(
        &first,
        batch,
        |&(story, (past, ref unknowns))| {
            let told = teller(past, story).tell(unknowns.clone());
            told.map(|told| told.days_later(later_by(past)))
        },
        &|n| {
            progress(n as f64 / whole);
        },
    )?;
    let pairs = from_start.iter().zip(&first);
    let mut sound = pairs.filter(|(_, (story, (past, _)))| *story == 0 && *past == dated);
    let sound: Option<Vec<f64>> = match sound.next() {
        Some(((_, Ok(told)), _)) => Some(told.fitted.coordinates.clone()),
        _ => None,
    };
    let sound = sound.unwrap_or_else(|| vec![0.0; book.sound().len()]);
    let on_the_way = told(
        &later,
        batch,
        |&(story, way)| {
            let told = begun::tell(&teller(dated, story), way, &days, &sound);
            told.map(|told| told.days_later(later_by(dated)))
        },
        &|n| {
            progress((first.len() + 2 * n) as f64 / whole);
        },
    )?;
    if options.stop.load(Ordering::Relaxed) {
        return Err(DiagnosisFailure::Stopped);
    }
    if let (true, Some((_, Err(why)))) =
        (from_start.iter().all(|t| t.1.is_err()), from_start.first())
    {
        return Err(DiagnosisFailure::NoStory(why.clone()));
    }
    let mut all: Vec<Vec<Result<Told, String>>> = book.stories.iter().map(|_| Vec::new()).collect();
    for (story, told) in from_start.into_iter().chain(on_the_way) {
        all[story].push(told);
    }
    let pairs = all.into_iter().zip(&book.stories);
    let joined: Vec<Joined> = pairs.map(|(ways, story)| joined(story, ways)).collect();
    let logs: Vec<Option<f64>> = joined.iter().map(|j| j.log_evidence).collect();
    let since: Vec<Option<Since>> = joined.iter().map(|j| j.since).collect();
    let told: Vec<Result<Told, String>> = joined.into_iter().map(|j| j.told).collect();
    let weighed = Weighed {
        told: &told,
        logs: &logs,
        since: &since,
        expected: expected::expected(book, &pasts, usual_nl, options)?,
    };
    Ok(weigh(
        book,
        case,
        readings,
        usual_nl,
        options.seed,
        &weighed,
    ))
}

/// Something of each way of each story, with the place of its story.
fn ways<T>(book: &Book, of: impl Fn(&Story) -> Vec<T>) -> Vec<(usize, T)> {
    let stories = book.stories.iter().enumerate();
    stories
        .flat_map(|(i, story)| of(story).into_iter().map(move |way| (i, way)))
        .collect()
}

/// The place of a story, and one of its ways as told.
type OneWay = (usize, Result<Told, String>);

/// Tells ways of stories in parallel.
fn told<T: Sync>(
    ways: &[(usize, T)],
    batch: BatchOptions<'_>,
    tell: impl Fn(&(usize, T)) -> Result<Told, DigesterFailure> + Sync,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Vec<OneWay>, BatchError> {
    let jobs = batch::run_all(ways.len(), batch, |index| tell(&ways[index]), progress)?;
    let told = jobs.into_iter().map(|job| match job {
        Some(Ok(told)) => told.map_err(|e| e.to_string()),
        Some(Err(panic)) => Err(panic.to_string()),
        None => Err("not begun".into()),
    });
    Ok(ways.iter().map(|way| way.0).zip(told).collect())
}

/// A story with all its ways.
struct Joined {
    told: Result<Told, String>,
    log_evidence: Option<f64>,
    since: Option<Since>,
}

/// The ways of a story as one: their mean evidence, and the look of the likeliest. A way that could not be computed
/// counts as one that the record rules out.
fn joined(story: &Story, ways: Vec<Result<Told, String>>) -> Joined {
    let is_later = |way: &Result<Told, String>| way.as_ref().is_ok_and(|t| t.begun.is_some());
    let later = ways.iter().filter(|way| is_later(way)).count();
    let from_start = ways.len() - later;
    let logs: Vec<f64> = ways
        .iter()
        .map(|way| {
            let log = way.as_ref().ok().and_then(Told::log_evidence);
            let share = match (is_later(way), later) {
                (true, _) => story.later / later as f64,
                (false, 0) => 1.0 / from_start as f64,
                (false, _) => (1.0 - story.later) / from_start as f64,
            };
            log.map_or(f64::NEG_INFINITY, |log| log + libm::log(share))
        })
        .collect();
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum = |wanted: &dyn Fn(&Result<Told, String>) -> bool| -> f64 {
        let pairs = ways.iter().zip(&logs).filter(|(way, _)| wanted(way));
        pairs.map(|(_, l)| libm::exp(l - most)).sum()
    };
    let (whole, later) = (sum(&|_| true), sum(&is_later));
    let begun = ways.iter().zip(&logs).filter(|(way, _)| is_later(way));
    let begun = begun.max_by(|a, b| a.1.total_cmp(b.1));
    let since = begun.and_then(|(way, _)| {
        let told = way.as_ref().ok()?;
        let [from_day, day, to_day] = told.begun.as_ref()?.span(told.noise());
        Some(Since {
            chance: later / whole,
            from_day,
            day,
            to_day,
        })
    });
    let runs = ways.iter().flatten().map(|t| t.runs).sum();
    let failed = ways.iter().flatten().map(|t| t.failed).sum();
    let best = ways
        .into_iter()
        .zip(&logs)
        .max_by(|a, b| a.1.total_cmp(b.1));
    let told = best.map_or_else(|| Err("not begun".into()), |(way, _)| way);
    Joined {
        told: told.map(|mut told| {
            (told.runs, told.failed) = (runs, failed);
            told
        }),
        log_evidence: most.is_finite().then(|| most + libm::log(whole)),
        since: since.filter(|_| most.is_finite()),
    }
}

/// The stories as told, and what the record says to each.
struct Weighed<'a> {
    told: &'a [Result<Told, String>],
    /// Logarithms of their evidence.
    logs: &'a [Option<f64>],
    /// When they began, if on the way.
    since: &'a [Option<Since>],
    /// What a sound tank would have given.
    expected: Option<Expected>,
}

fn weigh(
    book: &Book,
    case: &Case,
    readings: &Readings,
    usual_nl: f64,
    seed: u64,
    weighed: &Weighed<'_>,
) -> Diagnosis {
    let Weighed {
        told,
        logs,
        since,
        expected,
    } = *weighed;
    let none = expected.is_some_and(|e| e.read_nl_d == Some(0.0));
    let cold = expected.is_some_and(|e| e.tank_c < COLD_C);
    let instead = |usual: &String, other: &Option<String>, is: bool| {
        other.as_ref().filter(|_| is).unwrap_or(usual).clone()
    };
    let joint: Vec<f64> = logs
        .iter()
        .zip(&book.stories)
        .map(|(log, s)| log.map_or(f64::NEG_INFINITY, |l| l + libm::log(s.chance)))
        .collect();
    let most = joint.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let total: f64 = joint.iter().map(|j| libm::exp(j - most)).sum();
    let before: f64 = book
        .stories
        .iter()
        .zip(logs)
        .map(|(s, log)| if log.is_some() { s.chance } else { 0.0 })
        .sum();
    let chances: Vec<f64> = joint
        .iter()
        .zip(&book.stories)
        .map(|(j, s)| match j.is_finite() {
            true => (1.0 - MISLED) * libm::exp(j - most) / total + MISLED * s.chance / before,
            false => 0.0,
        })
        .collect();
    let mut order: Vec<usize> = (0..told.len()).collect();
    order.sort_by(|&a, &b| chances[b].total_cmp(&chances[a]));
    let tests = tests(book, told, &chances, &order);
    // How far the readings scatter about the likeliest.
    let best = order.first().and_then(|&i| told[i].as_ref().ok());
    let noise = best.map_or(1.0, |best| scatter(&best.fitted, readings));
    let ranked = order
        .iter()
        .map(|&i| {
            let story = &book.stories[i];
            Ranked {
                name: story.name.clone(),
                title: instead(&story.title, &story.title_in_the_cold, cold),
                looks: story.looks.clone(),
                words: instead(&story.words, &story.words_without_gas, none),
                act: instead(&story.act, &story.act_in_the_cold, cold),
                why: story.why.clone(),
                before: story.chance,
                chance: chances[i],
                log_evidence: logs[i],
                since: since[i],
                evidence: evidence(book, told, readings, noise, i, &order),
                changed: told[i].as_ref().map(changed).unwrap_or_default(),
                week: told[i].as_ref().map(week).unwrap_or_default(),
                failed: told[i].as_ref().err().cloned(),
            }
        })
        .collect();
    Diagnosis {
        title: case.title.clone(),
        start_date: case.start_date.map(|d| d.to_string()).unwrap_or_default(),
        last_day: readings.last_day,
        readings: readings.readings.len(),
        expected,
        alarm: alarm(readings),
        stories: ranked,
        tests,
        gas: gas_read(readings),
        course: best.map_or_else(Vec::new, |best| best.course.clone()),
        noise,
        usual_gas_nl: usual_nl,
        runs: told.iter().flatten().map(|t| t.runs).sum(),
        failed: told.iter().flatten().map(|t| t.failed).sum(),
        seed,
        notes: readings.notes.clone(),
        source: book.source.clone(),
        version: env!("CARGO_PKG_VERSION"),
        file: case.source.file.clone(),
        sha256: case.source.sha256.clone(),
    }
}

/// Below this pH feeding stops, whatever else is the matter (common practice, no source).
pub const SOUR_PH: f64 = 6.5;
/// Readings older than this at the end of the record say nothing of today \[d\]. Assumed.
const ALARM_D: f64 = 14.0;

/// The last pH of the record if it is sour, or else its last flame if that is out and one burnt before.
fn alarm(readings: &Readings) -> Option<Alarm> {
    let of = |what: What| {
        let all = readings.readings.iter();
        all.filter(move |r| r.what == what)
    };
    let fresh = |r: &&Reading| r.day >= readings.last_day - ALARM_D;
    let ph = of(What::Ph).next_back().filter(fresh);
    if let Some(sour) = ph.filter(|r| r.value < SOUR_PH) {
        return Some(Alarm {
            day: sour.day,
            ph: Some(sour.value),
        });
    }
    let burnt = of(What::Burns).any(|r| r.value > 0.5);
    let out = of(What::Burns).next_back().filter(fresh);
    out.filter(|r| burnt && r.value < 0.5 && ph.is_none())
        .map(|r| Alarm {
            day: r.day,
            ph: None,
        })
}

fn gas_read(readings: &Readings) -> Vec<GasRead> {
    let gas = readings.readings.iter().filter(|r| r.what.is_gas());
    gas.map(|r| GasRead {
        from_day: r.from_day,
        day: r.day,
        gas_nl: r.value,
        after_lime: r.what == What::GasAfterLime,
    })
    .collect()
}

/// How much each kind of reading speaks for a story, against the likeliest other one \[natural logarithm\].
fn evidence(
    book: &Book,
    told: &[Result<Told, String>],
    readings: &Readings,
    noise: f64,
    own: usize,
    order: &[usize],
) -> Vec<Evidence> {
    let other = order.iter().find(|&&i| i != own && told[i].is_ok());
    let (Ok(this), Some(&other)) = (&told[own], other) else {
        return Vec::new();
    };
    let Ok(that) = &told[other] else {
        return Vec::new();
    };
    let kinds = KINDS.into_iter().filter(|&w| readings.count(w) > 0);
    kinds
        .map(|what| Evidence {
            what,
            readings: readings.count(what),
            against: book.stories[other].name.clone(),
            gain: that.against(what, readings, noise, book.stories[other].scatter)
                - this.against(what, readings, noise, book.stories[own].scatter),
        })
        .collect()
}

fn changed(told: &Told) -> Vec<Changed> {
    let fitted = told.fitted.values.iter().zip(&told.fitted.coordinates);
    let each = told.unknowns.iter().zip(fitted);
    each.map(|(unknown, (&value, &place))| Changed {
        place,
        name: unknown.name.clone(),
        words: unknown.words.clone(),
        value,
        unit: unknown.unit.clone(),
        since: unknown.since,
    })
    .collect()
}

fn week(told: &Told) -> Vec<WeekDay> {
    let each = told.week.iter().enumerate();
    each.map(|(i, [gas_nl, ph, methane])| WeekDay {
        ahead: i as u32 + 1,
        gas_nl: *gas_nl,
        ph: *ph,
        methane: *methane,
    })
    .collect()
}

/// All tests: first those that are worth the walk, of these the one that tells most between the best two stories for its
/// effort.
fn tests(
    book: &Book,
    told: &[Result<Told, String>],
    chances: &[f64],
    order: &[usize],
) -> Vec<TestWorth> {
    let known: Vec<usize> = order.iter().copied().filter(|&i| told[i].is_ok()).collect();
    let best: Vec<usize> = known.iter().copied().take(2).collect();
    let mut worth: Vec<TestWorth> = book
        .tests
        .iter()
        .map(|test| {
            let shows = |stories: &[usize]| -> Vec<Vec<f64>> {
                let told = stories.iter().filter_map(|&i| told[i].as_ref().ok());
                told.map(|t| worth::chances(test, t)).collect()
            };
            let of = |stories: &[usize]| -> f64 {
                let weights: Vec<f64> = stories.iter().map(|&i| chances[i]).collect();
                worth::expected_information(&weights, &shows(stories))
            };
            TestWorth {
                name: test.name.clone(),
                title: test.title.clone(),
                how: test.how.clone(),
                effort_min: test.effort_min,
                between_best_two_bits: of(&best),
                among_all_bits: of(&known),
                outcomes: test.outcomes.clone(),
                chances: known
                    .iter()
                    .zip(shows(&known))
                    .map(|(&i, row)| (book.stories[i].name.clone(), row))
                    .collect(),
            }
        })
        .collect();
    let rank = |t: &TestWorth| {
        let bits = t.between_best_two_bits;
        let is_worth = bits >= worth::LEAST_BITS;
        (is_worth, worth::for_its_effort(bits, t.effort_min))
    };
    worth.sort_by(|a, b| {
        let ((a_worth, a), (b_worth, b)) = (rank(a), rank(b));
        b_worth.cmp(&a_worth).then(b.total_cmp(&a))
    });
    worth
}

#[cfg(test)]
mod tests {
    use super::*;

    fn readings(all: &[(What, f64, f64)]) -> Readings {
        let one = |&(what, day, value): &(What, f64, f64)| Reading {
            line: 1,
            what,
            from_day: day,
            day,
            value,
            sd: 0.1,
            wider: 1.0,
        };
        Readings {
            readings: all.iter().map(one).collect(),
            last_day: 30.0,
            ..Readings::default()
        }
    }

    #[test]
    fn the_last_sour_reading_is_an_alarm_and_an_old_or_a_better_one_is_none() {
        let (ph, burns) = (What::Ph, What::Burns);
        let of = |all: &[(What, f64, f64)]| alarm(&readings(all)).map(|a| (a.day, a.ph));
        assert_eq!(
            of(&[(ph, 20.0, 7.0), (ph, 29.0, 5.7)]),
            Some((29.0, Some(5.7)))
        );
        assert_eq!(of(&[(ph, 20.0, 5.7), (ph, 29.0, 6.9)]), None);
        assert_eq!(of(&[(ph, 10.0, 5.7)]), None, "three weeks ago");
        assert_eq!(
            of(&[(burns, 20.0, 1.0), (burns, 28.0, 0.0)]),
            Some((28.0, None))
        );
        assert_eq!(of(&[(burns, 28.0, 0.0)]), None, "it never burnt");
        assert_eq!(
            of(&[(burns, 20.0, 1.0), (burns, 28.0, 0.0), (ph, 28.0, 7.2)]),
            None,
            "the pH says why not"
        );
        assert_eq!(of(&[(What::Gas, 29.0, 0.0)]), None);
    }
}
