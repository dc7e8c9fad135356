//! Cases built in memory from library materials, for the checks against measured digesters.

use super::EvidenceFailure;
use crate::case::{
    Activity, Case, Dose, GasSide, Material, MethodKind, Model, NetworkKind, SolverSettings,
    Source, Starter, TemperatureCourse, Vessel,
};
use crate::feedstock::library;
use crate::simulate::{self, DayRow, Outcome};

/// Hour of the daily dose, as a share of a day: eight in the morning.
const FEEDING_TIME: f64 = 8.0 / 24.0;

/// A tank at constant temperature; everything else as a stirred small digester has it.
#[derive(Debug, Clone)]
pub(super) struct Sketch {
    pub(super) litres: f64,
    pub(super) celsius: f64,
    pub(super) days: u32,
    /// Share of the particles that the outlet leaves behind.
    pub(super) held_back: f64,
    /// (material, kg)
    pub(super) starter: Vec<(&'static str, f64)>,
    pub(super) starter_water_l: f64,
    /// (material, kg a day)
    pub(super) feed: Vec<(&'static str, f64)>,
    pub(super) feed_water_l: f64,
    /// Days over which the feed rises to its full amount.
    pub(super) ramp_d: u32,
}

impl Sketch {
    /// A tank full of cattle digestate, not fed.
    pub(super) fn of_digestate(litres: f64, celsius: f64, days: u32) -> Self {
        Self {
            litres,
            celsius,
            days,
            held_back: 0.0,
            starter: vec![("digestate-cattle", litres)],
            starter_water_l: 0.0,
            feed: Vec::new(),
            feed_water_l: 0.0,
            ramp_d: 0,
        }
    }

    /// Fed a material thinned with water to a retention time, at a loading \[kg VS/m3/d\].
    pub(super) fn fed(
        mut self,
        material: &'static str,
        loading: f64,
        retention_d: f64,
    ) -> Result<Self, EvidenceFailure> {
        let vs = loading * self.litres / 1000.0;
        let kg = vs / volatile_solids(material)?;
        self.feed = vec![(material, kg)];
        self.feed_water_l = (self.litres / retention_d - kg).max(0.0);
        Ok(self)
    }

    /// The case.
    pub(super) fn case(&self) -> Result<Case, EvidenceFailure> {
        let mut materials: Vec<Material> = Vec::new();
        let mut indexed = |parts: &[(&'static str, f64)]| {
            let mut out = Vec::new();
            for &(id, kg) in parts {
                let known = materials.iter().position(|m| m.id == id);
                let at = match known {
                    Some(at) => at,
                    None => {
                        materials.push(material(id)?);
                        materials.len() - 1
                    }
                };
                out.push((at, kg));
            }
            Ok::<_, EvidenceFailure>(out)
        };
        let starter = indexed(&self.starter)?;
        let feed = indexed(&self.feed)?;
        let fed_days = if feed.is_empty() { 0 } else { self.days };
        let doses = (0..fed_days)
            .map(|day| {
                let share = (f64::from(day + 1) / f64::from(self.ramp_d.max(1))).min(1.0);
                Dose {
                    day: f64::from(day) + FEEDING_TIME,
                    parts: feed.iter().map(|&(m, kg)| (m, share * kg)).collect(),
                    water_kg: share * self.feed_water_l,
                    additives: Vec::new(),
                }
            })
            .collect();
        let m3 = self.litres / 1000.0;
        Ok(Case {
            title: "evidence".into(),
            about: String::new(),
            start_date: None,
            days: self.days,
            vessels: vec![Vessel {
                name: "tank".into(),
                liquid_m3: m3,
                headspace_m3: 0.25 * m3,
                temperature: TemperatureCourse::Constant(self.celsius),
                heat: None,
                kla_per_d: 20.0,
                solids_held_back: self.held_back,
                short_circuit: 0.0,
                leak_m3_per_d: 0.0,
            }],
            gas: GasSide {
                back_pressure_bar: 0.005,
                ambient_bar: crate::units::ATM_BAR,
                pipe_m3_per_d_bar: 1e4 * m3,
                returns: false,
                reading_c: self.celsius,
            },
            starter: Starter {
                parts: starter,
                water_kg: self.starter_water_l,
                additives: Vec::new(),
            },
            materials,
            doses,
            inflow: None,
            plant: None,
            model: Model {
                network: NetworkKind::FourStage,
                activity: Activity::Davies,
                parameters: Vec::new(),
            },
            solver: SolverSettings {
                method: MethodKind::Implicit,
                relative_tolerance: 1e-5,
            },
            source: Source::default(),
        })
    }

    /// Runs it.
    pub(super) fn run(&self) -> Result<Outcome, EvidenceFailure> {
        Ok(simulate::run(&self.case()?, &mut |_| {})?)
    }
}

fn material(id: &str) -> Result<Material, EvidenceFailure> {
    let entry = library()
        .get(id)
        .ok_or_else(|| EvidenceFailure::List(format!("the library has no `{id}`")))?;
    Ok(Material {
        id: id.to_owned(),
        name: entry.name.clone(),
        from_library: true,
        composition: entry.composition().clone(),
    })
}

/// Volatile solids of a library material \[kg/kg fresh\].
pub(super) fn volatile_solids(id: &str) -> Result<f64, EvidenceFailure> {
    Ok(material(id)?.composition.volatile_solids)
}

/// Mean of a column over the last `days` rows.
pub(super) fn late_mean(outcome: &Outcome, days: usize, of: fn(&DayRow) -> f64) -> f64 {
    let rows = &outcome.plant[outcome.plant.len().saturating_sub(days)..];
    rows.iter().map(of).sum::<f64>() / rows.len().max(1) as f64
}
