//! The desk of the search: the grid with its estimates and runs.
//!
//! Runs are made where they can change the answer: along the size for every warmth, between the largest that fails and
//! the smallest that fits, and over all trimmings of the sizes that fit.

use std::cmp::Ordering;
use std::collections::HashMap;

use super::effort::{litres, nearly};
use super::estimate::{Estimate, Shell, estimate, shell};
use super::judge::{MonthRow, Tried, try_plant};
use super::outcome::{Curve, CurvePoint, Proof};
use super::plant::Plant;
use super::wish::{HeaterChoice, SunChoice, Wish};
use super::{Options, SizeFailure, Told};
use crate::study::batch::{BatchOptions, run_all};

/// Sizes of each warmth that are run at first.
const SPREAD: usize = 6;
/// Sizes that are then run between one that fails and one that fits, at a time, and how often.
const BETWEEN: (usize, usize) = (3, 3);
/// Sizes that fit whose trimmings are all run, and hardly larger ones of fewer units beside them.
const TRIMMED: usize = 2;
/// Trimmings of one size that are run at most: of those without window, greenhouse and pit for each way to rest, and of
/// each other way to place it.
const MOST_PLAIN: usize = 8;
const MOST_OTHERS: usize = 3;
/// A trimming is run from this share of the target on by its estimate.
const WORTH: f64 = 0.5;
/// One warmth with its sizes, smallest first: places in the grid of the trimming that is expected to give most.
pub(super) struct WarmLine {
    pub(super) set_c: Option<f64>,
    places: Vec<usize>,
}

/// The desk of the search: the grid, its estimates and all runs so far.
pub(super) struct Desk<'a> {
    pub(super) wish: &'a Wish,
    pub(super) options: &'a Options<'a>,
    pub(super) plants: &'a [Plant],
    estimates: Vec<Estimate>,
    /// By place in the grid.
    pub(super) runs: HashMap<usize, Tried>,
    /// What was proven, by place in the grid: many draws each, so none is made twice.
    pub(super) proofs: HashMap<usize, Proof>,
    pub(super) progress: &'a Told<'a>,
    /// What is being done, and the shares of the search between which it lies.
    pub(super) stage: (&'static str, f64, f64),
}

/// Plants of one size that are taken in turn: under one sun, at one depth; the plain ones by their rest, too.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Kind {
    sun: SunChoice,
    buried_cm: f64,
    rests: Option<usize>,
}

impl<'a> Desk<'a> {
    pub(super) fn new(
        wish: &'a Wish,
        options: &'a Options<'a>,
        plants: &'a [Plant],
        progress: &'a Told<'a>,
    ) -> Result<Self, SizeFailure> {
        let kind = |p: &Plant| (p.unit_l, p.foam_cm, p.sun, p.buried_cm);
        let mut kinds: Vec<Plant> = Vec::new();
        for plant in plants {
            if !kinds.iter().any(|k| kind(k) == kind(plant)) {
                kinds.push(*plant);
            }
        }
        let mut desk = Self {
            wish,
            options,
            plants,
            estimates: Vec::new(),
            runs: HashMap::new(),
            proofs: HashMap::new(),
            progress,
            stage: ("sizing: first estimates", 0.0, 0.05),
        };
        let shells = desk.all(kinds.len(), |_, i| shell(wish, &kinds[i]))?;
        let shells: Option<Vec<_>> = shells.into_iter().collect();
        let shells: Vec<Shell> = shells
            .ok_or(SizeFailure::Stopped)?
            .into_iter()
            .collect::<Result<_, _>>()?;
        let estimates = desk.all(plants.len(), |_, k| {
            let plant = &plants[k];
            let i = kinds.iter().position(|k| kind(k) == kind(plant));
            estimate(wish, plant, &shells[i.unwrap_or(0)])
        })?;
        let estimates: Option<Vec<_>> = estimates.into_iter().collect();
        desk.estimates = estimates.ok_or(SizeFailure::Stopped)?;
        Ok(desk)
    }

    /// What is done next, and from which share of the whole search to which.
    pub(super) fn begin(&mut self, what: &'static str, from: f64, to: f64) {
        self.stage = (what, from, to);
        (self.progress)(what, from);
    }

    /// As many as were done before the search was stopped.
    fn all<R: Send>(
        &mut self,
        count: usize,
        work: impl Fn(&Self, usize) -> R + Sync,
    ) -> Result<Vec<Option<R>>, SizeFailure>
    where
        Self: Sync,
    {
        let batch = BatchOptions {
            threads: self.options.threads,
            ..BatchOptions::new(self.options.stop)
        };
        let (what, from, to) = self.stage;
        // A stage of several calls takes half of what is left of it each time.
        let to = from + 0.5 * (to - from);
        let desk = &*self;
        let done = run_all(count, batch, |i| work(desk, i), &|done| {
            (desk.progress)(what, from + (to - from) * done as f64 / count.max(1) as f64);
        })?;
        if count > 0 {
            self.stage.1 = to;
        }
        done.into_iter()
            .map(|one| one.transpose().map_err(SizeFailure::from))
            .collect()
    }

    /// Runs those that have not been run; what was done before a stop is kept.
    pub(super) fn run(&mut self, places: &[usize]) -> Result<(), SizeFailure> {
        let mut new: Vec<usize> = places
            .iter()
            .copied()
            .filter(|i| !self.runs.contains_key(i))
            .collect();
        new.sort_unstable();
        new.dedup();
        let done = self.all(new.len(), |desk, i| {
            let (plant, estimate) = (&desk.plants[new[i]], &desk.estimates[new[i]]);
            try_plant(desk.wish, plant, estimate, desk.options.stop)
        })?;
        let done: Vec<Option<Tried>> = done.into_iter().map(Option::flatten).collect();
        let whole = done.iter().all(Option::is_some);
        let done = new.into_iter().zip(done);
        self.runs
            .extend(done.filter_map(|(i, tried)| Some((i, tried?))));
        if whole {
            Ok(())
        } else {
            Err(SizeFailure::Stopped)
        }
    }

    /// The places that were run, in the order of the grid.
    pub(super) fn places(&self) -> Vec<usize> {
        let mut places: Vec<usize> = self.runs.keys().copied().collect();
        places.sort_unstable();
        places
    }

    /// Places of fit plants, smallest first: the grid is in that order.
    pub(super) fn fit(&self) -> Vec<usize> {
        let fit = |i: &usize| self.runs.get(i).is_some_and(Tried::is_fit);
        self.places().into_iter().filter(fit).collect()
    }

    /// Lines of every warmth.
    pub(super) fn lines(&self) -> Vec<WarmLine> {
        let mut lines: Vec<WarmLine> = Vec::new();
        for (i, plant) in self.plants.iter().enumerate() {
            let line = match lines.iter().position(|l| l.set_c == plant.set_c) {
                Some(at) => &mut lines[at],
                None => {
                    lines.push(WarmLine {
                        set_c: plant.set_c,
                        places: Vec::new(),
                    });
                    let last = lines.len() - 1;
                    &mut lines[last]
                }
            };
            let size = |p: &Plant| (p.unit_l, p.units);
            let promises = |i: usize, j: usize| {
                self.estimates[i].promise(&self.estimates[j]) == Ordering::Greater
            };
            match line
                .places
                .iter_mut()
                .find(|j| size(&self.plants[**j]) == size(plant))
            {
                Some(best) if promises(i, *best) => *best = i,
                Some(_) => {}
                None => line.places.push(i),
            }
        }
        lines.sort_by(|a, b| {
            let key = |l: &WarmLine| l.set_c.unwrap_or(f64::NEG_INFINITY);
            key(a).total_cmp(&key(b))
        });
        lines
    }

    /// Runs some sizes of every warmth.
    pub(super) fn along_the_size(&mut self, lines: &[WarmLine]) -> Result<(), SizeFailure> {
        let target = self.wish.target.amount();
        let mut wanted = Vec::new();
        for line in lines {
            let n = line.places.len();
            wanted.extend(spaced(n, SPREAD).into_iter().map(|k| line.places[k]));
            // Where the estimate crosses the target.
            let crosses = line
                .places
                .iter()
                .position(|i| self.estimates[*i].reach >= target);
            if let Some(k) = crosses {
                wanted.extend(line.places.get(k.saturating_sub(1)..=k).unwrap_or_default());
            }
        }
        self.run(&wanted)
    }

    /// Runs between the largest that fails and the smallest that fits, for each warmth.
    pub(super) fn between(&mut self, lines: &[WarmLine]) -> Result<(), SizeFailure> {
        for _ in 0..BETWEEN.1 {
            let mut wanted = Vec::new();
            for line in lines {
                let fits = |k: &usize| self.runs.get(&line.places[*k]).is_some_and(Tried::is_fit);
                let Some(first) = (0..line.places.len()).find(fits) else {
                    wanted.extend(self.beside_the_best(line));
                    continue;
                };
                let below = (0..first)
                    .rev()
                    .find(|k| self.runs.contains_key(&line.places[*k]));
                let from = below.map_or(0, |k| k + 1);
                let open = first - from;
                wanted.extend(
                    spaced(open + 2, BETWEEN.0 + 2)
                        .into_iter()
                        .filter(|k| *k > 0 && *k <= open)
                        .map(|k| line.places[from + k - 1]),
                );
            }
            self.run(&wanted)?;
        }
        Ok(())
    }

    /// The next sizes of a warmth that were not run, on both sides of the one that reaches most.
    fn beside_the_best(&self, line: &WarmLine) -> Vec<usize> {
        let run = |k: &usize| self.runs.contains_key(&line.places[*k]);
        let all = 0..line.places.len();
        let best = best(all.clone().filter_map(|k| self.runs.get(&line.places[k])));
        let Some(best) = best else {
            return Vec::new();
        };
        let Some(k) = all
            .clone()
            .find(|k| self.plants[line.places[*k]] == best.plant)
        else {
            return Vec::new();
        };
        let below = k.checked_sub(1).filter(|k| !run(k));
        let above = Some(k + 1).filter(|k| all.contains(k) && !run(k));
        below
            .into_iter()
            .chain(above)
            .map(|k| line.places[k])
            .collect()
    }

    /// Runs the trimmings (warmth, foam, water, row) of the smallest sizes that fit; where none does, of the size that
    /// reaches most.
    pub(super) fn trimmings(&mut self) -> Result<(), SizeFailure> {
        let mut sizes: Vec<(f64, usize)> = Vec::new();
        for i in self.fit() {
            let size = (self.plants[i].unit_l, self.plants[i].units);
            if !sizes.contains(&size) {
                sizes.push(size);
            }
        }
        sizes.truncate(TRIMMED);
        // The size just below may fit with another trimming than the estimate preferred.
        let first = self.fit().first().map(|i| self.plants[*i]);
        if let Some(first) = first {
            let size = |p: &Plant| (p.unit_l, p.units);
            let mut larger_first = self.plants.iter().rev();
            let below = larger_first.find(|p| litres(p) < litres(&first));
            sizes.extend(below.map(size));
            // Hardly larger with fewer units may be the plainer plant.
            let mut fewer: Vec<(f64, usize)> = Vec::new();
            for p in self.plants {
                let near = litres(p) > litres(&first) && nearly(litres(p), litres(&first));
                if near && p.units < first.units && !fewer.contains(&size(p)) {
                    fewer.push(size(p));
                }
            }
            fewer.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.total_cmp(&b.0)));
            fewer.truncate(TRIMMED);
            fewer.retain(|size| !sizes.contains(size));
            sizes.extend(fewer);
        }
        let mut enough = WORTH * self.wish.target.amount();
        if sizes.is_empty()
            && let Some(best) = self.nearest()
        {
            sizes.push((best.plant.unit_l, best.plant.units));
            enough = WORTH * best.reach;
        }
        let mut wanted = Vec::new();
        for size in sizes {
            let mut of_size: Vec<usize> = (0..self.plants.len())
                .filter(|i| (self.plants[*i].unit_l, self.plants[*i].units) == size)
                .filter(|i| self.estimates[*i].reach >= enough)
                .collect();
            // Those expected to give most, where there are too many.
            of_size.sort_by(|a, b| {
                let order = self.estimates[*b].promise(&self.estimates[*a]);
                order.then(a.cmp(b))
            });
            // Plain ones are not crowded out by the windows that give more: what needs none is the simpler plant.
            let mut taken: Vec<(Kind, usize)> = Vec::new();
            for i in of_size {
                let p = &self.plants[i];
                let plain = p.sun == SunChoice::None && p.buried_cm == 0.0;
                let kind = Kind {
                    sun: p.sun,
                    buried_cm: p.buried_cm,
                    rests: p.rests.filter(|_| plain),
                };
                let at = match taken.iter().position(|t| t.0 == kind) {
                    Some(at) => at,
                    None => {
                        taken.push((kind, 0));
                        taken.len() - 1
                    }
                };
                if taken[at].1 < if plain { MOST_PLAIN } else { MOST_OTHERS } {
                    taken[at].1 += 1;
                    wanted.push(i);
                }
            }
        }
        self.run(&wanted)
    }

    /// The sound plant that reaches most.
    pub(super) fn nearest(&self) -> Option<Tried> {
        let places = self.places();
        best(places.iter().filter_map(|i| self.runs.get(i)))
    }

    /// One step from a plant in size, foam, warmth, water and arrangement; run where they were not.
    pub(super) fn neighbours(&mut self, plant: &Plant) -> Result<Vec<Tried>, SizeFailure> {
        let mut places = Vec::new();
        let same_but = |p: &Plant, changed: usize| {
            let equal = [
                (p.unit_l, p.units) == (plant.unit_l, plant.units),
                p.foam_cm == plant.foam_cm,
                p.set_c == plant.set_c,
                p.water_per_kg == plant.water_per_kg,
                p.in_row == plant.in_row || p.units == 1 || plant.units == 1,
                (p.sun, p.buried_cm, p.rests) == (plant.sun, plant.buried_cm, plant.rests),
            ];
            equal
                .iter()
                .enumerate()
                .all(|(k, same)| *same == (k != changed))
        };
        let keys: [&dyn Fn(&Plant) -> f64; 4] = [
            &|p| p.unit_l * p.units as f64,
            &|p| p.foam_cm,
            &|p| p.set_c.unwrap_or(0.0),
            &|p| p.water_per_kg,
        ];
        for (changed, key) in keys.iter().enumerate() {
            let here = key(plant);
            let others = || (0..self.plants.len()).filter(|i| same_but(&self.plants[*i], changed));
            let at = |i: &usize| key(&self.plants[*i]);
            let by = |a: &usize, b: &usize| at(a).total_cmp(&at(b)).then(b.cmp(a));
            places.extend(others().filter(|i| at(i) < here).max_by(by));
            places.extend(others().filter(|i| at(i) > here).min_by(by));
        }
        places.extend((0..self.plants.len()).find(|i| same_but(&self.plants[*i], 4)));
        self.run(&places)?;
        Ok(places
            .iter()
            .filter_map(|i| self.runs.get(i).cloned())
            .collect())
    }

    /// The plant in every place that the builder allows it, and working or resting as it does not; run where they were
    /// not. The plant itself is among them.
    pub(super) fn placed(
        &mut self,
        plant: &Plant,
    ) -> Result<(Vec<Tried>, Option<Tried>), SizeFailure> {
        let same = |p: &Plant| {
            let moved = Plant {
                sun: plant.sun,
                buried_cm: plant.buried_cm,
                ..*p
            };
            moved == *plant
        };
        let places: Vec<usize> = (0..self.plants.len())
            .filter(|i| same(&self.plants[*i]))
            .collect();
        let other = |p: &Plant| {
            let moved = Plant {
                rests: plant.rests,
                ..*p
            };
            moved == *plant && p.rests.is_none() != plant.rests.is_none()
        };
        let otherwise = (0..self.plants.len()).find(|i| other(&self.plants[*i]));
        let wanted: Vec<usize> = places.iter().copied().chain(otherwise).collect();
        self.run(&wanted)?;
        let run = |i: &usize| self.runs.get(i).cloned();
        Ok((
            places.iter().filter_map(run).collect(),
            otherwise.as_ref().and_then(run),
        ))
    }

    pub(super) fn curves(&self, lines: &[WarmLine]) -> Vec<Curve> {
        let own = self.wish.builder.heater == HeaterChoice::OwnGas;
        lines
            .iter()
            .map(|line| Curve {
                set_c: line.set_c,
                points: line
                    .places
                    .iter()
                    .filter_map(|i| self.runs.get(i))
                    .filter(|t| !t.months.is_empty())
                    .map(|t| {
                        let sum = |of: fn(&MonthRow) -> f64| t.months.iter().map(of).sum::<f64>();
                        let made = sum(|m| m.methane_kwh_d).max(1e-9);
                        CurvePoint {
                            volume_l: t.plant.unit_l * t.plant.units as f64,
                            reach: t.reach,
                            net_kwh_d: t.mean(self.wish, |m| m.net_kwh_d),
                            heating_share: if own {
                                sum(|m| m.heating_kwh_d) / made
                            } else {
                                0.0
                            },
                            sound: t.is_sound(),
                            fit: t.is_fit(),
                        }
                    })
                    .collect(),
            })
            .collect()
    }
}

/// The one that reaches most, sound ones before all others; the smaller of equals.
pub(super) fn best<'t>(tried: impl Iterator<Item = &'t Tried>) -> Option<Tried> {
    let order = |a: &&Tried, b: &&Tried| -> Ordering {
        (a.is_sound().cmp(&b.is_sound()))
            .then(a.reach.total_cmp(&b.reach))
            .then(b.plant.smaller(&a.plant))
    };
    tried.max_by(order).cloned()
}

/// At most `most` places of a list of `n`, evenly spread, both ends among them.
fn spaced(n: usize, most: usize) -> Vec<usize> {
    if n <= most {
        return (0..n).collect();
    }
    let mut out: Vec<usize> = (0..most)
        .map(|k| (k * (n - 1) + (most - 1) / 2) / (most - 1))
        .collect();
    out.dedup();
    out
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use serde_json::{Value, json};

    use super::super::plant::grid;
    use super::*;

    /// What the search runs, and what runs of the whole grid give: the smallest volume that fits, and the most that a
    /// sound plant reaches.
    fn beside_the_whole_grid(wish: &Value) -> [(Option<f64>, f64); 2] {
        let (wish, _) = Wish::from_text(&wish.to_string(), "wish.json").unwrap();
        let stop = AtomicBool::new(false);
        let options = Options {
            draws: 8,
            seed: 1,
            threads: None,
            stop: &stop,
        };
        let grid = grid(&wish, 1.0);
        let mut desk = Desk::new(&wish, &options, &grid.plants, &|_, _| {}).unwrap();
        let lines = desk.lines();
        desk.along_the_size(&lines).unwrap();
        desk.between(&lines).unwrap();
        desk.trimmings().unwrap();
        let found = |desk: &Desk<'_>| {
            let volume = |i: &usize| desk.plants[*i].unit_l * desk.plants[*i].units as f64;
            let sound = desk.runs.values().filter(|t| t.is_sound());
            (
                desk.fit().first().map(volume),
                sound.map(|t| t.reach).fold(0.0, f64::max),
            )
        };
        let searched = found(&desk);
        let run = desk.runs.len();
        let all: Vec<usize> = (0..grid.plants.len()).collect();
        desk.run(&all).unwrap();
        println!("{run} of {} plants", all.len());
        [searched, found(&desk)]
    }

    #[test]
    fn the_search_finds_what_the_whole_grid_holds() {
        let scraps = json!([
            {"material": "kitchen-scraps", "kg_per_day": 3},
            {"material": "cattle-dung", "kg_per_day": 4}
        ]);
        let of = |climate: &str, target: Value, builder: Value| json!({"climate": climate, "scraps": scraps, "target": target, "builder": builder});
        let foam = json!([0, 15]);
        let plain = |mut wish: Value| {
            for (key, value) in [
                ("sun", json!(["none"])),
                ("buried_cm", json!([0])),
                ("pause", json!(false)),
            ] {
                if wish["builder"].get(key).is_none() {
                    wish["builder"][key] = value;
                }
            }
            wish
        };
        for wish in [
            of(
                "warm",
                json!({"treat_kg_per_day": 6}),
                json!({"unit_sizes_l": [300, 1000], "most_units": 2, "arrangement": "row", "foam_cm": foam, "set_c": [30]}),
            ),
            of(
                "temperate",
                json!({"burner_hours_per_day": 0.7, "months": [6, 7, 8]}),
                json!({"unit_sizes_l": [500, 800], "most_units": 2, "arrangement": "parallel", "foam_cm": foam, "set_c": [25, 35], "water_l_per_day": 3}),
            ),
            of(
                "mild-coast",
                json!({"winter_kwh": 60, "winter_as": "heat"}),
                json!({"unit_sizes_l": [1000], "most_units": 2, "foam_cm": foam, "set_c": [20, 30], "water_l_per_day": 3}),
            ),
            of(
                "cold-inland",
                json!({"burner_hours_per_day": 3}),
                json!({"unit_sizes_l": [1000], "most_units": 2, "foam_cm": foam, "heater": "mains", "set_c": [30], "water_l_per_day": 3}),
            ),
            of(
                "temperate",
                json!({"burner_hours_per_day": 0.5, "months": [6, 7, 8]}),
                json!({
                    "unit_sizes_l": [500, 1000], "most_units": 1, "foam_cm": [10], "set_c": [30], "water_l_per_day": 3,
                    "sun": ["none", "window", "greenhouse"], "buried_cm": [0, 50], "pause": true
                }),
            ),
        ]
        .map(plain)
        {
            let [searched, all] = beside_the_whole_grid(&wish);
            println!("{searched:?} {all:?}");
            assert_eq!(searched.0, all.0, "{wish}");
            // Where nothing fits, the best that is told is the best there is, or nearly.
            if all.0.is_none() {
                assert!(searched.1 >= 0.95 * all.1, "{searched:?} {all:?} {wish}");
            }
        }
    }

    #[test]
    fn spread_places_hold_both_ends_and_rise() {
        assert_eq!(spaced(3, 6), [0, 1, 2]);
        for n in 6..60 {
            let places = spaced(n, 6);
            assert_eq!((places[0], places[places.len() - 1]), (0, n - 1));
            assert!(places.windows(2).all(|w| w[0] < w[1]), "{n}: {places:?}");
        }
    }
}
