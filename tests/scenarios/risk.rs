//! The study under uncertainty: whole runs.

use std::sync::atomic::{AtomicBool, Ordering};

use marshgas::case::Case;
use marshgas::lanes::WIDTH;
use marshgas::study::distribution::Distribution;
use marshgas::study::risk::{Risk, RiskError, RiskOptions, run};
use marshgas::study::uncertain::{Effect, Uncertain};
use serde_json::json;

use super::support::{sound, with};

/// A few days, so that many runs are quick.
fn short() -> Case {
    sound(&with(&[
        ("days", json!(12)),
        ("feeding[0].daily.from_day", json!(1)),
    ]))
    .case
}

fn options(draws: usize, feed: &[f64], threads: usize) -> RiskOptions {
    RiskOptions {
        draws,
        seed: 3,
        feed: feed.to_vec(),
        threads: Some(threads),
    }
}

fn study(case: &Case, uncertain: &Uncertain, options: &RiskOptions) -> Risk {
    run(case, uncertain, options, &AtomicBool::new(false), &|_| {}).unwrap()
}

#[test]
fn the_same_for_one_and_for_three_threads_and_bands_in_order() {
    let all = Uncertain::standard();
    let one = study(&short(), &all, &options(24, &[1.0, 2.0], 1));
    assert_eq!(one, study(&short(), &all, &options(24, &[1.0, 2.0], 3)));
    assert_eq!((one.draws, one.not_begun, one.main), (24, 0, 0));
    for level in &one.levels {
        assert_eq!((level.finished, level.failed), (24, 0));
        let sour = level.sour.unwrap();
        assert!(sour.low <= sour.share && sour.share <= sour.high);
    }
    assert_eq!(one.courses.courses.len(), 4);
    for course in &one.courses.courses {
        assert_eq!(course.days.len(), 12);
        for b in &course.days {
            let in_order = [b.least, b.p05, b.p25, b.p50, b.p75, b.p95, b.greatest];
            assert!(in_order.windows(2).all(|p| p[0] <= p[1]), "{b:?}");
            assert_eq!((b.counted, b.left_out), (24, 0));
        }
        // The draws differ, and so do the runs.
        let last = course.days.last().unwrap();
        assert!(last.least < last.greatest, "{:?}", course.quantity);
    }
    assert!(!one.matters.is_empty());
}

#[test]
fn without_any_unknown_all_runs_are_the_typical_one() {
    let all = Uncertain::standard();
    let names: Vec<String> = all.factors.iter().map(|f| f.name.clone()).collect();
    let none = all.without(&names).unwrap();
    let risk = study(&short(), &none, &options(20, &[1.0], 2));
    let typical = risk.typical.as_ref().unwrap();
    for course in &risk.courses.courses {
        for (day, bands) in course.days.iter().enumerate() {
            assert_eq!(bands.least, bands.greatest);
            let row = &typical.days[day];
            assert!(row.contains(&bands.least), "{bands:?} {row:?}");
        }
    }
    assert!(risk.matters.is_empty());
    let main = &risk.levels[0];
    assert_eq!(main.lowest_ph.p05, main.lowest_ph.p95);
}

/// A lower pH bound above the upper one: the equations refuse it in the upper part of the draws.
fn sometimes_impossible() -> Uncertain {
    let mut uncertain = Uncertain::standard();
    let mut factors = uncertain.factors.iter_mut();
    let factor = factors.find(|f| f.name == "methanogens").unwrap();
    factor.effect = Effect::Parameters(vec!["pH_low_ac".into()]);
    factor.distribution = Distribution::Uniform {
        low: 1.0,
        high: 2.0,
    };
    uncertain
}

#[test]
fn failed_runs_are_counted_and_told_and_end_nothing() {
    let risk = study(&short(), &sometimes_impossible(), &options(40, &[1.0], 2));
    let level = &risk.levels[0];
    // 5.7 below 6.7 holds up to 1.1754 times: 7 whole strata of 40, and a fiftieth of the next.
    assert_eq!((level.finished, level.failed), (7, 33));
    assert_eq!(risk.failures.len(), 20, "the first twenty are listed");
    assert!(
        risk.failures[0].why.contains("model.parameters"),
        "{:?}",
        risk.failures[0]
    );
    assert_eq!(risk.courses.courses[0].days[0].counted, 7);
}

#[test]
fn a_stop_keeps_what_is_done() {
    let stop = AtomicBool::new(false);
    let done = |share: f64| {
        if share >= 0.25 {
            stop.store(true, Ordering::Relaxed);
        }
    };
    let options = options(40, &[1.0, 2.0], 1);
    let risk = run(&short(), &Uncertain::standard(), &options, &stop, &done).unwrap();
    // 20 of 80 runs, and those that went beside the twentieth; draw after draw, so as many at each level or one more.
    let begun = 80 - risk.not_begun;
    assert!((20..20 + WIDTH).contains(&begun), "{begun}");
    let finished: Vec<u64> = risk.levels.iter().map(|l| l.finished).collect();
    let begun = begun as u64;
    assert_eq!(finished, [begun.div_ceil(2), begun / 2]);

    let never = run(
        &short(),
        &Uncertain::standard(),
        &options,
        &AtomicBool::new(true),
        &|_| {},
    );
    let never = never.unwrap();
    assert_eq!(never.not_begun, 80);
    assert!(never.levels[0].sour.is_none() && never.courses.courses.is_empty());
}

#[test]
fn impossible_studies_are_refused() {
    let refused = |draws, feed: &[f64]| {
        let options = options(draws, feed, 1);
        run(
            &short(),
            &Uncertain::standard(),
            &options,
            &AtomicBool::new(false),
            &|_| {},
        )
        .unwrap_err()
    };
    assert!(matches!(refused(19, &[1.0]), RiskError::FewDraws(19)));
    assert!(matches!(refused(20, &[]), RiskError::Levels));
    assert!(matches!(refused(20, &[f64::NAN]), RiskError::Levels));
    assert!(matches!(
        refused(600_000, &[1.0, 2.0]),
        RiskError::ManyDraws(600_000)
    ));
    let levels: Vec<f64> = (0..11).map(f64::from).collect();
    assert!(matches!(
        refused(100_000, &levels),
        RiskError::ManyRuns { .. }
    ));
}

#[test]
fn more_feed_sours_more_often() {
    // A cool tote on food from the first day, at once at the full amount: too much for a few kilograms of dung.
    let case = sound(&with(&[
        ("days", json!(30)),
        ("vessels[0].temperature.constant_c", json!(25)),
        ("starter.materials[0].kg", json!(100)),
        ("feeding[0].daily.from_day", json!(1)),
    ]))
    .case;
    let risk = study(
        &case,
        &Uncertain::standard(),
        &options(40, &[0.0, 1.0, 4.0], 2),
    );
    let share = |level: usize| risk.levels[level].sour.unwrap().share;
    assert!(
        share(0) <= share(1) && share(1) < share(2),
        "{:?}",
        [share(0), share(1), share(2)]
    );
    assert!(risk.levels[2].sour_unfed == 0, "feeding begins on day 1");
    assert_eq!(
        (risk.first_feed_day, risk.main),
        (Some(1.0 + 8.0 / 24.0), 1)
    );
}
