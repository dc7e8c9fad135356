//! What a record can teach about one digester, as data, and how a value of it changes a case.

use serde::{Deserialize, Serialize};

use super::coordinate::Coordinate;
use crate::case::{Case, NetworkKind};
use crate::embedded;
use crate::kinetics::Parameters;
use crate::study::distribution::Distribution;
use crate::study::uncertain::Effect;

/// What a value changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Change {
    /// Something that forecasts draw too.
    Effect(Effect),
    /// Multiplies the hydrolysis constants of all materials.
    HydrolysisFactor,
    /// Added to the leak, in times of the usual gas, shared among the vessels by their liquid.
    LeakShare,
    /// Multiplies what is read of the gas; the digester itself stays as it is.
    Reading,
    /// Added to parameters that are temperatures, to each so many times, within the bounds a user may set \[K\]; those that
    /// the network does not have are passed over.
    WarmerParameters(Vec<(String, f64)>),
}

impl Change {
    /// Whether it changes the equations.
    #[must_use]
    pub const fn turns_equations(&self) -> bool {
        matches!(
            self,
            Self::Effect(Effect::Parameters(_)) | Self::WarmerParameters(_)
        )
    }
}

/// Something that a record can teach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unknown {
    /// Short name, for options and files.
    pub name: String,
    /// What is not known, in words that complete a sentence.
    pub words: String,
    /// What a value above the middle means: a clause.
    pub more: String,
    /// What a value below the middle means: a clause.
    pub less: String,
    /// What it changes.
    pub change: Change,
    /// What the value means.
    pub unit: String,
    /// What is known before any reading.
    pub prior: Distribution,
    /// Why that wide.
    pub why: String,
    /// Where that comes from.
    pub source: String,
    /// Day from which on it holds, whole and above 0; before it the unknown of the same name holds, or what the case
    /// says. `None`: from the start. All that begin on the way begin on the same day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DataFile {
    #[serde(rename = "about")]
    _about: String,
    unknowns: Vec<Unknown>,
    in_the_cold: Vec<Unknown>,
}

fn data() -> DataFile {
    embedded::read("unknowns.json", include_str!("data/unknowns.json"))
}

/// The unknowns of a fit.
#[must_use]
pub fn unknowns() -> Vec<Unknown> {
    data().unknowns
}

/// A liquor colder than this \[C\] asks how much cold its life stands: at 20 C, five kelvin of that cost a quarter of the
/// speed of the methane makers and at 14 C more than half, by the law of [`crate::chemistry::Cardinal`]; above, readings err as much.
pub const COLD_C: f64 = 20.0;

/// What else is open in a record whose `coldest` temperature \[C\] is low: how much cold the life of its tank stands.
#[must_use]
pub fn unknowns_in_the_cold(coldest: Option<f64>) -> Vec<Unknown> {
    match coldest {
        Some(celsius) if celsius < COLD_C => data().in_the_cold,
        _ => Vec::new(),
    }
}

impl Unknown {
    /// The coordinate in which a fit walks.
    #[must_use]
    pub const fn coordinate(&self) -> Coordinate {
        Coordinate::Drawn(self.prior)
    }

    /// Half of what is known before lies below.
    #[must_use]
    pub fn middle(&self) -> f64 {
        self.prior.quantile(0.5)
    }
}

/// The day on which some of the unknowns begin to hold, if any.
#[must_use]
pub fn since(unknowns: &[Unknown]) -> Option<f64> {
    unknowns.iter().find_map(|u| u.since)
}

/// The unknowns that hold before something began, or after, each with its value.
pub(crate) fn holding<'a>(
    unknowns: &'a [Unknown],
    values: &'a [f64],
    begun: bool,
) -> impl Iterator<Item = (&'a Unknown, f64)> {
    let replaced = move |u: &Unknown| {
        u.since.is_none()
            && unknowns
                .iter()
                .any(|later| later.since.is_some() && later.name == u.name)
    };
    unknowns
        .iter()
        .zip(values.iter().copied())
        .filter(move |(u, _)| match begun {
            true => !replaced(u),
            false => u.since.is_none(),
        })
}

/// The case that values of the unknowns make of `case`, before what begins on the way has begun, or after. `usual_l_per_d` is the gas at typical values, in litres a day
/// as in the headspace.
#[must_use]
pub fn applied(
    unknowns: &[Unknown],
    values: &[f64],
    begun: bool,
    case: &Case,
    usual_l_per_d: f64,
) -> Case {
    let mut changed = case.clone();
    for (unknown, value) in holding(unknowns, values, begun) {
        match &unknown.change {
            Change::Effect(effect) => effect.apply(&mut changed, &|_| value),
            Change::HydrolysisFactor => {
                for material in &mut changed.materials {
                    let rates = &mut material.composition.hydrolysis;
                    for rate in [
                        &mut rates.fast_carb,
                        &mut rates.fibre,
                        &mut rates.protein,
                        &mut rates.fat,
                    ] {
                        rate.low *= value;
                        rate.typical *= value;
                        rate.high *= value;
                    }
                }
            }
            Change::LeakShare => {
                let whole: f64 = changed.vessels.iter().map(|v| v.liquid_m3).sum();
                for vessel in &mut changed.vessels {
                    let share = vessel.liquid_m3 / whole;
                    vessel.leak_m3_per_d += share * value * usual_l_per_d / 1000.0;
                }
            }
            Change::WarmerParameters(names) => {
                for (name, times) in names {
                    if let Some(warmer) = warmer_parameter(&changed, name, times * value) {
                        let parameters = &mut changed.model.parameters;
                        parameters.retain(|(given, _)| given != name);
                        parameters.push((name.clone(), warmer));
                    }
                }
            }
            Change::Reading => {}
        }
    }
    changed
}

/// A parameter that is a temperature, so many kelvin warmer than the case has it; `None` where its network has none of
/// this name.
pub(super) fn warmer_parameter(case: &Case, name: &str, kelvin: f64) -> Option<f64> {
    let known = match case.model.network {
        NetworkKind::FourStage => Parameters::four_stage(),
        NetworkKind::Adm1 => Parameters::adm1(),
    };
    let parameter = known.find(name).ok()?;
    let given = case
        .model
        .parameters
        .iter()
        .find(|(given, _)| given == name);
    let now = given.map_or(parameter.value, |(_, value)| *value);
    Some((now + kelvin).clamp(parameter.low, parameter.high))
}

/// What the readings show of the gas that comes, before what begins on the way has begun, or after.
#[must_use]
pub fn reading_factor(unknowns: &[Unknown], values: &[f64], begun: bool) -> f64 {
    let held = holding(unknowns, values, begun);
    let readings = held.filter(|(u, _)| u.change == Change::Reading);
    readings.map(|(_, value)| value).product()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unknown_has_a_sound_prior_and_its_own_name() {
        let mut all = unknowns();
        assert_eq!(all.len(), 6);
        all.extend(unknowns_in_the_cold(Some(14.0)));
        assert_eq!(all.len(), 7);
        for (i, unknown) in all.iter().enumerate() {
            unknown.prior.validate().unwrap();
            assert!(!unknown.source.is_empty() && !unknown.why.is_empty());
            assert!(all[..i].iter().all(|other| other.name != unknown.name));
        }
    }

    #[test]
    fn how_much_cold_is_stood_is_asked_of_cold_records_alone() {
        assert!(unknowns_in_the_cold(None).is_empty());
        assert!(unknowns_in_the_cold(Some(COLD_C)).is_empty());
        let cold = unknowns_in_the_cold(Some(14.0));
        assert_eq!(cold[0].name, "cold");
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/warm-tote.json");
        let case = crate::scenario::load(path.as_ref()).unwrap().case;
        let changed = applied(&cold, &[4.0], true, &case, 100.0);
        let wanted = [
            ("T_min_acid".to_owned(), 1.27 * 4.0),
            ("T_min_meth".to_owned(), 7.0),
        ];
        assert_eq!(changed.model.parameters, wanted);
        // At 14 C both slow alike: the square above the least temperature, as the law of their speed begins.
        let above = |kelvin: f64| {
            let changed = applied(&cold, &[kelvin], true, &case, 100.0)
                .model
                .parameters;
            let [acid, meth] = [0, 1].map(|i| (14.0 - changed[i].1).powi(2));
            acid / meth
        };
        assert!(
            (above(8.0) / above(0.0) - 1.0).abs() < 0.03,
            "{}",
            above(8.0)
        );
    }
}
