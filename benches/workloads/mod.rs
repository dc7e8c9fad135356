//! The workloads of the benches: years of small digesters, invented for this purpose.

use std::sync::Arc;

use marshgas::case::{
    Activity, Case, Dose, GasSide, Material, MethodKind, Model, NetworkKind, SolverSettings,
    Source, Starter, TemperatureCourse, Vessel, Wave,
};
use marshgas::digester::Engine;
use marshgas::feedstock::library;
use marshgas::simulate::{self, Outcome};

/// Days of a workload.
pub(crate) const DAYS: u32 = 365;
/// Liquid \[m3\], and the share of it that each day's dose has.
const LIQUID_M3: f64 = 0.8;
const DOSE_SHARE: f64 = 0.025;

/// A year with one dose a day, seasons, and a gas space.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Workload {
    /// The published reference network, ideal activities, at stirred-plant warmth.
    Adm1,
    /// The four-stage network with all its physics.
    FourStage,
    /// The same outdoors with a daily wave, as an unheated tank has it.
    Unheated,
}

impl Workload {
    pub(crate) const ALL: [Self; 3] = [Self::Adm1, Self::FourStage, Self::Unheated];

    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Adm1 => "W2 adm1 ideal",
            Self::FourStage => "W4 four-stage davies",
            Self::Unheated => "W5 four-stage unheated, daily wave",
        }
    }

    /// The case at a relative tolerance.
    pub(crate) fn case(self, relative_tolerance: f64) -> Case {
        let materials: Vec<Material> = ["digestate-cattle", "kitchen-scraps", "cattle-dung"]
            .into_iter()
            .filter_map(|id| library().get(id))
            .map(|entry| Material {
                id: entry.id.clone(),
                name: entry.name.clone(),
                from_library: true,
                composition: entry.composition().clone(),
            })
            .collect();
        assert_eq!(materials.len(), 3, "a material is missing in the library");
        let dose_kg = 1000.0 * LIQUID_M3 * DOSE_SHARE;
        let strength = if self == Self::Unheated { 0.02 } else { 0.15 };
        let parts = vec![(1, strength * dose_kg), (2, strength * dose_kg)];
        let doses = (0..DAYS)
            .map(|day| Dose {
                day: f64::from(day),
                parts: parts.clone(),
                water_kg: (1.0 - 2.0 * strength) * dose_kg,
                additives: Vec::new(),
            })
            .collect();
        let (network, activity) = match self {
            Self::Adm1 => (NetworkKind::Adm1, Activity::Ideal),
            _ => (NetworkKind::FourStage, Activity::Davies),
        };
        let (mean_c, yearly_swing_k, daily_swing_k) = match self {
            Self::Unheated => (16.0, 8.0, 0.8),
            _ => (30.0, 5.0, 0.0),
        };
        Case {
            title: self.name().to_owned(),
            about: "Invented for a bench.".to_owned(),
            start_date: None,
            days: DAYS,
            vessels: vec![Vessel {
                name: "tank".to_owned(),
                liquid_m3: LIQUID_M3,
                headspace_m3: 0.25 * LIQUID_M3,
                temperature: TemperatureCourse::Wave(Wave {
                    mean_c,
                    yearly_swing_k,
                    hottest_day: 200.0,
                    daily_swing_k,
                    hottest_hour: 16.0,
                }),
                heat: None,
                kla_per_d: 20.0,
                solids_held_back: 0.0,
                short_circuit: 0.0,
                leak_m3_per_d: 0.0,
            }],
            gas: GasSide {
                back_pressure_bar: 0.005,
                ambient_bar: 1.013_25,
                pipe_m3_per_d_bar: 1000.0 * LIQUID_M3,
                returns: false,
                reading_c: 20.0,
            },
            starter: Starter {
                parts: vec![(0, 1000.0 * LIQUID_M3)],
                water_kg: 0.0,
                additives: Vec::new(),
            },
            materials,
            doses,
            inflow: None,
            plant: None,
            model: Model {
                network,
                activity,
                parameters: Vec::new(),
            },
            solver: SolverSettings {
                method: MethodKind::Implicit,
                relative_tolerance,
            },
            source: Source::default(),
        }
    }
}

/// Builds what a case runs on.
pub(crate) fn engine(case: &Case) -> Arc<Engine> {
    simulate::engine(case).unwrap_or_else(|failure| panic!("{}: {failure}", case.title))
}

/// One run; a name of its own in a profile, never inlined.
#[inline(never)]
pub(crate) fn year(engine: &Arc<Engine>, case: &Case) -> Outcome {
    simulate::run_on(engine, case, &mut |_| {})
        .unwrap_or_else(|failure| panic!("{}: {failure}", case.title))
}

/// Largest error of acetate and propionate at day ends against a reference run, in units of the reference value plus
/// one percent of its largest.
pub(crate) fn error(run: &Outcome, reference: &Outcome) -> f64 {
    let (run, reference) = (&run.vessels[0].days, &reference.vessels[0].days);
    let acids: [fn(&simulate::DayRow) -> f64; 2] = [|d| d.acetic_mg_l, |d| d.propionic_mg_l];
    acids
        .into_iter()
        .map(|acid| {
            let most = reference.iter().map(acid).fold(0.0, f64::max);
            run.iter()
                .zip(reference)
                .map(|(a, b)| (acid(a) - acid(b)).abs() / (acid(b) + 0.01 * most))
                .fold(0.0, f64::max)
        })
        .fold(0.0, f64::max)
}
