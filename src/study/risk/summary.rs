//! One number for what changes from day to day in a draw, so that it can be ranked beside what is drawn once.
//!
//! The number is an amount of the draw over the same amount of the plan: kilograms of material where the doses vary,
//! kilograms of solids where the material does. Which days it sums up depends on the result it is held against, since
//! what is fed after a result cannot have caused it.

use serde::Serialize;

use super::matters::Target;
use crate::case::{Case, Dose};
use crate::study::uncertain::{Course, Effect};

/// Length of the decisive weeks \[d\]. Assumption of this project: acids answer to a raised feed within four weeks.
pub const WEEKS_D: usize = 28;

/// Which number of a draw stands for a factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Summary {
    /// The drawn value itself.
    Value,
    /// What is fed in the first [`WEEKS_D`] days of the run, in times of the plan.
    FirstWeeks,
    /// The most that is fed in any [`WEEKS_D`] days on end, in times of the most of the plan.
    HeaviestWeeks,
    /// What is fed over the whole run, in times of the plan.
    WholeRun,
}

impl Summary {
    /// The number that a result is held against, for a factor that changes from day to day.
    pub(super) const fn before(target: Target) -> Self {
        match target {
            Target::FirstFlame => Self::FirstWeeks,
            // Overfeeding is a matter of weeks: over a year hunger and plenty even out.
            Target::LowestPh => Self::HeaviestWeeks,
            Target::Yield => Self::WholeRun,
        }
    }

    fn of(self, days: &[f64]) -> f64 {
        let weeks = WEEKS_D.min(days.len());
        match self {
            Self::Value => f64::NAN,
            Self::FirstWeeks => days[..weeks].iter().sum(),
            Self::HeaviestWeeks => days
                .windows(weeks.max(1))
                .map(|window| window.iter().sum())
                .fold(0.0, f64::max),
            Self::WholeRun => days.iter().sum(),
        }
    }
}

/// What the plan feeds on each day, in the amount that a factor multiplies \[kg\].
pub(super) struct Planned {
    days: Vec<f64>,
}

impl Planned {
    /// `None` for an effect that multiplies no amount of single days.
    pub(super) fn of(case: &Case, effect: &Effect) -> Option<Self> {
        let solids = |index: usize| {
            let material = case.materials.get(index);
            material.map_or(0.0, |m| m.composition.total_solids)
        };
        let amount = |dose: &Dose| -> Option<f64> {
            let parts = dose.parts.iter();
            match effect {
                Effect::Doses => Some(parts.map(|(_, kg)| kg).sum()),
                Effect::Solids => Some(parts.map(|&(i, kg)| kg * solids(i)).sum()),
                _ => None,
            }
        };
        let mut days = vec![0.0; case.days as usize];
        for dose in &case.doses {
            if let Some(day) = days.get_mut(dose.day as usize) {
                *day += amount(dose)?;
            }
        }
        Some(Self { days })
    }

    /// The number of a draw in times of the plan; `None` where the plan feeds nothing in the days it sums up.
    pub(super) fn times(&self, by: Summary, course: &Course) -> Option<f64> {
        let drawn: Vec<f64> = self
            .days
            .iter()
            .enumerate()
            .map(|(day, kg)| kg * course.on(day as f64))
            .collect();
        let planned = by.of(&self.days);
        (planned > 0.0).then(|| by.of(&drawn) / planned)
    }
}
