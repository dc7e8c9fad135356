//! Work against precision beside other people's integrators, on one machine, one after the other.
//!
//! W2 (ADM1, one dose a day, seasons, a year) runs here, under SUNDIALS CVODE (`cvode.c`) and under scipy
//! (`scipy_year.py`), whose right-hand sides are written from the published equations for themselves. All three start
//! from the same numbers, which this program writes down. `run` beside this file builds and starts everything.
//!
//! Times are of the processor, not of the clock: others use the machine too. Ours come from the kernel's books (Linux).

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a bench that cannot run must stop"
)]

#[allow(dead_code, reason = "the other benches use the rest of it")]
#[path = "../workloads/mod.rs"]
mod workloads;

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use marshgas::case::{Case, TemperatureCourse};
use marshgas::kinetics::{GasKind, Load, load_of_material};
use marshgas::simulate::Outcome;
use marshgas::units::{R_BAR, kelvin};
use plotters::prelude::*;
use workloads::{Workload, engine, year};

/// CVODE with hydrogen as we have it, and in the formulation that suits it better.
const CVODE: [(&str, &str); 2] = [
    ("state", "CVODE"),
    ("quasi", "CVODE, hydrogen quasi-steady"),
];
/// Its relative tolerances, each with several absolute ones; the best of all counts.
const CVODE_TOLERANCES: [f64; 5] = [1e-3, 3e-4, 1e-4, 1e-5, 1e-6];
const CVODE_ABSOLUTE: [f64; 3] = [1.0, 0.1, 0.01];
/// Tolerances of our own runs.
const TOLERANCES: [f64; 9] = [1e-2, 3e-3, 1e-3, 3e-4, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6];
/// scipy takes seconds a year; a few are enough.
const SCIPY: [(&str, &[f64]); 3] = [
    ("LSODA", &[1e-3, 1e-4]),
    ("Radau", &[1e-3, 1e-4]),
    ("BDF", &[1e-4]),
];
/// Both sides' references; their distance says whether the equations are the same.
const REFERENCE: f64 = 1e-9;
/// The best of so many years counts.
const REPEATS: usize = 3;
/// Errors at which the times are compared.
const LEVELS: [f64; 2] = [1e-3, 1e-4];
/// kg COD/m3 in 1 mg/L of acetic and propionic acid.
const MG_L: [f64; 2] = [60.052 / 64.0 * 1000.0, 74.079 / 112.0 * 1000.0];

/// Acetate and propionate at day ends \[mg/L\].
type Course = Vec<[f64; 2]>;

/// One point of the table.
struct Measured {
    tool: String,
    tolerance: f64,
    error: f64,
    ms: f64,
    work: String,
}

/// What a year starts from, for the others: volumes, state, dose, absolute tolerances at a relative one of 1e-4.
fn start_file(case: &Case) -> String {
    let engine = engine(case);
    let network = &engine.network;
    let vessel = &case.vessels[0];
    let TemperatureCourse::Wave(wave) = &vessel.temperature else {
        panic!("the workload has a wave");
    };
    let loads: Vec<Load> = case
        .materials
        .iter()
        .map(|m| load_of_material(network, &engine.acid_base, &m.composition))
        .collect();
    let mix = |parts: &[(usize, f64)], water: f64| {
        let mut load = Load::empty(network);
        for &(i, kg) in parts {
            load.add(&loads[i], kg);
        }
        load.add_water(water);
        load
    };
    let filling = mix(&case.starter.parts, case.starter.water_kg);
    let dose = mix(&case.doses[0].parts, case.doses[0].water_kg);
    let t_k = kelvin(vessel.temperature.at(0.0).0);
    let vapour = engine.properties.vapour(t_k);
    let air = (case.gas.ambient_bar - vapour) * vessel.headspace_m3 / (R_BAR * t_k);
    let gases: Vec<GasKind> = network.gases.iter().map(|g| g.kind).collect();
    assert_eq!(
        gases,
        [GasKind::H2, GasKind::CH4, GasKind::CO2, GasKind::Air]
    );
    let head = [
        vessel.liquid_m3,
        vessel.headspace_m3,
        case.gas.pipe_m3_per_d_bar,
        case.gas.back_pressure_bar,
        case.gas.ambient_bar,
        vessel.kla_per_d,
        wave.mean_c,
        wave.yearly_swing_k,
        wave.hottest_day,
        f64::from(case.days),
        dose.volume_m3,
    ];
    let filled = filling.amount.iter().map(|a| a / filling.volume_m3);
    let tolerances = network.components.iter().map(|c| c.tolerance);
    let numbers = head
        .into_iter()
        .chain(filled)
        .chain([0.0, 0.0, 0.0, air])
        .chain(dose.amount.iter().copied())
        .chain(tolerances)
        .chain([1e-6 * air; 4]);
    numbers.fold(String::new(), |mut text, number| {
        let _ = writeln!(text, "{number:e}");
        text
    })
}

fn ours(outcome: &Outcome) -> Course {
    let days = &outcome.vessels[0].days;
    days.iter()
        .map(|d| [d.acetic_mg_l, d.propionic_mg_l])
        .collect()
}

/// Runs a yardstick: milliseconds, work, course. `None`, with a word on why, if it cannot run.
fn theirs(command: &mut Command) -> Option<(f64, String, Course)> {
    let output = match command.output() {
        Ok(output) if output.status.success() => output,
        Ok(output) => {
            let told = String::from_utf8_lossy(&output.stderr);
            println!(
                "left out: {command:?}: {}",
                told.trim().lines().last().unwrap_or("")
            );
            return None;
        }
        Err(error) => {
            println!("left out: {command:?}: {error}");
            return None;
        }
    };
    let text = String::from_utf8(output.stdout).expect("numbers");
    let mut lines = text.lines();
    let (ms, work) = lines.next()?.split_once(' ')?;
    let number = |word: &str| word.parse::<f64>().expect("a number");
    let course = lines
        .map(|line| {
            let (acetate, propionate) = line.split_once(' ').expect("two numbers");
            [number(acetate) * MG_L[0], number(propionate) * MG_L[1]]
        })
        .collect();
    Some((number(ms), work.to_owned(), course))
}

/// Largest error of either acid at day ends, in units of the value plus one per cent of its largest.
fn error(course: &Course, reference: &Course) -> f64 {
    assert_eq!(course.len(), reference.len());
    (0..2)
        .map(|acid| {
            let most = reference.iter().map(|d| d[acid]).fold(0.0, f64::max);
            course
                .iter()
                .zip(reference)
                .map(|(a, b)| (a[acid] - b[acid]).abs() / (b[acid] + 0.01 * most))
                .fold(0.0, f64::max)
        })
        .fold(0.0, f64::max)
}

/// Time at an error, between the points on the front (the fastest at least as good) by straight lines of logarithms.
fn time_at(points: &[&Measured], level: f64) -> Option<f64> {
    let mut sorted: Vec<(f64, f64)> = points.iter().map(|m| (m.error, m.ms)).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    // What is no more exact and slower says nothing.
    let mut best = f64::INFINITY;
    sorted.retain(|(_, ms)| {
        let keep = *ms < best;
        best = best.min(*ms);
        keep
    });
    let above = sorted.iter().position(|(error, _)| *error >= level);
    match above {
        // Everything is more exact: the fastest of it is an upper bound of the time.
        None => sorted.last().map(|(_, ms)| *ms),
        Some(0) => None,
        Some(i) => {
            let ((e0, t0), (e1, t1)) = (sorted[i - 1], sorted[i]);
            let share = (level / e0).ln() / (e1 / e0).ln();
            Some((t0.ln() + share * (t1 / t0).ln()).exp())
        }
    }
}

fn draw(path: &Path, measured: &[Measured]) {
    let root = SVGBackend::new(path, (900, 560)).into_drawing_area();
    root.fill(&WHITE).unwrap();
    let mut chart = ChartBuilder::on(&root)
        .margin(16)
        .caption("A year of ADM1, one dose a day", ("sans-serif", 20))
        .x_label_area_size(48)
        .y_label_area_size(64)
        .build_cartesian_2d((1e-8..1e-1).log_scale(), (1.0..1e5).log_scale())
        .unwrap();
    chart
        .configure_mesh()
        .x_desc("largest error of acetate and propionate at day ends")
        .y_desc("milliseconds")
        .x_label_formatter(&|x| format!("{x:.0e}"))
        .draw()
        .unwrap();
    for (i, tool) in tools(measured).into_iter().enumerate() {
        let colour = Palette99::pick(i).to_rgba();
        let mut points: Vec<(f64, f64)> = measured
            .iter()
            .filter(|m| m.tool == tool)
            .map(|m| (m.error, m.ms))
            .collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let marks = points.clone();
        chart
            .draw_series(LineSeries::new(points, colour.stroke_width(2)))
            .unwrap()
            .label(tool)
            .legend(move |(x, y)| PathElement::new([(x, y), (x + 18, y)], colour));
        chart
            .draw_series(
                marks
                    .into_iter()
                    .map(|p| Circle::new(p, 4, colour.filled())),
            )
            .unwrap();
    }
    chart
        .configure_series_labels()
        .background_style(WHITE)
        .border_style(BLACK)
        .draw()
        .unwrap();
    root.present().unwrap();
}

fn tools(measured: &[Measured]) -> Vec<String> {
    let mut tools: Vec<String> = Vec::new();
    for m in measured {
        if !tools.contains(&m.tool) {
            tools.push(m.tool.clone());
        }
    }
    tools
}

/// Processor time of this thread so far \[ms\].
fn processor_ms() -> f64 {
    let books = fs::read_to_string("/proc/thread-self/schedstat").expect("needs Linux");
    let nanoseconds = books
        .split(' ')
        .next()
        .and_then(|word| word.parse::<f64>().ok());
    1e-6 * nanoseconds.expect("a number")
}

fn load() -> String {
    fs::read_to_string("/proc/loadavg").unwrap_or_else(|_| "unknown".to_owned())
}

fn main() {
    // `cargo bench` hands over words of its own.
    let out = std::env::var_os("MARSHGAS_YARDSTICK").map(PathBuf::from);
    let Some(out) = out else {
        println!("set MARSHGAS_YARDSTICK to a folder, or start benches/yardstick/run");
        return;
    };
    let workload = Workload::Adm1;
    let start = out.join("start.txt");
    fs::write(&start, start_file(&workload.case(REFERENCE))).unwrap();
    let cvode = |tolerance: f64, absolute: f64, repeats: usize, hydrogen: &str| {
        let mut command = Command::new(out.join("cvode"));
        command.arg(&start);
        command.args([tolerance, absolute].map(|number| format!("{number:e}")));
        theirs(command.arg(repeats.to_string()).arg(hydrogen))
    };
    println!("load before: {}", load().trim());
    let case = workload.case(REFERENCE);
    let ready = engine(&case);
    let reference = ours(&year(&ready, &case));
    if let Some((_, _, other)) = cvode(REFERENCE, REFERENCE / 1e-4, 1, "state") {
        println!(
            "the two references lie {:.1e} apart: that far the equations are the same",
            error(&other, &reference)
        );
    }
    let mut measured = Vec::new();
    for tolerance in TOLERANCES {
        let case = workload.case(tolerance);
        let mut ms = f64::INFINITY;
        let mut run = year(&ready, &case);
        for _ in 0..REPEATS {
            let begin = processor_ms();
            run = year(&ready, &case);
            ms = ms.min(processor_ms() - begin);
        }
        measured.push(Measured {
            tool: "marshgas".to_owned(),
            tolerance,
            error: error(&ours(&run), &reference),
            ms,
            work: format!("{} steps", run.solver.accepted),
        });
    }
    for (hydrogen, tool) in CVODE {
        for tolerance in CVODE_TOLERANCES {
            for absolute in CVODE_ABSOLUTE {
                let Some((ms, work, course)) = cvode(tolerance, absolute, REPEATS, hydrogen) else {
                    continue;
                };
                measured.push(Measured {
                    tool: tool.to_owned(),
                    tolerance,
                    error: error(&course, &reference),
                    ms,
                    work: format!("{work} steps, absolute tolerances times {absolute:.0e}"),
                });
            }
        }
    }
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/yardstick/scipy_year.py");
    for (method, tolerances) in SCIPY {
        for &tolerance in tolerances {
            let mut command = Command::new(&python);
            command.arg(&script).arg(&start).arg(method);
            if let Some((ms, work, course)) = theirs(command.arg(format!("{tolerance:e}"))) {
                measured.push(Measured {
                    tool: format!("scipy {method}"),
                    tolerance,
                    error: error(&course, &reference),
                    ms,
                    work: format!("{work} calls"),
                });
            }
        }
    }
    println!("load after: {}\n", load().trim());
    println!("| tool | rtol | error | ms a year | work |\n|---|---|---|---|---|");
    for m in &measured {
        println!(
            "| {} | {:.0e} | {:.1e} | {:.1} | {} |",
            m.tool, m.tolerance, m.error, m.ms, m.work
        );
    }
    println!();
    let of =
        |tool: &str| -> Vec<&Measured> { measured.iter().filter(|m| m.tool == tool).collect() };
    for level in LEVELS {
        let Some(ours) = time_at(&of("marshgas"), level) else {
            continue;
        };
        for tool in tools(&measured).into_iter().skip(1) {
            if let Some(ms) = time_at(&of(&tool), level) {
                println!(
                    "error {level:.0e}: {tool} {ms:.1} ms, marshgas {ours:.1} ms: {:.1} times",
                    ms / ours
                );
            }
        }
    }
    let picture = out.join("work-precision.svg");
    draw(&picture, &measured);
    println!("\n{}", picture.display());
}
