//! The built-in materials: soundness of the data, and agreement with the tables they were built on.

use std::collections::BTreeSet;

use marshgas::feedstock::theory::{
    AVAILABLE_SULFUR_SHARE, FAST_CARB, FAT, FIBRE, INERT, PROTEIN, acids_cod, non_protein_sulfur,
};
use marshgas::feedstock::{
    Composition, Entry, Facts, Group, How, Kind, MaterialClass, PieceSize, Range, Suitability,
    library, released_share, thresholds,
};
use serde::Deserialize;

use crate::feedstock_data::{close, rows};

fn ordered(range: Range) -> bool {
    range.low <= range.typical && range.typical <= range.high
}

fn each(check: impl Fn(&Entry, &Composition)) {
    for entry in library().iter() {
        check(entry, entry.composition());
    }
}

#[test]
fn every_material_a_small_digester_meets_is_there() {
    let ids: Vec<&str> = library().iter().map(|entry| entry.id.as_str()).collect();
    assert_eq!(ids.len(), 33);
    assert_eq!(
        ids.iter().collect::<BTreeSet<_>>().len(),
        33,
        "an id stands twice"
    );
    for id in [
        "kitchen-scraps",
        "fruit-waste",
        "vegetable-waste",
        "bread",
        "cooking-fat",
        "coffee-grounds",
        "lawn-clippings",
        "green-waste",
        "autumn-leaves",
        "straw",
        "wood-shavings",
        "cattle-dung",
        "cattle-slurry",
        "horse-dung",
        "pig-slurry",
        "sheep-goat-manure",
        "hen-droppings",
        "digestate-cattle",
    ] {
        assert!(library().get(id).is_some(), "{id}");
    }
    for id in ["straw", "wood-shavings", "autumn-leaves", "hedge-prunings"] {
        assert_eq!(
            library().get(id).unwrap().suitability,
            Suitability::Unsuitable,
            "{id}"
        );
    }
    let pattern = |id: &str| id.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    assert!(ids.iter().all(|id| pattern(id)));
}

#[test]
fn pools_and_inert_make_up_the_volatile_solids() {
    each(|entry, c| {
        let p = &c.pools;
        let parts = [p.fast_carb, p.fibre, p.protein, p.fat, c.inert];
        assert!(parts.iter().all(|part| *part >= 0.0), "{}", entry.id);
        close(parts.iter().sum(), c.volatile_solids, 1e-9, &entry.id);
        assert!(
            c.volatile_solids <= c.total_solids && c.total_solids <= 1.0,
            "{}",
            entry.id
        );
    });
}

#[test]
fn ranges_are_ordered_and_shares_are_shares() {
    each(|entry, c| {
        let k = &c.hydrolysis;
        for range in [k.fast_carb, k.fibre, k.protein, k.fat] {
            assert!(ordered(range) && range.low > 0.0, "{}", entry.id);
        }
        assert!(ordered(c.methane_potential.unwrap()), "{}", entry.id);
        assert!(ordered(entry.strong_ions), "{}", entry.id);
        assert!(entry.total_solids.is_none_or(ordered), "{}", entry.id);
        assert!(entry.fresh_ph.is_none_or(ordered), "{}", entry.id);
        assert!(entry.acids_factor.is_none_or(ordered), "{}", entry.id);
        assert_eq!(entry.living_factor, 3.0);
        let d = &c.degradable;
        for share in [d.fast_carb, d.fibre, d.protein, d.fat] {
            assert!((0.0..=1.0).contains(&share), "{}", entry.id);
        }
    });
    for size in PieceSize::ALL {
        let f = size.factors();
        assert!(
            [f.fast_carb, f.fibre, f.protein, f.fat]
                .into_iter()
                .all(ordered),
            "{}",
            size.key()
        );
    }
    for class in MaterialClass::ALL {
        assert!(ordered(class.own_strong_ions()), "{}", class.key());
        assert_eq!(MaterialClass::from_key(class.key()), Some(class));
        assert!(!class.about().is_empty());
    }
}

#[test]
fn every_number_has_a_source_and_every_source_is_listed() {
    let mut used: BTreeSet<&str> = BTreeSet::new();
    each(|entry, c| {
        let has = |group| entry.provenance.iter().any(|(g, _)| *g == group);
        for group in [
            Group::TotalSolids,
            Group::Shares,
            Group::Nitrogen,
            Group::Methane,
            Group::StrongIons,
        ] {
            assert!(
                has(group),
                "{} lacks a source for {}",
                entry.id,
                group.words()
            );
        }
        assert_eq!(has(Group::Liquor), c.fresh_ph.is_some(), "{}", entry.id);
        assert_eq!(has(Group::Living), c.living.ac > 0.0, "{}", entry.id);
        for (group, source) in &entry.provenance {
            let reasoned = source.how == How::Judgement || !source.refs.is_empty();
            assert!(
                reasoned && !source.note.is_empty(),
                "{} {}",
                entry.id,
                group.words()
            );
        }
    });
    let entries = library().iter().flat_map(Entry::references);
    let limits = thresholds().iter().map(|limit| &limit.provenance);
    let others = limits.chain([PieceSize::provenance(), MaterialClass::provenance()]);
    used.extend(entries);
    used.extend(others.flat_map(|source| source.refs.iter().map(String::as_str)));
    for key in &used {
        assert!(
            library().reference(key).is_some(),
            "reference {key} is not listed"
        );
    }
    let listed: BTreeSet<&str> = library()
        .references()
        .iter()
        .map(|r| r.id.as_str())
        .collect();
    assert_eq!(listed, used, "a reference is listed that nothing uses");
}

/// Nitrogen of the protein share, ammonium and labile nitrogen make up the total.
#[test]
fn nitrogen_closes() {
    each(|entry, c| {
        let parts = c.pools.protein * PROTEIN.nitrogen_per_kg() + c.ammonia_n + c.labile_n;
        // Shares are printed with four digits, nitrogen with two; protein N is 0.17 % above 1/6.25.
        let slack = 0.006 * c.nitrogen + 0.03e-3;
        assert!(
            (parts - c.nitrogen).abs() <= slack,
            "{}: {parts} {}",
            entry.id,
            c.nitrogen
        );
    });
}

/// Carbon of the pools is the carbon stated, except where the inert part is wood or coffee (0.58, not 0.52).
#[test]
fn carbon_closes() {
    let woody = [
        "hedge-prunings",
        "autumn-leaves",
        "wood-shavings",
        "coffee-grounds",
    ];
    each(|entry, c| {
        let p = &c.pools;
        let pools = p.fast_carb * FAST_CARB.carbon_per_kg()
            + p.fibre * FIBRE.carbon_per_kg()
            + p.protein * PROTEIN.carbon_per_kg()
            + p.fat * FAT.carbon_per_kg();
        let wood = if woody.contains(&entry.id.as_str()) {
            0.58
        } else {
            INERT.carbon_per_kg()
        };
        // Solids are printed to a tenth of a per cent.
        let printed = 0.0005 / c.total_solids;
        close(pools + c.inert * wood, c.carbon, 0.003 + printed, &entry.id);
    });
}

/// Carbon against (100 - ash %)/1.8 % of solids (Gotaas 1956, for compost materials, said to be good to 2 to
/// 10 %). The pools hold 9 % less on average, 16 % at most: the rule counts 0.556 kg C/kg volatile solids, and
/// carbohydrate holds 0.444. Kitchen materials, from starch (0.444) to oil (0.77), are outside the rule.
#[test]
fn carbon_agrees_with_the_ash_rule() {
    let ratios: Vec<f64> = library()
        .iter()
        .filter(|entry| entry.kind != Kind::Kitchen)
        .map(|entry| {
            let c = entry.composition();
            let rule = c.volatile_solids / 1.8;
            close(c.carbon, rule, 0.16, &entry.id);
            c.carbon / rule
        })
        .collect();
    let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
    close(mean, 1.0, 0.10, "mean over garden, stable and starters");
}

#[derive(Deserialize)]
struct Computed {
    material: String,
    pools_nl_per_kg_vs: f64,
    reachable_nl_per_kg_vs: f64,
    pool_cod_kg_per_kg_vs: f64,
    carbon_to_nitrogen: Option<f64>,
}

#[test]
fn facts_of_each_material_match_an_independent_computation() {
    let computed = rows::<Computed>("reference_rows.csv");
    assert_eq!(computed.len(), 33);
    for row in computed {
        let c = library().get(&row.material).unwrap().composition();
        let facts = Facts::of(c);
        let name = &row.material;
        close(
            facts.pools.methane_nl_per_kg_vs.unwrap(),
            row.pools_nl_per_kg_vs,
            0.002,
            name,
        );
        close(
            facts.reachable.methane_nl_per_kg_vs.unwrap(),
            row.reachable_nl_per_kg_vs,
            0.002,
            name,
        );
        let cod = c.pools.fast_carb * FAST_CARB.cod_per_kg
            + c.pools.fibre * FIBRE.cod_per_kg
            + c.pools.protein * PROTEIN.cod_per_kg
            + c.pools.fat * FAT.cod_per_kg;
        close(
            cod / c.volatile_solids,
            row.pool_cod_kg_per_kg_vs,
            0.002,
            name,
        );
        if let Some(ratio) = row.carbon_to_nitrogen {
            // Printed digits: one of the ratio and of carbon, two of nitrogen (g/kg).
            let digits = 0.05 / ratio + 0.05e-3 / c.carbon + 0.005e-3 / c.nitrogen;
            close(facts.carbon_to_nitrogen.unwrap(), ratio, digits, name);
        }
    }
}

#[derive(Deserialize)]
struct FarmRow {
    material: String,
    dry_matter: f64,
    organic_matter: f64,
    nitrogen: f64,
}

#[test]
fn manures_match_the_farm_tables() {
    for row in rows::<FarmRow>("farm_tables.csv") {
        let c = library().get(&row.material).unwrap().composition();
        close(c.total_solids * 1000.0, row.dry_matter, 0.01, &row.material);
        close(
            c.volatile_solids * 1000.0,
            row.organic_matter,
            0.01,
            &row.material,
        );
        close(c.nitrogen * 1000.0, row.nitrogen, 0.01, &row.material);
    }
}

/// Charge balance of fresh manures: strong ions + ammonium = bicarbonate + carbonate + acid anions.
#[test]
fn fresh_manures_hold_a_plausible_carbonate() {
    // 25 C, no activity correction: enough to tell plausible from impossible.
    let (ammonium_pk, carbonic_pk, carbonate_pk, acid_pk) = (9.25, 6.35, 10.33, 4.8);
    let mut checked = 0;
    each(|entry, c| {
        let Some(ph) = c.fresh_ph else {
            assert_eq!(
                acids_cod(c),
                0.0,
                "{} holds acids but no carbonate",
                entry.id
            );
            assert_eq!(c.living.ac, 0.0, "{}", entry.id);
            return;
        };
        let ionised = |pk: f64| 1.0 / (1.0 + 10f64.powf(pk - ph));
        let ammonium = 1000.0 * c.ammonia_n / 14.007 * (1.0 - ionised(ammonium_pk));
        let a = &c.acids;
        let acids = 1000.0
            * (a.acetic / 60.052 + a.propionic / 74.079 + a.butyric / 88.106)
            * ionised(acid_pk);
        let alkalinity = c.strong_ions + ammonium - acids;
        assert!(alkalinity > 0.0, "{}: {alkalinity}", entry.id);
        assert!(alkalinity <= 0.3, "{}: {alkalinity}", entry.id);
        let most = acids * entry.acids_factor.unwrap().high;
        assert!(
            c.strong_ions + ammonium > most,
            "{}: no carbonate with most acids",
            entry.id
        );
        // Carbonic acid beside it, and the pressure of CO2 that it means (0.034 kmol/m3/bar at 25 C).
        let bicarbonate = alkalinity / (1.0 + 2.0 * 10f64.powf(ph - carbonate_pk));
        let pressure = bicarbonate * 10f64.powf(carbonic_pk - ph) / 0.034;
        // Hen droppings come out too high, since urate is not in this balance; the data say so.
        let limit = if entry.id == "hen-droppings" {
            1.25
        } else {
            1.0
        };
        assert!(pressure <= limit, "{}: CO2 at {pressure} bar", entry.id);
    });
    for entry in library().iter() {
        checked += usize::from(entry.composition().fresh_ph.is_some());
    }
    assert_eq!(checked, 12);
}

#[test]
fn living_groups_come_in_the_expected_order() {
    let ac = |id: &str| library().get(id).unwrap().composition().living.ac;
    let plant = ac("digestate-cattle");
    // "A third of a running plant", as the data say.
    assert!((0.3..=0.36).contains(&(ac("cattle-slurry") / plant)));
    assert!(ac("cattle-slurry") > ac("cattle-dung"));
    assert!(ac("cattle-dung") > ac("horse-dung"));
    assert!(ac("horse-dung") > ac("hen-droppings"));
    assert_eq!(ac("kitchen-scraps"), 0.0);
    each(|entry, c| {
        let l = &c.living;
        let sum = l.su + l.aa + l.fa + l.c4 + l.pro + l.ac + l.h2;
        // Beside the pools, so it must stay a small part of the COD.
        let facts = Facts::of(c);
        let cod = facts.everything.methane_nl_per_kg / 350.2;
        assert!(sum <= 0.06 * cod, "{}: {sum} of {cod}", entry.id);
        assert!(!entry.starter || l.ac > 0.0, "{}", entry.id);
    });
}

/// Iron and organic binding hold most of the sulphur outside protein.
#[test]
fn sulphur_outside_protein_is_never_negative() {
    assert!(ordered(AVAILABLE_SULFUR_SHARE) && AVAILABLE_SULFUR_SHARE.high < 1.0);
    each(|entry, c| {
        let other = non_protein_sulfur(c);
        assert!(other >= 0.0 && other <= c.sulfur, "{}", entry.id);
    });
    let slurry = library().get("cattle-slurry").unwrap().composition();
    close(
        non_protein_sulfur(slurry),
        0.253e-3,
        0.01,
        "4.2 g S/kg solids less 1 % of protein",
    );
}

#[test]
fn near_names_are_offered() {
    let first = |asked: &str| library().nearest(asked).first().copied();
    assert_eq!(first("kitchen-scrap"), Some("kitchen-scraps"));
    assert_eq!(first("cow dung"), Some("cattle-dung"));
    assert_eq!(first("Chicken_Manure"), Some("hen-droppings"));
    assert_eq!(first("gras clipings"), Some("lawn-clippings"));
    assert!(library().nearest("digestate").contains(&"digestate-cattle"));
    // Of a beast that is not there the same kind of another.
    assert!(library().nearest("rabbit-dung").contains(&"cattle-dung"));
    assert!(library().nearest("Mango peel").contains(&"banana-peel"));
    assert!(library().nearest("quartz sand").is_empty());
    assert!(library().nearest("manure").len() <= 4);
    assert!(library().get("cow dung").is_none(), "only keys are keys");
}

#[test]
fn finer_pieces_are_quicker() {
    let scraps = library().get("kitchen-scraps").unwrap().composition();
    let after = PieceSize::ALL.map(|size| released_share(&size.applied_to(scraps), 5.0).typical);
    assert!(after.windows(2).all(|pair| pair[0] > pair[1]), "{after:?}");
    assert_eq!(&PieceSize::Chopped.applied_to(scraps), scraps);
    let coarse = PieceSize::Coarse.applied_to(scraps);
    assert_eq!(coarse.pools, scraps.pools);
    close(
        coarse.hydrolysis.fibre.typical,
        0.7 * scraps.hydrolysis.fibre.typical,
        1e-12,
        "fibre",
    );
    for size in PieceSize::ALL {
        assert_eq!(PieceSize::from_key(size.key()), Some(size));
        assert!(!size.about().is_empty());
    }
}
