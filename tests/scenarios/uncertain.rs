//! What a draw makes of a case: what each factor says it changes, and nothing else.

use marshgas::case::{Case, TemperatureCourse, Wave};
use marshgas::feedstock::library;
use marshgas::study::statistics::chance;
use marshgas::study::uncertain::{Effect, Uncertain};
use serde_json::json;

use super::support::{good, sound, with};

fn case() -> Case {
    sound(&good()).case
}

/// The case with one factor at a value and all others unchanged.
fn with_only(case: &Case, name: &str, value: f64) -> Case {
    let all = Uncertain::standard();
    let still = without_daily(Uncertain::standard());
    let mut point = all.neutral();
    let column = all.columns().position(|f| f.name == name).unwrap();
    point[column] = value;
    still.apply(case, &point, 0, 1)
}

fn without_daily(uncertain: Uncertain) -> Uncertain {
    uncertain.without(&["daily-feed", "batches"]).unwrap()
}

fn same(a: &Case, b: &Case) {
    assert_eq!(format!("{a:?}"), format!("{b:?}"));
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-12 * b.abs(), "{a} is not {b}");
}

#[test]
fn every_factor_names_its_reason_and_its_source_and_has_a_sound_spread() {
    let all = Uncertain::standard();
    assert!(all.factors.len() >= 8);
    for factor in &all.factors {
        factor.distribution.validate().unwrap();
        assert!(
            factor.why.len() > 30 && factor.source.len() > 10,
            "{}",
            factor.name
        );
        // Half of the draws lie either side of what the plain run takes.
        let middle = factor.distribution.quantile(0.5);
        assert!(
            (middle - factor.effect.neutral()).abs() < 1e-12,
            "{}: {middle}",
            factor.name
        );
        // Only feeding can change from day to day.
        let daily = matches!(factor.effect, Effect::Doses | Effect::Solids);
        assert_eq!(factor.every_days.is_some(), daily, "{}", factor.name);
    }
}

#[test]
fn the_neutral_point_is_the_case_itself() {
    let still = without_daily(Uncertain::standard());
    same(&still.apply(&case(), &still.neutral(), 7, 1), &case());
    let none: Vec<String> = still.factors.iter().map(|f| f.name.clone()).collect();
    let off = Uncertain::standard().without(&none).unwrap();
    let points = off.points(20, 1).unwrap();
    same(&off.apply(&case(), points.row(3).unwrap(), 3, 1), &case());
}

#[test]
fn the_medians_are_the_case_within_rounding() {
    let still = without_daily(Uncertain::standard());
    let medians: Vec<f64> = still
        .columns()
        .map(|f| f.distribution.quantile(0.5))
        .collect();
    let (drawn, plain) = (still.apply(&case(), &medians, 0, 1), case());
    for (a, b) in drawn.materials.iter().zip(&plain.materials) {
        let (a, b) = (&a.composition, &b.composition);
        close(a.hydrolysis.fibre.typical, b.hydrolysis.fibre.typical);
        close(a.degradable.protein, b.degradable.protein);
        close(a.living.ac, b.living.ac);
        close(a.strong_ions, b.strong_ions);
    }
    close(drawn.vessels[0].temperature.at(3.0).0, 35.0);
    for (name, value) in &drawn.model.parameters {
        let known = marshgas::kinetics::Parameters::four_stage();
        close(*value, known.value(name).unwrap());
    }
}

#[test]
fn hydrolysis_moves_every_pool_to_the_ends_of_its_own_range_and_touches_nothing_else() {
    let plain = case();
    for (place, end) in [(-1.0, 0), (1.0, 1)] {
        let mut drawn = with_only(&plain, "hydrolysis", place);
        for (a, b) in drawn.materials.iter_mut().zip(&plain.materials) {
            let (range, was) = (
                &mut a.composition.hydrolysis.fibre,
                b.composition.hydrolysis.fibre,
            );
            close(range.typical, [was.low, was.high][end]);
            a.composition.hydrolysis = b.composition.hydrolysis;
        }
        same(&drawn, &plain);
    }
}

#[test]
fn a_hydrolysis_constant_without_a_range_moves_by_the_least_factor() {
    let mut plain = case();
    let rate = &mut plain.materials[0].composition.hydrolysis.fat;
    (rate.low, rate.typical, rate.high) = (0.2, 0.2, 0.2);
    let drawn = with_only(&plain, "hydrolysis", 1.0);
    close(
        drawn.materials[0].composition.hydrolysis.fat.typical,
        0.2 * 1.3,
    );
}

#[test]
fn degradable_shares_are_multiplied_and_never_pass_one() {
    let plain = case();
    let mut drawn = with_only(&plain, "degradable", 1.2);
    let scraps = drawn
        .materials
        .iter()
        .position(|m| m.id == "kitchen-scraps")
        .unwrap();
    close(
        drawn.materials[scraps].composition.degradable.fibre,
        0.8 * 1.2,
    );
    assert_eq!(
        drawn.materials[scraps].composition.degradable.fast_carb,
        1.0
    );
    for (a, b) in drawn.materials.iter_mut().zip(&plain.materials) {
        a.composition.degradable = b.composition.degradable;
    }
    same(&drawn, &plain);
}

#[test]
fn living_groups_are_multiplied() {
    let plain = case();
    let mut drawn = with_only(&plain, "starter", 3.0);
    for (a, b) in drawn.materials.iter_mut().zip(&plain.materials) {
        close(a.composition.living.ac, 3.0 * b.composition.living.ac);
        close(a.composition.living.su, 3.0 * b.composition.living.su);
        a.composition.living = b.composition.living;
    }
    same(&drawn, &plain);
}

#[test]
fn alkalinity_moves_to_the_ends_of_the_librarys_range_or_a_given_width() {
    let mut plain = case();
    let mut drawn = with_only(&plain, "alkalinity", -1.0);
    for (a, b) in drawn.materials.iter_mut().zip(&plain.materials) {
        close(
            a.composition.strong_ions,
            library().get(&a.id).unwrap().strong_ions.low,
        );
        a.composition.strong_ions = b.composition.strong_ions;
    }
    same(&drawn, &plain);
    plain.materials[0].from_library = false;
    let own = &with_only(&plain, "alkalinity", 0.5).materials[0].composition;
    close(
        own.strong_ions - plain.materials[0].composition.strong_ions,
        0.5 * 0.3 * own.total_solids,
    );
}

#[test]
fn parameters_are_multiplied_from_what_the_scenario_says_and_stay_within_their_bounds() {
    let plain = sound(&with(&[("model", json!({"parameters": {"k_m_ac": 6.0}}))])).case;
    let mut drawn = with_only(&plain, "methanogens", 1.5);
    let expected = [("k_m_ac".to_owned(), 9.0), ("k_m_h2".to_owned(), 52.5)];
    assert_eq!(drawn.model.parameters, expected);
    drawn.model.parameters = plain.model.parameters.clone();
    same(&drawn, &plain);
    let far = with_only(&case(), "ammonia", 1e6);
    assert_eq!(far.model.parameters, [("K_I_nh3".to_owned(), 1.0)]);
}

#[test]
fn temperature_is_added_to_every_kind_of_course() {
    let mut plain = case();
    let courses = [
        TemperatureCourse::Constant(20.0),
        TemperatureCourse::Table(vec![(0.0, 10.0), (10.0, 20.0)]),
        TemperatureCourse::Wave(Wave {
            mean_c: 15.0,
            yearly_swing_k: 7.0,
            hottest_day: 100.0,
            daily_swing_k: 2.0,
            hottest_hour: 15.0,
        }),
    ];
    for course in courses {
        plain.vessels[0].temperature = course;
        let mut drawn = with_only(&plain, "temperature", -2.5);
        for t in [0.0, 3.3, 12.0] {
            let (a, b) = (&drawn.vessels[0].temperature, &plain.vessels[0].temperature);
            assert!((a.at(t).0 - (b.at(t).0 - 2.5)).abs() < 1e-12);
        }
        drawn.vessels[0].temperature = plain.vessels[0].temperature.clone();
        same(&drawn, &plain);
    }
}

#[test]
fn days_scale_doses_as_a_whole_each_by_its_own_number() {
    let plain = case();
    let daily = Uncertain::standard().only(&["daily-feed"]).unwrap();
    let mut drawn = daily.apply(&plain, &daily.neutral(), 5, 1);
    let mut ratios = Vec::new();
    for (a, b) in drawn.doses.iter_mut().zip(&plain.doses) {
        let ratio = a.parts[0].1 / b.parts[0].1;
        assert!((0.4..=2.5).contains(&ratio), "{ratio}");
        close(a.parts[1].1, ratio * b.parts[1].1);
        close(a.water_kg, ratio * b.water_kg);
        ratios.push(ratio);
        *a = b.clone();
    }
    same(&drawn, &plain);
    ratios.dedup();
    assert_eq!(
        ratios.len(),
        plain.doses.len(),
        "each day has its own number"
    );
}

#[test]
fn wetter_batches_weigh_the_same() {
    let plain = case();
    let batches = Uncertain::standard().only(&["batches"]).unwrap();
    let drawn = batches.apply(&plain, &batches.neutral(), 5, 1);
    let weight = |d: &marshgas::case::Dose| d.water_kg + d.parts.iter().map(|p| p.1).sum::<f64>();
    let mut ratios = Vec::new();
    for (a, b) in drawn.doses.iter().zip(&plain.doses) {
        close(weight(a), weight(b));
        ratios.push(((a.day / 7.0).floor(), a.parts[0].1 / b.parts[0].1));
    }
    ratios.dedup();
    // Day 14 to day 99 touches weeks 2 to 14.
    assert_eq!(ratios.len(), 13, "each week has one number");
}

#[test]
fn draws_repeat_and_a_factor_switched_off_moves_no_other() {
    let all = Uncertain::standard();
    let (one, two) = (all.points(30, 9).unwrap(), all.points(30, 9).unwrap());
    assert_eq!(one, two);
    assert_ne!(one, all.points(30, 10).unwrap());
    let fewer = Uncertain::standard()
        .without(&["hydrolysis", "starter"])
        .unwrap();
    let some = fewer.points(30, 9).unwrap();
    for (column, factor) in fewer.columns().enumerate() {
        let expected = if factor.is_on() {
            one.column(column)
        } else {
            vec![factor.effect.neutral(); 30]
        };
        assert_eq!(some.column(column), expected, "{}", factor.name);
    }
    let point = all.neutral();
    same(
        &all.apply(&case(), &point, 3, 9),
        &all.apply(&case(), &point, 3, 9),
    );
    let (a, b) = (
        all.apply(&case(), &point, 3, 9),
        all.apply(&case(), &point, 4, 9),
    );
    assert_ne!(a.doses[0], b.doses[0], "each replicate has its own days");
}

#[test]
fn unknown_names_are_refused() {
    let names = ["starters"];
    assert!(Uncertain::standard().without(&names).is_err());
    assert!(Uncertain::standard().only(&names).is_err());
    assert!(Uncertain::standard().fix("starters", 1.0).is_err());
    let fixed = Uncertain::standard().fix("starter", 0.3).unwrap();
    assert_eq!(fixed.points(20, 1).unwrap().row(0).unwrap()[3], 0.3);
}

/// A hit in the upper 30 % of the starter and the lower half of the temperature has a chance of 0.15.
fn hits(draws: usize, seed: u64) -> u64 {
    let all = Uncertain::standard();
    let at = |name: &str| all.columns().position(|f| f.name == name).unwrap();
    let (starter, warmth) = (at("starter"), at("temperature"));
    let over = all.find("starter").unwrap().distribution.quantile(0.7);
    let points = all.points(draws, seed).unwrap();
    points
        .rows()
        .filter(|r| r[starter] > over && r[warmth] < 0.0)
        .count() as u64
}

#[test]
fn the_sampling_error_halves_with_four_times_the_draws_and_the_interval_covers() {
    const TRUTH: f64 = 0.15;
    const SEEDS: u64 = 400;
    let mut spread = Vec::new();
    let mut width = Vec::new();
    for draws in [50, 200, 800] {
        let (mut squares, mut covered, mut widths) = (0.0, 0, 0.0);
        for seed in 0..SEEDS {
            let seen = chance(hits(draws, seed), draws as u64, 0.95).unwrap();
            squares += (seen.share - TRUTH).powi(2);
            covered += u32::from(seen.low <= TRUTH && TRUTH <= seen.high);
            widths += seen.high - seen.low;
        }
        // 95 % asked for; the hypercube does no worse than plain draws. 3 standard errors of 400 trials are 3.3 %.
        assert!(
            f64::from(covered) / SEEDS as f64 > 0.917,
            "{draws} draws: {covered}"
        );
        spread.push((squares / SEEDS as f64).sqrt());
        width.push(widths);
    }
    for pair in spread.windows(2).chain(width.windows(2)) {
        // A spread from 400 seeds is itself known to 3.5 %, a ratio of two to 5 %: 3 of these.
        assert!((1.7..2.3).contains(&(pair[0] / pair[1])), "{pair:?}");
    }
}
