//! Mixtures: mass balances, and the one right way to a C:N ratio.

use marshgas::feedstock::{Composition, Facts, library, mix, water};
use proptest::prelude::*;

use crate::feedstock_data::close;

/// A material of which only carbon, nitrogen and solids are known, per kg as it is.
fn elements(carbon: f64, nitrogen: f64, total_solids: f64) -> Composition {
    Composition {
        carbon,
        nitrogen,
        total_solids,
        ..water()
    }
}

fn ratio(parts: &[(&Composition, f64)]) -> f64 {
    Facts::of(&mix(parts, 0.0)).carbon_to_nitrogen.unwrap()
}

/// Published worked example (garden-extension sheet): 50 lb hay at 40 % C and 1 % N, 10 lb kitchen scraps at
/// 10 % C and 1 % N, 2 lb coffee grounds at 25 % C and 1 % N give C:N 34.7.
#[test]
fn a_published_mixture_has_the_published_ratio() {
    let hay = elements(0.40, 0.01, 1.0);
    let scraps = elements(0.10, 0.01, 1.0);
    let coffee = elements(0.25, 0.01, 1.0);
    let found = ratio(&[(&hay, 50.0), (&scraps, 10.0), (&coffee, 2.0)]);
    close(found, 34.677, 1e-4, "C:N");
}

/// Published ingredients (compost mixture sheet): cattle manure 81 % water, 45.6 % C, 2.4 % N; newsprint 5.5 %
/// water, 62.5 % C, 0.1 % N; 100 kg and 10 kg. Result by hand: C:N 31.30, moisture 74.1 %.
#[test]
fn manure_with_newsprint() {
    let manure = elements(0.456 * 0.19, 0.024 * 0.19, 0.19);
    let paper = elements(0.625 * 0.945, 0.001 * 0.945, 0.945);
    let mixture = mix(&[(&manure, 100.0), (&paper, 10.0)], 0.0);
    let facts = Facts::of(&mixture);
    close(facts.carbon_to_nitrogen.unwrap(), 31.30, 2e-4, "C:N");
    close(100.0 - facts.total_solids_pct, 74.1, 1e-3, "moisture");
}

/// Averaging ratios, as garden pages do, says 33 for grass (20) with half as much leaves (60); the balance of
/// both elements (2.5 % and 1.0 % N) says 26.7. For excreta and straw averaging is wrong more than tenfold.
#[test]
fn ratios_are_not_averaged() {
    let grass = elements(0.025 * 20.0, 0.025, 1.0);
    let leaves = elements(0.010 * 60.0, 0.010, 1.0);
    let found = ratio(&[(&grass, 2.0), (&leaves, 1.0)]);
    close(found, 26.67, 1e-3, "grass and leaves");
    let averaged = (2.0 * 20.0 + 60.0) / 3.0;
    assert!((averaged - found).abs() > 6.0);

    let excreta = elements(0.06 * 8.0, 0.06, 1.0);
    let straw = elements(0.006 * 67.0, 0.006, 1.0);
    close(
        ratio(&[(&excreta, 1.0), (&straw, 4.0)]),
        25.0,
        0.01,
        "4 kg straw per kg",
    );
    let by_averaging = ratio(&[(&excreta, 1.0), (&straw, 0.35)]);
    assert!(
        by_averaging < 11.0,
        "0.35 kg would be far too little: {by_averaging}"
    );
}

#[test]
fn water_dilutes_and_nothing_else() {
    let dung = library().get("cattle-dung").unwrap().composition();
    let mixed = mix(&[(dung, 2.0)], 2.0);
    close(mixed.total_solids, dung.total_solids / 2.0, 1e-12, "solids");
    close(mixed.strong_ions, dung.strong_ions / 2.0, 1e-12, "ions");
    close(mixed.living.ac, dung.living.ac / 2.0, 1e-12, "living");
    close(mixed.acids.acetic, dung.acids.acetic / 2.0, 1e-12, "acids");
    close(
        mixed.degradable.fibre,
        dung.degradable.fibre,
        1e-12,
        "degradable",
    );
    close(
        mixed.hydrolysis.fibre.typical,
        dung.hydrolysis.fibre.typical,
        1e-12,
        "constant",
    );
    close(
        mixed.methane_potential.unwrap().typical,
        180.0,
        1e-12,
        "potential per VS",
    );
    assert_eq!(mixed.fresh_ph, dung.fresh_ph);
    assert_eq!(mix(&[], 5.0), water());
    assert_eq!(mix(&[], 0.0), water());
}

/// Constants count by what can be degraded: fat from oil outweighs the trace in the dung.
#[test]
fn constants_are_weighted_by_degradable_mass() {
    let dung = library().get("cattle-dung").unwrap().composition();
    let oil = library().get("cooking-fat").unwrap().composition();
    let mixed = mix(&[(dung, 10.0), (oil, 0.1)], 0.0);
    let weight = |c: &Composition, kg: f64| kg * c.pools.fat * c.degradable.fat;
    let (a, b) = (weight(dung, 10.0), weight(oil, 0.1));
    let expected = (a * 0.1 + b * 0.12) / (a + b);
    close(mixed.hydrolysis.fat.typical, expected, 1e-12, "fat");
    close(
        mixed.hydrolysis.fibre.typical,
        0.06,
        0.01,
        "fibre stays that of dung",
    );
    let unknown = Composition {
        methane_potential: None,
        ..oil.clone()
    };
    assert_eq!(
        mix(&[(dung, 1.0), (&unknown, 1.0)], 0.0).methane_potential,
        None
    );
}

proptest! {
    #[test]
    fn masses_and_gas_are_conserved(
        first in 0usize..33, second in 0usize..33,
        kg in 0.01f64..50.0, other in 0.0f64..50.0, water_kg in 0.0f64..100.0,
    ) {
        let entries: Vec<_> = library().iter().collect();
        let (a, b) = (entries[first].composition(), entries[second].composition());
        let mixed = mix(&[(a, kg), (b, other)], water_kg);
        let total = kg + other + water_kg;
        for content in [
            |c: &Composition| c.total_solids,
            |c: &Composition| c.inert,
            |c: &Composition| c.carbon,
            |c: &Composition| c.nitrogen,
            |c: &Composition| c.labile_n,
            |c: &Composition| c.sulfur,
            |c: &Composition| c.living.h2,
            |c: &Composition| Facts::of(c).reachable.methane_nl_per_kg,
            |c: &Composition| Facts::of(c).everything.biogas_nl_per_kg,
            |c: &Composition| Facts::of(c).ammonium_potential_g_per_kg,
            |c: &Composition| Facts::of(c).measured_nl_per_kg.unwrap().typical,
        ] {
            let whole = kg * content(a) + other * content(b);
            prop_assert!((content(&mixed) * total - whole).abs() <= 1e-9 * whole.abs().max(1e-6));
        }
        let p = &mixed.pools;
        let parts = p.fast_carb + p.fibre + p.protein + p.fat + mixed.inert;
        prop_assert!((parts - mixed.volatile_solids).abs() <= 1e-9 * mixed.volatile_solids);
        let k = mixed.hydrolysis.protein;
        prop_assert!(k.low <= k.typical && k.typical <= k.high);
    }
}
