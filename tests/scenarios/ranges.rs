//! Numbers out of range, one by one and all at once.

use marshgas::case::{Activity, MethodKind, NetworkKind, TemperatureCourse};
use marshgas::scenario::from_value;
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, sentence, warnings, with};

/// Address, value, and the range that must be named.
fn refused(path: &str, value: Value, allowed: &str) {
    let said = complaint(&[(path, value.clone())]);
    assert!(said.starts_with(&format!("{path} is {value}. ")), "{said}");
    assert!(said.contains(&format!(" Allowed: {allowed}.")), "{said}");
    assert!(!said.contains('\n'), "one problem only: {said}");
}

#[test]
fn each_number_has_its_range() {
    let vessel = |key: &str| format!("vessels[0].{key}");
    let cases = [
        (
            "days".to_owned(),
            json!(0),
            "whole numbers from 1 to 7300 days",
        ),
        (
            "days".to_owned(),
            json!(7301),
            "whole numbers from 1 to 7300 days",
        ),
        (
            "days".to_owned(),
            json!(20.5),
            "whole numbers from 1 to 7300 days",
        ),
        (vessel("liquid_l"), json!(0.05), "0.1 to 10000000 L"),
        (vessel("liquid_l"), json!(20_000_000), "0.1 to 10000000 L"),
        (vessel("headspace_l"), json!(0), "0.1 to 10000000 L"),
        (vessel("solids_held_back_pct"), json!(96), "0 to 95 %"),
        (vessel("short_circuit_pct"), json!(91), "0 to 90 %"),
        (vessel("leak_l_per_d"), json!(-1), "0 to 1000000 L per day"),
        (
            vessel("gas_transfer_per_d"),
            json!(0.5),
            "1 to 2000 per day",
        ),
        (vessel("temperature.constant_c"), json!(61), "-20 to 60 C"),
        (vessel("temperature.constant_c"), json!(-21), "-20 to 60 C"),
        (
            "gas.store_pressure_mbar".to_owned(),
            json!(-1),
            "0 to 50 mbar",
        ),
        (
            "gas.ambient_mbar".to_owned(),
            json!(1.013),
            "500 to 1100 mbar",
        ),
        (
            "gas.pipe_l_per_d_per_mbar".to_owned(),
            json!(0),
            "0.001 to 1000000000 L per day per mbar",
        ),
        (
            "gas.reading_temperature_c".to_owned(),
            json!(70),
            "-20 to 60 C",
        ),
        ("starter.water_l".to_owned(), json!(-1), "0 to 10000000 L"),
        (
            "starter.materials[0].kg".to_owned(),
            json!(-3),
            "0 to 10000000 kg",
        ),
        (
            "starter.bicarbonate_g".to_owned(),
            json!(-3),
            "0 to 1000000000 g",
        ),
        ("starter.living_factor".to_owned(), json!(0), "0.001 to 10"),
        (
            "recipes.bucket.materials[0].kg".to_owned(),
            json!(-0.1),
            "0 to 10000000 kg",
        ),
        (
            "recipes.bucket.water_l".to_owned(),
            json!(-0.1),
            "0 to 10000000 L",
        ),
        (
            "feeding[0].daily.every_days".to_owned(),
            json!(0),
            "whole numbers from 1 to 366 days",
        ),
        (
            "feeding[0].daily.every_days".to_owned(),
            json!(0.5),
            "whole numbers from 1 to 366 days",
        ),
        (
            "feeding[0].daily.hour".to_owned(),
            json!(24),
            "0 to 23.99 h",
        ),
        (
            "feeding[0].daily.amount".to_owned(),
            json!(-1),
            "0 to 1000 times the recipe",
        ),
        (
            "feeding[0].daily.from_day".to_owned(),
            json!(-1),
            "whole numbers from 0 to 7299",
        ),
        (
            "feeding[0].daily.from_day".to_owned(),
            json!(1.5),
            "whole numbers from 0 to 7299",
        ),
    ];
    for (path, value, allowed) in cases {
        refused(&path, value, allowed);
    }
}

#[test]
fn solver_settings_have_their_range() {
    let said = complaint(&[("solver", json!({"relative_tolerance": 0.1}))]);
    assert!(said.contains("Allowed: 0.000000001 to 0.01."), "{said}");
}

#[test]
fn the_pressure_ceiling_says_why() {
    assert_eq!(
        complaint(&[("gas.store_pressure_mbar", json!(80))]),
        "gas.store_pressure_mbar is 80. Drums, totes, bags and bells are no pressure vessels: 50 mbar (5 kPa, half a \
         metre of water) is the ceiling for all of them (ISO 23590 covers household plants below it); more can burst \
         them and needs a rated vessel, local rules and licensed people. Allowed: 0 to 50 mbar."
    );
    assert_eq!(
        loaded(&[("gas.store_pressure_mbar", json!(50))])
            .case
            .gas
            .back_pressure_bar,
        0.05
    );
}

#[test]
fn ice_is_allowed_with_a_warning() {
    let found = warnings(&[("vessels[0].temperature", json!({"constant_c": -5}))]);
    assert!(
        found.contains(&"vessels[0].temperature: The liquor is as cold as -5.0 C.".to_owned()),
        "{found:?}"
    );
    assert!(!warnings(&[]).iter().any(|w| w.contains("as cold as")));
}

#[test]
fn many_problems_come_at_once_in_the_order_of_the_file() {
    let found = complaints(&[
        ("days", json!(0)),
        ("start_date", json!("2026-02-29")),
        ("vessels[0].headspace_l", json!(-1)),
        ("gas.store_pressure_mbar", json!(99)),
        ("starter.materials[0].material", json!("cow-slurry")),
        ("recipes.bucket.materials[0].kg", json!(-2)),
        ("feeding[0].daily.recipe", json!("bukket")),
        ("model", json!({"parameters": {"x": 1e300}})),
    ]);
    let paths: Vec<_> = found
        .iter()
        .map(|f| f.split([' ', ':']).next().unwrap())
        .collect();
    assert_eq!(
        paths,
        [
            "start_date",
            "days",
            "vessels[0].headspace_l",
            "gas.store_pressure_mbar",
            "starter.materials[0].material",
            "recipes.bucket.materials[0].kg",
            "feeding[0].daily.recipe",
            "model.parameters.x",
        ]
    );
}

#[test]
fn a_start_date_is_a_date() {
    assert_eq!(
        complaint(&[("start_date", json!("1.3.2026"))]),
        "start_date is \"1.3.2026\". This is no date of the calendar. Write year, month and day as \"2026-03-01\"."
    );
}

#[test]
fn titles_and_names() {
    assert_eq!(
        complaint(&[("title", json!(" "))]),
        "title: This text is empty. Give a short text."
    );
    assert_eq!(
        complaint(&[("title", json!("a\u{7}b"))]),
        "title: This text holds a line break or another control character. Keep it to one line."
    );
    assert_eq!(
        complaint(&[("title", json!("x".repeat(121)))]),
        "title: This text is longer than 120 characters. Shorten it; more belongs into \"about\"."
    );
    assert_eq!(
        complaint(&[(
            "vessels[1]",
            json!({"name": "tote", "liquid_l": 1, "headspace_l": 1, "temperature": {"constant_c": 20}})
        )]),
        "vessels[1].name is \"tote\". Another vessel has that name. Give every vessel its own."
    );
}

#[test]
fn no_vessel_and_too_many() {
    assert_eq!(
        complaint(&[("vessels", json!([]))]),
        "vessels: There is no vessel. Describe at least one."
    );
    let one = json!({"liquid_l": 1, "headspace_l": 1, "temperature": {"constant_c": 20}});
    assert_eq!(
        complaint(&[("vessels", json!(vec![one; 51]))]),
        "vessels is a list of 51. More than 50 entries cannot be computed. Join some of them, or check that this is the right file."
    );
}

#[test]
fn the_starter_must_fit() {
    assert_eq!(
        complaint(&[("starter.water_l", json!(600))]),
        "starter is 900 L in all. It does not fit: the vessels hold 800 L of liquid. Take less, or make the vessels \
         larger. One kilogram counts as one litre."
    );
    assert_eq!(
        loaded(&[("starter.water_l", json!(500))])
            .case
            .starter
            .water_kg,
        500.0
    );
    let second = json!({"liquid_l": 100, "headspace_l": 10, "temperature": {"constant_c": 20}});
    loaded(&[("starter.water_l", json!(600)), ("vessels[1]", second)]);
}

#[test]
fn the_starter_must_be_a_liquor() {
    assert_eq!(
        complaint(&[("starter", json!({}))]),
        "starter: The starter is empty. Fill the vessels with manure or liquid from a running digester, and water."
    );
    assert_eq!(
        complaint(&[(
            "starter",
            json!({"materials": [{"material": "straw", "kg": 50}]})
        )]),
        "starter is only 10 % water. The starter is a heap and no liquor: the equations are those of a wet digester. \
         Add water."
    );
}

#[test]
fn two_ways_to_say_one_thing() {
    assert_eq!(
        complaint(&[
            ("vessels[0].stirring", json!("none")),
            ("vessels[0].gas_transfer_per_d", json!(30))
        ]),
        "vessels[0].gas_transfer_per_d: \"stirring\" and \"gas_transfer_per_d\" say the same thing twice. Keep one of \
         the two."
    );
}

#[test]
fn defaults_as_documented() {
    let case = loaded(&[("gas", json!(null)), ("vessels[0].name", json!(null))]).case;
    let vessel = &case.vessels[0];
    assert_eq!(vessel.name, "vessel 1");
    assert_eq!((vessel.liquid_m3, vessel.headspace_m3), (0.8, 0.2));
    assert_eq!(vessel.temperature, TemperatureCourse::Constant(35.0));
    assert_eq!(vessel.kla_per_d, 60.0);
    assert_eq!(
        (
            vessel.solids_held_back,
            vessel.short_circuit,
            vessel.leak_m3_per_d
        ),
        (0.0, 0.0, 0.0)
    );
    assert_eq!(case.gas.back_pressure_bar, 0.008);
    assert_eq!(case.gas.ambient_bar, 1.01325);
    assert_eq!(case.gas.pipe_m3_per_d_bar, 8000.0);
    assert!(!case.gas.returns);
    assert_eq!(case.gas.reading_c, 20.0);
    assert_eq!(case.model.network, NetworkKind::FourStage);
    assert_eq!(case.model.activity, Activity::Davies);
    assert!(case.model.parameters.is_empty());
    assert_eq!(case.solver.method, MethodKind::Implicit);
    assert_eq!(case.solver.relative_tolerance, 1e-4);
    assert!(case.inflow.is_none());
    assert_eq!(
        case.start_date.map(|d| d.to_string()),
        Some("2026-03-01".to_owned())
    );
}

#[test]
fn units_of_the_case() {
    let case = loaded(&[
        ("vessels[0].solids_held_back_pct", json!(40)),
        ("vessels[0].short_circuit_pct", json!(10)),
        ("vessels[0].leak_l_per_d", json!(5)),
        ("vessels[0].stirring", json!("none")),
        ("gas.pipe_l_per_d_per_mbar", json!(123)),
        ("starter.bicarbonate_g", json!(250)),
        ("starter.lime_g", json!(0)),
    ])
    .case;
    assert_eq!(case.vessels[0].solids_held_back, 0.4);
    assert_eq!(case.vessels[0].short_circuit, 0.1);
    assert_eq!(case.vessels[0].leak_m3_per_d, 0.005);
    assert_eq!(case.vessels[0].kla_per_d, 20.0);
    // 123 L per millibar: a thousandth of the volume for a thousandth of the pressure.
    assert_eq!(case.gas.pipe_m3_per_d_bar, 123.0);
    let additives: Vec<f64> = case.starter.additives.iter().map(|(_, kg)| *kg).collect();
    assert_eq!(additives, [0.25]);
}

#[test]
fn the_reference_network_is_ideal_unless_told_otherwise() {
    let activity = |model| loaded(&[("model", model)]).case.model.activity;
    assert_eq!(activity(json!({"network": "adm1"})), Activity::Ideal);
    assert_eq!(
        activity(json!({"network": "adm1", "acid_base": "davies"})),
        Activity::Davies
    );
    assert_eq!(
        activity(json!({"network": "four-stage", "acid_base": "ideal"})),
        Activity::Ideal
    );
}

#[test]
fn a_steady_inflow_goes_with_one_vessel() {
    let inflow = json!({"l_per_d": 20, "concentrations": {"S_su": 0.01, "X_pr": 20}});
    let case = loaded(&[("inflow", inflow.clone()), ("starter.water_l", json!(500))]).case;
    let inflow_case = case.inflow.unwrap();
    assert_eq!(inflow_case.m3_per_d, 0.02);
    assert_eq!(
        inflow_case.concentrations,
        [("S_su".to_owned(), 0.01), ("X_pr".to_owned(), 20.0)]
    );
    let second = json!({"liquid_l": 100, "headspace_l": 10, "temperature": {"constant_c": 20}});
    assert_eq!(
        complaint(&[
            ("inflow", inflow),
            ("vessels[1]", second),
            ("starter.water_l", json!(600))
        ]),
        "inflow: A steady inflow goes with one vessel only. Remove the other vessels, or feed by recipes."
    );
}

#[test]
fn parameters_and_components_are_asked_for() {
    let scenario = with(&[
        (
            "model",
            json!({"parameters": {"k_m_ac": 8, "k_m_acc": 1, "Y_ac": 2}}),
        ),
        (
            "inflow",
            json!({"l_per_d": 1, "concentrations": {"S_su": 2000, "S_sugar": 1}}),
        ),
        ("starter.water_l", json!(500)),
    ]);
    let problems = from_value(&scenario, "s.json", None).unwrap_err();
    let found: Vec<_> = problems.problems.iter().map(sentence).collect();
    assert_eq!(found.len(), 4, "{found:#?}");
    for (told, (start, end)) in found.iter().zip([
        (
            "model.parameters.k_m_acc is \"k_m_acc\". There is no parameter of that name.",
            "Did you mean \"k_m_ac\"?",
        ),
        ("model.parameters.Y_ac is 2.", ""),
        ("inflow.concentrations.S_su is 2000.", "Allowed: 0 to 1000."),
        (
            "inflow.concentrations.S_sugar is \"S_sugar\". There is no component of that name.",
            "Did you mean \"S_su\"?",
        ),
    ]) {
        assert!(told.starts_with(start) && told.ends_with(end), "{told}");
    }
}

#[test]
fn parameters_that_contradict_each_other_are_refused() {
    for (parameters, says) in [
        (
            json!({"f_bu_su": 0.6, "f_pro_su": 0.5}),
            "f_bu_su, f_pro_su, f_ac_su sum to",
        ),
        (json!({"pH_low_ac": 7, "pH_high_ac": 6.5}), "must be below"),
        (json!({"T_opt_meth": 20}), "must rise"),
    ] {
        let scenario = with(&[("model", json!({ "parameters": parameters }))]);
        let problems = from_value(&scenario, "s.json", None).unwrap_err();
        let found: Vec<_> = problems.problems.iter().map(sentence).collect();
        assert!(
            found
                .iter()
                .any(|told| told.contains("contradict each other") && told.contains(says)),
            "{parameters}: {found:#?}"
        );
    }
}

#[test]
fn hydrolysis_that_nothing_looks_at_is_warned_of() {
    let told = warnings(&[(
        "model",
        json!({"parameters": {"k_hyd_cs": 0.2, "Y_ac": 0.05}}),
    )]);
    let about: Vec<_> = told.iter().filter(|w| w.starts_with("model")).collect();
    assert_eq!(
        about,
        ["model.parameters.k_hyd_cs: This parameter has no effect here."]
    );
    let told = warnings(&[
        (
            "model",
            json!({"network": "adm1", "parameters": {"k_hyd_ch": 5}}),
        ),
        ("recipes.bucket.materials[0].pieces", json!("pulp")),
    ]);
    let said = "recipes.bucket.materials[0].pieces: The size of pieces has no effect with these equations.";
    assert!(told.contains(&said.to_owned()), "{told:?}");
    assert!(!told.iter().any(|w| w.contains("k_hyd_ch")), "{told:?}");
}

#[test]
fn a_steady_inflow_needs_a_full_vessel() {
    let stream = json!({"l_per_d": 40, "concentrations": {"S_su": 1}});
    let said = complaint(&[("inflow", stream.clone())]);
    assert!(
        said.starts_with("starter is 600 L in all. A steady inflow displaces as much as it brings"),
        "{said}"
    );
    assert_eq!(
        complaint(&[("inflow", stream), ("starter.water_l", json!(500))]),
        ""
    );
}

#[test]
fn the_shares_of_a_composite_add_up() {
    for (share, said) in [
        (0.4, "sum to 1.1, more than 1"),
        (0.2, "sum to 0.9, less than 1, and nothing takes the rest"),
    ] {
        let found = complaint(&[(
            "model",
            json!({"network": "adm1", "parameters": {"f_li_xc": share}}),
        )]);
        assert!(found.contains(said), "{found}");
        assert!(
            found.contains("f_sI_xc, f_xI_xc, f_ch_xc, f_pr_xc, f_li_xc"),
            "{found}"
        );
    }
}
