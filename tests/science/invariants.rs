//! What must hold for any state and any small scenario.

use std::path::Path;
use std::sync::Arc;

use marshgas::chemistry::{Equilibria, PhBand, Totals, haldane, monod, non_competitive};
use marshgas::digester::{Engine, Plumbing, Tank, TemperatureCourse};
use marshgas::kinetics::{
    Conditions, Equations, Factor, Group, Network, Parameters, Properties, Rates, adm1, four_stage,
};
use marshgas::scenario;
use marshgas::simulate::run;
use marshgas::solver::System;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use crate::cases::Sketch;

fn networks() -> [Network; 2] {
    [
        four_stage(&Parameters::four_stage()).unwrap(),
        adm1(&Parameters::adm1()).unwrap(),
    ]
}

#[test]
fn every_process_row_closes() {
    for network in networks() {
        assert!(network.processes.len() >= 18);
        for p in &network.processes {
            let gap = network.continuity(p);
            assert!(gap.worst() <= 1e-12, "{} {}: {gap:?}", network.name, p.name);
        }
    }
}

#[test]
fn every_ready_scenario_closes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut runs = 0;
    for name in crate::golden::names() {
        let path = folder.join(format!("{name}.json"));
        let case = scenario::load(&path).unwrap().case;
        // The run itself refuses anything negative beyond a hundred tolerances.
        let outcome = run(&case, &mut |_| {}).unwrap();
        for quantity in ["COD", "carbon", "nitrogen", "sulphur", "strong charge"] {
            let c = outcome
                .closures
                .iter()
                .find(|c| c.quantity == quantity)
                .unwrap();
            assert!(c.relative_gap <= 1e-6, "{}: {c:?}", case.title);
        }
        let f = outcome.fate;
        let out = f.methane
            + f.hydrogen
            + f.leaked
            + f.out_degradable
            + f.out_dissolved
            + f.out_living
            + f.out_inert
            + f.left;
        assert!(
            (f.start + f.fed - out).abs() <= 1e-6 * (f.start + f.fed),
            "{}",
            case.title
        );
        runs += 1;
    }
    assert!(runs >= 8);
}

fn tank(network: Network, davies: bool) -> Tank {
    let plumbing = Plumbing {
        kla: 20.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.005,
        pipe: 500.0,
        returns: false,
        leak: 0.0,
        inflow: None,
        held_back: 0.0,
    };
    let engine = Arc::new(Engine::new(network, davies));
    Tank::new(
        engine,
        plumbing,
        TemperatureCourse::Constant(30.0),
        0.8,
        0.2,
    )
}

/// Concentrations as a digester can have them, from numbers in 0..1.
fn concentrations(network: &Network, raw: &[f64]) -> Vec<f64> {
    network
        .components
        .iter()
        .zip(raw)
        .map(|(c, r)| match (c.name, c.group) {
            ("S_h2", _) => 1e-5 * r,
            ("S_ch4", _) => 0.1 * r,
            (_, Group::Inorganic) => 0.3 * r,
            (_, Group::Ion) => 0.2 * r,
            (_, Group::Living) => 5.0 * r,
            _ => 20.0 * r,
        })
        .collect()
}

fn state(tank: &Tank, raw: &[f64], celsius: f64) -> Vec<f64> {
    let network = &tank.engine().network;
    let l = *tank.layout();
    let mut y = concentrations(network, raw);
    y.resize(l.dim(), 0.0);
    for g in 0..l.gases {
        y[l.gas(g)] = 0.004 * raw[g];
    }
    y[l.temperature()] = 273.15 + celsius;
    y
}

/// Rates of all processes at a state.
fn rates(tank: &mut Tank, y: &[f64]) -> Vec<f64> {
    let s = tank.speciate(y).unwrap();
    let props: Properties = *tank.properties();
    let engine = Arc::clone(tank.engine());
    let mut rates = Rates::new(&engine.network);
    let at = Conditions {
        law: &props.law,
        law_slope: &props.law_slope,
        equilibria: &props.equilibria,
        acid_base: &engine.acid_base,
        speciation: &s,
    };
    let equations = Equations::new(&engine.network);
    rates.evaluate(&engine.network, &equations, y, &tank.coefficients, &at);
    rates.rate
}

fn raw() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(0.0..1.0, 40)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, rng_seed: RngSeed::Fixed(64), ..ProptestConfig::default() })]

    #[test]
    fn rates_are_finite_and_run_forwards(raw in raw(), celsius in 0.5..55.0, second in any::<bool>()) {
        let [first, other] = networks();
        let mut tank = if second { tank(other, false) } else { tank(first, true) };
        let y = state(&tank, &raw, celsius);
        let mut dy = vec![0.0; y.len()];
        tank.rhs(0.0, &y, &mut dy).unwrap();
        prop_assert!(dy.iter().all(|v| v.is_finite()));
        for rate in rates(&mut tank, &y) {
            prop_assert!(rate.is_finite() && rate >= 0.0, "{rate}");
        }
    }

    #[test]
    fn nothing_runs_without_its_substrate(raw in raw(), celsius in 5.0..45.0, second in any::<bool>()) {
        let [first, other] = networks();
        let mut tank = if second { tank(other, false) } else { tank(first, true) };
        let engine = Arc::clone(tank.engine());
        let y = state(&tank, &raw, celsius);
        for (p, process) in engine.network.processes.iter().enumerate() {
            // Whatever a process uses up must be there for it to run.
            let used = process.factors.iter().filter_map(|&f| match engine.network.factors[f] {
                Factor::Amount(i) | Factor::Living(i) => Some(i),
                Factor::Saturation { of, .. } | Factor::Share { of, .. } => Some(of),
                _ => None,
            });
            for i in used {
                let mut without = y.clone();
                without[i] = 0.0;
                let rate = rates(&mut tank, &without)[p];
                prop_assert_eq!(rate, 0.0, "{} without {}", process.name, engine.network.components[i].name);
            }
        }
    }

    #[test]
    fn one_ph_balances_the_charge(raw in raw(), celsius in 0.5..55.0, second in any::<bool>()) {
        let [first, other] = networks();
        let mut tank = if second { tank(other, false) } else { tank(first, true) };
        let y = state(&tank, &raw, celsius);
        let s = tank.speciate(&y).unwrap();
        let engine = Arc::clone(tank.engine());
        let network = &engine.network;
        let acids: Vec<f64> = network.acids.iter().map(|a| y[a.component] * a.kmol_per_unit).collect();
        let strong: f64 = network.components.iter().zip(&y).map(|(c, v)| c.charge * v).sum();
        let totals = Totals { acids: &acids, strong, spectators: strong.abs() };
        let eq: Equilibria = tank.properties().equilibria;
        // The charge rises with the acidity throughout, so there is one root and no other.
        let at = |ph: f64| {
            engine.acid_base.residual_at(&eq, &totals, -ph * std::f64::consts::LN_10, s.ionic).0
        };
        let course: Vec<f64> = (0..=160).map(|i| at(0.1 * f64::from(i))).collect();
        prop_assert!(course.windows(2).all(|w| w[0] > w[1]));
        prop_assert!((at(s.ph())).abs() <= 1e-9);
    }

    #[test]
    fn inhibition_is_monotone(a in 0.0..5.0, step in 1e-6..5.0, k in 1e-4..5.0, low in 3.0..6.0, width in 0.3..3.0) {
        let b: f64 = a + step;
        prop_assert!(non_competitive(b, k).0 < non_competitive(a, k).0);
        prop_assert!(monod(b, k).0 > monod(a, k).0);
        let band = PhBand::from_bounds(low, low + width).unwrap();
        let at = |ph: f64| band.factor(-ph * std::f64::consts::LN_10).0;
        prop_assert!(at(2.0 + 2.0 * b) >= at(2.0 + 2.0 * a));
        // Substrate inhibition rises to its peak at sqrt(k_s k_i) and falls beyond.
        let peak = (k * 0.5_f64).sqrt();
        let f = |s: f64| haldane(s, k, 0.5).0;
        prop_assert!(f(a).max(f(b)) <= f(peak) * (1.0 + 1e-12));
    }
}

/// Materials of every kind but pure fat (see below).
const MATERIALS: [&str; 6] = [
    "kitchen-scraps",
    "cattle-dung",
    "pig-slurry",
    "bread",
    "milk",
    "lawn-clippings",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, rng_seed: RngSeed::Fixed(16), ..ProptestConfig::default() })]

    #[test]
    fn small_scenarios_close_and_stay_positive(
        celsius in 4.0..48.0,
        days in 5_u32..40,
        first in 0_u32..5,
        starter in 5.0..95.0,
        fed in prop::sample::subsequence(&MATERIALS[..], 1..4),
        kg in 0.0..4.0,
        water in 0.0..4.0,
    ) {
        let case = Sketch {
            liquid_l: 100.0,
            temperature_c: celsius,
            days,
            starter: vec![("digestate-cattle", starter)],
            starter_water_l: 100.0 - starter,
            feed: fed.iter().map(|m| (*m, kg)).collect(),
            feed_water_l: water,
            first_feed_day: first,
        }
        .case();
        // A run refuses open balances and negative amounts itself.
        let outcome = run(&case, &mut |_| {}).unwrap();
        for c in &outcome.closures {
            prop_assert!(c.relative_gap <= 1e-6, "{:?}", c);
        }
        for d in &outcome.plant {
            prop_assert!(d.gas_nl >= -1e-9 && d.ch4_nl >= -1e-9 && d.acids_mg_l >= 0.0);
            prop_assert!((2.0..12.0).contains(&d.ph), "pH {}", d.ph);
            let shares = d.ch4_share + d.co2_share + d.air_share + 1e-6 * (d.h2s_ppm + d.h2_ppm);
            prop_assert!((shares - 1.0).abs() <= 1e-9);
        }
    }
}

/// Eight kilograms of fat per m3 a day and little else: nitrogen and sulphur run out.
#[test]
fn a_flood_of_fat_is_computed() {
    let case = Sketch {
        liquid_l: 100.0,
        temperature_c: 40.0,
        days: 40,
        starter: vec![("digestate-cattle", 37.266_743_780_071_66)],
        starter_water_l: 100.0 - 37.266_743_780_071_66,
        feed: vec![("cooking-fat", 0.8)],
        feed_water_l: 0.5,
        first_feed_day: 0,
    }
    .case();
    let outcome = run(&case, &mut |_| {}).unwrap();
    assert_eq!(outcome.plant.len(), 40);
}
