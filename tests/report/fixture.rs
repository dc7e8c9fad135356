//! Outcomes invented for these tests: smooth curves with a little unrest, not computed by any model.

use marshgas::digester::Bands;
use marshgas::simulate::{
    Closure, DayRow, Event, EventKind, Fate, Outcome, Point, Provenance, SolverRecord, VesselSeries,
};

/// What the invented run looks like.
#[derive(Debug, Clone)]
pub(crate) struct Shape {
    pub(crate) days: u32,
    pub(crate) start_date: Option<&'static str>,
    pub(crate) vessels: usize,
    /// First and last sour day.
    pub(crate) sour: Vec<(u32, u32)>,
    pub(crate) fed: bool,
    pub(crate) leak: f64,
}

impl Default for Shape {
    fn default() -> Self {
        Self {
            days: 180,
            start_date: Some("2027-03-14"),
            vessels: 1,
            sour: vec![(96, 117)],
            fed: true,
            leak: 0.02,
        }
    }
}

pub(crate) fn bands() -> Bands {
    Bands::standard()
}

/// Repeatable unrest between -1 and 1.
fn unrest(day: f64, seed: f64) -> f64 {
    let v = (day * 12.9898 + seed * 78.233).sin() * 43_758.547;
    2.0 * (v - v.floor()) - 1.0
}

/// Smooth step from 0 to 1 around `middle`.
fn rise(t: f64, middle: f64, width: f64) -> f64 {
    1.0 / (1.0 + (-(t - middle) / width).exp())
}

/// How sour the invented run is on day `t`, 0..1.
fn acidity(shape: &Shape, t: f64) -> f64 {
    let bump = |(from, to): &(u32, u32)| {
        let (from, to) = (f64::from(*from) - 3.0, f64::from(*to) + 2.0);
        rise(t, from, 2.0) * (1.0 - rise(t, to, 3.0))
    };
    shape.sour.iter().map(bump).fold(0.0, f64::max)
}

fn row(shape: &Shape, vessel: usize, day: u32) -> DayRow {
    let t = f64::from(day);
    let part = 0.5f64.powi(i32::try_from(vessel).unwrap());
    let sour = acidity(shape, t) * part;
    let grown = rise(t, 24.0, 5.0);
    let fed_kg = if shape.fed && day >= 8 && sour < 0.5 && day % 7 != 6 {
        (2.0 + 0.01 * t.min(200.0)) * (1.0 + 0.15 * unrest(t, 1.0))
    } else {
        0.0
    };
    let temperature_c =
        26.0 + 6.0 * (std::f64::consts::TAU * (t - 110.0) / 365.25).cos() + 0.5 * unrest(t, 2.0);
    let gas_nl = part
        * (4.0 + 330.0 * grown * (0.65 + 0.012 * temperature_c) * (1.0 - 0.85 * sour))
        * (1.0 + 0.05 * unrest(t, 3.0));
    let air_share = 0.92 * (-t / 5.0).exp();
    let ch4_share = (1.0 - air_share) * (0.2 + 0.39 * rise(t, 14.0, 4.0)) * (1.0 - 0.35 * sour);
    let acids_mg_l = 380.0
        + 1700.0 * rise(t, 8.0, 3.0) * (1.0 - rise(t, 32.0, 6.0))
        + 6200.0 * sour
        + 40.0 * unrest(t, 4.0);
    let alkalinity_mg_l = 3400.0 + 900.0 * grown - 1300.0 * sour;
    let acid_ratio = acids_mg_l / alkalinity_mg_l;
    let ph = 7.25 - 0.55 * rise(t, 8.0, 3.0) * (1.0 - rise(t, 30.0, 6.0)) - 1.15 * sour
        + 0.02 * unrest(t, 5.0);
    let fed_vs_kg = 0.19 * fed_kg;
    DayRow {
        day,
        temperature_c,
        fed_kg,
        water_kg: 1.2 * fed_kg,
        fed_vs_kg,
        fed_cod_kg: 1.4 * fed_vs_kg,
        theoretical_ch4_nl: 430.0 * fed_vs_kg,
        loading_kg_vs_m3_d: 0.0,
        retention_d: None,
        gas_nl,
        gas_read_l: 1.12 * gas_nl,
        ch4_nl: gas_nl * ch4_share,
        leaked_nl: shape.leak * gas_nl,
        leaked_ch4_nl: shape.leak * gas_nl * ch4_share,
        ch4_share,
        co2_share: 1.0 - ch4_share - air_share,
        air_share,
        h2s_ppm: 1800.0 * grown * (1.0 - 0.4 * sour) * (1.0 + 0.1 * unrest(t, 6.0)),
        h2_ppm: 40.0 + 500.0 * sour,
        vapour_share: 0.035,
        ph,
        acetic_mg_l: 0.62 * acids_mg_l,
        propionic_mg_l: 0.3 * acids_mg_l * (1.0 + 0.6 * sour),
        butyric_mg_l: 0.1 * acids_mg_l,
        acids_mg_l,
        alkalinity_mg_l,
        partial_alkalinity_mg_l: alkalinity_mg_l * (0.74 - 0.5 * sour),
        acid_ratio,
        ammonium_mg_l: 850.0 + 200.0 * grown,
        free_ammonia_mg_l: 11.0 * 10f64.powf(ph - 7.0),
        level_l: 800.0,
        overflow_l: 2.2 * fed_kg,
        yield_nl_kg_vs: 0.0,
        theoretical_yield_nl_kg_vs: 430.0,
        burns: ch4_share > 0.5 && air_share < 0.1,
        sour: sour > 0.45,
    }
}

fn series(shape: &Shape, vessel: usize) -> Vec<DayRow> {
    let mut rows: Vec<DayRow> = (0..shape.days).map(|day| row(shape, vessel, day)).collect();
    let (mut methane, mut solids) = (0.0, 0.0);
    for row in &mut rows {
        methane += row.ch4_nl;
        solids += row.fed_vs_kg;
        row.yield_nl_kg_vs = if solids > 0.0 { methane / solids } else { 0.0 };
    }
    for i in 0..rows.len() {
        let week = &rows[i.saturating_sub(6)..=i];
        let solids: f64 = week.iter().map(|r| r.fed_vs_kg).sum();
        let volume: f64 = week.iter().map(|r| r.overflow_l).sum();
        rows[i].loading_kg_vs_m3_d = solids / 7.0 / 0.8;
        rows[i].retention_d = (volume > 0.0).then(|| 800.0 * 7.0 / volume);
    }
    rows
}

fn trace(rows: &[DayRow]) -> Vec<Point> {
    let point = |row: &DayRow, t: f64, dip: f64| Point {
        t_d: f64::from(row.day) + t,
        temperature_c: row.temperature_c,
        gas_nl_d: row.gas_nl * (1.0 + dip),
        sent_nl: 0.0,
        air_share: row.air_share,
        ch4_share: row.ch4_share,
        ph: row.ph - 0.12 * dip,
        acids_mg_l: row.acids_mg_l * (1.0 + 0.3 * dip),
        pressure_mbar: 12.0,
    };
    let times = [
        (0.0, 0.0),
        (0.001, 1.0),
        (0.25, 0.6),
        (0.5, 0.3),
        (0.75, 0.1),
    ];
    rows.iter()
        .flat_map(|row| times.map(|(t, dip)| point(row, t, dip)))
        .collect()
}

fn events(rows: &[DayRow]) -> Vec<Event> {
    let mut events = vec![Event {
        day: 0.4,
        vessel: 0,
        kind: EventKind::FirstGas,
    }];
    let mut push = |day: u32, kind| {
        events.push(Event {
            day: f64::from(day) + 0.3,
            vessel: 0,
            kind,
        })
    };
    if let Some(row) = rows.iter().find(|r| r.burns) {
        push(row.day, EventKind::FirstFlame);
        push(row.day + 5, EventKind::BurnsSteadily);
    }
    for pair in rows.windows(2) {
        match (pair[0].sour, pair[1].sour) {
            (false, true) => push(pair[1].day, EventKind::TurnsSour),
            (true, false) => push(pair[1].day, EventKind::Recovers),
            _ => {}
        }
    }
    events.sort_by(|a, b| a.day.total_cmp(&b.day));
    events
}

fn names(count: usize) -> Vec<String> {
    match count {
        1 => vec!["drum".into()],
        n => (1..=n).map(|i| format!("tote {i}")).collect(),
    }
}

pub(crate) fn outcome(shape: &Shape) -> Outcome {
    let vessels: Vec<VesselSeries> = names(shape.vessels)
        .into_iter()
        .enumerate()
        .map(|(i, name)| {
            let days = series(shape, i);
            let trace = trace(&days);
            VesselSeries {
                name,
                liquid_l: 800.0,
                days,
                trace,
                heat: None,
            }
        })
        .collect();
    let plant = series(shape, 0);
    let fed: f64 = plant.iter().map(|r| r.fed_cod_kg).sum();
    let methane: f64 = plant.iter().map(|r| r.ch4_nl).sum::<f64>() * 64.0 / 22_414.0;
    let start = 21.0;
    let rest = start + fed - methane * (1.0 + shape.leak);
    Outcome {
        title: "Garden drum, kitchen scraps and cow manure".into(),
        about: "An invented run for the tests of the report: one drum through spring and summer, fed six days \
                a week and overfed at the end of June."
            .into(),
        start_date: shape.start_date.map(Into::into),
        days: shape.days,
        events: events(&plant),
        vessels,
        plant,
        fate: Fate {
            start,
            fed,
            methane,
            hydrogen: 0.002,
            leaked: methane * shape.leak,
            out_degradable: 0.38 * rest,
            out_dissolved: 0.08 * rest,
            out_living: 0.06 * rest,
            out_inert: 0.22 * rest,
            left: 0.26 * rest,
        },
        closures: ["COD", "carbon", "nitrogen", "sulphur", "charge", "water", "air"]
            .iter()
            .enumerate()
            .map(|(i, quantity)| Closure {
                quantity: (*quantity).into(),
                unit: if i == 0 { "kg" } else { "kmol" }.into(),
                entered: 95.123_456 / (1.0 + f64::from(u32::try_from(i).unwrap())),
                accounted: 95.123_457 / (1.0 + f64::from(u32::try_from(i).unwrap())),
                relative_gap: 1.1e-8,
                limit: 1e-5,
            })
            .collect(),
        solver: SolverRecord {
            method: "invented".into(),
            relative_tolerance: 1e-6,
            segments: 181,
            accepted: 8211,
            rejected: 312,
            rhs: 60_123,
            jacobians: 8211,
            factorisations: 8523,
            smallest_step_d: 2.1e-6,
            largest_step_d: 0.24,
        },
        provenance: Provenance {
            version: "0.0.0-test".into(),
            file: "garden-drum.json".into(),
            sha256: "0123456789abcdef".repeat(4),
            network: "four-stage".into(),
            activity: "davies".into(),
            parameters: vec![("k_hyd_fibre".into(), 0.08)],
        },
    }
}
