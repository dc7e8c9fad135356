//! The study, stage by stage: milestones, own pace, search, check, rules of thumb, what would shorten it.
//!
//! A stop between two stages or within one keeps the stages that are done.

use std::sync::atomic::{AtomicU64, Ordering};

use super::courses::{course, courses};
use super::judge::{Fared, Limits, Milestones, fared, milestones};
use super::members::{Members, Workers};
use super::plan::Plan;
use super::result::{Begin, Feeding, MilestoneKind, Rule, RuleKind, Startup, Stuck, Tally};
use super::search::{Beginning, Search, Standing, Tried, own_plan, standing};
use super::season;
use super::shorten::{self, Shortener};
use super::spread::Spread;
use super::summary::{filling, milestone, milestone_spreads, wanted};
use super::{FEWEST_DRAWS, MOST_DRAWS, Options, PROOF_D, SHORTEST_D, StartupError};
use crate::case::Case;
use crate::simulate::Outcome;
use crate::study::generator::GENERATOR;
use crate::study::statistics::{CONFIDENCE, chance};
use crate::study::uncertain::Uncertain;

/// Share of draws that a plan must hold in.
const HOLDS: f64 = 0.95;
/// Share of draws that may leave the limits while a plan is searched, one after the other until fresh draws confirm
/// the plan. The first is below 5 % already: the plan that just passes on its own draws does worse on fresh ones.
const SPARES: [f64; 4] = [0.03, 0.02, 0.01, 0.0];
/// Steps in which the largest safe feed is told, as a share of the wanted feed.
const SIZE_STEP: f64 = 0.05;
/// Beginning of each draw's own ramp, as a share of the wanted feed.
const OWN_BEGINNING: f64 = 0.1;
/// Resolution of each draw's own ramp \[d\].
const OWN_STEP_D: u32 = 2;
/// Even share more a week, in the rule of thumb.
const TENTH: f64 = 0.1;
/// Days without feed, in the rule of thumb.
const FOUR_WEEKS_D: u32 = 28;
/// Runs after which a search ends: so many for each draw and so many besides. A search that finds its plan takes about a
/// third of them; one that finds none in a long and hostile run would go on for an hour.
const RUNS_PER_DRAW: u64 = 30;
const RUNS_BESIDES: u64 = 500;
/// Plans that a search usually tries; for the progress only.
const USUAL_PLANS: f64 = 120.0;

/// Where each stage ends on the way from 0 to 1: shares of the usual work.
const STAGES: [(&str, f64); 6] = [
    ("starting unfed", 0.04),
    ("each at its own pace", 0.2),
    ("looking for a plan", 0.7),
    ("checking the plan", 0.77),
    ("trying rules of thumb", 0.92),
    ("trying other starts", 1.0),
];

/// Plans a start. `wanted` is the case with the wanted feed on every day as its doses; `times` is only told.
/// `progress` is called with the stage and the share done, also from worker threads.
///
/// # Errors
/// [`StartupError`].
pub fn startup(
    wanted: &Case,
    times: f64,
    uncertain: &Uncertain,
    options: Options<'_>,
    progress: &(dyn Fn(&'static str, f64) + Sync),
) -> Result<Startup, StartupError> {
    check(wanted, &options)?;
    let study = |case| Study {
        case,
        uncertain,
        options,
        workers: Workers {
            threads: options.threads,
            stop: options.stop,
        },
        limits: Limits::standard(),
        progress,
        stage: 0,
        runs: AtomicU64::new(0),
        failed: AtomicU64::new(0),
    };
    let whole = study(wanted);
    let cold = whole.cold()?;
    let short;
    let mut study = match &cold {
        None => whole,
        Some(cold) => {
            short = season::until(wanted, cold.pause_from);
            Study {
                case: &short,
                ..whole
            }
        }
    };
    let mut result = study.blank(times);
    result.cold = cold;
    study.fill(wanted, &mut result)?;
    result.runs = study.runs.load(Ordering::Relaxed);
    result.failed_runs = study.failed.load(Ordering::Relaxed);
    result.stopped = study.workers.stopped();
    Ok(result)
}

fn check(case: &Case, options: &Options<'_>) -> Result<(), StartupError> {
    if case.inflow.is_some() {
        return Err(StartupError::Stream);
    }
    if !case.doses.iter().any(|d| !d.parts.is_empty()) {
        return Err(StartupError::NoFeed);
    }
    if case.days < SHORTEST_D {
        return Err(StartupError::TooShort { days: case.days });
    }
    for draws in [options.draws, options.checks] {
        if !(FEWEST_DRAWS..=MOST_DRAWS).contains(&draws) {
            return Err(StartupError::Draws(draws));
        }
    }
    Ok(())
}

pub(super) struct Study<'a> {
    pub(super) case: &'a Case,
    pub(super) uncertain: &'a Uncertain,
    pub(super) options: Options<'a>,
    workers: Workers<'a>,
    pub(super) limits: Limits,
    progress: &'a (dyn Fn(&'static str, f64) + Sync),
    stage: usize,
    runs: AtomicU64,
    failed: AtomicU64,
}

impl Study<'_> {
    fn blank(&self, times: f64) -> Startup {
        Startup {
            title: self.case.title.clone(),
            about: self.case.about.clone(),
            start_date: self.case.start_date.map(|d| d.to_string()),
            days: self.case.days,
            file: self.case.source.file.clone(),
            sha256: self.case.source.sha256.clone(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            seed: self.options.seed,
            generator: GENERATOR.to_owned(),
            draws: self.options.draws,
            runs: 0,
            failed_runs: 0,
            stopped: false,
            limits: self.limits.clone(),
            filling: filling(self.case),
            wanted: wanted(self.case, times),
            search_cut_short: false,
            milestones: Vec::new(),
            cold: None,
            stuck: None,
            feeding: None,
            searched: false,
            rules: Vec::new(),
            courses: None,
            shorteners: Vec::new(),
        }
    }

    /// When feeding begins on these draws; `None` when stopped.
    pub(super) fn beginning_of(
        &self,
        members: &Members,
        begin: Begin,
    ) -> Result<Option<Beginning>, StartupError> {
        Ok(match begin {
            Begin::Fixed => Some(Beginning::Fixed(0)),
            Begin::WhenChecksPass { .. } => self
                .unfed(members)?
                .map(|unfed| Beginning::Checked(unfed.iter().map(|m| m.checks_pass).collect())),
        })
    }

    fn fill(&mut self, whole: &Case, result: &mut Startup) -> Result<(), StartupError> {
        let (draws, seed) = (self.options.draws, self.options.seed);
        let members = Members::draw(self.case, self.uncertain, draws, seed)?;
        let Some(unfed) = self.unfed(&members)? else {
            return Ok(());
        };
        result.milestones = milestone_spreads(&unfed);
        result.stuck = Some(stuck(&unfed));
        self.stage = 1;
        let Some(own) = self.own_pace(&members, &unfed)? else {
            return Ok(());
        };
        result
            .milestones
            .extend(milestone(MilestoneKind::FullFeed, &own));
        self.stage = 2;
        let found = if result.cold.as_ref().is_none_or(|c| c.has_room) {
            self.feeding(&members, &unfed, result)?
        } else {
            result.searched = true;
            None
        };
        if self.workers.stopped() {
            return Ok(());
        }
        if let Some(fresh) = &found {
            self.comes_through(whole, result, fresh)?;
        }
        self.stage = 4;
        let fresh = match found {
            Some(fresh) => fresh,
            None => Fresh {
                members: self.fresh(0)?,
                seed: self.fresh_seed(0),
                fared: None,
                judged: (0..self.options.checks).collect(),
            },
        };
        let Some(rules) = self.rules(&fresh)? else {
            return Ok(());
        };
        result.rules = rules;
        self.stage = 5;
        self.shorteners(&unfed, result)
    }

    /// Tells the share done of the present stage.
    fn tell(&self, share: f64) {
        let (name, end) = STAGES[self.stage];
        let begin = self.stage.checked_sub(1).map_or(0.0, |i| STAGES[i].1);
        (self.progress)(name, begin + (end - begin) * share.clamp(0.0, 1.0));
    }

    /// Runs `count` members on plans as [`Workers::runs`] does and counts those that break off; `None` when stopped.
    pub(super) fn each<R: Send>(
        &self,
        members: &Members,
        count: usize,
        plan: impl Fn(usize) -> (usize, Plan, f64) + Sync,
        look: impl Fn(usize, &Outcome) -> R + Sync,
    ) -> Result<Option<Vec<Option<R>>>, StartupError> {
        let done = self.workers.runs(members, count, plan, look, &|n| {
            self.tell(n as f64 / count as f64);
        })?;
        if self.workers.stopped() {
            return Ok(None);
        }
        let failed = done.iter().filter(|r| r.is_none()).count() as u64;
        self.runs.fetch_add(count as u64, Ordering::Relaxed);
        self.failed.fetch_add(failed, Ordering::Relaxed);
        Ok(Some(done))
    }

    pub(super) fn unfed(&self, members: &Members) -> Result<Option<Vec<Milestones>>, StartupError> {
        let found = self.each(
            members,
            members.len(),
            |i| (i, Plan::default(), 1.0),
            |_, outcome| milestones(outcome, &self.limits),
        )?;
        // A run that breaks off gets nowhere.
        Ok(found.map(|all| all.into_iter().map(Option::unwrap_or_default).collect()))
    }

    /// Day of the whole feed of each draw at its own pace: from its own first safe day, over the shortest ramp that it
    /// bears. Found by bisection of the length, as if a longer ramp were never worse.
    fn own_pace(
        &self,
        members: &Members,
        unfed: &[Milestones],
    ) -> Result<Option<Vec<Option<f64>>>, StartupError> {
        let latest = self.case.days - PROOF_D;
        let (extra, failed) = (AtomicU64::new(0), AtomicU64::new(0));
        let bears = |i: usize, first: u32, length: u32| {
            extra.fetch_add(1, Ordering::Relaxed);
            let plan = Plan::geometric(first, first + length, OWN_BEGINNING);
            let Some(outcome) = members.run(i, &plan, 1.0) else {
                failed.fetch_add(1, Ordering::Relaxed);
                return None;
            };
            Some(fared(&outcome, Some(first), &self.limits).left.is_none())
        };
        let found = self.workers.all(
            members.len(),
            |i| {
                let first = unfed[i].safe_feed.filter(|&d| d <= latest)?;
                let most = (latest - first) / OWN_STEP_D;
                if !bears(i, first, most * OWN_STEP_D)? {
                    return None;
                }
                let (mut low, mut high) = (0, most);
                while low < high {
                    let middle = low + (high - low) / 2;
                    if bears(i, first, middle * OWN_STEP_D)? {
                        high = middle;
                    } else {
                        low = middle + 1;
                    }
                }
                Some(f64::from(first + high * OWN_STEP_D))
            },
            &|n| self.tell(n as f64 / members.len() as f64),
        )?;
        self.runs.fetch_add(extra.into_inner(), Ordering::Relaxed);
        self.failed
            .fetch_add(failed.into_inner(), Ordering::Relaxed);
        if self.workers.stopped() {
            return Ok(None);
        }
        Ok(Some(found.into_iter().map(Option::flatten).collect()))
    }

    /// Fresh draws, of a seed of their own for each attempt.
    fn fresh(&self, attempt: u64) -> Result<Members, StartupError> {
        let seed = self.fresh_seed(attempt);
        Members::draw(self.case, self.uncertain, self.options.checks, seed)
    }

    fn fresh_seed(&self, attempt: u64) -> u64 {
        // Far from the seeds that people type, so that no check repeats a planning.
        const AWAY: u64 = 0x5EED_0000_0000_0001;
        self.options.seed.wrapping_add(AWAY).wrapping_add(attempt)
    }

    /// Searches a plan, checks it on fresh draws, and searches with less to spare while they do not confirm it.
    fn feeding(
        &mut self,
        members: &Members,
        unfed: &[Milestones],
        result: &mut Startup,
    ) -> Result<Option<Fresh>, StartupError> {
        let beginning = beginning(unfed, self.case.days);
        let floor = match &beginning {
            Beginning::Fixed(day) => *day,
            Beginning::Checked(_) => 0,
        };
        let mut earliest = floor;
        let latest = latest(&beginning, self.case.days);
        let mut size = 1.0;
        let mut last = None;
        for (attempt, spare) in SPARES.into_iter().enumerate() {
            self.stage = 2;
            let plans = AtomicU64::new(0);
            let tick = || {
                let tried = plans.fetch_add(1, Ordering::Relaxed) as f64;
                // Never quite there, since nobody knows how many it takes.
                self.tell(tried / (tried + USUAL_PLANS / 2.0));
            };
            let mut search = Search {
                members,
                workers: self.workers,
                limits: &self.limits,
                days: self.case.days,
                size,
                spare,
                frailty: frailty(unfed),
                runs: 0,
                most_runs: RUNS_PER_DRAW * members.len() as u64 + RUNS_BESIDES,
                failed: 0,
                tick: &tick,
            };
            let found = search_at_any_size(&mut search, &beginning, (floor, earliest), latest)?;
            self.runs.fetch_add(search.runs, Ordering::Relaxed);
            self.failed.fetch_add(search.failed, Ordering::Relaxed);
            size = search.size;
            result.search_cut_short |= search.must_end();
            let Some(tried) = found else {
                if self.workers.stopped() {
                    return Ok(None);
                }
                // A plan that its check does not confirm is shown with that check, never as if it held.
                break;
            };
            earliest = tried.plan.full_day().unwrap_or(earliest);
            let holds = chance(
                (tried.fed - tried.left) as u64,
                tried.fed as u64,
                CONFIDENCE,
            );
            let mut feeding = Feeding {
                begin: begin(&beginning),
                size,
                planned: holds,
                attempts: attempt + 1,
                checked: None,
                plan: tried.plan,
            };
            self.stage = 3;
            let checked = match self.workers.stopped() {
                true => None,
                false => self.check_plan(&mut feeding, attempt as u64, result)?,
            };
            result.feeding = Some(feeding);
            let Some((fresh, holds)) = checked else {
                return Ok(None);
            };
            last = Some(fresh);
            if holds >= HOLDS {
                break;
            }
        }
        result.searched = true;
        // The checks so far chose the plan; what is told of it comes from draws that had no say.
        if let Some(mut feeding) = result.feeding.take() {
            feeding.checked = None;
            let again = self.check_plan(&mut feeding, SPARES.len() as u64, result)?;
            result.feeding = Some(feeding);
            let Some((fresh, _)) = again else {
                return Ok(None);
            };
            last = Some(fresh);
        }
        Ok(last)
    }

    /// Runs a plan on fresh draws; gives them and the share in which it holds.
    fn check_plan(
        &self,
        feeding: &mut Feeding,
        attempt: u64,
        result: &mut Startup,
    ) -> Result<Option<(Fresh, f64)>, StartupError> {
        let members = self.fresh(attempt)?;
        let Some(beginning) = self.beginning_of(&members, feeding.begin)? else {
            return Ok(None);
        };
        let own = |i: usize| own_plan(&feeding.plan, &beginning, i);
        let found = self.each(
            &members,
            members.len(),
            |i| (i, own(i).0, feeding.size),
            |i, outcome| (fared(outcome, own(i).1, &self.limits), course(outcome)),
        )?;
        let Some(found) = found else {
            return Ok(None);
        };
        let fared: Vec<Option<Fared>> = found.iter().map(|f| f.as_ref().map(|f| f.0)).collect();
        let tally = tally_of(&feeding.plan, &beginning, self.case.days, &fared);
        let bands: Vec<_> = found
            .into_iter()
            .enumerate()
            .filter_map(|(i, f)| Some((zero(&beginning, i)?, f?.1)))
            .collect();
        // Days and variables are those that the bands were made for.
        result.courses = courses(&bands, self.case.days).ok();
        let holds = tally.map_or(0.0, |t| t.holds.share);
        feeding.checked = tally;
        let judged = (0..members.len())
            .filter(|&i| standing(&feeding.plan, &beginning, i, self.case.days) == Standing::Judged)
            .collect();
        let fresh = Fresh {
            members,
            seed: self.fresh_seed(attempt),
            fared: Some(fared),
            judged,
        };
        Ok(Some((fresh, holds)))
    }

    fn rules(&self, fresh: &Fresh) -> Result<Option<Vec<Rule>>, StartupError> {
        let rules = [
            (RuleKind::AtOnce, Plan::geometric(0, 0, 1.0)),
            (RuleKind::TenthAWeek, Plan::even(TENTH)),
            (
                RuleKind::FourWeeks,
                Plan::geometric(FOUR_WEEKS_D, FOUR_WEEKS_D, 1.0),
            ),
        ];
        // Plan and rules are held against each other on the same draws.
        let count = fresh.judged.len();
        if count == 0 {
            return Ok(Some(Vec::new()));
        }
        let plan = |k: usize| &rules[k / count].1;
        let found = self.each(
            &fresh.members,
            count * rules.len(),
            |k| (fresh.judged[k % count], plan(k).clone(), 1.0),
            |k, outcome| fared(outcome, plan(k).first_day(), &self.limits),
        )?;
        let Some(found) = found else {
            return Ok(None);
        };
        let planned: Option<Vec<Option<Fared>>> = fresh
            .fared
            .as_ref()
            .map(|all| fresh.judged.iter().map(|&i| all[i]).collect());
        let rules = rules.into_iter().zip(found.chunks(count));
        Ok(Some(
            rules
                .filter_map(|((kind, plan), fared)| {
                    Some(Rule {
                        kind,
                        tally: tally_of(&plan, &Beginning::Fixed(0), self.case.days, fared)?,
                        plan,
                        methane_lost_nl: planned.as_deref().and_then(|p| lost(p, fared)),
                    })
                })
                .collect(),
        ))
    }

    fn shorteners(&self, unfed: &[Milestones], result: &mut Startup) -> Result<(), StartupError> {
        let (draws, seed) = (self.options.draws, self.options.seed);
        let last = f64::from(self.case.days);
        for (kind, case) in shorten::changed(self.case) {
            let members = Members::draw(&case, self.uncertain, draws, seed)?;
            let Some(after) = self.unfed(&members)? else {
                return Ok(());
            };
            let safe = |m: &Milestones| m.safe_feed.map(f64::from);
            let of = |all: &[Milestones], f: fn(&Milestones) -> Option<f64>| -> Vec<_> {
                all.iter().map(f).collect()
            };
            let never = |all: &[Milestones]| {
                all.iter().filter(|m| m.safe_feed.is_none()).count() as f64 / all.len() as f64
            };
            let flame = shorten::won(
                &of(unfed, |m| m.steady_flame),
                &of(&after, |m| m.steady_flame),
                last,
            );
            let feed = shorten::won(&of(unfed, safe), &of(&after, safe), last);
            if let (Some(flame), Some(feed)) = (flame, feed) {
                result.shorteners.push(Shortener {
                    kind,
                    flame,
                    feed,
                    never_safe: (never(unfed), never(&after)),
                });
            }
        }
        let median = |s: &Shortener| (s.feed.p50.unwrap_or(0.0), s.flame.p50.unwrap_or(0.0));
        result.shorteners.sort_by(|a, b| {
            let ((a, a2), (b, b2)) = (median(a), median(b));
            b.total_cmp(&a).then(b2.total_cmp(&a2))
        });
        Ok(())
    }
}

/// Fresh draws, and how the plan fared on them.
pub(super) struct Fresh {
    members: Members,
    /// Seed that they were drawn with.
    pub(super) seed: u64,
    pub(super) fared: Option<Vec<Option<Fared>>>,
    /// Those by which the plan is judged; all of them without a plan.
    pub(super) judged: Vec<usize>,
}

/// Draws whose checks never pass.
fn stuck(unfed: &[Milestones]) -> Stuck {
    let never = || unfed.iter().filter(|m| m.checks_pass.is_none());
    let passing: Vec<Option<f64>> = unfed
        .iter()
        .filter_map(|m| m.checks_pass.map(|d| Some(f64::from(d))))
        .collect();
    Stuck {
        draws: unfed.len(),
        never: never().count(),
        sour: never().filter(|m| m.sour).count(),
        late_day: Spread::of(&passing).and_then(|s| s.p95),
    }
}

/// A fixed first day where nearly all starters come right in time, else one that the checks give.
pub(super) fn beginning(unfed: &[Milestones], days: u32) -> Beginning {
    let mut safe: Vec<u32> = unfed.iter().filter_map(|m| m.safe_feed).collect();
    safe.sort_unstable();
    let wanted = unfed.len() - (SPARES[0] * unfed.len() as f64) as usize;
    match safe.get(wanted - 1) {
        Some(&day) if day + PROOF_D <= days => Beginning::Fixed(day),
        _ => Beginning::Checked(unfed.iter().map(|m| m.checks_pass).collect()),
    }
}

/// Latest day of the whole feed, in days of the plan.
fn latest(beginning: &Beginning, days: u32) -> u32 {
    let start = match beginning {
        Beginning::Fixed(_) => 0,
        // Three in four of those that pass their checks have the proof within the run; later ones have less.
        Beginning::Checked(starts) => {
            let mut starts: Vec<u32> = starts.iter().flatten().copied().collect();
            starts.sort_unstable();
            starts.get(starts.len() * 3 / 4).copied().unwrap_or(days)
        }
    };
    days.saturating_sub(PROOF_D + start)
}

fn begin(beginning: &Beginning) -> Begin {
    let spread = match beginning {
        Beginning::Fixed(_) => None,
        Beginning::Checked(days) => {
            let days: Vec<Option<f64>> = days.iter().map(|d| d.map(f64::from)).collect();
            Spread::of(&days)
        }
    };
    spread.map_or(Begin::Fixed, |start| Begin::WhenChecksPass { start })
}

/// Late starters first: they bear least.
fn frailty(unfed: &[Milestones]) -> Vec<u32> {
    unfed
        .iter()
        .map(|m| m.safe_feed.map_or(3, |d| u32::from(d > PROOF_D)))
        .collect()
}

/// The soonest plan for the wanted feed, or else for the largest share of it that some plan bears. Of the two earliest
/// days the first holds for any size, the second for the present one. A stop ends it with the best plan so far.
fn search_at_any_size(
    search: &mut Search<'_>,
    beginning: &Beginning,
    (floor, earliest): (u32, u32),
    latest: u32,
) -> Result<Option<Tried>, StartupError> {
    let found = search.soonest(beginning, earliest, latest)?;
    if found.is_some() || search.must_end() || floor > latest {
        return Ok(found);
    }
    let steps = (search.size / SIZE_STEP).round() as u32;
    // Largest number of steps known to hold with its plan, smallest known to fail.
    let (mut holds, mut fails) = ((0, None), steps);
    while fails - holds.0 > 1 && !search.must_end() {
        let middle = holds.0 + (fails - holds.0) / 2;
        search.size = f64::from(middle) * SIZE_STEP;
        match search.possible(beginning, latest)? {
            Some(tried) => holds = (middle, Some(tried)),
            None => fails = middle,
        }
    }
    let (steps, Some(late)) = holds else {
        return Ok(None);
    };
    search.size = f64::from(steps) * SIZE_STEP;
    // A smaller feed may be reached sooner than the larger one was.
    Ok(Some(
        search.soonest(beginning, floor, latest)?.unwrap_or(late),
    ))
}

/// Day from which the days of the plan count in a draw; `None` for one that is never fed.
fn zero(beginning: &Beginning, index: usize) -> Option<u32> {
    match beginning {
        Beginning::Fixed(_) => Some(0),
        Beginning::Checked(days) => days.get(index).copied().flatten(),
    }
}

/// Counts draws; one that can be judged and whose run broke off counts as having left the limits. `None` where none can.
fn tally_of(
    plan: &Plan,
    beginning: &Beginning,
    days: u32,
    fared: &[Option<Fared>],
) -> Option<Tally> {
    let of = |wanted: Standing| {
        let all = fared.iter().enumerate();
        all.filter(move |(i, _)| standing(plan, beginning, *i, days) == wanted)
            .map(|(_, f)| f)
    };
    let judged = || of(Standing::Judged);
    let holds = judged()
        .filter(|f| f.is_some_and(|f| f.left.is_none()))
        .count();
    let sours = judged().filter(|f| f.is_none_or(|f| f.sour)).count();
    let fed = judged().count();
    let share = |hits: usize| chance(hits as u64, fed as u64, CONFIDENCE);
    Some(Tally {
        draws: fared.len(),
        fed,
        unproven: of(Standing::Unproven).count(),
        holds: share(holds)?,
        sours: share(sours)?,
    })
}

/// Methane that a rule gives less than the plan, draw by draw.
fn lost(plan: &[Option<Fared>], rule: &[Option<Fared>]) -> Option<Spread> {
    let pairs = plan.iter().zip(rule);
    let lost: Vec<Option<f64>> = pairs
        .filter_map(|(p, r)| Some(Some(p.as_ref()?.methane_nl - r.as_ref()?.methane_nl)))
        .collect();
    Spread::of(&lost)
}
