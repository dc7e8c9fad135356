//! What a test is worth: how much it is expected to tell between the two likeliest stories, and at which effort.

use super::story::{Classes, Look, Test};
use super::tell::Told;
use crate::digester::Bands;
use crate::study::normal;

/// A test that tells less than this between the two likeliest stories is not worth the walk \[bits\] (convention of this
/// project: it moves two even stories to 37 and 63 in a hundred, where 1 would settle them).
pub const LEAST_BITS: f64 = 0.05;
/// Going to the tank, getting things ready and washing hands afterwards, the same for every test \[min\] (assumption).
pub const WALK_MIN: f64 = 15.0;

/// What a test tells for its effort \[bits/min\]: of tests that are worth the walk, the one that settles most in the same
/// time is the one to begin with.
#[must_use]
pub fn for_its_effort(bits: f64, effort_min: f64) -> f64 {
    bits / (WALK_MIN + effort_min)
}

/// How open it is which of some stories is true \[bits\]: what a test would tell that settles it.
///
/// Source: Shannon, "A mathematical theory of communication" (1948), from memory.
#[must_use]
pub fn doubt(weights: &[f64]) -> f64 {
    let total: f64 = weights.iter().sum();
    let shares = weights.iter().map(|w| w / total).filter(|p| *p > 0.0);
    shares.map(|p| -p * libm::log2(p)).sum()
}

/// Chances of what a test shows under a story.
pub(super) fn chances(test: &Test, told: &Told) -> Vec<f64> {
    match &test.look {
        Look::Ph(classes) => mean(told, |d| d.now.ph, classes),
        Look::Colder(classes) => mean(told, |d| d.offset_k, classes),
        Look::Flame { sd } => {
            let flame = Bands::standard().flame.methane;
            mean(
                told,
                |d| d.now.methane,
                &Classes {
                    edges: vec![flame],
                    sd: *sd,
                },
            )
        }
        Look::Pause { edges, sd, .. } => classes(
            told.pause,
            &Classes {
                edges: edges.clone(),
                sd: *sd,
            },
        ),
        Look::Table(rows) => {
            let positive = rows.iter().find(|(name, _)| *name == told.name);
            let p = positive.map_or(0.5, |(_, p)| *p);
            vec![1.0 - p, p]
        }
    }
}

fn mean(told: &Told, of: impl Fn(&super::tell::Sight) -> f64, to: &Classes) -> Vec<f64> {
    let mut sum = vec![0.0; to.edges.len() + 1];
    for (sight, weight) in &told.sights {
        for (sum, p) in sum.iter_mut().zip(classes(of(sight), to)) {
            *sum += weight * p;
        }
    }
    sum
}

/// Chances of the classes for a number that is read with an error.
fn classes(value: f64, to: &Classes) -> Vec<f64> {
    let below = |edge: f64| normal::cumulative((edge - value) / to.sd);
    let mut before = 0.0;
    let mut chances: Vec<f64> = Vec::with_capacity(to.edges.len() + 1);
    for &edge in &to.edges {
        chances.push(below(edge) - before);
        before = below(edge);
    }
    chances.push(1.0 - before);
    chances
}

/// Information \[bits\] that a test is expected to give about the stories, whose chances are `weights`.
///
/// Source: Lindley, "On a measure of the information provided by an experiment" (1956), from memory.
#[must_use]
pub fn expected_information(weights: &[f64], outcomes: &[Vec<f64>]) -> f64 {
    let total: f64 = weights.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    let count = outcomes.first().map_or(0, Vec::len);
    let chance = |o: usize| -> f64 {
        let each = weights.iter().zip(outcomes);
        each.map(|(w, row)| w / total * row[o]).sum()
    };
    let mut bits = 0.0;
    for o in 0..count {
        let all = chance(o);
        for (w, row) in weights.iter().zip(outcomes) {
            if row[o] > 0.0 && all > 0.0 {
                bits += w / total * row[o] * libm::log2(row[o] / all);
            }
        }
    }
    bits.max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_perfect_test_of_two_even_stories_gives_one_bit() {
        let sure = [vec![1.0, 0.0], vec![0.0, 1.0]];
        assert!((expected_information(&[0.5, 0.5], &sure) - 1.0).abs() < 1e-12);
        // A binary symmetric channel with error 0.1: 1 - H(0.1) = 0.5310 bits (Shannon 1948).
        let noisy = [vec![0.9, 0.1], vec![0.1, 0.9]];
        assert!((expected_information(&[2.0, 2.0], &noisy) - 0.531_004_4).abs() < 1e-6);
    }

    #[test]
    fn doubt_is_what_a_perfect_test_settles() {
        let sure = [vec![1.0, 0.0], vec![0.0, 1.0]];
        for weights in [[0.5, 0.5], [0.9, 0.3], [1.0, 0.0]] {
            let all = expected_information(&weights, &sure);
            assert!((doubt(&weights) - all).abs() < 1e-12, "{weights:?}");
        }
        // Eight even ones: three yes-or-no questions.
        assert!((doubt(&[0.1; 8]) - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_test_that_shows_the_same_tells_nothing() {
        let blind = [vec![0.3, 0.7], vec![0.3, 0.7]];
        assert!(expected_information(&[0.8, 0.2], &blind) < 1e-12);
        assert_eq!(expected_information(&[0.0, 0.0], &blind), 0.0);
    }

    #[test]
    fn classes_of_a_number_add_up() {
        let to = Classes {
            edges: vec![6.5, 7.0],
            sd: 0.2,
        };
        let found = classes(6.5, &to);
        assert!((found[0] - 0.5).abs() < 1e-12);
        assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn between_a_leak_and_a_wrong_meter_the_brush_comes_before_the_bucket() {
        let book = crate::diary::diagnose::story::Book::standard();
        let worth = |name: &str| {
            let test = book.tests.iter().find(|t| t.name == name).unwrap();
            let Look::Table(rows) = &test.look else {
                panic!("{name} looks at the run");
            };
            let shows = ["leak", "meter"].map(|story| {
                let p = rows.iter().find(|(name, _)| name == story).unwrap().1;
                vec![1.0 - p, p]
            });
            let bits = expected_information(&[0.7, 0.1], &shows);
            (bits, for_its_effort(bits, test.effort_min))
        };
        let (brush, bucket) = (worth("soap"), worth("volume"));
        // The bucket tells a little more, and takes more than twice as long.
        assert!(
            bucket.0 > brush.0 && brush.0 > LEAST_BITS,
            "{brush:?} {bucket:?}"
        );
        assert!(brush.1 > bucket.1, "{brush:?} {bucket:?}");
    }
}
