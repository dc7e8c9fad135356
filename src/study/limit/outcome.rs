//! What the search for a limit gives. Pure data: no words for people, no colours.

use serde::Serialize;

use super::signs::{Practice, Sign};
use crate::simulate::Provenance;

/// Over what the limit is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Over {
    /// More and more of the daily mixture.
    Feed,
    /// Shorter and shorter retention of the same mixture.
    Retention,
    /// Colder and warmer.
    Temperature,
}

/// All that was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitOutcome {
    /// Scenario title.
    pub title: String,
    /// Scenario description.
    pub about: String,
    /// Over what.
    pub over: Over,
    /// The day that counts as today: all days before it have passed.
    pub day: u32,
    /// Name of the vessel.
    pub vessel: String,
    /// Liquid volume of the vessel \[L\].
    pub liquid_l: f64,
    /// Vessels of the scenario; the limit is that of the first.
    pub vessels: usize,
    /// The average feed.
    pub feed: FeedFacts,
    /// Mean temperature of the averaged days \[C\].
    pub temperature_c: f64,
    /// The branch, piece by piece.
    pub pieces: Vec<Piece>,
    /// Where the healthy state ends in the direction asked for; `None` if it does not within the range.
    pub limit: Option<LimitPoint>,
    /// End of the search \[unit of the parameter\].
    pub searched_to: f64,
    /// Loading at the end of the search \[kg VS/m3/d\].
    pub searched_loading: f64,
    /// Whether today's feed and temperature have a healthy steady state.
    pub healthy_today: bool,
    /// Limits of temperature at today's feed.
    pub temperature: Option<TemperatureLimits>,
    /// The limit by integration through real doses.
    pub confirmation: Option<Confirmation>,
    /// The vessel on the day itself.
    pub today: Today,
    /// What it survives from that day on; `None` if it does not live on its own.
    pub shocks: Option<Shocks>,
    /// The signs, in a run that turns.
    pub warning: Option<Warning>,
    /// Loadings of practice that apply.
    pub practice: Vec<Practice>,
    /// Where the numbers come from.
    pub provenance: Provenance,
}

/// The average feed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedFacts {
    /// Material without water \[kg/d\].
    pub kg_per_day: f64,
    /// Volume \[L/d\].
    pub litres_per_day: f64,
    /// (name, kg/d), water last.
    pub parts: Vec<(String, f64)>,
    /// Loading \[kg VS/m3/d\]; 0 for a stream, of which only COD is known.
    pub loading_kg_vs_m3_d: f64,
    /// Loading \[kg COD/m3/d\].
    pub loading_kg_cod_m3_d: f64,
    /// Retention time \[d\].
    pub retention_d: f64,
    /// Days averaged.
    pub span_d: f64,
    /// Doses in these days.
    pub doses: usize,
    /// Whether dung or digestate is part of it.
    pub carries_life: bool,
    /// Whether a steady stream feeds.
    pub is_stream: bool,
}

/// A piece of the branch of one kind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// Kind.
    pub kind: PieceKind,
    /// Points in the order of the branch.
    pub points: Vec<SteadyPoint>,
}

/// Kinds of steady states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PieceKind {
    /// Stable and not sour.
    Healthy,
    /// Unstable: a watershed between the two.
    Unstable,
    /// Stable and sour, or without methane.
    Failed,
}

/// A steady state as a person sees it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SteadyPoint {
    /// Parameter \[kg/d, d or C\].
    pub p: f64,
    /// pH.
    pub ph: f64,
    /// Volatile acids \[mg/L as acetic acid\].
    pub acids_mg_l: f64,
    /// Acids over alkalinity.
    pub acid_ratio: f64,
    /// Methane, what leaks included \[norm litres/d\].
    pub ch4_nl_d: f64,
    /// Whether it is stable.
    pub stable: bool,
    /// Largest real part of the eigenvalues \[1/d\].
    pub leading_per_d: f64,
}

/// What ends the healthy branch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LimitKind {
    /// A fold: beyond it there is no healthy steady state.
    Fold,
    /// A living group is washed out.
    Washout,
    /// The tank begins to swing by itself.
    Swing,
    /// The steady state stays but becomes sour by rule.
    Slide,
}

/// Where the healthy state ends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LimitPoint {
    /// What ends it.
    pub kind: LimitKind,
    /// The last healthy steady state.
    pub at: SteadyPoint,
    /// Loading there \[kg VS/m3/d\].
    pub loading_kg_vs_m3_d: f64,
    /// Loading there \[kg COD/m3/d\].
    pub loading_kg_cod_m3_d: f64,
    /// Retention time there \[d\].
    pub retention_d: f64,
    /// Distance from today \[unit of the parameter\]; negative if today is beyond.
    pub slack: f64,
}

/// Limits of temperature at today's feed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TemperatureLimits {
    /// It turns below \[C\]; `None` if not above the end of the search.
    pub cold_c: Option<f64>,
    /// It turns above \[C\].
    pub warm_c: Option<f64>,
    /// Ends of the search \[C\].
    pub searched_c: (f64, f64),
}

/// The limit by integration.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Confirmation {
    /// Highest value that stays healthy \[unit of the parameter\]; `None` if none tried did.
    pub stays: Option<f64>,
    /// First value that turns; `None` if none tried did.
    pub turns: Option<f64>,
    /// (value, whether it stays healthy) of the two runs next to the limit on its two sides.
    pub sides: Vec<(f64, bool)>,
    /// Whether no run beyond the first that turns stays healthy.
    pub monotone: bool,
    /// Days of each run.
    pub days: u32,
    /// Difference of the middle of the two from the branch, relative (feed, retention) or \[K\] (temperature).
    pub difference: Option<f64>,
}

/// The vessel on the day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Today {
    /// pH.
    pub ph: f64,
    /// Acids over alkalinity.
    pub acid_ratio: f64,
    /// Methane \[norm litres/d\], mean of the last two weeks.
    pub ch4_nl_d: f64,
    /// Methane that the same feeding gives at the end of the trials, undisturbed \[norm litres/d\].
    pub ch4_later_nl_d: f64,
    /// Temperature \[C\].
    pub temperature_c: f64,
    /// Whether it lives through the trial days undisturbed, the temperature held at its present mean.
    pub lives: bool,
    /// What the scenario's own temperatures do to it, fed on, in these days; `None` where they do not change, or are not
    /// known.
    pub season: Option<Season>,
    /// Day with which a table or points of the temperature or of the weather end within these days, so that the season
    /// after it cannot be judged.
    pub season_unknown_from: Option<f64>,
}

/// What a changing temperature does within the trial days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Season {
    /// Temperature of the last day \[C\].
    pub ends_c: f64,
    /// Whether the tank is sour then.
    pub sour: bool,
    /// Its methane then, against that of today.
    pub methane_share: f64,
}

/// What it survives.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shocks {
    /// Days of each trial.
    pub days: u32,
    /// Overfeeds on top of one day's feed.
    pub overfeed: Overfeed,
    /// Cold for a week.
    pub cold: Cold,
}

/// An overfeed of the mixture: single, or the daily feed many times over for a week.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Overfeed {
    /// Largest that is survived \[kg of material\].
    pub survives_kg: Option<f64>,
    /// Smallest that is not \[kg\]; `None` if all tried are.
    pub fails_kg: Option<f64>,
    /// Largest tried \[kg\].
    pub tried_kg: f64,
    /// The week-long overfeed, tried where no single one fails.
    pub week: Option<Week>,
    /// The overfeed against which pause and rescues are tried \[kg\], over all its days.
    pub beyond_kg: Option<f64>,
    /// Days over which that overfeed is given.
    pub beyond_days: u32,
    /// Shortest pause after it that heals \[d\]; `None` if none tried does.
    pub pause_d: Option<u32>,
    /// Longest pause tried \[d\].
    pub longest_pause_d: u32,
    /// Rescues compared.
    pub rescues: Vec<Rescue>,
    /// Days after the overfeed at which the rescues begin.
    pub rescue_after_d: u32,
    /// Length of the pause that goes with a rescue \[d\].
    pub rescue_pause_d: u32,
}

/// The daily feed so many times for a week, the usual one included.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Week {
    /// Days.
    pub days: u32,
    /// Largest multiple that is survived.
    pub survives_times: Option<f64>,
    /// Smallest that is not; `None` if all tried are.
    pub fails_times: Option<f64>,
    /// Largest tried.
    pub tried_times: f64,
}

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Measure {
    /// Nothing.
    Nothing,
    /// A share of the liquor replaced by water that is poured in and mixed while as much runs over.
    Dilution {
        /// Water poured in \[L\].
        water_l: f64,
    },
    /// Sodium bicarbonate.
    Bicarbonate {
        /// Dose \[g\].
        grams: f64,
    },
    /// Slaked lime.
    Lime {
        /// Dose \[g\].
        grams: f64,
    },
    /// Warmer from then on.
    Warming {
        /// By how much \[K\].
        by_k: f64,
    },
    /// Digestate of a healthy tank.
    Reseeding {
        /// Volume \[L\].
        litres: f64,
    },
}

/// A measure and how it ends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rescue {
    /// What is done.
    pub measure: Measure,
    /// Days until healthy for good while feeding goes on; `None` if not within the trial.
    pub fed_on_d: Option<u32>,
    /// The same with a pause.
    pub paused_d: Option<u32>,
}

/// A week of cold.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Cold {
    /// Largest drop that is survived \[K\].
    pub survives_k: Option<f64>,
    /// Smallest that is not \[K\].
    pub fails_k: Option<f64>,
    /// Largest tried \[K\]; the liquor would freeze beyond.
    pub tried_k: f64,
}

/// The signs in a run that turns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Warning {
    /// By this factor the feed rises each week.
    pub raised_per_week: f64,
    /// Feed on the day of the failure against that of the start.
    pub factor: f64,
    /// Feed on the day of the failure \[kg/d\].
    pub kg_per_day: f64,
    /// Day on which methane fails, from the first rise on.
    pub fails_day: u32,
    /// One row per sign.
    pub signs: Vec<SignSeen>,
}

/// A sign in a run that turns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SignSeen {
    /// The sign.
    pub sign: Sign,
    /// Value at the start of the run.
    pub at_start: f64,
    /// Whether it was beyond its band before the run began, so that it warns of nothing.
    pub from_the_start: bool,
    /// The value that the healthy state has at the feed of the day on which the sign warns; `None` where it does not.
    pub healthy_there: Option<f64>,
    /// Day on which it is beyond its band, and beyond what the same feed gives in health, for good before the failure.
    pub day: Option<u32>,
    /// Days before the methane fails.
    pub ahead_d: Option<i64>,
}
