//! What a forecast does not know, as data, and how a drawn value changes a case.
//!
//! A factor is drawn once for a run, as a column of a sample, or anew every so many days, from the run's own stream.
//! The engine knows nothing of this: [`Uncertain::apply`] makes an ordinary case.

use serde::{Deserialize, Serialize};

use super::distribution::Distribution;
use super::generator::replicate;
use super::sampling::{self, Method, Points, SamplingError};
use crate::case::{Case, Material, NetworkKind};
use crate::embedded;
use crate::feedstock::{Range, library};
use crate::kinetics::Parameters;

/// Streams that one replicate may draw from; more than there will ever be factors.
const STREAMS_PER_REPLICATE: u64 = 64;

/// What a drawn value changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Effect {
    /// Hydrolysis constants of all materials: -1 is the low end of each pool's own range, 0 typical, 1 the high end,
    /// in equal ratios.
    HydrolysisRange {
        /// A range narrower than this factor either way is taken as that wide.
        least_factor: f64,
    },
    /// Multiplies the degradable shares of all materials, never above 1.
    Degradable,
    /// Multiplies the living groups of all materials.
    Living,
    /// Strong ions of all materials: -1 is the low end of the library's range, 0 typical, 1 the high end, linear.
    StrongIonsRange {
        /// Half width for materials without a range \[eq/kg total solids\].
        own_eq_per_kg_solids: f64,
    },
    /// Multiplies parameters of the network, within the bounds a user may set; those it does not have are passed over.
    Parameters(Vec<String>),
    /// Added to the temperature of every vessel \[K\].
    TemperatureOffset,
    /// Multiplies doses that hold a material, water and additives included.
    Doses,
    /// Multiplies the solids of the fed materials at equal weight: water makes up the difference.
    Solids,
}

impl Effect {
    /// The value that changes nothing.
    #[must_use]
    pub const fn neutral(&self) -> f64 {
        match self {
            Self::HydrolysisRange { .. }
            | Self::StrongIonsRange { .. }
            | Self::TemperatureOffset => 0.0,
            Self::Degradable | Self::Living | Self::Parameters(_) | Self::Doses | Self::Solids => {
                1.0
            }
        }
    }
}

/// Something not known well.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Factor {
    /// Short name, for options and files.
    pub name: String,
    /// What is not known, in words that complete a sentence.
    pub words: String,
    /// What it changes.
    pub effect: Effect,
    /// Drawn anew every so many days; `None`: once for a run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every_days: Option<u32>,
    /// What the value means.
    pub unit: String,
    /// How it is spread.
    pub distribution: Distribution,
    /// Why that wide.
    pub why: String,
    /// Where that comes from.
    pub source: String,
}

impl Factor {
    /// Whether it varies at all.
    #[must_use]
    pub const fn is_on(&self) -> bool {
        !matches!(self.distribution, Distribution::Fixed { .. })
    }
}

/// A name that no factor has.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no uncertain factor `{0}`")]
pub struct UnknownFactor(pub String);

/// The uncertain factors of a study. Factors switched off stay in the list, so that the draws of the others, which
/// depend on their place in it, stay the same.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Uncertain {
    /// The factors.
    pub factors: Vec<Factor>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DataFile {
    #[serde(rename = "about")]
    _about: String,
    factors: Vec<Factor>,
}

impl Uncertain {
    /// The factors of this build, with their spreads.
    #[must_use]
    pub fn standard() -> Self {
        let file: DataFile = embedded::read("uncertain.json", include_str!("data/uncertain.json"));
        Self {
            factors: file.factors,
        }
    }

    /// The same with these factors held at the value that changes nothing.
    ///
    /// # Errors
    /// [`UnknownFactor`].
    pub fn without<S: AsRef<str>>(mut self, names: &[S]) -> Result<Self, UnknownFactor> {
        for name in names {
            let neutral = self.find(name.as_ref())?.effect.neutral();
            self = self.fix(name.as_ref(), neutral)?;
        }
        Ok(self)
    }

    /// The same with all but these factors held at the value that changes nothing.
    ///
    /// # Errors
    /// [`UnknownFactor`].
    pub fn only<S: AsRef<str>>(self, names: &[S]) -> Result<Self, UnknownFactor> {
        for name in names {
            self.find(name.as_ref())?;
        }
        let others: Vec<String> = self
            .factors
            .iter()
            .map(|factor| factor.name.clone())
            .filter(|name| !names.iter().any(|kept| kept.as_ref() == name))
            .collect();
        self.without(&others)
    }

    /// The same with one factor held at a value, in its unit.
    ///
    /// # Errors
    /// [`UnknownFactor`].
    pub fn fix(mut self, name: &str, value: f64) -> Result<Self, UnknownFactor> {
        let factor = self.factors.iter_mut().find(|factor| factor.name == name);
        factor
            .ok_or_else(|| UnknownFactor(name.to_owned()))?
            .distribution = Distribution::Fixed { value };
        Ok(self)
    }

    /// A factor by name.
    ///
    /// # Errors
    /// [`UnknownFactor`].
    pub fn find(&self, name: &str) -> Result<&Factor, UnknownFactor> {
        self.factors
            .iter()
            .find(|factor| factor.name == name)
            .ok_or_else(|| UnknownFactor(name.to_owned()))
    }

    /// The factors drawn once for a run, in the order of the columns of [`points`](Self::points).
    pub fn columns(&self) -> impl Iterator<Item = &Factor> {
        self.factors
            .iter()
            .filter(|factor| factor.every_days.is_none())
    }

    /// The point that changes nothing.
    #[must_use]
    pub fn neutral(&self) -> Vec<f64> {
        self.columns()
            .map(|factor| factor.effect.neutral())
            .collect()
    }

    /// Draws of the factors drawn once, as a Latin hypercube: a row for each run, a column for each of
    /// [`columns`](Self::columns).
    ///
    /// # Errors
    /// [`SamplingError`].
    pub fn points(&self, rows: usize, seed: u64) -> Result<Points, SamplingError> {
        let inputs: Vec<Distribution> = self.columns().map(|f| f.distribution).collect();
        sampling::sample(&inputs, Method::LatinHypercube, rows, seed)
    }

    /// The case that a draw makes of `case`.
    ///
    /// `point` has a value for each of [`columns`](Self::columns); what it lacks stays unchanged. Factors drawn anew
    /// every so many days come from the stream of `replicate` under `seed`.
    #[must_use]
    pub fn apply(&self, case: &Case, point: &[f64], replicate: u64, seed: u64) -> Case {
        let mut changed = case.clone();
        let mut point = point.iter().copied();
        for (stream, factor) in self.factors.iter().enumerate() {
            match factor.every_days {
                None => {
                    if let Some(value) = point.next() {
                        factor.effect.apply(&mut changed, &|_| value);
                    }
                }
                Some(every) => {
                    let course = drawn(factor, case.days, every, replicate, stream as u64, seed);
                    factor.effect.apply(&mut changed, &|day| course.on(day));
                }
            }
        }
        changed
    }

    /// What [`apply`](Self::apply) draws for a factor over a run of `days`; `None` for one that is drawn once.
    #[must_use]
    pub fn course(&self, factor: &Factor, days: u32, replicate: u64, seed: u64) -> Option<Course> {
        let stream = self.factors.iter().position(|f| f.name == factor.name)?;
        let every = factor.every_days?;
        Some(drawn(factor, days, every, replicate, stream as u64, seed))
    }
}

/// The values of a factor that is drawn anew every so many days, through one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    every: f64,
    values: Vec<f64>,
}

impl Course {
    /// The value at a time \[d\]; the last one holds beyond the run.
    #[must_use]
    pub fn on(&self, day: f64) -> f64 {
        self.values[((day / self.every) as usize).min(self.values.len() - 1)]
    }
}

/// One value for each stretch of `every` days of a run, at least one.
fn drawn(factor: &Factor, days: u32, every: u32, run: u64, stream: u64, seed: u64) -> Course {
    let every = every.max(1);
    let mut draws = replicate(
        seed,
        run.wrapping_mul(STREAMS_PER_REPLICATE).wrapping_add(stream),
    );
    let count = days.div_ceil(every).max(1);
    Course {
        every: f64::from(every),
        values: (0..count)
            .map(|_| factor.distribution.quantile(draws.uniform()))
            .collect(),
    }
}

impl Effect {
    /// Changes a case; `on` gives the value at a time \[d\].
    pub fn apply(&self, case: &mut Case, on: &dyn Fn(f64) -> f64) {
        let value = on(0.0);
        match self {
            Self::HydrolysisRange { least_factor } => {
                for material in &mut case.materials {
                    let rates = &mut material.composition.hydrolysis;
                    for rate in [
                        &mut rates.fast_carb,
                        &mut rates.fibre,
                        &mut rates.protein,
                        &mut rates.fat,
                    ] {
                        move_along(rate, value, *least_factor);
                    }
                }
            }
            Self::Degradable => {
                for material in &mut case.materials {
                    let shares = &mut material.composition.degradable;
                    for share in [
                        &mut shares.fast_carb,
                        &mut shares.fibre,
                        &mut shares.protein,
                        &mut shares.fat,
                    ] {
                        *share = (*share * value).min(1.0);
                    }
                }
            }
            Self::Living => {
                for material in &mut case.materials {
                    let l = &mut material.composition.living;
                    for group in [
                        &mut l.su, &mut l.aa, &mut l.fa, &mut l.c4, &mut l.pro, &mut l.ac,
                        &mut l.h2,
                    ] {
                        *group *= value;
                    }
                }
            }
            Self::StrongIonsRange {
                own_eq_per_kg_solids,
            } => {
                for material in &mut case.materials {
                    let own = own_eq_per_kg_solids * material.composition.total_solids;
                    let (down, up) = ion_range(material).unwrap_or((own, own));
                    material.composition.strong_ions += value * if value < 0.0 { down } else { up };
                }
            }
            Self::Parameters(names) => multiply_parameters(case, names, value),
            Self::TemperatureOffset => {
                for vessel in &mut case.vessels {
                    vessel.warm(value);
                }
            }
            Self::Doses => scale_feed(case, on),
            Self::Solids => {
                for dose in &mut case.doses {
                    let times = on(dose.day);
                    for (_, kg) in &mut dose.parts {
                        dose.water_kg += *kg * (1.0 - times);
                        *kg *= times;
                    }
                }
            }
        }
    }
}

/// Multiplies every dose that holds a material, water and additives included, by what `on` says for its day.
///
/// A dose of water or of additives alone is no feed and stays.
pub fn scale_feed(case: &mut Case, on: &dyn Fn(f64) -> f64) {
    for dose in case.doses.iter_mut().filter(|dose| !dose.parts.is_empty()) {
        let times = on(dose.day);
        dose.water_kg *= times;
        for (_, kg) in &mut dose.parts {
            *kg *= times;
        }
        for (_, kg) in &mut dose.additives {
            *kg *= times;
        }
    }
}

/// Moves the typical value to a place in the range, in equal ratios; the ends stay.
fn move_along(rate: &mut Range, place: f64, least_factor: f64) {
    let ratio = if place < 0.0 {
        rate.typical / rate.low
    } else {
        rate.high / rate.typical
    };
    // An end at zero, or a rate of zero, gives no ratio.
    let usable = if ratio.is_finite() {
        ratio
    } else {
        least_factor
    };
    rate.typical *= libm::pow(usable.max(least_factor), place);
}

/// Distance of the library's low and high end from its typical value \[eq/kg\]; `None` for a user's own material.
fn ion_range(material: &Material) -> Option<(f64, f64)> {
    let entry = material
        .from_library
        .then(|| library().get(&material.id))
        .flatten()?;
    let ions = entry.strong_ions;
    Some((ions.typical - ions.low, ions.high - ions.typical))
}

fn multiply_parameters(case: &mut Case, names: &[String], times: f64) {
    // An unchanged parameter stays unnamed, so that a record shows only what differs from its default.
    if times == 1.0 {
        return;
    }
    let known = match case.model.network {
        NetworkKind::FourStage => Parameters::four_stage(),
        NetworkKind::Adm1 => Parameters::adm1(),
    };
    for parameter in names.iter().filter_map(|name| known.find(name).ok()) {
        let changed = &mut case.model.parameters;
        let given = changed.iter_mut().find(|(name, _)| *name == parameter.name);
        match given {
            Some((_, value)) => *value = (*value * times).clamp(parameter.low, parameter.high),
            None => changed.push((
                parameter.name.clone(),
                (parameter.value * times).clamp(parameter.low, parameter.high),
            )),
        }
    }
}
