//! Whether the liquor of the first vessel dissolves what is dosed into it.

use super::address::Address;
use super::check::{Checker, KG_PER_L, SOLUBILITY};
use super::limits::range;
use crate::case::{Additive, Dose, Starter, Vessel};
use crate::units::repeated;

const G_PER_KG: f64 = 1000.0;
const L_PER_M3: f64 = 1000.0;
/// Lime of the same charge as a gram of bicarbonate \[g\]: 74.093/2 over 84.007 g/eq (IUPAC atomic weights).
const LIME_FOR_BICARBONATE: f64 = 0.441;

/// The first vessel on day 0.
#[derive(Debug, Clone, Default)]
pub(crate) struct First {
    /// Liquid at the outlet's level \[L\].
    pub(crate) level_l: f64,
    /// What it is filled with \[L\].
    start_l: f64,
    /// Bicarbonate in it, and lime as bicarbonate of the same charge \[g\].
    start_g: f64,
}

impl First {
    /// Its share of the starter; NaN after a problem, of which nothing complains again.
    pub(crate) fn new(vessels: &[Vessel], starter: &Starter) -> Self {
        let level_m3 = vessels.first().map_or(f64::NAN, |v| v.liquid_m3);
        let share = level_m3 / vessels.iter().map(|v| v.liquid_m3).sum::<f64>();
        let wet = starter.parts.iter().map(|(_, kg)| kg).sum::<f64>() + starter.water_kg;
        Self {
            level_l: level_m3 * L_PER_M3,
            start_l: share * wet / KG_PER_L,
            start_g: share * as_bicarbonate_g(&starter.additives),
        }
    }
}

fn as_bicarbonate_g(additives: &[(Additive, f64)]) -> f64 {
    let grams = |(additive, kg): &(Additive, f64)| match additive {
        Additive::Bicarbonate => kg * G_PER_KG,
        Additive::Lime => kg * G_PER_KG / LIME_FOR_BICARBONATE,
    };
    additives.iter().map(grams).sum()
}

/// A line of the plan with additives, and when it is given \[d\].
#[derive(Debug)]
pub(crate) struct Line {
    /// Where it stands.
    pub(crate) at: Address,
    /// Its moments.
    pub(crate) moments: Vec<f64>,
}

/// Refuses additives that do not dissolve in what is there at the time, and salts that heap up to a brine. `doses` are
/// all of the run, sorted by time.
pub(crate) fn check(checker: &mut Checker, first: &First, doses: &[Dose], lines: &[Line]) {
    let mut told = vec![false; lines.len()];
    let (mut litres, mut salt) = (first.start_l, first.start_g);
    for dose in doses {
        let kg = dose.parts.iter().map(|(_, kg)| kg).sum::<f64>() + dose.water_kg;
        litres += kg / KG_PER_L;
        salt += as_bicarbonate_g(&dose.additives);
        if !dose.additives.is_empty() && !told.iter().all(|told| *told) {
            let mut of_dose = lines.iter().zip(&mut told);
            let line = of_dose.find(|(line, told)| !**told && line.moments.contains(&dose.day));
            if let Some((line, told)) = line {
                *told = !dissolves(checker, &line.at, dose, litres, salt);
            }
        }
        if litres > first.level_l {
            salt *= first.level_l / litres;
            litres = first.level_l;
        }
    }
}

fn dissolves(checker: &mut Checker, at: &Address, dose: &Dose, litres: f64, salt: f64) -> bool {
    let day = dose.day.floor();
    for (additive, key, solubility, source) in SOLUBILITY {
        let of_it = dose
            .additives
            .iter()
            .filter(|(other, _)| *other == additive);
        let grams = of_it.map(|(_, kg)| kg * G_PER_KG).sum::<f64>();
        if grams > solubility * litres {
            checker.outside(
                &at.key(key),
                repeated(grams),
                range(0.0, (solubility * litres).floor(), "g"),
                format!(
                    "No more than {solubility} g of it dissolve in a litre of water ({source}), and on day {day} the \
                     first vessel holds {litres:.0} L."
                ),
                "Take less at a time; what the pH asks for later can be dosed then.",
            );
            return false;
        }
        if additive == Additive::Bicarbonate && salt > solubility * litres {
            checker.wrong_value(
                at,
                format!("{:.0} g of salt to the litre on day {day}", salt / litres),
                format!(
                    "With what was dosed before that is a brine: no more than {solubility} g of bicarbonate, or lime of \
                     the same charge, stay dissolved in a litre ({source}), and nothing lives in it."
                ),
                "Dose less or less often.",
            );
            return false;
        }
    }
    true
}
