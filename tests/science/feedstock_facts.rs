//! Recipe facts and the objections that follow from them.

use marshgas::feedstock::{
    Composition, Facts, WarningKind, library, mix, released_share, thresholds, warnings, water,
};

use crate::feedstock_data::close;

fn material(id: &str) -> &'static Composition {
    library().get(id).unwrap().composition()
}

fn kinds(composition: &Composition) -> Vec<WarningKind> {
    let found = warnings(composition, &Facts::of(composition));
    found
        .into_iter()
        .map(|warning| warning.threshold.kind)
        .collect()
}

#[test]
fn a_classic_recipe_passes() {
    // Dung and scraps with as much water.
    let mixture = mix(
        &[
            (material("cattle-dung"), 10.0),
            (material("kitchen-scraps"), 5.0),
        ],
        10.0,
    );
    assert_eq!(kinds(&mixture), []);
}

#[test]
fn each_objection_is_raised_where_it_belongs() {
    use WarningKind::*;
    assert_eq!(
        kinds(material("hen-droppings")),
        [LowCarbonToNitrogen, TooThick, MuchAmmonia]
    );
    let oily = mix(
        &[
            (material("cattle-slurry"), 10.0),
            (material("cooking-fat"), 0.5),
        ],
        5.0,
    );
    assert_eq!(kinds(&oily), [MuchFat]);
    let fruit = mix(&[(material("fruit-waste"), 1.0)], 1.0);
    assert_eq!(kinds(&fruit), [HighCarbonToNitrogen, NoManure]);
    assert_eq!(kinds(&water()), []);
    assert!(kinds(material("bread")).contains(&NoManure));
}

#[test]
fn an_objection_carries_value_limit_reason_and_source() {
    let droppings = material("hen-droppings");
    let facts = Facts::of(droppings);
    let found = warnings(droppings, &facts);
    let thick = &found[1];
    close(thick.value, 35.0, 1e-12, "solids");
    assert_eq!(thick.threshold.limit, 12.0);
    for limit in thresholds() {
        assert!(!limit.reason.is_empty() && !limit.mend.is_empty() && !limit.unit.is_empty());
        assert!(!limit.provenance.refs.is_empty(), "{}", limit.kind.key());
    }
}

/// The limit by mass is the published limit by COD: 31 % (Cirne et al. 2007), the rest at 1.25 kg COD/kg.
#[test]
fn the_fat_limit_is_the_published_one_by_mass() {
    let limit = thresholds()
        .iter()
        .find(|t| t.kind == WarningKind::MuchFat)
        .unwrap()
        .limit
        / 100.0;
    let by_cod = 2.89 * limit / (2.89 * limit + 1.25 * (1.0 - limit));
    close(by_cod, 0.31, 0.02, "fat by COD");
}

#[test]
fn ammonium_comes_from_liquor_urea_and_protein() {
    let facts = Facts::of(material("hen-droppings"));
    close(facts.ammonium_g_per_kg, 5.0, 1e-12, "present");
    // 5 + 7 uric acid + 0.6 of 9 in protein.
    close(
        facts.ammonium_potential_g_per_kg,
        5.0 + 7.0 + 0.6 * 9.0,
        0.002,
        "after digestion",
    );
}

#[test]
fn gas_figures_hang_together() {
    for entry in library().iter() {
        let facts = Facts::of(entry.composition());
        let (reach, pools, all) = (facts.reachable, facts.pools, facts.everything);
        assert!(
            reach.methane_nl_per_kg < pools.methane_nl_per_kg,
            "{}",
            entry.id
        );
        assert!(
            pools.methane_nl_per_kg <= all.methane_nl_per_kg,
            "{}",
            entry.id
        );
        let share = facts.methane_share.unwrap();
        assert!((0.499..0.71).contains(&share), "{}: {share}", entry.id);
        assert!(facts.methane_share_held.unwrap() >= share, "{}", entry.id);
        let shares = [
            facts.fat_share,
            facts.fibre_share,
            facts.protein_share,
            facts.inert_share,
        ];
        assert!(
            shares.iter().all(|s| (0.0..=1.0).contains(&s.unwrap())),
            "{}",
            entry.id
        );
        let raw = facts.measured_biogas_nl_per_kg.unwrap().typical;
        close(
            raw * share,
            facts.measured_nl_per_kg.unwrap().typical,
            1e-12,
            &entry.id,
        );
    }
    // 3.4 g acetic, 1.0 propionic, 0.6 butyric per kg, with 373.2, 529.5 and 636.0 NL CH4/kg.
    let acids = Facts::of(material("cattle-slurry")).acids_methane_nl_per_kg;
    close(
        acids,
        3.4e-3 * 373.2 + 1.0e-3 * 529.5 + 0.6e-3 * 636.0,
        0.002,
        "acids",
    );
}

#[test]
fn water_has_no_ratios() {
    let facts = Facts::of(&water());
    assert_eq!(facts.carbon_to_nitrogen, None);
    assert_eq!(facts.fat_share, None);
    assert_eq!(facts.methane_share, None);
    assert_eq!(facts.reachable.methane_nl_per_kg_vs, None);
    assert_eq!(facts.everything.methane_nl_per_kg, 0.0);
    assert_eq!(released_share(&water(), 10.0).typical, 0.0);
}

#[test]
fn release_is_first_order_in_each_pool() {
    let oil = material("cooking-fat");
    // Nearly pure fat at 0.12 1/d: 1 - exp(-1.2) after ten days.
    close(
        released_share(oil, 10.0).typical,
        1.0 - (-1.2f64).exp(),
        0.002,
        "fat alone",
    );
    assert_eq!(released_share(oil, 0.0).typical, 0.0);
    let scraps = released_share(material("kitchen-scraps"), 3.0);
    assert!(scraps.low < scraps.typical && scraps.typical < scraps.high && scraps.high < 1.0);
}
