//! The plant behind the digester. Its ranges stand with the units of the plant; their faults become problems here.

mod cleaning;
mod store;
mod uses;

pub(super) use cleaning::fillings;

use super::address::Address;
use super::calendar::Calendar;
use super::check::Checker;
use super::problem::shown;
use super::schema::{RawPlant, RawResidue};
use super::wish::UNITS;
use crate::case::{Assumed, GasSide, Plant, ResidueStore, TemperatureCourse};
use crate::plant::cleaning::Stage;
use crate::plant::residue::{ResidueInputs, residue, residue_table};
use crate::plant::store::StoreSettings;
use crate::plant::{Figure, GasState, PlantFault, Standing, check_gauge};
use crate::thermal::Weather;
use crate::units::repeated;

const PA_PER_BAR: f64 = 1e5;
const PA_PER_MBAR: f64 = 100.0;
const KPA_PER_BAR: f64 = 100.0;
/// The digester may push against so much more or less than the store asks for before a warning \[Pa\]: 2 cm of water.
const PRESSURE_SLACK_PA: f64 = 200.0;

/// What the checks of the plant share.
struct Desk<'a> {
    checker: &'a mut Checker,
    assumed: Vec<Assumed>,
}

impl Desk<'_> {
    /// Passes on the fault of a unit, if there is one.
    fn pass(&mut self, checked: Result<(), PlantFault>) {
        if let Err(fault) = checked {
            self.tell(fault);
        }
    }

    /// A fault whose field is an address of the scenario, as a problem.
    fn tell(&mut self, fault: PlantFault) {
        match fault {
            PlantFault::OutOfRange {
                field,
                value,
                allowed,
                mend,
            } => {
                let allowed = allowed.trim_start_matches("a number ");
                self.checker.outside(
                    &at(&field),
                    repeated(value),
                    allowed,
                    "This is outside what is computed.",
                    mend,
                );
            }
            PlantFault::TooMuchPressure { ref field, pa } => {
                let text = fault.to_string();
                let (_, why) = text.split_once(": this stops at ").unwrap_or(("", &text));
                // "address: what of it", where a unit says more than where.
                let (place, what) = field.split_once(": ").unwrap_or((field, "the pressure"));
                self.checker.wrong_value(
                    &at(place),
                    format!("{pa:.0} Pa ({what})"),
                    format!("This stops at {why}"),
                    "",
                );
            }
            PlantFault::Unfit { field, why, mend } => {
                let (place, _) = field.split_once(": ").unwrap_or((&field, ""));
                self.checker.wrong(&at(place), capital(&why) + ".", mend);
            }
        }
    }

    /// The given value, or the typical one of a figure, which is noted.
    fn or_figure(&mut self, at: &Address, given: Option<f64>, figure: &Figure) -> f64 {
        given.unwrap_or_else(|| {
            self.assume(
                at,
                figure.typical(),
                &figure.unit,
                figure.standing,
                &figure.source,
            );
            figure.typical()
        })
    }

    /// The given value, or another one, which is noted.
    fn or(
        &mut self,
        at: &Address,
        given: Option<f64>,
        (value, unit): (f64, &str),
        standing: Standing,
        source: &str,
    ) -> f64 {
        given.unwrap_or_else(|| {
            self.assume(at, value, unit, standing, source);
            value
        })
    }

    fn assume(&mut self, at: &Address, value: f64, unit: &str, standing: Standing, source: &str) {
        self.assumed.push(Assumed {
            path: at.to_string(),
            value,
            unit: unit.to_owned(),
            standing,
            source: source.to_owned(),
        });
    }

    /// A number that must be there.
    fn needed(&mut self, at: &Address, given: Option<f64>, mend: &str) -> Option<f64> {
        if given.is_none() {
            self.checker.missing(at, mend);
        }
        given
    }
}

/// The address that a unit was given as the name of its field.
fn at(field: &str) -> Address {
    field
        .parse()
        .unwrap_or_else(|_| Address::default().key(field))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// Checks the plant; `None` after a problem that leaves nothing to compute.
pub(crate) fn check(
    checker: &mut Checker,
    raw: &RawPlant,
    gas: &GasSide,
    weather: Option<&Weather>,
    calendar: &Calendar,
) -> Option<Plant> {
    let top = Address::default().key("plant");
    let units = checker.optional(&top.key("units"), raw.units, 1.0, &UNITS);
    let mut desk = Desk {
        checker,
        assumed: Vec::new(),
    };
    let cleaning = cleaning::stages(&mut desk, &top.key("cleaning"), raw.cleaning.as_deref());
    let store = store::store(&mut desk, &top.key("store"), raw.store.as_ref(), gas);
    let named = raw
        .appliances
        .as_ref()
        .map_or(&[][..], |named| named.0.as_slice());
    let appliances = uses::appliances(&mut desk, &top.key("appliances"), named);
    let demands = uses::demands(
        &mut desk,
        &top.key("timetable"),
        raw.timetable.as_deref(),
        (named, &appliances),
        calendar,
    );
    let flare = raw
        .flare
        .as_ref()
        .map(|raw| uses::flare(&mut desk, &top.key("flare"), raw));
    let line = line(&mut desk, &top, raw, gas, weather);
    let residue = residue_store(&mut desk, &top.key("residue"), raw.residue.as_ref());
    let store = store?;
    pressures(desk.checker, &top, &cleaning, &store, gas);
    Some(Plant {
        // Checked to be a whole number from 1 to 20; NaN, after a problem, counts as 0.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        units: units as u32,
        cleaning,
        store,
        appliances,
        demands,
        flare,
        line,
        residue,
        assumed: desk.assumed,
    })
}

fn line(
    desk: &mut Desk<'_>,
    top: &Address,
    raw: &RawPlant,
    gas: &GasSide,
    weather: Option<&Weather>,
) -> TemperatureCourse {
    let given = raw.line.as_ref().and_then(|line| line.temperature_c);
    match (given, weather) {
        (Some(celsius), _) => {
            let state = GasState {
                temperature_c: celsius,
                gauge_pa: 0.0,
                barometer_kpa: gas.ambient_bar * KPA_PER_BAR,
            };
            desk.pass(state.check(&top.key("line").to_string()));
            TemperatureCourse::Constant(celsius)
        }
        (None, Some(weather)) => weather.air.clone(),
        (None, None) => {
            desk.assume(
                &top.key("line").key("temperature_c"),
                gas.reading_c,
                "C",
                Standing::Assumed,
                "the temperature at which gas is read, there being no climate",
            );
            TemperatureCourse::Constant(gas.reading_c)
        }
    }
}

fn residue_store(desk: &mut Desk<'_>, at: &Address, raw: Option<&RawResidue>) -> ResidueStore {
    let table = residue_table();
    let of = |key: fn(&RawResidue) -> Option<f64>| raw.and_then(key);
    let store = ResidueStore {
        closed: raw.and_then(|r| r.store_closed).unwrap_or(false),
        store_c: of(|r| r.store_c),
        rate_g_n_m2_yr: desk.or_figure(
            &at.key("rate_g_n_m2_yr"),
            of(|r| r.rate_g_n_m2_yr),
            &table.rate_g_n_m2_yr,
        ),
        continues_share: desk.or_figure(
            &at.key("continues_share"),
            of(|r| r.continues_share),
            &table.continues_share,
        ),
    };
    // Any span of time serves to have the settings looked at.
    let tried = residue(&ResidueInputs {
        days: 1.0,
        fed_kg: 1.0,
        gas_kg: 0.0,
        nitrogen_kg: 0.0,
        ammonium_n_kg: 0.0,
        phosphorus_kg: 0.0,
        potassium_kg: 0.0,
        ammonium_mg_l: None,
        methane_potential_nl: 0.0,
        methane_taken_nl: 0.0,
        density_kg_l: 1.0,
        store_c: store.store_c.unwrap_or_default(),
        store_closed: store.closed,
        rate_g_n_m2_yr: store.rate_g_n_m2_yr,
        continues_share: store.continues_share,
    });
    if let Err(fault) = tried {
        desk.tell(within(fault, at));
    }
    store
}

/// The fault of a field that is named without its group.
fn within(fault: PlantFault, group: &Address) -> PlantFault {
    fault.renamed(|field| group.key(field).to_string())
}

/// What the digester must push against: store and beds together, against what it is computed with.
fn pressures(
    checker: &mut Checker,
    top: &Address,
    cleaning: &[Stage],
    store: &StoreSettings,
    gas: &GasSide,
) {
    let beds: f64 = cleaning.iter().map(Stage::pressure_loss_pa).sum();
    let held = store.middle_pa();
    let all = held + beds;
    // Neither is a number after a problem, which is told.
    if !all.is_finite() || !gas.back_pressure_bar.is_finite() {
        return;
    }
    if check_gauge("", all).is_err() && held <= crate::plant::HIGHEST_GAUGE_PA {
        let fault = PlantFault::TooMuchPressure {
            field: format!("{}: store and beds together", top.key("cleaning")),
            pa: all,
        };
        let mut desk = Desk {
            checker,
            assumed: Vec::new(),
        };
        desk.tell(fault);
        return;
    }
    let computed = gas.back_pressure_bar * PA_PER_BAR;
    if (all - computed).abs() > PRESSURE_SLACK_PA {
        checker.warn(
            &Address::default().key("gas").key("store_pressure_mbar"),
            format!(
                "The digester is computed against {:.1} mbar; store ({:.1} mbar at half its rise) and beds ({:.1} mbar) \
                 ask for {:.1} mbar.",
                computed / PA_PER_MBAR,
                held / PA_PER_MBAR,
                beds / PA_PER_MBAR,
                all / PA_PER_MBAR
            ),
            "Its own water seal must stand deeper than what the gas has to push through, or it blows off there.",
            format!(
                "Write {:.1}, or take ballast or dip depth off.",
                all / PA_PER_MBAR
            ),
        );
    }
}

/// A name fit for a message.
fn name(text: &str) -> String {
    shown(text)
}
