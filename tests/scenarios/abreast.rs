//! Runs abreast give what runs alone give, to the last bit.

use std::path::Path;

use marshgas::case::Case;
use marshgas::simulate::{self, Member};

use crate::quay::abreast;

fn member(case: Case) -> Member {
    Member {
        engine: simulate::engine(&case).unwrap(),
        case: Box::new(case),
    }
}

fn ready(name: &str) -> Case {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("scenarios/{name}.json"));
    marshgas::scenario::load(&path).unwrap().case
}

fn same(members: &[Member]) {
    for (i, (found, Member { engine, case })) in abreast(members).iter().zip(members).enumerate() {
        let alone = simulate::run_on(engine, case, &mut |_| {});
        match (&alone, found) {
            (Ok(alone), Ok(found)) => {
                for (a, b) in alone.plant.iter().zip(&found.plant) {
                    assert_eq!(a, b, "member {i}");
                }
                assert_eq!(alone.solver, found.solver, "member {i}");
                assert_eq!(alone, found, "member {i}");
            }
            (Err(alone), Err(found)) => assert_eq!(alone.to_string(), found.to_string()),
            _ => panic!(
                "member {i}: {:?} alone, {:?} abreast",
                alone.err(),
                found.as_ref().err()
            ),
        }
    }
}

/// The scenario with its doses scaled and a rate constant moved.
fn varied(base: &Case, feed: f64, speed: f64) -> Case {
    let mut case = base.clone();
    for dose in &mut case.doses {
        dose.parts.iter_mut().for_each(|part| part.1 *= feed);
    }
    let known = marshgas::kinetics::Parameters::four_stage();
    let name = "k_m_ac";
    let value = speed * known.value(name).unwrap();
    case.model.parameters.push((name.into(), value));
    case
}

/// Six of a scenario: fed and growing differently, one of them far beyond what it bears, one unfed.
fn six(name: &str) -> Vec<Member> {
    let base = ready(name);
    let shares = [
        (1.0, 1.0),
        (2.0, 0.7),
        (0.5, 1.3),
        (6.0, 0.5),
        (1.0, 1.1),
        (0.0, 1.0),
    ];
    let varied = |(feed, speed)| member(varied(&base, feed, speed));
    shares.map(varied).into()
}

#[test]
fn at_a_prescribed_temperature() {
    for name in [
        "warm-tote",
        "overfeed-sours",
        "manure-start",
        "school-bottle",
    ] {
        same(&six(name));
    }
}

#[test]
fn at_one_temperature_with_temperature_laws_of_their_own() {
    // The lanes are taken over at the temperature of the run before, which is no reason to keep its properties.
    let mut base = ready("manure-start");
    base.days = 30;
    base.doses.retain(|dose| dose.day < 30.0);
    base.vessels[0].temperature = marshgas::digester::TemperatureCourse::Constant(24.0);
    let energies = [20.0, 40.0, 60.0, 80.0, 30.0, 50.0, 70.0, 90.0, 45.0];
    let members = energies.map(|kj| {
        let mut case = base.clone();
        case.model.parameters.push(("E_hyd".into(), kj));
        member(case)
    });
    same(&members);
}

#[test]
fn with_a_heat_balance() {
    for name in ["unheated-year", "winter-engine"] {
        same(&six(name));
    }
}

#[test]
fn of_several_shapes_in_one_queue() {
    // Another network, an acid that is missing, several vessels, the explicit method: each goes its own way.
    let mut members = six("manure-start");
    members.insert(1, member(ready("benchmark-stream")));
    let mut adm1 = ready("manure-start");
    adm1.model.network = marshgas::case::NetworkKind::Adm1;
    adm1.days = 20;
    members.insert(3, member(adm1));
    let mut short = ready("manure-start");
    short.days = 1;
    short.doses.retain(|dose| dose.day < 1.0);
    short.solver.method = marshgas::case::MethodKind::Explicit;
    members.push(member(short));
    let mut row = ready("manure-start");
    row.vessels.push(row.vessels[0].clone());
    members.push(member(row));
    same(&members);
}

#[test]
fn a_run_that_fails_takes_none_along() {
    let mut members = six("manure-start");
    // On the way to such a heat no step is left.
    let mut broken = ready("manure-start");
    let heat = vec![(0.0, 30.0), (5.0, 30.0), (6.0, 500.0)];
    broken.vessels[0].temperature = marshgas::digester::TemperatureCourse::Table(heat);
    members.insert(2, member(broken));
    assert!(abreast(&members)[2].is_err());
    same(&members);
}
