//! Independent integrators on random scenarios: the explicit method gives what the implicit one gives.
//!
//! A few pairs are compared in the normal suite; `MARSHGAS_PAIRS=200` compares as many.

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use marshgas::case::{Case, MethodKind};
use marshgas::scenario::from_value;
use marshgas::simulate::{Outcome, RunFailure, run};
use marshgas::solver::Failure;
use serde_json::Value;

use crate::{asked, draw};

/// Pairs of the normal suite.
const USUAL_PAIRS: u64 = 8;
/// The explicit method takes a hundred thousand steps a day, so the first day or two must do.
const MOST_DAYS: u32 = 2;
/// Both run at this tolerance and agree within ten times as much.
const RTOL: f64 = 1e-5;
const TIMES: f64 = 10.0;
/// The explicit method rounds the outlet's corner by 1e-6 bar, which two pieces do not. A wider pipe than this, in
/// headspaces per day and bar, lets more through there in two days than the tolerance is.
const WIDEST_PER_D_BAR: f64 = 100.0;
/// The explicit method holds the mean over some fifty states to its tolerance, in which one may stand out.
const SHARPER: f64 = 10.0;
/// The absolute tolerance of a gas is a hundredth of its relative one, of the headspace's filling with air.
const TRACE_SCALE: f64 = 1e-2;
/// Heat is held to a thousandth of a kelvin of the liquor at a relative tolerance of 1e-4.
const HEAT_SCALE_K: f64 = 10.0;
const KWH_PER_L_K: f64 = 1.163e-3;
const KWH_PER_NL_CH4: f64 = 0.01;
/// The absolute tolerance of matter, 1e-6 kg COD or kmol per cubic metre at this relative tolerance, over that one; in
/// mg/L, where a kilogram of COD is about one of acid and a kmol of ammonium 14 or of alkalinity 50.
const ACID_SCALE_MG_L: f64 = 100.0;
const NITROGEN_SCALE_MG_L: f64 = 140.0;
const ALKALINITY_SCALE_MG_L: f64 = 5000.0;
/// A temperature is integrated in kelvin.
const ZERO_C: f64 = 273.15;

/// The first days of a scenario, and one of its doses among them where it has any.
fn shortened(number: u64) -> Option<Case> {
    let mut case = from_value(&draw::scenario(number), "random.json", None)
        .ok()?
        .case;
    case.days = case.days.min(1 + (number % u64::from(MOST_DAYS)) as u32);
    let end = f64::from(case.days);
    if let Some(first) = case.doses.first_mut() {
        first.day = first.day.min(0.4 * end);
    }
    case.doses.retain(|dose| dose.day < end);
    case.solver.relative_tolerance = RTOL;
    let smallest = case.vessels.iter().map(|v| v.headspace_m3);
    let widest = WIDEST_PER_D_BAR * smallest.fold(f64::INFINITY, f64::min);
    case.gas.pipe_m3_per_d_bar = case.gas.pipe_m3_per_d_bar.min(widest);
    Some(case)
}

/// What a number of an outcome is large or small against, beside itself, by its key; `None` where it is no number that
/// an integrator gives. A new key must be given a scale here.
fn scale(key: &str, case: &Case, vessel: usize) -> Option<f64> {
    let v = &case.vessels[vessel];
    let headspace_l = 1000.0 * v.headspace_m3;
    let passes_l = headspace_l + 1000.0 * v.leak_m3_per_d;
    Some(match key {
        // What left is what the headspace no longer holds, which is known to a share of the whole that it holds.
        "gas_nl" | "ch4_nl" | "gas_read_l" | "leaked_nl" | "leaked_ch4_nl" => passes_l,
        "ch4_share" | "co2_share" | "air_share" | "vapour_share" => 1.0,
        "h2s_ppm" | "h2_ppm" => 1e6 * TRACE_SCALE,
        key if key.ends_with("_kwh") => {
            HEAT_SCALE_K * KWH_PER_L_K * 1000.0 * v.liquid_m3 + KWH_PER_NL_CH4 * passes_l
        }
        "temperature_c" | "liquor_c" | "air_c" | "soil_c" => ZERO_C,
        "ph" => 1.0,
        "acetic_mg_l" | "propionic_mg_l" | "butyric_mg_l" | "acids_mg_l" => ACID_SCALE_MG_L,
        "ammonium_mg_l" | "free_ammonia_mg_l" => NITROGEN_SCALE_MG_L,
        "alkalinity_mg_l" | "partial_alkalinity_mg_l" => ALKALINITY_SCALE_MG_L,
        "level_l" | "overflow_l" | "liquid_l" => 1000.0 * v.liquid_m3,
        key if key.starts_with("fed_") || key.starts_with("theoretical_") => 1.0,
        "water_kg" | "loading_kg_vs_m3_d" | "retention_d" | "t_d" | "day" | "soil_depth_m" => 1.0,
        // At an instant beside an opening outlet; the day's sum tells.
        "gas_nl_d" | "pressure_mbar" => return None,
        // Ratios of numbers that are compared themselves, and words.
        "acid_ratio" | "yield_nl_kg_vs" | "burns" | "sour" | "name" | "source" | "set_c" => {
            return None;
        }
        _ => panic!("{key} has no scale"),
    })
}

/// The first number that differs, by how many times the tolerance.
fn differs(
    (key, at): (&str, &str),
    (a, b): (&Value, &Value),
    scale: &dyn Fn(&str) -> Option<f64>,
) -> Option<String> {
    match (a, b) {
        (Value::Object(x), Value::Object(y)) => x.iter().find_map(|(key, x)| {
            let at = format!("{at}.{key}");
            differs((key, &at), (x, &y[key]), scale)
        }),
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            let mut pairs = x.iter().zip(y).enumerate();
            pairs.find_map(|(i, pair)| differs((key, &format!("{at}[{i}]")), pair, scale))
        }
        (Value::Number(x), Value::Number(y)) => {
            let (x, y, scale) = (x.as_f64()?, y.as_f64()?, scale(key)?);
            let times = (x - y).abs() / (RTOL * x.abs().max(y.abs()).max(scale));
            (times > TIMES).then(|| format!("{at}: {x} implicit, {y} explicit: {times:.1} times"))
        }
        (Value::Array(_), _) | (Value::Object(_), _) => Some(format!("{at} differs in length")),
        _ => None,
    }
}

fn compared(case: &Case, implicit: &Outcome, explicit: &Outcome) -> Option<String> {
    let mut pairs = implicit.vessels.iter().zip(&explicit.vessels).enumerate();
    pairs.find_map(|(v, (a, b))| {
        let pair = [a, b].map(|series| {
            let mut series = series.clone();
            // Beside a jump stand two points, or one where nothing changed to the last digit.
            series.trace.reverse();
            series.trace.dedup_by_key(|point| point.t_d);
            serde_json::to_value(series).unwrap()
        });
        differs(("", &a.name), (&pair[0], &pair[1]), &|key| {
            scale(key, case, v)
        })
    })
}

/// What became of a scenario.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Met {
    /// Refused, or the equations end.
    Nothing,
    /// The explicit method could not pass.
    TooStiff,
    /// Both ran; whether something was dosed.
    Pair(bool),
}

fn meet(number: u64) -> (Met, Option<String>) {
    let Some(mut case) = shortened(number) else {
        return (Met::Nothing, None);
    };
    case.solver.method = MethodKind::Implicit;
    let Ok(implicit) = run(&case, &mut |_| {}) else {
        return (Met::Nothing, None);
    };
    case.solver.method = MethodKind::Explicit;
    case.solver.relative_tolerance = RTOL / SHARPER;
    match run(&case, &mut |_| {}) {
        Ok(explicit) => {
            let dosed = !case.doses.is_empty();
            (Met::Pair(dosed), compared(&case, &implicit, &explicit))
        }
        Err(RunFailure::Solver {
            failure: Failure::Stiff { .. },
            ..
        }) => (Met::TooStiff, None),
        Err(failure) => (Met::Pair(false), Some(format!("explicit alone: {failure}"))),
    }
}

#[test]
fn explicit_agrees_with_implicit() {
    let wanted = asked("MARSHGAS_PAIRS", USUAL_PAIRS);
    let next = AtomicU64::new(asked("MARSHGAS_RANDOM_FIRST", 0));
    let (counts, faults) = (Mutex::new([0_u64; 4]), Mutex::new(Vec::new()));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    let [pairs, ..] = *counts.lock().unwrap();
                    if pairs >= wanted {
                        return;
                    }
                    let (met, fault) = meet(number);
                    let mut counts = counts.lock().unwrap();
                    match met {
                        Met::Nothing => counts[3] += 1,
                        Met::TooStiff => counts[2] += 1,
                        Met::Pair(dosed) => {
                            counts[0] += 1;
                            counts[1] += u64::from(dosed);
                        }
                    }
                    if let Some(fault) = fault {
                        println!("scenario {number}: {fault}");
                        faults
                            .lock()
                            .unwrap()
                            .push(format!("scenario {number}: {fault}"));
                    }
                }
            });
        }
    });
    let [pairs, dosed, stiff, none] = counts.into_inner().unwrap();
    println!("{pairs} pairs, {dosed} dosed; {stiff} too stiff, {none} refused");
    let faults = faults.into_inner().unwrap();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
