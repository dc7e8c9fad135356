//! What a scenario feeds on an average day, and the pattern of its doses.

use std::sync::Arc;

use crate::case::Case;
use crate::digester::Engine;
use crate::kinetics::{self, Load};

/// Days before the chosen day over which the feed is averaged: four weeks see every weekly habit.
pub(super) const WINDOW_D: f64 = 28.0;
/// A portion that stands for a stream is given at this share of the day.
const STREAM_AT: f64 = 0.0;

/// The feed of an average day and its pattern.
#[derive(Debug, Clone)]
pub(super) struct Feed {
    /// (days after the start of the pattern, what is given), in order of time.
    pub(super) pattern: Vec<(f64, Load)>,
    /// Length of the pattern \[d\], whole days.
    pub(super) span_d: f64,
    /// The average day.
    pub(super) daily: Load,
    /// Fresh material a day without water \[kg\]; of a stream its whole mass.
    pub(super) kg_per_day: f64,
    /// (name, kg a day) of the materials, water last.
    pub(super) parts: Vec<(String, f64)>,
    /// Whether some of it carries the living groups of a digester, as dung and digestate do.
    pub(super) carries_life: bool,
    /// Whether a steady stream feeds, whose daily portions stand for it here.
    pub(super) is_stream: bool,
}

/// What a dose or a filling brings.
pub(super) fn load(
    engine: &Engine,
    case: &Case,
    parts: &[(usize, f64)],
    water_kg: f64,
    additives: &[(kinetics::Additive, f64)],
) -> Load {
    let network = &engine.network;
    let mut out = Load::empty(network);
    for &(i, kg) in parts {
        let one =
            kinetics::load_of_material(network, &engine.acid_base, &case.materials[i].composition);
        out.add(&one, kg);
    }
    for &(additive, kg) in additives {
        out.add(&kinetics::additive_load(network, additive), kg);
    }
    out.add_water(water_kg);
    out
}

impl Feed {
    /// The feed of the weeks before `day`; where nothing was fed then, of the last weeks that were fed. `None` if
    /// nothing but water was ever fed before.
    pub(super) fn of(engine: &Arc<Engine>, case: &Case, day: f64) -> Option<Self> {
        if let Some(stream) = &case.inflow {
            return Some(Self::of_stream(engine, stream));
        }
        let before = |end: f64| {
            let start = (end - WINDOW_D).max(0.0);
            case.doses
                .iter()
                .filter(move |d| d.day >= start && d.day < end && !d.parts.is_empty())
        };
        let last = case
            .doses
            .iter()
            .rfind(|d| d.day < day && !d.parts.is_empty())?;
        let end = if before(day).next().is_some() {
            day
        } else {
            last.day.floor() + 1.0
        };
        let first = before(end).next()?.day.floor();
        let days = (end - first).max(1.0);
        let span_d = if days >= 7.0 {
            7.0 * (days / 7.0).floor()
        } else {
            days
        };
        let start = end - span_d;
        let mut parts: Vec<(String, f64)> = Vec::new();
        let mut add = |name: &str, kg: f64| match parts.iter_mut().find(|(n, _)| n == name) {
            Some((_, old)) => *old += kg / span_d,
            None => parts.push((name.to_owned(), kg / span_d)),
        };
        let mut daily = Load::empty(&engine.network);
        let mut pattern = Vec::new();
        let mut carries_life = false;
        let doses = case.doses.iter().filter(|d| d.day >= start && d.day < end);
        for dose in doses.clone() {
            let one = load(engine, case, &dose.parts, dose.water_kg, &dose.additives);
            daily.add(&one, 1.0 / span_d);
            pattern.push((dose.day - start, one));
            for &(i, kg) in &dose.parts {
                add(&case.materials[i].name, kg);
                let l = &case.materials[i].composition.living;
                carries_life |= l.ac + l.h2 > 0.0;
            }
        }
        let water: f64 = doses.map(|d| d.water_kg).sum();
        if water > 0.0 {
            add("water", water);
        }
        Some(Self {
            pattern,
            span_d,
            kg_per_day: daily.material_kg,
            daily,
            parts,
            carries_life,
            is_stream: false,
        })
    }

    fn of_stream(engine: &Arc<Engine>, stream: &crate::case::Inflow) -> Self {
        let network = &engine.network;
        let mut daily = Load::empty(network);
        daily.volume_m3 = stream.m3_per_d;
        for (name, value) in &stream.concentrations {
            if let Some(i) = network.index(name) {
                daily.amount[i] = value * stream.m3_per_d;
            }
        }
        for (p, pool) in network.pools.iter().enumerate() {
            daily.pool_amount[p] = daily.amount[pool.component];
            daily.pool_speed[p] =
                daily.pool_amount[p] * network.coefficients[pool.coefficient].value;
        }
        let kg = kinetics::LIQUOR_KG_PER_M3 * stream.m3_per_d;
        daily.material_kg = kg;
        Self {
            pattern: vec![(STREAM_AT, daily.clone())],
            span_d: 1.0,
            daily,
            kg_per_day: kg,
            parts: vec![("the stream".to_owned(), kg)],
            carries_life: false,
            is_stream: true,
        }
    }

    /// Concentration of each component of the average day \[its unit/m3\].
    pub(super) fn concentrations(&self) -> Vec<f64> {
        self.daily
            .amount
            .iter()
            .map(|a| a / self.daily.volume_m3)
            .collect()
    }

    /// The pattern repeated from a day on until another, `factor` times its amounts.
    pub(super) fn schedule(&self, from: f64, until: f64, factor: f64) -> Vec<(f64, Load)> {
        self.schedule_by(from, until, |_| factor)
    }

    /// The same with a factor for each day.
    pub(super) fn schedule_by(
        &self,
        from: f64,
        until: f64,
        factor: impl Fn(f64) -> f64,
    ) -> Vec<(f64, Load)> {
        let mut out = Vec::new();
        let mut start = from;
        while start < until {
            for (offset, one) in &self.pattern {
                let load = scaled(one, factor(start + offset));
                if start + offset < until {
                    out.push((start + offset, load));
                }
            }
            start += self.span_d;
        }
        out
    }
}

/// The same in another amount.
pub(super) fn scaled(load: &Load, factor: f64) -> Load {
    let mut out = Load {
        amount: vec![0.0; load.amount.len()],
        volume_m3: 0.0,
        pool_speed: [0.0; 4],
        pool_amount: [0.0; 4],
        vs_kg: 0.0,
        material_kg: 0.0,
        water_kg: 0.0,
    };
    out.add(load, factor);
    out
}
