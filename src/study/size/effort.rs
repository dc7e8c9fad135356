//! Effort beside litres: what the wish does not need is left off, and of nearly equal litres the plainer plant is taken.

use std::cmp::Ordering;

use super::SizeFailure;
use super::desk::Desk;
use super::judge::{MonthRow, Tried, bought_kwh};
use super::outcome::Proof;
use super::plant::Plant;
use super::prove::RESERVE;
use super::rules::rules;
use super::wish::{HeaterChoice, SunChoice};
use super::year::DAYS;
use crate::study::sampling::Points;

/// Heat of a year that counts as none \[kWh\].
const SAME_KWH: f64 = 1e-3;

/// Whole volume of a plant \[L\].
pub(super) fn litres(plant: &Plant) -> f64 {
    plant.unit_l * plant.units as f64
}

/// Whether so many litres still count as no more than those of the smallest.
pub(super) fn nearly(litres: f64, smallest: f64) -> bool {
    litres <= (1.0 + rules().near_litres.value) * smallest * (1.0 + 1e-9)
}

/// Less work first: fewer units, then fewer things built on; litres where these are equal.
pub(super) fn by_effort(a: &Plant, b: &Plant) -> Ordering {
    let built_on = |p: &Plant| p.extras() + usize::from(p.set_c.is_some());
    (a.units.cmp(&b.units))
        .then(built_on(a).cmp(&built_on(b)))
        .then(a.smaller(b))
}

/// A plant that passed.
#[derive(Debug, Clone)]
pub(super) struct Passed {
    pub(super) proof: Proof,
    /// Whether something on it brings less than it must.
    pub(super) idle: bool,
}

/// The one to propose of several that passed, none much larger than the smallest.
pub(super) fn plainest(passed: &[Passed]) -> Option<usize> {
    let plant = |i: usize| &passed[i].proof.tried.plant;
    (0..passed.len()).min_by(|a, b| {
        let idle = |i: usize| passed[i].idle;
        idle(*a)
            .cmp(&idle(*b))
            .then(by_effort(plant(*a), plant(*b)))
    })
}

impl Desk<'_> {
    /// Least gain for which something is built on \[unit of the target\].
    fn least_gain(&self) -> f64 {
        rules().least_gain.value * self.wish.target.amount()
    }

    /// Heat that a plant buys in a year \[kWh\].
    fn buys_kwh(&self, tried: &Tried) -> f64 {
        bought_kwh(self.wish, &tried.months)
    }

    /// Whether a rest spares more heat than it makes to be bought, and feed or heat at all.
    fn rest_saves(&self, resting: &Tried, working: &Tried) -> bool {
        let year = |tried: &Tried, of: fn(&MonthRow) -> f64| -> f64 {
            let rows = tried.months.iter();
            rows.map(|row| of(row) * f64::from(DAYS[row.month - 1]))
                .sum()
        };
        let heat = |tried: &Tried| year(tried, |row| row.heating_kwh_d);
        let fed = |tried: &Tried| year(tried, |row| row.feed.kg_per_day);
        let spared = heat(working) - heat(resting);
        let more_bought = (self.buys_kwh(resting) - self.buys_kwh(working)).max(0.0);
        spared + SAME_KWH >= more_bought && (spared > SAME_KWH || fed(resting) < fed(working))
    }

    /// A plant that passed, at rest in the months that the wish leaves out where it passes so too and spares heat or feed.
    pub(super) fn rested(&mut self, proof: Proof, points: &Points) -> Result<Proof, SizeFailure> {
        let working = proof.tried.plant;
        let same = |p: &Plant| p.rests.is_some() && Plant { rests: None, ..*p } == working;
        let resting: Vec<usize> = (0..self.plants.len())
            .filter(|i| same(&self.plants[*i]))
            .collect();
        self.run(&resting)?;
        for i in resting {
            let saves = |tried: &&Tried| tried.is_fit() && self.rest_saves(tried, &proof.tried);
            if self.runs.get(&i).filter(saves).is_none() {
                continue;
            }
            let rested = self.proof(i, points)?;
            if rested.tried.is_fit() {
                return Ok(rested);
            }
        }
        Ok(proof)
    }

    /// Places of the plants that lack one thing of this one: its window or greenhouse, a step of its pit, a step of its
    /// foam. Bought heat pays for foam by what it saves, which the reach does not show.
    fn plainer(&self, of: &Plant) -> Vec<usize> {
        let bought = of.set_c.is_some() && self.wish.builder.heater == HeaterChoice::Mains;
        let below = |list: &[f64], value: f64| list.iter().copied().rfind(|x| *x < value);
        let mut wanted = Vec::new();
        if let Some(buried_cm) = below(&self.wish.builder.buried_cm, of.buried_cm) {
            wanted.push(Plant { buried_cm, ..*of });
        }
        if of.sun != SunChoice::None {
            let sun = SunChoice::None;
            wanted.push(Plant { sun, ..*of });
        }
        if let Some(foam_cm) = below(&self.wish.builder.foam_cm, of.foam_cm).filter(|_| !bought) {
            wanted.push(Plant { foam_cm, ..*of });
        }
        let place = |plant: Plant| self.plants.iter().position(|p| *p == plant);
        wanted.into_iter().filter_map(place).collect()
    }

    /// A plant that passed without what it passes without; and whether something is left on it that brings too little,
    /// because it passes only with it.
    pub(super) fn without_idle(
        &mut self,
        proof: Proof,
        points: &Points,
    ) -> Result<Passed, SizeFailure> {
        let mut now = Passed { proof, idle: false };
        loop {
            now.idle = false;
            let mut plainer = None;
            for i in self.plainer(&now.proof.tried.plant) {
                self.run(&[i])?;
                let Some(tried) = self.runs.get(&i) else {
                    continue;
                };
                let gain = now.proof.tried.reach - tried.reach;
                // What keeps it from souring is worth its work whatever it brings.
                if !tried.is_sound() {
                    continue;
                }
                // Heat that must be bought without it is no saving.
                if self.buys_kwh(tried) > self.buys_kwh(&now.proof.tried) + SAME_KWH {
                    continue;
                }
                let idle = gain < self.least_gain();
                let enough = tried.reach >= RESERVE * self.wish.target.amount();
                if tried.is_fit() && (idle || enough) {
                    let proof = self.proof(i, points)?;
                    if proof.tried.is_fit() {
                        plainer = Some(proof);
                        break;
                    }
                }
                now.idle |= idle;
            }
            match plainer {
                Some(proof) => now.proof = proof,
                None => return Ok(now),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plant(unit_l: f64, units: usize, buried_cm: f64, set_c: Option<f64>) -> Plant {
        Plant {
            unit_l,
            units,
            in_row: false,
            foam_cm: 5.0,
            set_c,
            water_per_kg: 1.0,
            solids_pct: 7.0,
            line_share: 1.0,
            sun: SunChoice::None,
            buried_cm,
            rests: None,
        }
    }

    fn passed(plant: Plant, idle: bool) -> Passed {
        Passed {
            proof: Proof {
                tried: Tried {
                    plant,
                    heater_w: 0.0,
                    months: Vec::new(),
                    reach: 1.0,
                    breaches: Vec::new(),
                },
                margin: None,
                sureness: None,
            },
            idle,
        }
    }

    #[test]
    fn of_nearly_equal_litres_the_plainer_plant_is_proposed() {
        let drums = || passed(plant(200.0, 4, 50.0, None), false);
        let tote = || passed(plant(1000.0, 1, 0.0, None), false);
        let pit = || passed(plant(800.0, 1, 50.0, None), false);
        let warm = || passed(plant(900.0, 1, 0.0, Some(30.0)), false);
        let idle = || passed(plant(800.0, 1, 50.0, None), true);
        for (list, best) in [
            // A quarter more litres, one unit in place of four.
            (vec![drums(), tote()], 1),
            // No pit, no heater: litres decide only where all else is equal.
            (vec![pit(), tote()], 1),
            (vec![warm(), tote()], 1),
            (vec![tote(), passed(plant(950.0, 1, 0.0, None), false)], 1),
            // What brings too little counts before all.
            (vec![idle(), drums()], 1),
            (vec![idle()], 0),
        ] {
            assert_eq!(plainest(&list), Some(best), "{list:?}");
        }
        assert_eq!(plainest(&[]), None);
        assert!(nearly(1000.0, 800.0) && !nearly(1001.0, 800.0));
    }
}
