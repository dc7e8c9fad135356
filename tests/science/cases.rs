//! Cases built in memory, so that science tests say what they test beside what they assert.

use marshgas::case::{
    Activity, Case, Dose, GasSide, Material, MethodKind, Model, NetworkKind, SolverSettings,
    Source, Starter, TemperatureCourse, Vessel,
};
use marshgas::feedstock::library;

/// A tank at constant temperature on library materials; everything else as a home digester has it.
pub(crate) struct Sketch {
    pub(crate) liquid_l: f64,
    pub(crate) temperature_c: f64,
    pub(crate) days: u32,
    /// (material, kg)
    pub(crate) starter: Vec<(&'static str, f64)>,
    pub(crate) starter_water_l: f64,
    /// (material, kg)
    pub(crate) feed: Vec<(&'static str, f64)>,
    pub(crate) feed_water_l: f64,
    pub(crate) first_feed_day: u32,
}

impl Sketch {
    pub(crate) fn case(&self) -> Case {
        let mut materials: Vec<Material> = Vec::new();
        let mut index = |id: &str| {
            materials
                .iter()
                .position(|m| m.id == id)
                .unwrap_or_else(|| {
                    let entry = library()
                        .get(id)
                        .unwrap_or_else(|| panic!("no material `{id}`"));
                    materials.push(Material {
                        id: id.to_owned(),
                        name: entry.name.clone(),
                        from_library: true,
                        composition: entry.composition().clone(),
                    });
                    materials.len() - 1
                })
        };
        let starter: Vec<(usize, f64)> =
            self.starter.iter().map(|(m, kg)| (index(m), *kg)).collect();
        let feed: Vec<(usize, f64)> = self.feed.iter().map(|(m, kg)| (index(m), *kg)).collect();
        let doses = (self.first_feed_day..self.days)
            .filter(|_| !feed.is_empty())
            .map(|day| Dose {
                day: f64::from(day) + 8.0 / 24.0,
                parts: feed.clone(),
                water_kg: self.feed_water_l,
                additives: vec![],
            })
            .collect();
        Case {
            title: "sketch".into(),
            about: String::new(),
            start_date: None,
            days: self.days,
            vessels: vec![Vessel {
                name: "tank".into(),
                liquid_m3: self.liquid_l / 1000.0,
                headspace_m3: 0.25 * self.liquid_l / 1000.0,
                temperature: TemperatureCourse::Constant(self.temperature_c),
                heat: None,
                kla_per_d: 20.0,
                solids_held_back: 0.0,
                short_circuit: 0.0,
                leak_m3_per_d: 0.0,
            }],
            gas: GasSide {
                back_pressure_bar: 0.005,
                ambient_bar: 1.01325,
                pipe_m3_per_d_bar: 10_000.0 * self.liquid_l / 1000.0,
                returns: false,
                reading_c: 20.0,
            },
            starter: Starter {
                parts: starter,
                water_kg: self.starter_water_l,
                additives: vec![],
            },
            materials,
            doses,
            inflow: None,
            plant: None,
            model: Model {
                network: NetworkKind::FourStage,
                activity: Activity::Davies,
                parameters: vec![],
            },
            solver: SolverSettings {
                method: MethodKind::Implicit,
                relative_tolerance: 1e-4,
            },
            source: Source::default(),
        }
    }
}
