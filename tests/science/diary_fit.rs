//! Fits to made-up records whose truth is known.

use std::sync::atomic::AtomicBool;

use marshgas::chemistry;
use marshgas::diary::fit::coordinate::Coordinate;
use marshgas::diary::fit::digester::{FitOptions, fit_digester};
use marshgas::diary::fit::fitted::fitted_scenario;
use marshgas::diary::fit::information::Information;
use marshgas::diary::fit::least_squares::{self, Options, Residuals};
use marshgas::diary::fit::model::{Model, usual_gas};
use marshgas::diary::fit::readings::{Reading, What, gas_of_size, gas_size};
use marshgas::diary::fit::result::Learnt;
use marshgas::diary::fit::unknown::{Unknown, unknowns};
use marshgas::plant::GasState;
use marshgas::plant::leak::{BellTest, ReadingErrors, bell as bell_test};
use marshgas::scenario;
use marshgas::simulate;
use marshgas::study::batch::{self, BatchOptions};
use marshgas::study::generator::replicate;
use marshgas::units::{ATM_BAR, kelvin};

use super::diary_made_up::{Error, Owner, bell, case, readings, rows, truth};

static NEVER: AtomicBool = AtomicBool::new(false);

fn options(seed: u64) -> FitOptions<'static> {
    FitOptions {
        draws: 160,
        seed,
        threads: None,
        stop: &NEVER,
    }
}

/// A batch of one pool whose gas follows the closed form: 97 % of it in 50 days at 35 C is k = 0.07 1/d.
struct Batch(Vec<(f64, f64)>);

impl Residuals for Batch {
    fn count(&self) -> usize {
        self.0.len()
    }

    fn residuals(&self, b: &[f64]) -> Result<Vec<f64>, String> {
        let points = self.0.iter();
        Ok(points
            .map(|&(t, y)| (b[0] * (1.0 - (-b[1] * t).exp()) - y) / 2.0)
            .collect())
    }
}

#[test]
fn the_speed_of_a_degradable_batch_is_recovered() {
    // ln(1 / 0.03) / 50, by hand.
    let k = 0.070_131;
    let made: Vec<(f64, f64)> = (1..=50)
        .map(|day| {
            let t = f64::from(day);
            let noise = 2.0 * bell(&mut replicate(day as u64, 3));
            (t, 200.0 * (1.0 - (-k * t).exp()) + noise)
        })
        .collect();
    let coordinates = [Coordinate::Positive; 2];
    let starts = [
        vec![100f64.ln(), 0.3f64.ln()],
        vec![300f64.ln(), 0.01f64.ln()],
    ];
    let fitted = least_squares::fit(
        &Batch(made),
        &coordinates,
        &starts,
        &Options::closed_form(&NEVER),
    )
    .unwrap();
    let information = Information::of(&fitted, &coordinates, 1.0).unwrap();
    let off = (fitted.values[1] / k).ln().abs();
    assert!(
        off < 2.5 * information.sd[1],
        "{:?} {:?}",
        fitted.values,
        information.sd
    );
    assert!(information.sd[1] < 0.05, "{:?}", information.sd);
}

#[test]
fn a_known_leak_is_fitted_back_and_agrees_with_a_leak_test() {
    let days = 40;
    let case = case("warm-tote", days + 7);
    let all = unknowns();
    let mut values: Vec<f64> = all.iter().map(|u| u.middle()).collect();
    let leak = all.iter().position(|u| u.name == "leak").unwrap();
    values[leak] = 0.25;
    let usual = usual_gas(&case, f64::from(days)).unwrap();
    // The arithmetic of a leak test: what the run lost in a day, at the store's pressure, is what the hole lets out.
    let lost = rows(&case, &all, &values, usual).unwrap();
    let last = &lost[days as usize - 1];
    let hole_nl = values[leak] * usual * 273.15 / 308.15 * (1.01325 + 0.008) / 1.01325;
    let dry = 1.0 - last.vapour_share;
    assert!(
        (last.leaked_nl / (hole_nl * dry) - 1.0).abs() < 0.05,
        "{} {}",
        last.leaked_nl,
        hole_nl * dry
    );
    let (readings, usual) = readings(&case, &all, &values, &Owner::careful(days), 11).unwrap();
    let fit = fit_digester(&case, &all, &readings, usual, &options(11), &|_| {}).unwrap();
    let found = &fit.unknowns[leak];
    assert!(
        (found.p05..=found.p95).contains(&0.25),
        "{} to {}",
        found.p05,
        found.p95
    );
    assert!(found.p50 > 3.0 * found.unknown.middle(), "{}", found.p50);
    // The owner closes the tap between bell and burner for a day without feed: the bell (80 cm, 20 C, 8 mbar) falls by
    // what the hole takes, and the arithmetic of `leak` must find what the fit found.
    let state = GasState {
        temperature_c: 20.0,
        gauge_pa: 800.0,
        barometer_kpa: 101.325,
    };
    let norm_l_per_l = chemistry::norm_dry_from_wet(1.0, kelvin(20.0), ATM_BAR + 0.008, 1.0);
    let l_per_cm = std::f64::consts::PI * 80.0 * 80.0 / 4.0 / 1000.0;
    let fallen_cm = last.leaked_nl / norm_l_per_l / l_per_cm;
    let test = BellTest {
        diameter_cm: 80.0,
        heights_cm: [80.0, 80.0 - fallen_cm],
        dead_l: 200.0,
        states: [state, state],
        hours: 24.0,
        humidity: 1.0,
    };
    let tested = bell_test(&test, &ReadingErrors::default()).unwrap();
    let fitted_nl = [found.p05, found.p95].map(|share| last.leaked_nl * share / values[leak]);
    assert!(
        fitted_nl[0] < tested.lost_nl_d + 2.0 * tested.error_nl_d
            && fitted_nl[1] > tested.lost_nl_d - 2.0 * tested.error_nl_d,
        "{fitted_nl:?} {tested:?}"
    );
}

#[test]
fn a_fitted_scenario_runs_as_the_fit_does() {
    let days = 30;
    let case = case("warm-tote", days);
    let all = unknowns();
    let values = truth(&all, 5);
    let (readings, usual) = readings(&case, &all, &values, &Owner::careful(days), 5).unwrap();
    let few = FitOptions {
        draws: 20,
        ..options(5)
    };
    let fit = fit_digester(&case, &all, &readings, usual, &few, &|_| {}).unwrap();
    let path = format!("{}/scenarios/warm-tote.json", env!("CARGO_MANIFEST_DIR"));
    let mut json: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    json["days"] = serde_json::json!(days);
    json["feeding"]
        .as_array_mut()
        .unwrap()
        .retain(|line| line.get("pause").is_none());
    let (fitted, notes) = fitted_scenario(&json, &case, &fit);
    assert!(notes.iter().any(|n| n.contains("reading")), "{notes:?}");
    let loaded = scenario::from_text(&fitted.to_string(), "fitted", None).unwrap();
    let own: Vec<f64> = fit.unknowns.iter().map(|l| l.best).collect();
    let wanted = rows(&case, &all, &own, usual).unwrap();
    let mut again = loaded.case;
    again.solver.relative_tolerance = 1e-3;
    let found = simulate::run(&again, &mut |_| {}).unwrap().plant;
    for (a, b) in found.iter().zip(&wanted) {
        assert!(
            (a.gas_nl - b.gas_nl).abs() < 0.02 * usual,
            "day {}: {} {}",
            a.day,
            a.gas_nl,
            b.gas_nl
        );
    }
}

#[test]
fn a_leak_that_opens_on_the_way_takes_its_gas_from_that_day_on() {
    let (days, day) = (40, 20u32);
    let case = case("warm-tote", days);
    let all = unknowns();
    let usual = usual_gas(&case, f64::from(days)).unwrap();
    let sound: Vec<f64> = all.iter().map(|u| u.middle()).collect();
    let leak = all.iter().find(|u| u.name == "leak").unwrap();
    let mut with = all.clone();
    with.push(Unknown {
        since: Some(f64::from(day)),
        ..leak.clone()
    });
    let opened = |share: f64| {
        let values = [sound.clone(), vec![share]].concat();
        rows(&case, &with, &values, usual).unwrap()
    };
    let before = rows(&case, &all, &sound, usual).unwrap();
    // One that opens as wide as it was changes nothing but where the integration stops.
    let same = opened(leak.middle());
    let open = opened(0.3);
    for (i, row) in before.iter().enumerate() {
        let off = (same[i].gas_nl - row.gas_nl).abs();
        assert!(off < 5e-3 * usual, "day {i}: {off}");
        if i + 1 < day as usize {
            assert_eq!(open[i].gas_nl, row.gas_nl, "day {i}");
        }
        // The digester makes as much as before; what is not read leaks.
        let made = |r: &marshgas::simulate::DayRow| r.gas_nl + r.leaked_nl;
        let off = (made(&open[i]) - made(row)).abs();
        assert!(off < 0.02 * usual, "day {i}: {off}");
        if i > day as usize {
            let more = open[i].leaked_nl - row.leaked_nl;
            assert!(more > 0.2 * usual, "day {i}: {more} of {usual}");
        }
    }
}

/// How often the truth lies within the band of nine in ten, by unknown, and gas of the days ahead within its bands.
struct Coverage {
    within: Vec<usize>,
    /// Truths below the band, in its lower half (by the median), in its upper half, above it.
    places: Vec<[usize; 4]>,
    records: usize,
    /// Days ahead whose gas lies in its band, those whose reading does, all of them.
    ahead: (usize, usize, usize),
}

fn coverage(records: usize, owner: &Owner, draws: usize) -> Coverage {
    let all = unknowns();
    let case = case("warm-tote", owner.days + 7);
    let first: u64 = std::env::var("FIRST").map_or(1000, |n| n.parse().unwrap());
    let one = |index: usize| {
        let seed = first + index as u64;
        let values = truth(&all, seed);
        let (readings, usual) = readings(&case, &all, &values, owner, seed)?;
        // Another seed than the truth's: a walk must not follow the numbers that truth and noise were drawn from.
        let options = FitOptions {
            draws,
            threads: Some(1),
            ..options(seed + 500_000)
        };
        let fit = fit_digester(&case, &all, &readings, usual, &options, &|_| {}).ok()?;
        let place = |(v, l): (&f64, &Learnt)| {
            [l.p05, l.p50, l.p95]
                .map(|q| usize::from(*v > q))
                .iter()
                .sum()
        };
        let places: Vec<usize> = values.iter().zip(&fit.unknowns).map(place).collect();
        // The week after the record, as the truth has it.
        let rows = rows(&case, &all, &values, usual)?;
        let factor = marshgas::diary::fit::unknown::reading_factor(&all, &values, false);
        let least = readings.readings.iter().find(|r| r.what == What::Gas)?.sd;
        let mut draws = replicate(seed, 4);
        let ahead = fit.days.iter().filter(|d| d.ahead).map(|d| {
            let gas = factor * rows[d.day as usize].gas_nl;
            let size = gas_size(gas, least) + bell(&mut draws);
            let read = gas_of_size(size, least).max(0.0);
            [
                (d.gas_nl[0]..=d.gas_nl[4]).contains(&gas),
                (d.gas_read_nl[0]..=d.gas_read_nl[4]).contains(&read),
            ]
        });
        let ahead: Vec<[bool; 2]> = ahead.collect();
        println!(
            "  {seed}: {places:?} effective {:.0}, noise {:.2}, runs {}, {:?}, ahead {} and {} as read of {}",
            fit.effective_draws,
            fit.noise,
            fit.runs,
            fit.stop,
            ahead.iter().filter(|a| a[0]).count(),
            ahead.iter().filter(|a| a[1]).count(),
            ahead.len()
        );
        Some((places, ahead, fit.effective_draws))
    };
    let jobs = batch::run_all(records, BatchOptions::new(&NEVER), one, &|_| {}).unwrap();
    let mut coverage = Coverage {
        within: vec![0; all.len()],
        places: vec![[0; 4]; all.len()],
        records: 0,
        ahead: (0, 0, 0),
    };
    let mut effective = Vec::new();
    for (places, ahead, draws) in jobs.into_iter().filter_map(|job| job.unwrap().unwrap()) {
        coverage.records += 1;
        for (j, place) in places.into_iter().enumerate() {
            coverage.places[j][place] += 1;
            coverage.within[j] += usize::from(place == 1 || place == 2);
        }
        coverage.ahead.0 += ahead.iter().filter(|a| a[0]).count();
        coverage.ahead.1 += ahead.iter().filter(|a| a[1]).count();
        coverage.ahead.2 += ahead.len();
        effective.push(draws);
    }
    effective.sort_by(f64::total_cmp);
    println!(
        "{} records: within 90 % bands {:?} = {:.1} %, ahead {} and {} as read of {}, effective draws {:.0}/{:.0}/{:.0}",
        coverage.records,
        coverage.within,
        100.0 * coverage.within.iter().sum::<usize>() as f64
            / (coverage.records * all.len()) as f64,
        coverage.ahead.0,
        coverage.ahead.1,
        coverage.ahead.2,
        effective[0],
        effective[effective.len() / 2],
        effective[effective.len() - 1],
    );
    for (unknown, places) in all.iter().zip(&coverage.places) {
        println!(
            "  {:12} below, lower, upper, above: {places:?}",
            unknown.name
        );
    }
    coverage
}

/// Records to count over, from the environment.
fn records(usual: usize) -> usize {
    std::env::var("RECORDS").map_or(usual, |n| n.parse().unwrap())
}

/// Days of a record, from the environment.
fn days(usual: u32) -> u32 {
    std::env::var("DAYS").map_or(usual, |n| n.parse().unwrap())
}

#[test]
#[ignore = "minutes: counts in DEVELOPERS.md"]
fn bands_of_nine_in_ten_hold_nine_truths_in_ten() {
    let records = records(200);
    let found = coverage(records, &Owner::careful(days(90)), 120);
    assert_eq!(found.records, records);
    for (count, unknown) in found.within.iter().zip(unknowns()) {
        let share = *count as f64 / records as f64;
        assert!((0.85..=0.95).contains(&share), "{} {share}", unknown.name);
    }
    for held in [found.ahead.0, found.ahead.1] {
        let share = held as f64 / found.ahead.2 as f64;
        assert!((0.85..=0.95).contains(&share), "ahead {share}");
    }
}

/// Errors of another shape than the fit takes for granted, as wide: the bands must bear it.
#[test]
#[ignore = "minutes: counts in DEVELOPERS.md"]
fn bands_bear_errors_of_another_shape() {
    let records = records(100);
    let owner = Owner {
        error: Error::Added,
        ..Owner::careful(days(30))
    };
    let found = coverage(records, &owner, 120);
    let within = found.within.iter().sum::<usize>() as f64 / (records * found.within.len()) as f64;
    assert!((0.85..=0.95).contains(&within), "{within}");
}

#[test]
fn a_few_records_are_covered_as_often_as_chance_allows() {
    // 8 records, 48 bands of nine in ten. One unknown is held by 3 or fewer of 8 records once in 2300 times (binomial, 0.9),
    // whichever of six once in 380. All 48: 38 or more are held in 99 of 100 times if unknowns go their own ways; bands of
    // seven in ten would hold that many once in ten times.
    let found = coverage(8, &Owner::careful(30), 60);
    assert_eq!(found.records, 8);
    assert!(found.within.iter().all(|&n| n > 3), "{:?}", found.within);
    let within = found.within.iter().sum::<usize>();
    assert!(within >= 38, "{:?}", found.within);
}

/// What a fit takes for the error of a reading is what the made-up owner's readings have: at the truth, and in standard
/// deviations, gas and pH lie about 0 by about 1.
#[test]
fn readings_scatter_about_the_truth_as_a_fit_thinks() {
    let days = 30;
    let all = unknowns();
    let case = case("warm-tote", days);
    let one = |index: usize| {
        let seed = 20_000 + index as u64;
        let values = truth(&all, seed);
        let (readings, usual) = readings(&case, &all, &values, &Owner::careful(days), seed)?;
        let model = Model::new(&case, &all, &readings, usual).ok()?;
        let off = model.residuals(&values).ok()?;
        Some(readings.readings.into_iter().zip(off).collect::<Vec<_>>())
    };
    let jobs = batch::run_all(records(60), BatchOptions::new(&NEVER), one, &|_| {}).unwrap();
    let found: Vec<(Reading, f64)> = jobs
        .into_iter()
        .flat_map(|job| job.unwrap().unwrap().unwrap())
        .collect();
    let group = |name: &str, wanted: &dyn Fn(&Reading) -> bool| {
        let off: Vec<f64> = found
            .iter()
            .filter(|(r, _)| wanted(r))
            .map(|f| f.1)
            .collect();
        let n = off.len() as f64;
        let mean = off.iter().sum::<f64>() / n;
        let sd = (off.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / n).sqrt();
        println!("{name}: {n} readings, mean {mean:.3}, sd {sd:.3}");
        (n, mean, sd)
    };
    let gas = |r: &Reading| r.what == What::Gas && r.is_number();
    let all = [
        group("gas, days 0 to 6", &|r| gas(r) && r.day < 6.0),
        group("gas, days 6 to 14", &|r| {
            gas(r) && (6.0..14.0).contains(&r.day)
        }),
        group("gas, later", &|r| gas(r) && r.day >= 14.0),
        group("pH", &|r| r.what == What::Ph),
    ];
    for (n, mean, sd) in all {
        // Four standard errors of the mean, and of the width (1 / sqrt(2 n)).
        assert!(mean.abs() < 4.0 / n.sqrt(), "{n}: mean {mean}");
        assert!((sd - 1.0).abs() < 4.0 / (2.0 * n).sqrt(), "{n}: sd {sd}");
    }
}
