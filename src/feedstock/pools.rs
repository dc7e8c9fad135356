//! Pools as arrays, so that sums over them are written once.

use super::composition::{PoolRates, Pools, Range};

/// fast carbohydrate, fibre, protein, fat.
pub(crate) fn values(pools: &Pools) -> [f64; 4] {
    [pools.fast_carb, pools.fibre, pools.protein, pools.fat]
}

pub(crate) fn pools([fast_carb, fibre, protein, fat]: [f64; 4]) -> Pools {
    Pools {
        fast_carb,
        fibre,
        protein,
        fat,
    }
}

pub(crate) fn ranges(rates: &PoolRates) -> [Range; 4] {
    [rates.fast_carb, rates.fibre, rates.protein, rates.fat]
}

pub(crate) fn rates([fast_carb, fibre, protein, fat]: [Range; 4]) -> PoolRates {
    PoolRates {
        fast_carb,
        fibre,
        protein,
        fat,
    }
}
