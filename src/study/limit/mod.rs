//! Where a digester turns sour: the branch of its steady states, its fold or washout, and what it survives today.
//!
//! | file | holds |
//! |---|---|
//! | `feed` | the average day's mixture and the pattern of its doses |
//! | `steady` | the steady states of a tank as a family in one parameter |
//! | `branch` | from a healthy state along the branch to where it ends |
//! | `search` | a healthy start, the branches, the confirmation by real doses |
//! | `trial` | one vessel through real doses from a given state |
//! | `shocks` | overfeed, cold spell, pause, rescues |
//! | `warning`, `signs` | the earliest sign |
//! | `crew` | trials in parallel, with one progress |
//! | `outcome`, `failure` | what comes out |

mod branch;
mod crew;
mod failure;
mod feed;
mod outcome;
mod search;
mod shocks;
mod signs;
mod steady;
mod trial;
mod warning;

use std::sync::atomic::AtomicBool;

use crate::case::Case;
use crate::digester::Bands;
use crate::simulate::{self, DayRow, Provenance};
use crate::study::batch::BatchOptions;
use crate::units::ZERO_C;

pub use failure::LimitFailure;
pub use outcome::{
    Cold, Confirmation, FeedFacts, LimitKind, LimitOutcome, LimitPoint, Measure, Over, Overfeed,
    Piece, PieceKind, Rescue, Season, Shocks, SignSeen, SteadyPoint, TemperatureLimits, Today,
    Warning, Week,
};
pub use signs::{Practice, Sign, Signs, Watched};
pub use steady::{Along, SteadyTank};

use crew::Crew;
use feed::Feed;
use search::Search;
use shocks::{Start, TRIAL_D};
use trial::{Plan, Site, is_alive, is_sour, methane, recent_methane};

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// Over what.
    pub over: Over,
    /// How far to look \[kg/d, d or C\]; `None` for a range that suits.
    pub to: Option<f64>,
    /// The day that counts as today; `None` for the end of the run.
    pub day: Option<u32>,
    /// Whether to try what the tank survives today, besides the limit itself.
    pub shocks: bool,
    /// Worker threads; `None` for one per core.
    pub threads: Option<usize>,
    /// Set by the caller to stop early.
    pub stop: &'a AtomicBool,
}

/// Looks for the limit of a case. `progress` is called with the share done, 0 to 1, from any thread.
///
/// # Errors
/// [`LimitFailure`]. That there is no limit within the range is no error.
pub fn limit(
    case: &Case,
    question: &Question<'_>,
    progress: &(dyn Fn(f64) + Sync),
) -> Result<LimitOutcome, LimitFailure> {
    let day = question.day.unwrap_or(case.days);
    if !(1..=case.days).contains(&day) {
        return Err(LimitFailure::Day {
            day,
            days: case.days,
        });
    }
    let engine = simulate::engine(case)?;
    // What is tried from today on goes on into weather that the run itself need not reach.
    let ahead_to = day + TRIAL_D as u32;
    let site = Site::new(&engine, case, ahead_to, question.stop);
    let feed = Feed::of(&engine, case, f64::from(day)).ok_or(LimitFailure::NotFed { day })?;
    let crew = Crew::new(
        BatchOptions {
            threads: question.threads,
            ..BatchOptions::new(question.stop)
        },
        progress,
    );
    let search = Search::new(&site, case, &feed, f64::from(day));
    let found = search.branch(question, &crew)?;
    crew.next_part(0.3);
    let confirmation = search.confirm(&found, &crew)?;
    crew.next_part(0.05);
    let warning = search.warning(&found)?;

    // What really happened until today, and what would go on to happen.
    crew.next_part(0.05);
    let bands = Bands::standard();
    let until = f64::from(day);
    let doses = if feed.is_stream {
        feed.schedule(0.0, until, 1.0)
    } else {
        case.doses
            .iter()
            .filter(|d| d.day < until)
            .map(|d| {
                let one = feed::load(&engine, case, &d.parts, d.water_kg, &d.additives);
                (d.day, one)
            })
            .collect()
    };
    let plan = |site: &Site<'_>, doses, until| Plan {
        doses,
        course: site.case.vessels[0].temperature.clone(),
        until,
        give_up: None,
    };
    let past = site.go(&site.filled(case)?, &plan(&site, doses, until))?;
    let later = until + TRIAL_D;
    let ahead = |site: &Site<'_>| {
        site.go(
            &past.end,
            &plan(site, feed.schedule(until, later, 1.0), later),
        )
    };
    let before = recent_methane(&past.rows);
    // What the season does to a tank that is fed on like this is told apart: every trial holds the present warmth, or
    // a healthy tank would seem to die of the winter whatever it is given today.
    let held = site.held_at(search.temperature_c);
    let known_to = held
        .as_ref()
        .and_then(|_| site.known_to(until, feed::WINDOW_D, later));
    let season = match held {
        Some(_) if known_to.is_none() => Some(season(&ahead(&site)?.rows, before, &bands)),
        _ => None,
    };
    let ground = held.as_ref().unwrap_or(&site);
    let undisturbed = ahead(ground)?;
    let lives = is_alive(&undisturbed.rows, before, &bands);
    let shocks = if lives && question.shocks {
        let start = Start {
            site: ground,
            feed: &feed,
            today: &past.end,
            undisturbed: &undisturbed,
            bands: &bands,
        };
        Some(shocks::shocks(&start, &crew, [0.2, 0.1, 0.2])?)
    } else {
        None
    };
    progress(1.0);
    let last = past.rows.last();
    Ok(LimitOutcome {
        title: case.title.clone(),
        about: case.about.clone(),
        over: question.over,
        day,
        vessel: case.vessels[0].name.clone(),
        liquid_l: 1000.0 * case.vessels[0].liquid_m3,
        vessels: case.vessels.len(),
        feed: search.facts(),
        temperature_c: search.temperature_c,
        pieces: found.pieces,
        limit: found.limit,
        searched_to: found.searched_to,
        searched_loading: found.searched_loading,
        healthy_today: found.healthy_today,
        temperature: found.temperature,
        confirmation,
        today: Today {
            ph: last.map_or(f64::NAN, |r| r.ph),
            acid_ratio: last.map_or(f64::NAN, |r| r.acid_ratio),
            ch4_nl_d: before,
            ch4_later_nl_d: recent_methane(&undisturbed.rows),
            temperature_c: past.end.y.last().map_or(f64::NAN, |t| t - ZERO_C),
            lives,
            season,
            season_unknown_from: known_to,
        },
        shocks,
        warning,
        practice: Signs::standard()
            .practice
            .into_iter()
            .filter(|p| !p.food_alone || !feed.carries_life)
            .collect(),
        provenance: Provenance::of(case, &engine.network),
    })
}

/// What the trial days do to a tank that is fed on under the scenario's own temperatures.
fn season(rows: &[DayRow], before: f64, bands: &Bands) -> Season {
    Season {
        ends_c: rows.last().map_or(f64::NAN, |r| r.temperature_c),
        sour: rows
            .last()
            .is_some_and(|r| is_sour(r.ph, r.acid_ratio, bands)),
        methane_share: recent_methane(rows) / before,
    }
}

/// Whether the methane of a run has been gone for a month: nothing more is to be learnt from it.
fn is_dead(rows: &[DayRow], expected: f64) -> bool {
    const DAYS: usize = 30;
    const SHARE: f64 = 0.25;
    rows.len() > DAYS
        && rows[rows.len() - DAYS..]
            .iter()
            .all(|r| methane(r) < SHARE * expected)
}
