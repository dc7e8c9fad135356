//! The steady states behind a limit: published and closed-form models built as networks and followed through a tank.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use marshgas::chemistry::ConstantSet;
use marshgas::digester::{Engine, Plumbing, Tank, TemperatureCourse};
use marshgas::kinetics::{
    Builder, Component, Factor, Group, Network, Parameters, TemperatureLaw, four_stage,
};
use marshgas::solver::continuation::{Direction, Family, Options, follow, roots_at, stationary};
use marshgas::study::limit::{Along, SteadyTank};

const LIQUID_M3: f64 = 0.8;

fn tank(network: Network, davies: bool, held_back: f64) -> Tank {
    let plumbing = Plumbing {
        kla: 20.0,
        ambient_bar: 1.013,
        back_pressure_bar: 0.008,
        pipe: 500.0,
        returns: false,
        leak: 0.0,
        inflow: None,
        held_back,
    };
    Tank::new(
        Arc::new(Engine::new(network, davies)),
        plumbing,
        TemperatureCourse::Constant(35.0),
        LIQUID_M3,
        0.2,
    )
}

/// A component that holds nothing the balances count, so that any published row may stand.
fn bare(name: &'static str, particulate: bool) -> Component {
    Component {
        name,
        words: name,
        group: Group::Dissolved,
        particulate,
        cod: 0.0,
        carbon: 0.0,
        nitrogen: 0.0,
        sulfur: 0.0,
        charge: 0.0,
        tolerance: 1e-4,
    }
}

fn bernard() -> serde_json::Value {
    serde_json::from_str(include_str!("../data/kinetics/bernard2001.json")).unwrap()
}

/// The two-step model of Bernard et al. (2001) as a network; biomass leaves by the share `alpha`, as particles do.
fn two_step() -> (Network, f64) {
    let data = bernard();
    let get = |name: &str| data["parameters"][name].as_f64().unwrap();
    let mut b = Builder::new("two-step", ConstantSet::Recommended);
    let x1 = b.component(bare("X1", true));
    let x2 = b.component(bare("X2", true));
    let s1 = b.component(bare("S1", false));
    let s2 = b.component(bare("S2", false));
    let law = b.law(TemperatureLaw::Constant);
    let mu1 = b.coefficient("mu1max", get("mu1max"), law);
    let mu2 = b.coefficient("mu2max", get("mu2max"), law);
    b.process(
        "acid formation",
        &[(x1, 1.0), (s1, -get("k1")), (s2, get("k2"))],
        mu1,
        &[
            Factor::Saturation {
                of: s1,
                k: get("KS1"),
            },
            Factor::Amount(x1),
        ],
    );
    b.process(
        "methane formation",
        &[(x2, 1.0), (s2, -get("k3"))],
        mu2,
        &[
            Factor::Haldane {
                of: s2,
                k: get("KS2"),
                k_i: get("KI2"),
            },
            Factor::Amount(x2),
        ],
    );
    (b.finish().unwrap(), get("alpha"))
}

/// The dilution rate itself as the parameter \[1/d\].
const DILUTION: Along = Along::Feed {
    per_unit: 1.0,
    temperature_c: 35.0,
};

fn within(found: f64, wanted: f64, share: f64) -> bool {
    (found / wanted - 1.0).abs() <= share
}

#[test]
fn the_two_step_model_as_a_network_folds_where_published_parameters_say() {
    let (network, alpha) = two_step();
    // An acid-rich feed makes the whole unstable branch a state of the reactor; the roots do not depend on it.
    let (s1_in, s2_in) = (9.5, 4000.0);
    let mut family = SteadyTank::new(
        tank(network, false, 1.0 - alpha),
        vec![0.0, 0.0, s1_in, s2_in],
        DILUTION,
    );
    let guess = [s1_in / 21.0, (s2_in + 2.7 * s1_in) / 134.0, 0.3, 0.7];
    let mut full = guess.to_vec();
    full.push(308.15);
    family.scale_by(&full);
    assert_eq!(family.dim(), 4, "no acids, no gases: only the components");
    let start = stationary(&mut family, 0.1, &guess, 1e-9).unwrap();
    assert!(start.stable, "{start:?}");
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut family,
        &start.y,
        0.1,
        &Options::new(0.05, 1.3, Direction::Up, &stop),
    )
    .unwrap();
    let folds: Vec<_> = branch.folds().collect();
    assert_eq!(folds.len(), 1, "{:?}", branch.specials);
    let wanted = bernard()["checks"]["D_crit_methanogens_1_per_d"]
        .as_f64()
        .unwrap();
    println!("fold at {} 1/d, wanted {wanted}", folds[0].state.p);
    assert!(within(folds[0].state.p, wanted, 1e-3));
    let roots = roots_at(&mut family, &branch, 0.35, 1e-9).unwrap();
    let unstable: Vec<f64> = roots.iter().filter(|r| !r.stable).map(|r| r.y[3]).collect();
    println!("unstable roots at 0.35 1/d: {unstable:?}");
    assert_eq!(unstable.len(), 1);
    assert!(within(unstable[0], 823.6, 1e-3), "{unstable:?}");
}

#[test]
fn a_chemostat_as_a_network_washes_out_at_its_closed_form() {
    let (mu, k, incoming, growth_yield) = (0.4, 0.15, 3.0, 0.1);
    let mut b = Builder::new("chemostat", ConstantSet::Recommended);
    let x = b.component(bare("X", false));
    let s = b.component(bare("S", false));
    let law = b.law(TemperatureLaw::Constant);
    let rate = b.coefficient("mu", mu, law);
    b.process(
        "growth",
        &[(x, 1.0), (s, -1.0 / growth_yield)],
        rate,
        &[Factor::Saturation { of: s, k }, Factor::Amount(x)],
    );
    let mut family = SteadyTank::new(
        tank(b.finish().unwrap(), false, 0.0),
        vec![0.0, incoming],
        Along::Retention {
            share: 1.0,
            temperature_c: 35.0,
        },
    );
    let guess = [growth_yield * incoming, 0.02];
    family.scale_by(&[guess[0], guess[1], 308.15]);
    let stop = AtomicBool::new(false);
    let branch = follow(
        &mut family,
        &guess,
        20.0,
        &Options::new(1.0, 20.0, Direction::Down, &stop),
    )
    .unwrap();
    let washout: Vec<_> = branch.exchanges().collect();
    // D = mu S/(K + S) at the concentration of the feed.
    let wanted = (k + incoming) / (mu * incoming);
    println!("washout at {} d, wanted {wanted}", washout[0].state.p);
    assert!(within(washout[0].state.p, wanted, 1e-6));
}

/// Steady states need exact slopes: against central differences, for each kind of parameter.
#[test]
fn slopes_of_the_four_stage_family_are_exact() {
    let network = four_stage(&Parameters::four_stage()).unwrap();
    let names: Vec<&str> = network.components.iter().map(|c| c.name).collect();
    let incoming: Vec<f64> = (0..names.len()).map(|i| 0.1 * (i + 1) as f64).collect();
    let mut y: Vec<f64> = names
        .iter()
        .enumerate()
        .map(|(i, name)| match *name {
            "S_h2" => 3e-6,
            "S_IC" => 0.12,
            "S_IN" => 0.09,
            "S_IS" => 0.002,
            "S_ion" => 0.05,
            _ => 0.3 + 0.07 * ((i * 7) % 11) as f64,
        })
        .collect();
    y.extend([1e-6, 0.004, 0.0035, 2e-6]);
    for (along, p) in [
        (
            Along::Feed {
                per_unit: 0.01,
                temperature_c: 28.0,
            },
            3.0,
        ),
        (
            Along::Retention {
                share: 0.9,
                temperature_c: 28.0,
            },
            30.0,
        ),
        (Along::Temperature { dilution: 0.03 }, 28.0),
    ] {
        let mut family = SteadyTank::new(tank(network.clone(), true, 0.3), incoming.clone(), along);
        let n = family.dim();
        assert_eq!(n, y.len(), "air is left out");
        let (mut dfdy, mut dfdp) = (vec![0.0; n * n], vec![0.0; n]);
        family.jacobian(&y, p, &mut dfdy, &mut dfdp).unwrap();
        let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
        for c in 0..=n {
            let size = if c < n { y[c].abs() } else { p };
            let h = 1e-6 * size;
            let mut at = |sign: f64, f: &mut [f64]| {
                let mut z = y.clone();
                let mut q = p;
                if c < n {
                    z[c] += sign * h;
                } else {
                    q += sign * h;
                }
                family.residual(&z, q, f).unwrap();
            };
            at(1.0, &mut up);
            at(-1.0, &mut down);
            for r in 0..n {
                let difference = (up[r] - down[r]) / (2.0 * h);
                let exact = if c < n { dfdy[r * n + c] } else { dfdp[r] };
                let floor =
                    1e-9 * (up[r].abs() + down[r].abs()) / h + 1e-5 * difference.abs() + 1e-7;
                assert!(
                    (exact - difference).abs() <= floor,
                    "{along:?} row {r} column {c}: {exact} {difference}"
                );
            }
        }
    }
}
