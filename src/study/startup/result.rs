//! What the study of a start gives. Pure data: no words.

use serde::Serialize;

use super::courses::Courses;
use super::judge::Limits;
use super::plan::Plan;
use super::season::Cold;
use super::shorten::Shortener;
use super::spread::Spread;
use crate::study::statistics::Chance;

/// The whole study.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Startup {
    /// Scenario title.
    pub title: String,
    /// Scenario description.
    pub about: String,
    /// Calendar date of day 0 (ISO 8601), if given.
    pub start_date: Option<String>,
    /// Days of the study: those of the run, or fewer where the cold ends it.
    pub days: u32,
    /// Scenario file as the user named it.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
    /// Version of marshgas.
    pub version: String,
    /// Seed of all draws.
    pub seed: u64,
    /// Name and version of the generator of the draws.
    pub generator: String,
    /// Draws that plans were tried on.
    pub draws: usize,
    /// Runs made in all.
    pub runs: u64,
    /// Runs that broke off; they count as having left the limits.
    pub failed_runs: u64,
    /// Whether the study was stopped before its end; the parts not reached are empty.
    pub stopped: bool,
    /// The limits that a plan keeps.
    pub limits: Limits,
    /// The filling of day 0.
    pub filling: Filling,
    /// The feed to work up to.
    pub wanted: Wanted,
    /// When a digester with this starter gets how far.
    pub milestones: Vec<Milestone>,
    /// The cold that ends the study before the end of the run; `None` where none does.
    pub cold: Option<Cold>,
    /// Draws whose checks never pass as long as they are not fed.
    pub stuck: Option<Stuck>,
    /// The feeding found; `None` where no feed is safe, or the study was stopped before it was found.
    pub feeding: Option<Feeding>,
    /// Whether the search for a plan came to its end.
    pub searched: bool,
    /// Whether it ended at its bound of work: there may be a sooner plan, or one where none was found.
    pub search_cut_short: bool,
    /// Rules of thumb beside the plan.
    pub rules: Vec<Rule>,
    /// Bands over time with the plan, over the fresh draws that are fed, in days of the plan.
    pub courses: Option<Courses>,
    /// What would make the start shorter, the best first.
    pub shorteners: Vec<Shortener>,
}

/// The filling of day 0.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Filling {
    /// Name and amount \[kg\] of each material.
    pub materials: Vec<(String, f64)>,
    /// Water \[kg\].
    pub water_kg: f64,
    /// Liquid of all vessels at the outlet \[L\].
    pub liquid_l: f64,
    /// Mean temperature of the first vessel over the first four weeks \[C\].
    pub temperature_c: f64,
}

/// The feed to work up to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wanted {
    /// Name and amount \[kg\] of each material on a feeding day, the mean over the run's feeding days.
    pub materials: Vec<(String, f64)>,
    /// Water \[kg\] on a feeding day.
    pub water_kg: f64,
    /// Days from one feeding to the next; 1 for daily, the mean where they differ.
    pub every_days: f64,
    /// Factor on the scenario's own feed.
    pub times: f64,
    /// Loading of the first vessel, mean over the run \[kg VS/m3/d\].
    pub loading_kg_vs_m3_d: f64,
}

/// Kinds of milestones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MilestoneKind {
    /// The first gas leaves; it holds air.
    FirstGas,
    /// The gas burns for the first time.
    FirstFlame,
    /// The gas burns steadily.
    SteadyFlame,
    /// From now on the unfed liquor keeps the limits.
    SafeFeed,
    /// The whole feed, each draw at the fastest pace that it bears itself.
    FullFeed,
}

/// A milestone over all draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Milestone {
    /// Which.
    pub kind: MilestoneKind,
    /// Days from the filling.
    pub days: Spread,
}

/// Draws whose checks never pass while they are not fed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stuck {
    /// Draws.
    pub draws: usize,
    /// Draws whose checks never pass.
    pub never: usize,
    /// Those of them that end sour, although nothing was fed.
    pub sour: usize,
    /// Day by which the checks of nineteen in twenty of the others have passed; `None` where there are no others.
    pub late_day: Option<f64>,
}

/// When a plan begins.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Begin {
    /// On the same day in every draw: days of the plan count from the filling.
    Fixed,
    /// When the owner's checks pass: days of the plan count from that morning. Used where in too many draws the
    /// starter itself does not come right in time for a fixed day.
    WhenChecksPass {
        /// Days from the filling to that morning.
        start: Spread,
    },
}

/// How many draws did what; shares are of the draws that can be judged: fed, with the full feed reached
/// [`PROOF_D`](super::PROOF_D) days before the end of the run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tally {
    /// Draws.
    pub draws: usize,
    /// Draws that can be judged.
    pub fed: usize,
    /// Draws that were fed, but whose full feed comes too late in the run to be judged. The rest was never fed.
    pub unproven: usize,
    /// Keeps the limits from the first feed to the end of the run.
    pub holds: Chance,
    /// Turns sour after the first feed.
    pub sours: Chance,
}

impl Tally {
    /// Draws that were never fed.
    #[must_use]
    pub fn unfed(&self) -> usize {
        self.draws - self.fed - self.unproven
    }
}

/// The plan found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Feeding {
    /// The plan.
    pub plan: Plan,
    /// How its days count.
    pub begin: Begin,
    /// The feed that it works up to, as a share of the wanted one: 1, or the largest safe share.
    pub size: f64,
    /// Share of the draws that can be judged, of those it was searched with, in which it keeps the limits; `None` where none was fed.
    pub planned: Option<Chance>,
    /// Searches that it took: each search but the last gave a plan that its check did not confirm.
    pub attempts: usize,
    /// On fresh draws that had no say in the choice; `None` where the study was stopped before.
    pub checked: Option<Tally>,
}

/// Rules of thumb.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum RuleKind {
    /// The whole feed from day 0.
    AtOnce,
    /// A tenth of the feed more every week, from day 0.
    TenthAWeek,
    /// Four weeks without feed, then the whole feed.
    FourWeeks,
}

/// A rule of thumb on the draws by which the plan is judged, or on all fresh draws where there is no plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Rule {
    /// Which.
    pub kind: RuleKind,
    /// Its steps.
    pub plan: Plan,
    /// How it did.
    pub tally: Tally,
    /// Methane of the whole run that it gives less than the plan, draw by draw \[norm litres\]; negative where it gives
    /// more. `None` without a plan.
    pub methane_lost_nl: Option<Spread>,
}
