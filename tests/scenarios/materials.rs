//! Materials by name, in pieces, and of the user's own.

use marshgas::case::Material;
use marshgas::feedstock::{PieceSize, library, own};
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, warnings};

/// The materials of the case when the recipe holds these parts.
fn used(parts: Value, more: &[(&str, Value)]) -> Vec<Material> {
    let mut changes = vec![("recipes.bucket.materials", parts)];
    changes.extend_from_slice(more);
    loaded(&changes).case.materials
}

fn composition(id: &str) -> marshgas::feedstock::Composition {
    library()
        .get(id)
        .expect("in the library")
        .composition()
        .clone()
}

#[test]
fn library_materials_come_as_they_are() {
    let materials = used(json!([{"material": "kitchen-scraps", "kg": 1}]), &[]);
    let scraps = &materials[1];
    assert_eq!(scraps.id, "kitchen-scraps");
    assert!(scraps.from_library);
    assert_eq!(scraps.composition, composition("kitchen-scraps"));
}

#[test]
fn the_same_material_is_listed_once() {
    let parts = json!([
        {"material": "cattle-slurry", "kg": 1},
        {"material": "cattle-slurry", "kg": 2, "pieces": "chopped"}
    ]);
    let loaded = loaded(&[("recipes.bucket.materials", parts)]);
    assert_eq!(loaded.case.materials.len(), 1);
    assert_eq!(loaded.case.doses[0].parts, [(0, 1.0), (0, 2.0)]);
}

#[test]
fn pieces_make_separate_entries_with_their_own_hydrolysis() {
    let parts = json!([
        {"material": "kitchen-scraps", "kg": 1},
        {"material": "kitchen-scraps", "kg": 1, "pieces": "pulp"},
        {"material": "kitchen-scraps", "kg": 1, "pieces": "whole"}
    ]);
    let materials = used(parts, &[]);
    assert_eq!(materials.len(), 4);
    let chopped = composition("kitchen-scraps");
    for (material, size) in materials[2..]
        .iter()
        .zip([PieceSize::Pulp, PieceSize::Whole])
    {
        assert_eq!(material.composition, size.applied_to(&chopped));
        assert_eq!(material.id, "kitchen-scraps");
        assert!(material.name.ends_with(&format!("({})", size.key())));
    }
    let fibre = |i: usize| materials[i].composition.hydrolysis.fibre.typical;
    assert!(fibre(2) > fibre(1) && fibre(1) > fibre(3));
}

#[test]
fn the_living_factor_concerns_the_starter_alone() {
    let materials = used(
        json!([{"material": "cattle-slurry", "kg": 1}]),
        &[("starter.living_factor", json!(0.3))],
    );
    assert_eq!(materials.len(), 2);
    let slurry = composition("cattle-slurry");
    assert!((materials[0].composition.living.ac - 0.3 * slurry.living.ac).abs() < 1e-15);
    assert!((materials[0].composition.living.pro - 0.3 * slurry.living.pro).abs() < 1e-15);
    assert_eq!(materials[0].composition.pools, slurry.pools);
    assert_eq!(materials[1].composition, slurry);
}

#[test]
fn names_that_nobody_knows() {
    let said = complaint(&[(
        "recipes.bucket.materials[0].material",
        json!("kitchen-scrap"),
    )]);
    assert!(
        said.starts_with(
            "recipes.bucket.materials[0].material is \"kitchen-scrap\". There is no material of that name. Did you mean \
             \"kitchen-scraps\""
        ),
        "{said}"
    );
    assert!(
        said.ends_with("`marshgas feedstocks` lists those of the library."),
        "{said}"
    );
    assert_eq!(
        complaint(&[("recipes.bucket.materials[0].material", json!("uranium"))]),
        "recipes.bucket.materials[0].material is \"uranium\". There is no material of that name. `marshgas feedstocks` \
         lists those of the library."
    );
    assert_eq!(
        complaint(&[("recipes.bucket.materials[0]", json!({"kg": 1}))]),
        "recipes.bucket.materials[0].material: This key is missing. Name a material of the library or of this scenario."
    );
    assert_eq!(
        complaint(&[("recipes.bucket.materials[0]", json!({"material": "bread"}))]),
        "recipes.bucket.materials[0].kg: This key is missing. Give a number: 0 to 10000000 kg."
    );
}

/// Complaints about one own material, which the recipe uses.
fn own_complaints(material: Value) -> Vec<String> {
    complaints(&[
        ("materials", json!({"mine": material})),
        (
            "recipes.bucket.materials",
            json!([{"material": "mine", "kg": 1}]),
        ),
    ])
}

/// The own material as it stands in the case.
fn own_material(material: Value) -> Material {
    let materials = used(
        json!([{"material": "mine", "kg": 1}]),
        &[("materials", json!({"mine": material}))],
    );
    materials[1].clone()
}

#[test]
fn by_the_label() {
    let label = json!({"label_per_100_g": {
        "name": "Soup", "water_g": 85, "carbohydrate_g": 9, "fibre_g": 2, "protein_g": 2, "fat_g": 3
    }});
    let soup = own_material(label);
    assert_eq!(
        (soup.name.as_str(), soup.id.as_str(), soup.from_library),
        ("Soup", "mine", false)
    );
    let expected = own::from_label(&own::Label {
        water_g: 85.0,
        carbohydrate_g: 9.0,
        fibre_g: 2.0,
        protein_g: 2.0,
        fat_g: 3.0,
        salt_g: None,
        nitrogen_factor: None,
        strong_ions_eq_per_kg: None,
    });
    assert_eq!(Ok(soup.composition), expected);
}

#[test]
fn a_label_that_cannot_be_right() {
    assert_eq!(
        own_complaints(json!({"label_per_100_g": {
            "water_g": 85, "carbohydrate_g": 40, "fibre_g": 50, "protein_g": -2
        }})),
        [
            "materials.mine.label_per_100_g.fat_g: This key is missing. Give a number; 0 where there is none of it."
        ]
    );
    let found = own_complaints(json!({"label_per_100_g": {
        "water_g": 85, "carbohydrate_g": 40, "fibre_g": 50, "protein_g": -2, "fat_g": 1
    }}));
    assert_eq!(
        found,
        [
            "materials.mine.label_per_100_g is water_g + carbohydrate_g + protein_g + fat_g: 124 g per 100 g. A part \
             is larger than its whole. Allowed: 0 to 100 g per 100 g. Check which of the two figures is wrong.",
            "materials.mine.label_per_100_g.fibre_g is 50 g per 100 g. A part is larger than its whole. Allowed: 0 to \
             40 g per 100 g. Check which of the two figures is wrong.",
            "materials.mine.label_per_100_g.protein_g is -2 g per 100 g. Outside the possible range. Allowed: 0 to 100 \
             g per 100 g. Check the figure and its unit.",
        ]
    );
}

fn analysis() -> Value {
    json!({
        "total_solids_pct": 20,
        "volatile_solids_pct_of_solids": 90,
        "shares_of_volatile": {"fast_carb": 0.5, "fibre": 0.2, "protein": 0.15, "fat": 0.1, "inert": 0.05},
        "class": "fresh"
    })
}

#[test]
fn by_analysis() {
    let mut figures = analysis();
    figures["ammonia_n_g_per_kg"] = json!(0.5);
    figures["acids_g_per_kg"] = json!({"acetic": 2});
    figures["methane_nl_per_kg_vs"] = json!(400);
    figures["hydrolysis_per_d"] = json!({"fast_carb": 1, "fibre": 0.1, "protein": 0.2, "fat": 0.3});
    figures["living_like"] = json!("cattle-slurry");
    let mine = own_material(json!({"analysis": figures})).composition;
    assert!((mine.total_solids - 0.2).abs() < 1e-12);
    assert!((mine.volatile_solids - 0.18).abs() < 1e-12);
    assert!((mine.pools.fast_carb - 0.09).abs() < 1e-12);
    assert!((mine.ammonia_n - 0.0005).abs() < 1e-12);
    assert_eq!((mine.acids.acetic, mine.acids.butyric), (0.002, 0.0));
    assert_eq!(
        mine.methane_potential.map(|r| (r.low, r.typical, r.high)),
        Some((400.0, 400.0, 400.0))
    );
    assert_eq!(mine.hydrolysis.protein.typical, 0.2);
    assert_eq!(mine.living, composition("cattle-slurry").living);
}

#[test]
fn an_analysis_that_cannot_be_right() {
    let with = |key: &str, value: Value| {
        let mut figures = analysis();
        figures[key] = value;
        own_complaints(json!({"analysis": figures}))
    };
    assert_eq!(
        with("total_solids_pct", json!(120)),
        [
            "materials.mine.analysis.total_solids_pct is 120 %. Outside the possible range. Allowed: 0.01 to 100 %. \
             Check the figure and its unit."
        ]
    );
    let shares =
        json!({"fast_carb": 0.5, "fibre": 0.2, "protein": 0.15, "fat": 0.1, "inert": 0.25});
    let found = with("shares_of_volatile", shares);
    assert_eq!(found.len(), 1);
    assert!(
        found[0].starts_with("materials.mine.analysis.shares_of_volatile is 1.2")
            && found[0].contains("The shares do not add up to one."),
        "{found:?}"
    );
    let shares =
        json!({"fast_carb": -0.5, "fibre": 0.2, "protein": 0.15, "fat": 0.1, "inert": 0.25});
    assert!(with("shares_of_volatile", shares)[0].starts_with(
        "materials.mine.analysis.shares_of_volatile.fast_carb is -0.5 of volatile solids."
    ));
    assert!(
        with("acids_g_per_kg", json!({"propionic": 80}))[0]
            .starts_with("materials.mine.analysis.acids_g_per_kg.propionic is 80 g/kg.")
    );
    assert!(
        with("living_like", json!("cattle-slury"))[0].contains("Did you mean \"cattle-slurry\"")
    );
    assert_eq!(
        with("class", json!(null)),
        [
            "materials.mine.analysis.class: This key is missing. Choose one of fresh, herbage, fibrous, woody, gut, \
             digestate."
        ]
    );
    assert_eq!(
        own_complaints(json!({"analysis": {}})).len(),
        4,
        "solids, volatile solids, shares and class are missing"
    );
}

#[test]
fn like_one_of_the_library_with_a_difference() {
    let slurry = composition("cattle-slurry");
    let thin = own_material(json!({"like": {
        "material": "cattle-slurry",
        "total_solids_pct": 100.0 * slurry.total_solids / 2.0,
        "living_factor": 3,
        "hydrolysis_factor": 0.5
    }}))
    .composition;
    let half =
        |found: f64, whole: f64| assert!((found - whole / 2.0).abs() < 1e-15, "{found} {whole}");
    half(thin.total_solids, slurry.total_solids);
    half(thin.pools.fibre, slurry.pools.fibre);
    half(thin.inert, slurry.inert);
    half(thin.nitrogen, slurry.nitrogen);
    half(thin.ammonia_n, slurry.ammonia_n);
    half(thin.strong_ions, slurry.strong_ions);
    half(thin.acids.acetic, slurry.acids.acetic);
    half(thin.hydrolysis.fibre.high, slurry.hydrolysis.fibre.high);
    assert!((thin.living.ac - 1.5 * slurry.living.ac).abs() < 1e-15);
    assert_eq!(thin.degradable, slurry.degradable);
    assert_eq!(thin.methane_potential, slurry.methane_potential);
}

#[test]
fn thinning_is_the_same_as_adding_water() {
    let slurry = composition("cattle-slurry");
    let thin = own_material(json!({"like": {
        "material": "cattle-slurry", "total_solids_pct": 100.0 * slurry.total_solids / 4.0
    }}))
    .composition;
    let mixed = marshgas::feedstock::mix(&[(&slurry, 1.0)], 3.0);
    let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    same(thin.volatile_solids, mixed.volatile_solids);
    same(thin.carbon, mixed.carbon);
    same(thin.sulfur, mixed.sulfur);
    same(thin.strong_ions, mixed.strong_ions);
    same(thin.living.ac, mixed.living.ac);
    same(thin.acids.propionic, mixed.acids.propionic);
}

#[test]
fn what_like_must_hold() {
    assert_eq!(
        own_complaints(json!({"like": {}})),
        ["materials.mine.like.material: This key is missing. Name a material of the library."]
    );
    assert!(
        own_complaints(json!({"like": {"material": "mine"}}))[0].starts_with(
            "materials.mine.like.material is \"mine\". There is no material of that name."
        )
    );
    assert!(
        own_complaints(json!({"like": {"material": "bread", "total_solids_pct": 101}}))[0]
            .contains("Allowed: 0.01 to 100 %.")
    );
}

#[test]
fn names_of_the_library_are_taken() {
    let bread = json!({"bread": {"like": {"material": "bread"}}});
    assert_eq!(
        complaint(&[("materials", bread)]),
        "materials.bread: The library has a material of that name. Choose another name, such as one with \"my-\" before \
         it."
    );
}

#[test]
fn an_own_material_should_be_used() {
    let spare = json!({"spare": {"like": {"material": "bread"}}});
    assert_eq!(
        warnings(&[("materials", spare)]),
        ["materials.spare: This material is never used."]
    );
}

#[test]
fn a_ph_that_asks_for_carbonate_from_nowhere() {
    let analysis = |ph: f64| {
        json!({"analysis": {
            "total_solids_pct": 20, "volatile_solids_pct_of_solids": 85, "class": "gut",
            "shares_of_volatile": {"fast_carb": 0.1, "fibre": 0.4, "protein": 0.15, "fat": 0.05, "inert": 0.3},
            "ammonia_n_g_per_kg": 3, "strong_ions_eq_per_kg": 0.1, "fresh_ph": ph
        }})
    };
    assert_eq!(own_complaints(analysis(7.5)), Vec::<String>::new());
    let said = own_complaints(analysis(4.6)).join("\n");
    assert!(
        said.starts_with("materials.mine.analysis.fresh_ph is pH 4.6, which implies"),
        "{said}"
    );
    assert!(said.contains("more than all the carbon it holds"), "{said}");
    let said = own_complaints(analysis(6.5)).join("\n");
    assert!(
        said.contains(" bar would stand over it") && said.contains("Check the pH"),
        "{said}"
    );
}

#[test]
fn slurry_cannot_be_thickened_until_it_fizzes() {
    let like = |pct: f64| json!({"like": {"material": "pig-slurry", "total_solids_pct": pct}});
    assert_eq!(own_complaints(like(8.0)), Vec::<String>::new());
    let said = own_complaints(like(95.0)).join("\n");
    assert!(
        said.starts_with("materials.mine.like.total_solids_pct is pH"),
        "{said}"
    );
}

#[test]
fn every_library_material_can_hold_the_carbonate_of_its_ph() {
    let network = marshgas::kinetics::four_stage(&marshgas::kinetics::Parameters::four_stage());
    let network = network.unwrap();
    let acids = network.acids.iter().map(|a| a.acid).collect();
    let acid_base = marshgas::chemistry::AcidBase::new(acids, true);
    let mut held = 0;
    for entry in marshgas::feedstock::library().iter() {
        let c = entry.composition();
        let Some(carbonate) = marshgas::kinetics::fresh_carbonate(&network, &acid_base, c) else {
            continue;
        };
        held += 1;
        assert!(
            carbonate.co2_bar <= 1.25 && carbonate.kmol_per_kg * 12.011 <= c.carbon,
            "{}: {carbonate:?}",
            entry.id
        );
    }
    assert!(held >= 10);
}

#[test]
fn a_label_needs_no_water_and_may_tell_energy() {
    let label = json!({
        "label_per_100_g": {"energy_kcal": 250, "carbohydrate_g": 50, "fibre_g": 3, "protein_g": 8, "fat_g": 2}
    });
    let told = warnings(&[
        ("materials", json!({"mine": label.clone()})),
        (
            "recipes.bucket.materials",
            json!([{"material": "mine", "kg": 1}, {"material": "cattle-dung", "kg": 1}]),
        ),
    ]);
    assert!(
        told.contains(
            &"materials.mine.label_per_100_g.energy_kcal: The energy of the label is not used."
                .to_owned()
        ),
        "{told:?}"
    );
    let solids = own_material(label).composition.total_solids;
    assert!((solids - 0.60).abs() < 1e-12, "{solids}");
}

#[test]
fn nothing_of_a_material_is_warned_of() {
    let told = warnings(&[("recipes.bucket.materials[0].kg", json!(0))]);
    assert!(
        told.contains(&"recipes.bucket.materials[0].kg: There is none of it.".to_owned()),
        "{told:?}"
    );
}

#[test]
fn a_starter_holds_what_dissolves_and_what_fits() {
    let said = complaint(&[("starter.bicarbonate_g", json!(100_000))]);
    assert!(
        said.starts_with("starter.bicarbonate_g is 100000. No more than 96 g of it dissolve")
            && said.contains("Allowed: 0 to 57600 g."),
        "{said}"
    );
    let said = complaint(&[("starter.lime_g", json!(2000))]);
    assert!(said.contains("Allowed: 0 to 1020 g."), "{said}");
    assert_eq!(complaint(&[("starter.lime_g", json!(1000))]), "");
    // Salts take room like everything else: a kilogram counts as a litre.
    let said = complaint(&[
        ("starter.water_l", json!(500)),
        ("starter.bicarbonate_g", json!(2000)),
    ]);
    assert!(said.contains("802 L in all"), "{said}");
}

#[test]
fn a_starter_far_below_the_vessel_is_warned_of() {
    let told = warnings(&[("starter.water_l", json!(0))]);
    assert!(
        told.contains(&"starter: The starter fills only 37.5 % of the liquid volume.".to_owned()),
        "{told:?}"
    );
}
