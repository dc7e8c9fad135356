//! Runs abreast give what runs alone give, to the last bit.

#![allow(
    clippy::unwrap_used,
    reason = "a test stops where something is missing"
)]

use std::path::Path;

use marshgas::case::Case;
use marshgas::simulate::{self, Member, Outcome, Port, RunFailure};

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

/// What run_many gives, by index.
struct Quay<'a> {
    waiting: std::iter::Enumerate<std::slice::Iter<'a, Member>>,
    found: Vec<Option<Result<Outcome, RunFailure>>>,
}

impl Port for Quay<'_> {
    fn next(&mut self) -> Option<(usize, Member)> {
        self.waiting.next().map(|(i, member)| (i, member.clone()))
    }

    fn done(&mut self, index: usize, _: &Case, outcome: Result<Outcome, RunFailure>) {
        assert!(self.found[index].is_none(), "{index} came twice");
        self.found[index] = Some(outcome);
    }
}

fn abreast(members: &[Member]) -> Vec<Result<Outcome, RunFailure>> {
    let mut quay = Quay {
        waiting: members.iter().enumerate(),
        found: members.iter().map(|_| None).collect(),
    };
    simulate::run_many(&mut quay);
    quay.found.into_iter().map(Option::unwrap).collect()
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

fn scenario(name: &str) {
    let base = ready(name);
    let varied = |(feed, speed)| member(varied(&base, feed, speed));
    let members: Vec<Member> = [
        (1.0, 1.0),
        (2.0, 0.7),
        (0.5, 1.3),
        (6.0, 0.5),
        (1.0, 1.1),
        (0.0, 1.0),
    ]
    .map(varied)
    .into();
    let t = std::time::Instant::now();
    let n = abreast(&members).iter().filter(|o| o.is_ok()).count();
    let wide = t.elapsed();
    let t = std::time::Instant::now();
    for Member { engine: e, case: c } in &members {
        let _ = simulate::run_on(e, c, &mut |_| {});
    }
    println!("{name} {n} wide {wide:?} alone {:?}", t.elapsed());
    same(&members);
}

#[test]
fn members_of_one_scenario() {
    for name in [
        "warm-tote",
        "overfeed-sours",
        "manure-start",
        "unheated-year",
        "winter-engine",
        "school-bottle",
    ] {
        scenario(name);
    }
}

#[test]
#[ignore = "a measurement"]
fn throughput() {
    let name = std::env::var("NAME").unwrap_or("warm-tote".into());
    let base = ready(&name);
    let n: usize = 48;
    let members: Vec<Member> = (0..n)
        .map(|i| {
            member(varied(
                &base,
                0.7 + 0.6 * i as f64 / n as f64,
                0.8 + 0.4 * ((i * 7) % n) as f64 / n as f64,
            ))
        })
        .collect();
    for _ in 0..3 {
        let t = std::time::Instant::now();
        let mut k = 0;
        if std::env::var("ALONE").is_err() {
            k = abreast(&members).iter().filter(|o| o.is_ok()).count();
        }
        let wide = t.elapsed();
        let t = std::time::Instant::now();
        if std::env::var("WIDE").is_err() {
            for Member { engine: e, case: c } in &members {
                let _ = simulate::run_on(e, c, &mut |_| {});
            }
        }
        let alone = t.elapsed();
        println!(
            "{name} {k} wide {:.2} ms alone {:.2} ms: {:.2}",
            wide.as_secs_f64() * 1e3 / n as f64,
            alone.as_secs_f64() * 1e3 / n as f64,
            alone.as_secs_f64() / wide.as_secs_f64()
        );
    }
}
