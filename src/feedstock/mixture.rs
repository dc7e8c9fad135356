//! Mixtures by mass balance.

use super::composition::{Acids, Composition, Living, PoolRates, Pools, Range};
use super::pools;

const ZERO: Range = Range {
    low: 0.0,
    typical: 0.0,
    high: 0.0,
};

/// Plain water: holds nothing that digests.
#[must_use]
pub fn water() -> Composition {
    Composition {
        total_solids: 0.0,
        volatile_solids: 0.0,
        pools: Pools::default(),
        inert: 0.0,
        degradable: Pools::default(),
        hydrolysis: PoolRates {
            fast_carb: ZERO,
            fibre: ZERO,
            protein: ZERO,
            fat: ZERO,
        },
        carbon: 0.0,
        nitrogen: 0.0,
        ammonia_n: 0.0,
        labile_n: 0.0,
        sulfur: 0.0,
        acids: Acids::default(),
        strong_ions: 0.0,
        fresh_ph: None,
        living: Living::default(),
        methane_potential: None,
    }
}

/// What one kilogram of the mixture holds; masses in kg, none negative.
///
/// Contents per kilogram are weighted by mass. Of each pool, the degradable share is weighted by the
/// pool's mass, and the hydrolysis constants by its degradable COD (within one pool COD per mass is
/// the same for all materials, so this is its degradable mass); low, typical and high each by
/// themselves, so the band holds as if all materials were at the same end at once. The methane
/// potential is weighted by volatile solids and is `None` unless every part with volatile solids has
/// one. The pH is the mean of the parts that hold carbonate, weighted by mass: a description, not a
/// balance. Whoever needs the carbonate must take it part by part. Without any mass the result is
/// [`water`].
#[must_use]
pub fn mix(parts: &[(&Composition, f64)], water_kg: f64) -> Composition {
    let total = water_kg + parts.iter().map(|(_, kg)| kg).sum::<f64>();
    if total <= 0.0 {
        return water();
    }
    let per_kg = |content: &dyn Fn(&Composition) -> f64| {
        parts.iter().map(|(c, kg)| kg * content(c)).sum::<f64>() / total
    };
    let masses = by_pool(|pool| per_kg(&|c| pools::values(&c.pools)[pool]));
    let reachable = by_pool(|pool| per_kg(&|c| reachable(c)[pool]));
    Composition {
        total_solids: per_kg(&|c| c.total_solids),
        volatile_solids: per_kg(&|c| c.volatile_solids),
        pools: pools::pools(masses),
        inert: per_kg(&|c| c.inert),
        degradable: pools::pools(by_pool(|pool| ratio(reachable[pool], masses[pool]))),
        hydrolysis: hydrolysis(parts),
        carbon: per_kg(&|c| c.carbon),
        nitrogen: per_kg(&|c| c.nitrogen),
        ammonia_n: per_kg(&|c| c.ammonia_n),
        labile_n: per_kg(&|c| c.labile_n),
        sulfur: per_kg(&|c| c.sulfur),
        acids: Acids {
            acetic: per_kg(&|c| c.acids.acetic),
            propionic: per_kg(&|c| c.acids.propionic),
            butyric: per_kg(&|c| c.acids.butyric),
        },
        strong_ions: per_kg(&|c| c.strong_ions),
        fresh_ph: fresh_ph(parts),
        living: Living {
            su: per_kg(&|c| c.living.su),
            aa: per_kg(&|c| c.living.aa),
            fa: per_kg(&|c| c.living.fa),
            c4: per_kg(&|c| c.living.c4),
            pro: per_kg(&|c| c.living.pro),
            ac: per_kg(&|c| c.living.ac),
            h2: per_kg(&|c| c.living.h2),
        },
        methane_potential: methane_potential(parts),
    }
}

/// Degradable mass of each pool \[kg/kg fresh\].
pub(crate) fn reachable(composition: &Composition) -> [f64; 4] {
    let masses = pools::values(&composition.pools);
    let shares = pools::values(&composition.degradable);
    by_pool(|pool| masses[pool] * shares[pool])
}

fn hydrolysis(parts: &[(&Composition, f64)]) -> PoolRates {
    pools::rates(std::array::from_fn(|pool| {
        let weighted = parts.iter().map(|(c, kg)| {
            let weight = kg * reachable(c)[pool];
            (pools::ranges(&c.hydrolysis)[pool], weight)
        });
        mean(weighted).unwrap_or(ZERO)
    }))
}

fn methane_potential(parts: &[(&Composition, f64)]) -> Option<Range> {
    let mut weighted = Vec::with_capacity(parts.len());
    for (c, kg) in parts {
        let volatile = kg * c.volatile_solids;
        if volatile > 0.0 {
            weighted.push((c.methane_potential?, volatile));
        }
    }
    mean(weighted.into_iter())
}

fn fresh_ph(parts: &[(&Composition, f64)]) -> Option<f64> {
    let (mut sum, mut mass) = (0.0, 0.0);
    for (c, kg) in parts {
        if let Some(ph) = c.fresh_ph {
            sum += kg * ph;
            mass += kg;
        }
    }
    (mass > 0.0).then(|| sum / mass)
}

/// Weighted mean of ranges; `None` without weight.
fn mean(weighted: impl Iterator<Item = (Range, f64)>) -> Option<Range> {
    let (mut sum, mut total) = (ZERO, 0.0);
    for (range, weight) in weighted {
        sum.low += weight * range.low;
        sum.typical += weight * range.typical;
        sum.high += weight * range.high;
        total += weight;
    }
    (total > 0.0).then(|| Range {
        low: sum.low / total,
        typical: sum.typical / total,
        high: sum.high / total,
    })
}

fn by_pool(value: impl Fn(usize) -> f64) -> [f64; 4] {
    std::array::from_fn(value)
}

fn ratio(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
