//! The row of stages over time: outlet gas, breakthrough dates, refills, balances.

use serde::Serialize;

use crate::plant::stream::{GasState, GasStream, Portion, mol};
use crate::plant::{PlantFault, above_zero, within};
use crate::units::molar_mass;

use super::bed::Bed;
use super::material::bed_row;
use super::settings::Stage;
use super::truths::{Truth, truths};

/// Days in a year.
const DAYS_PER_YEAR: f64 = 365.25;
/// Grams in a kilogram.
const G_PER_KG: f64 = 1000.0;
/// Carbon dioxide above which a small engine may refuse. Source: a measured 5.2 kW set that ran acceptably up to 31 %
/// (citation not kept).
const ENGINE_CO2_SHARE: f64 = 0.31;

/// Gas of one step of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasStep {
    /// When the step begins \[d\].
    pub day: f64,
    /// How long it is \[d\].
    pub days: f64,
    /// The gas of the whole step, and its state at the inlet.
    pub gas: GasStream,
    /// Temperature of the pipes and beds \[C\].
    pub line_c: f64,
}

/// What one stage did over the whole run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageOutcome {
    /// Name for people.
    pub name: String,
    /// When a filling was spent \[d\]: the first 400.
    pub breakthrough_d: Vec<f64>,
    /// Fillings that were spent in the run.
    pub fillings_spent: f64,
    /// Days that a filling lasts in the mean of the run; `None` where nothing was to be taken.
    pub days_per_filling: Option<f64>,
    /// Changes or regenerations a year at the mean of the run.
    pub changes_per_year: f64,
    /// New material a year \[kg\], a filling being used for its number of loadings.
    pub material_kg_per_year: f64,
    /// Share of the capacity that is loaded at the end; 0 for a trap.
    pub loaded_share: f64,
    /// Carbon dioxide taken \[kg\].
    pub co2_taken_kg: f64,
    /// Hydrogen sulphide taken \[kg\].
    pub h2s_taken_kg: f64,
    /// Oxygen taken \[kg\].
    pub o2_taken_kg: f64,
    /// Liquid water gained \[kg\]: condensed, made by the reaction, held by a drying agent; negative: the gas dried it.
    pub water_gained_kg: f64,
    /// Water made by the reaction \[kg\], part of the gain.
    pub water_made_kg: f64,
    /// Pressure that it costs \[Pa\].
    pub pressure_loss_pa: f64,
    /// What to know when handling it.
    pub note: String,
}

/// Inlet against outlet, beds and drains.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Balance {
    /// Came in \[kg\], made by reaction included.
    pub in_kg: f64,
    /// Went out or stayed \[kg\].
    pub out_kg: f64,
}

impl Balance {
    /// Gap relative to what came in; 0 for nothing at all.
    #[must_use]
    pub fn gap(&self) -> f64 {
        let size = self.in_kg.abs().max(self.out_kg.abs());
        if size > 0.0 {
            (self.in_kg - self.out_kg).abs() / size
        } else {
            0.0
        }
    }
}

/// What a run of the row asks to be looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TrainWarning {
    /// Dips and beds cost more than the gas has to give \[Pa\].
    NoPressureLeft {
        /// What the stages cost together.
        cost_pa: f64,
        /// The least pressure that the gas arrived with.
        offered_pa: f64,
    },
    /// A bed counts on oxygen that the gas does not carry.
    OxygenMissing {
        /// The stage.
        stage: String,
        /// Hydrogen sulphide that passed for want of it \[kg\].
        h2s_kg: f64,
    },
    /// Air is being dosed.
    AirDosed {
        /// Highest share of air in the dry gas at the inlet.
        air_share: f64,
    },
    /// A drying stage stands before one that wants damp gas.
    DriedTooEarly {
        /// The stage that wants damp gas.
        stage: String,
    },
    /// A small engine may refuse the gas that comes out.
    LeanForEngine {
        /// Carbon dioxide of the dry gas at the outlet, mean of the run.
        co2_share: f64,
    },
}

impl TrainWarning {
    /// For people.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::NoPressureLeft {
                cost_pa,
                offered_pa,
            } => format!(
                "The stages cost {cost_pa:.0} Pa ({:.1} cm of water) and the gas brings {offered_pa:.0} Pa: it will not \
                 pass. Dip less deep, take fewer bubblers, or load the store more, up to 5 kPa.",
                cost_pa / super::settings::PA_PER_CM_WATER
            ),
            Self::OxygenMissing { stage, h2s_kg } => format!(
                "{stage}: the gas carries too little oxygen; {h2s_kg:.3} kg of hydrogen sulphide passed for want of it. \
                 Count it as carbon without oxygen, or put iron before it."
            ),
            Self::AirDosed { air_share } => format!(
                "The gas holds up to {:.1} % air. Air against hydrogen sulphide (2 to 6 % of the gas) must be metered, and \
                 must stop when the gas stops: gas of 60 % methane can burn inside the pipes above about 76 % air.",
                air_share * 100.0
            ),
            Self::DriedTooEarly { stage } => format!(
                "{stage} wants damp gas and stands behind a drying stage: put the drying last."
            ),
            Self::LeanForEngine { co2_share } => format!(
                "The gas holds {:.0} % carbon dioxide; small engines were measured to run well up to about {:.0} %.",
                co2_share * 100.0,
                ENGINE_CO2_SHARE * 100.0
            ),
        }
    }
}

/// What a run of the row gives.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainOutcome {
    /// One for each stage, in the order of the flow.
    pub stages: Vec<StageOutcome>,
    /// The gas behind the last stage, one for each step.
    pub outlet: Vec<GasStep>,
    /// Mass of everything.
    pub mass: Balance,
    /// Carbon.
    pub carbon: Balance,
    /// Sulphur.
    pub sulphur: Balance,
    /// Water, that made by the reactions counted as coming in.
    pub water: Balance,
    /// Pressure that the stages cost together \[Pa\].
    pub pressure_loss_pa: f64,
    /// Energy of the gas, in and out \[kWh, lower\]. Only what burns of the hydrogen sulphide is missing in the second.
    pub energy_kwh: (f64, f64),
    /// What to look at.
    pub warnings: Vec<TrainWarning>,
    /// What surprises, with the figures of this gas.
    pub truths: Vec<Truth>,
}

#[derive(Debug, Clone, Default)]
struct Tally {
    taken: Portion,
    gained_mol: f64,
    made_mol: f64,
}

/// Runs the stages over the steps.
///
/// Beds take their share of the target until their capacity is used; then they are changed at once, or let the gas by.
/// Damp beds saturate the gas at the temperature of the pipes; nothing leaves a stage wetter than saturated. Lime takes
/// carbon dioxide and hydrogen sulphide alike (that fresh carbon dioxide can drive sulphide out again is not computed).
///
/// # Errors
/// [`PlantFault`] for settings or a gas out of range, for no stage and for steps that do not follow each other.
pub fn run_train(stages: &[Stage], steps: &[GasStep]) -> Result<TrainOutcome, PlantFault> {
    check(stages, steps)?;
    let mut beds: Vec<Option<Bed>> = stages
        .iter()
        .map(|stage| match stage {
            Stage::Bed(settings) => Some(Bed::new(*settings)),
            Stage::WaterTrap(_) => None,
        })
        .collect();
    let mut tallies = vec![Tally::default(); stages.len()];
    let mut outlet = Vec::with_capacity(steps.len());
    for step in steps {
        let mut gas = step.gas;
        for ((stage, bed), tally) in stages.iter().zip(&mut beds).zip(&mut tallies) {
            gas = pass(stage, bed.as_mut(), tally, gas, step);
        }
        outlet.push(GasStep { gas, ..*step });
    }
    Ok(outcome(stages, steps, &beds, &tallies, outlet))
}

fn check(stages: &[Stage], steps: &[GasStep]) -> Result<(), PlantFault> {
    let unfit = |field: &str, why: &str, mend: &str| PlantFault::Unfit {
        field: field.into(),
        why: why.into(),
        mend: mend.into(),
    };
    if steps.is_empty() {
        return Err(unfit(
            "steps",
            "there is no gas to clean",
            "Give at least one step of time.",
        ));
    }
    for (i, stage) in stages.iter().enumerate() {
        stage.check(&format!("stages[{i}]"))?;
    }
    let mut end = f64::NEG_INFINITY;
    for (i, step) in steps.iter().enumerate() {
        let at = |name: &str| format!("steps[{i}].{name}");
        above_zero(&at("days"), step.days, 1e5, "d", "A step takes time.")?;
        within(
            &at("day"),
            step.day,
            (-1e6, 1e6),
            "d",
            "Give the day on which the step begins.",
        )?;
        within(
            &at("line_c"),
            step.line_c,
            (-40.0, 80.0),
            "C",
            "Give the temperature of the pipes.",
        )?;
        step.gas.state.check(&at("gas.state"))?;
        step.gas.portion.check(&at("gas.portion"))?;
        if step.day < end - 1e-9 {
            return Err(unfit(
                &at("day"),
                "the step begins before the last one ended",
                "Give the steps in order.",
            ));
        }
        end = step.day + step.days;
    }
    Ok(())
}

/// The gas behind one stage.
fn pass(
    stage: &Stage,
    bed: Option<&mut Bed>,
    tally: &mut Tally,
    gas: GasStream,
    step: &GasStep,
) -> GasStream {
    let state = GasState {
        temperature_c: step.line_c,
        gauge_pa: gas.state.gauge_pa - stage.pressure_loss_pa(),
        ..gas.state
    };
    let mut portion = gas.portion;
    let mut made_mol = 0.0;
    if let Some(bed) = bed {
        let taken = bed.take(&portion, step.day, step.days);
        tally.taken = tally.taken.plus(taken.gas);
        made_mol = taken.made_mol;
        portion = portion.minus(taken.gas);
    }
    let dry_nl = portion.dry_nl();
    let (wet, coldest) = match stage {
        Stage::WaterTrap(trap) => {
            let coldest = trap
                .temperature_c
                .map_or(step.line_c, |t| t.min(step.line_c));
            (
                false,
                GasState {
                    temperature_c: coldest,
                    ..state
                },
            )
        }
        Stage::Bed(settings) => (bed_row(settings.material).wet, state),
    };
    let most = coldest.saturated_vapour_nl(dry_nl);
    portion.h2o_nl = if wet && most.is_finite() {
        most
    } else {
        portion.h2o_nl.min(most)
    };
    // What left the gas as vapour, was held by a drying agent or made in the bed is water of the stage.
    tally.gained_mol += mol(gas.portion.h2o_nl - portion.h2o_nl) + made_mol;
    tally.made_mol += made_mol;
    GasStream { portion, state }
}

fn outcome(
    stages: &[Stage],
    steps: &[GasStep],
    beds: &[Option<Bed>],
    tallies: &[Tally],
    outlet: Vec<GasStep>,
) -> TrainOutcome {
    let years = steps.iter().map(|step| step.days).sum::<f64>() / DAYS_PER_YEAR;
    let total = |steps: &[GasStep]| {
        steps
            .iter()
            .fold(Portion::default(), |sum, step| sum.plus(step.gas.portion))
    };
    let (came, went) = (total(steps), total(&outlet));
    let kg = |grams: f64| grams / G_PER_KG;
    let water_kg = |mol: f64| kg(mol * molar_mass::H2O);
    let outcomes: Vec<StageOutcome> = stages
        .iter()
        .zip(beds)
        .zip(tallies)
        .map(|((stage, bed), tally)| {
            let changes = bed
                .as_ref()
                .map_or(0.0, |bed| bed.fillings_wanted() / years);
            let (mass, cycles) = match stage {
                Stage::Bed(settings) => (settings.mass_kg, settings.cycles),
                Stage::WaterTrap(_) => (0.0, 1.0),
            };
            let only = |f: fn(&Portion) -> Portion| kg(f(&tally.taken).mass_g());
            StageOutcome {
                name: stage.words().to_owned(),
                breakthrough_d: bed
                    .as_ref()
                    .map(|bed| bed.dates_d.clone())
                    .unwrap_or_default(),
                fillings_spent: bed.as_ref().map_or(0.0, |bed| bed.spent),
                days_per_filling: (changes > 0.0).then(|| DAYS_PER_YEAR / changes),
                changes_per_year: changes,
                material_kg_per_year: changes * mass / cycles,
                loaded_share: bed.as_ref().map_or(0.0, Bed::loaded_share),
                co2_taken_kg: only(|p| Portion {
                    co2_nl: p.co2_nl,
                    ..Portion::default()
                }),
                h2s_taken_kg: only(|p| Portion {
                    h2s_nl: p.h2s_nl,
                    ..Portion::default()
                }),
                o2_taken_kg: only(|p| Portion {
                    o2_nl: p.o2_nl,
                    ..Portion::default()
                }),
                water_gained_kg: water_kg(tally.gained_mol),
                water_made_kg: water_kg(tally.made_mol),
                pressure_loss_pa: stage.pressure_loss_pa(),
                note: match stage {
                    Stage::WaterTrap(_) => {
                        "Drain it; let it stay sealed by its own water when you do.".to_owned()
                    }
                    Stage::Bed(settings) => bed_row(settings.material).note.clone(),
                },
            }
        })
        .collect();
    let sum = |f: fn(&StageOutcome) -> f64| outcomes.iter().map(f).sum::<f64>();
    let dry_taken = sum(|s| s.co2_taken_kg + s.h2s_taken_kg + s.o2_taken_kg);
    let (gained, made) = (sum(|s| s.water_gained_kg), sum(|s| s.water_made_kg));
    let (co2, h2s) = (sum(|s| s.co2_taken_kg), sum(|s| s.h2s_taken_kg));
    let pressure_loss_pa = sum(|s| s.pressure_loss_pa);
    TrainOutcome {
        mass: Balance {
            in_kg: kg(came.mass_g()),
            // Water made stays in the bed as a part of what it took, so it is no new mass.
            out_kg: kg(went.mass_g()) + dry_taken + gained - made,
        },
        carbon: Balance {
            in_kg: kg(came.carbon_g()),
            out_kg: kg(went.carbon_g()) + co2 * molar_mass::C / molar_mass::CO2,
        },
        sulphur: Balance {
            in_kg: kg(came.sulphur_g()),
            out_kg: kg(went.sulphur_g()) + h2s * molar_mass::S / molar_mass::H2S,
        },
        water: Balance {
            in_kg: kg(came.water_g()) + made,
            out_kg: kg(went.water_g()) + gained,
        },
        pressure_loss_pa,
        energy_kwh: (came.energy_kwh(), went.energy_kwh()),
        warnings: warnings(stages, steps, beds, &went, pressure_loss_pa),
        truths: truths(&came, stages),
        stages: outcomes,
        outlet,
    }
}

fn warnings(
    stages: &[Stage],
    steps: &[GasStep],
    beds: &[Option<Bed>],
    went: &Portion,
    cost_pa: f64,
) -> Vec<TrainWarning> {
    let mut found = Vec::new();
    let offered_pa = steps
        .iter()
        .map(|s| s.gas.state.gauge_pa)
        .fold(f64::INFINITY, f64::min);
    if cost_pa > 0.0 && cost_pa >= offered_pa {
        found.push(TrainWarning::NoPressureLeft {
            cost_pa,
            offered_pa,
        });
    }
    let mut dried = false;
    for (stage, bed) in stages.iter().zip(beds) {
        let (Stage::Bed(settings), Some(bed)) = (stage, bed) else {
            continue;
        };
        let row = bed_row(settings.material);
        if row.wet && dried {
            found.push(TrainWarning::DriedTooEarly {
                stage: row.words.clone(),
            });
        }
        dried |= row.target == super::material::Target::Water;
        if bed.without_oxygen_mol > 0.0 {
            found.push(TrainWarning::OxygenMissing {
                stage: row.words.clone(),
                h2s_kg: bed.without_oxygen_mol * molar_mass::H2S / G_PER_KG,
            });
        }
    }
    let air_share = steps
        .iter()
        .map(|s| s.gas.portion.air_share())
        .fold(0.0, f64::max);
    if air_share > 0.0 {
        found.push(TrainWarning::AirDosed { air_share });
    }
    if went.co2_share() > ENGINE_CO2_SHARE {
        found.push(TrainWarning::LeanForEngine {
            co2_share: went.co2_share(),
        });
    }
    found
}
