//! Random scenarios abreast give what they give alone, to the last bit, whatever goes beside them.

use marshgas::case::MethodKind;
use marshgas::scenario::from_value;
use marshgas::simulate::{self, Member, Outcome};

use super::quay::abreast;
use super::{asked, draw};

/// Scenarios, each of them as it is and twice with another feed, and their longest run \[d\].
const USUAL: u64 = 200;
const USUAL_DAYS: u32 = 60;
/// Feeds beside the drawn one.
const FEEDS: [f64; 3] = [1.0, 0.6, 1.5];

/// A scenario with its feeds, shortened; none where it is refused or would go alone anyway.
fn members(number: u64) -> Vec<(u64, Member)> {
    let Ok(sound) = from_value(&draw::scenario(number), "random.json", None) else {
        return Vec::new();
    };
    let mut base = sound.case;
    if base.vessels.len() != 1 || base.solver.method == MethodKind::Explicit {
        return Vec::new();
    }
    base.days = base.days.min(USUAL_DAYS);
    base.doses.retain(|dose| dose.day < f64::from(base.days));
    let fed = FEEDS.iter().filter_map(|feed| {
        let mut case = base.clone();
        for dose in &mut case.doses {
            dose.parts.iter_mut().for_each(|part| part.1 *= feed);
        }
        let engine = simulate::engine(&case).ok()?;
        let case = Box::new(case);
        Some((number, Member { engine, case }))
    });
    fed.collect()
}

#[test]
fn abreast_is_as_alone() {
    let first = asked("MARSHGAS_RANDOM_FIRST", 0);
    let count = asked("MARSHGAS_RANDOM", USUAL);
    let (numbers, all): (Vec<u64>, Vec<Member>) = (first..first + count).flat_map(members).unzip();
    let mut ran = 0;
    for ((number, member), found) in numbers.iter().zip(&all).zip(abreast(&all)) {
        let alone = simulate::run_on(&member.engine, &member.case, &mut |_| {});
        match (alone, found) {
            (Ok(alone), Ok(found)) => {
                // As text, since a ratio without a meaning may be no number.
                let text = |o: &Outcome| serde_json::to_string(o).unwrap();
                assert!(text(&alone) == text(&found), "scenario {number}");
                ran += 1;
            }
            (Err(alone), Err(found)) => {
                assert_eq!(alone.to_string(), found.to_string(), "scenario {number}");
            }
            (alone, found) => panic!(
                "scenario {number}: {:?} alone, {:?} abreast",
                alone.err(),
                found.err()
            ),
        }
    }
    println!("{ran} of {} ran, all as alone", all.len());
    assert!(3 * ran > all.len());
}
