//! A user's own figures: what is accepted, what is refused and how.

use marshgas::feedstock::own::{
    Analysis, Cause, Label, OwnProblem, Shares, from_analysis, from_label,
};
use marshgas::feedstock::{Facts, MaterialClass, Range, library};

use crate::feedstock_data::close;

/// Commercial white bread, USDA SR28 (figures from memory; they reproduce the library's row).
const BREAD: Label = Label {
    water_g: 36.42,
    carbohydrate_g: 49.42,
    fibre_g: 2.7,
    protein_g: 8.85,
    fat_g: 3.33,
    salt_g: Some(1.2),
    nitrogen_factor: None,
    strong_ions_eq_per_kg: None,
};

fn slurry() -> Analysis {
    let shares = Shares {
        fast_carb: 0.08,
        fibre: 0.43,
        protein: 0.18,
        fat: 0.05,
        inert: 0.26,
    };
    Analysis {
        nitrogen_g_per_kg: Some(3.9),
        ammonia_n_g_per_kg: Some(1.9),
        ..Analysis::new(9.0, 77.8, shares, MaterialClass::Gut)
    }
}

fn refused(analysis: &Analysis) -> Vec<OwnProblem> {
    from_analysis(analysis).unwrap_err()
}

#[test]
fn a_label_gives_the_library_row() {
    let own = from_label(&BREAD).unwrap();
    let row = library().get("bread").unwrap().composition();
    for (name, mine, theirs) in [
        ("total solids", own.total_solids, row.total_solids),
        ("volatile solids", own.volatile_solids, row.volatile_solids),
        (
            "fast carbohydrate",
            own.pools.fast_carb,
            row.pools.fast_carb,
        ),
        ("fibre", own.pools.fibre, row.pools.fibre),
        ("protein", own.pools.protein, row.pools.protein),
        ("fat", own.pools.fat, row.pools.fat),
        ("nitrogen", own.nitrogen, row.nitrogen),
        ("carbon", own.carbon, row.carbon),
    ] {
        close(mine, theirs, 0.005, name);
    }
    assert_eq!(own.degradable, row.degradable);
    assert_eq!(own.hydrolysis, row.hydrolysis);
    assert_eq!(own.fresh_ph, None);
}

/// USDA SR26: pasta has factor 5.70, so 5.80 g protein per 100 g hold 1.018 g nitrogen, not 0.928.
#[test]
fn nitrogen_follows_the_food_factor() {
    let pasta = Label {
        water_g: 62.13,
        carbohydrate_g: 30.86,
        fibre_g: 1.8,
        protein_g: 5.80,
        fat_g: 0.93,
        salt_g: None,
        nitrogen_factor: Some(5.70),
        strong_ions_eq_per_kg: None,
    };
    let right = from_label(&pasta).unwrap();
    close(right.nitrogen, 10.18e-3, 0.001, "factor 5.70");
    let plain = from_label(&Label {
        nitrogen_factor: None,
        ..pasta
    })
    .unwrap();
    close(plain.nitrogen, 9.28e-3, 0.001, "factor 6.25");
    close(right.nitrogen / plain.nitrogen, 1.096, 0.001, "ratio");
    // Nitrogen sits in the protein pool, and the solids do not change.
    close(
        right.pools.protein * 0.16,
        right.nitrogen,
        0.002,
        "in the pool",
    );
    close(
        right.volatile_solids,
        plain.volatile_solids,
        1e-12,
        "solids",
    );
    for (factor, protein) in [(6.38, 3.2), (5.95, 2.7)] {
        let own = from_label(&Label {
            nitrogen_factor: Some(factor),
            protein_g: protein,
            ..pasta
        })
        .unwrap();
        close(
            own.nitrogen,
            protein / factor / 100.0,
            1e-9,
            "N = protein / factor",
        );
    }
}

#[test]
fn protein_without_carbohydrate_still_closes_nitrogen() {
    let gelatine = Label {
        water_g: 13.0,
        carbohydrate_g: 0.0,
        fibre_g: 0.0,
        protein_g: 85.6,
        fat_g: 0.1,
        salt_g: None,
        nitrogen_factor: Some(5.55),
        strong_ions_eq_per_kg: None,
    };
    let own = from_label(&gelatine).unwrap();
    close(own.nitrogen, 85.6 / 5.55 / 100.0, 1e-9, "nitrogen");
    let parts = own.pools.protein * 0.16 + own.labile_n;
    close(parts, own.nitrogen, 0.002, "protein and labile");
}

#[test]
fn a_wrong_label_shows_all_its_problems_at_once() {
    let wrong = Label {
        water_g: 90.0,
        carbohydrate_g: 2.0,
        fibre_g: 3.0,
        protein_g: -1.0,
        fat_g: 60.0,
        salt_g: Some(f64::NAN),
        nitrogen_factor: Some(4.0),
        ..BREAD
    };
    let problems = from_label(&wrong).unwrap_err();
    let found: Vec<(&str, Cause)> = problems.iter().map(|p| (p.field, p.cause)).collect();
    assert_eq!(
        found,
        [
            ("protein_g", Cause::OutOfRange),
            ("salt_g", Cause::NotANumber),
            ("nitrogen_factor", Cause::OutOfRange),
            ("fibre_g", Cause::PartAboveWhole),
            (
                "water_g + carbohydrate_g + protein_g + fat_g",
                Cause::PartAboveWhole
            ),
        ]
    );
    assert_eq!(
        (problems[2].value, problems[2].low, problems[2].high),
        (4.0, 5.0, 6.5)
    );
    let salty = Label {
        salt_g: Some(9.0),
        ..BREAD
    };
    let problem = &from_label(&salty).unwrap_err()[0];
    assert_eq!(
        (problem.field, problem.cause),
        ("salt_g", Cause::PartAboveWhole)
    );
    let text = problem.to_string();
    assert!(
        text.contains("salt_g") && text.contains('9') && text.contains(problem.mend()),
        "{text}"
    );
    let nothing = Label {
        water_g: 100.0,
        carbohydrate_g: 0.0,
        fibre_g: 0.0,
        protein_g: 0.0,
        fat_g: 0.0,
        salt_g: None,
        ..BREAD
    };
    assert_eq!(
        from_label(&nothing).unwrap_err()[0].cause,
        Cause::OutOfRange
    );
}

#[test]
fn an_analysis_gives_what_it_says() {
    let own = from_analysis(&slurry()).unwrap();
    close(own.total_solids, 0.09, 1e-12, "solids");
    close(own.nitrogen, 3.9e-3, 1e-12, "nitrogen");
    assert_eq!(own.degradable, MaterialClass::Gut.degradable());
    assert_eq!(own.fresh_ph, Some(7.2));
    let row = library().get("cattle-slurry").unwrap().composition();
    let (mine, theirs) = (Facts::of(&own), Facts::of(row));
    close(
        mine.carbon_to_nitrogen.unwrap(),
        theirs.carbon_to_nitrogen.unwrap(),
        0.005,
        "C:N",
    );
    close(
        mine.reachable.methane_nl_per_kg,
        theirs.reachable.methane_nl_per_kg,
        0.005,
        "methane",
    );
    assert_eq!(own.living.ac, 0.0);
    let seeded = Analysis {
        living: Some(row.living),
        ..slurry()
    };
    assert_eq!(from_analysis(&seeded).unwrap().living, row.living);
}

#[test]
fn what_is_left_out_is_filled_in() {
    let shares = Shares {
        fast_carb: 0.5,
        fibre: 0.2,
        protein: 0.15,
        fat: 0.05,
        inert: 0.11,
    };
    let own = from_analysis(&Analysis::new(20.0, 90.0, shares, MaterialClass::Herbage)).unwrap();
    // 1.01 in all: scaled to one.
    close(own.pools.protein, 0.18 * 0.15 / 1.01, 1e-12, "scaled");
    close(
        own.nitrogen,
        own.pools.protein * 0.16,
        0.002,
        "nitrogen of the protein",
    );
    close(
        own.sulfur,
        own.pools.protein * 0.01,
        1e-12,
        "sulphur of the protein",
    );
    close(
        own.strong_ions,
        0.5 * 0.2,
        1e-12,
        "class value times solids",
    );
    assert_eq!((own.fresh_ph, own.methane_potential), (None, None));
    // Acids beyond what ions and ammonium balance: no carbonate, so the class pH is not taken.
    let sour = Analysis {
        acids_g_per_kg: Some([20.0, 2.0, 2.0]),
        ..slurry()
    };
    assert_eq!(from_analysis(&sour).unwrap().fresh_ph, None);
}

#[test]
fn each_figure_has_its_range() {
    let bad = Range {
        low: 300.0,
        typical: 200.0,
        high: 2000.0,
    };
    let wrong = Analysis {
        total_solids_pct: 0.0,
        volatile_solids_pct_of_solids: f64::INFINITY,
        shares: Shares {
            fast_carb: 1.4,
            ..slurry().shares
        },
        fresh_ph: Some(3.0),
        acids_g_per_kg: Some([-1.0, 0.0, 0.0]),
        methane_nl_per_kg_vs: Some(bad),
        ..slurry()
    };
    let found: Vec<(&str, Cause)> = refused(&wrong).iter().map(|p| (p.field, p.cause)).collect();
    assert_eq!(
        found,
        [
            ("total_solids_pct", Cause::OutOfRange),
            ("volatile_solids_pct_of_solids", Cause::NotANumber),
            ("shares.fast_carb", Cause::OutOfRange),
            ("acids.acetic", Cause::OutOfRange),
            ("fresh_ph", Cause::OutOfRange),
            ("methane_nl_per_kg_vs", Cause::OutOfRange),
            ("methane_nl_per_kg_vs", Cause::RangeOutOfOrder),
        ]
    );
}

#[test]
fn figures_must_agree_with_one_another() {
    let cause = |analysis: Analysis| {
        let problems = refused(&analysis);
        assert_eq!(problems.len(), 1, "{problems:?}");
        problems[0].cause
    };
    let uneven = Shares {
        fibre: 0.2,
        ..slurry().shares
    };
    assert_eq!(
        cause(Analysis {
            shares: uneven,
            ..slurry()
        }),
        Cause::SharesDoNotAddUp
    );
    let much = Analysis {
        ammonia_n_g_per_kg: Some(5.0),
        ..slurry()
    };
    assert_eq!(cause(much), Cause::PartAboveWhole);
    let misfit = Analysis {
        nitrogen_g_per_kg: Some(6.0),
        ..slurry()
    };
    assert_eq!(cause(misfit), Cause::NitrogenDoesNotFit);
    let labile = Analysis {
        nitrogen_g_per_kg: Some(6.0),
        labile_n_g_per_kg: Some(2.0),
        ..slurry()
    };
    assert!(from_analysis(&labile).is_ok(), "the mend works");
    let coal = Analysis {
        carbon_g_per_kg: Some(80.0),
        ..slurry()
    };
    assert_eq!(cause(coal), Cause::OutOfRange);
    let biogas = Range {
        low: 500.0,
        typical: 600.0,
        high: 700.0,
    };
    assert_eq!(
        cause(Analysis {
            methane_nl_per_kg_vs: Some(biogas),
            ..slurry()
        }),
        Cause::AboveTheory
    );
    let sour = Analysis {
        fresh_ph: Some(7.0),
        acids_g_per_kg: Some([20.0, 2.0, 2.0]),
        ..slurry()
    };
    assert_eq!(cause(sour), Cause::NoRoomForCarbonate);
}
