//! Balances of the whole plant: what the run's gas became.

use super::hours::Made;
use crate::plant::Portion;
use crate::plant::cleaning::TrainOutcome;
use crate::plant::hourly::HourlyOutcome;
use crate::simulate::{Closure, Outcome, RunFailure};
use crate::units::{NORM_M3_PER_KMOL, molar_mass};

/// Largest relative gap: sums over a year of hours round to 1e-11; 1e-6 is the limit of the run itself.
const LIMIT: f64 = 1e-6;
const G_PER_KG: f64 = 1000.0;
/// Sizes below this are nothing.
const NOTHING: f64 = 1e-9;
/// So much of what the store holds is nothing either: its rounding over the limit.
const NOTHING_OF_HELD: f64 = 1e-6;

/// One balance from what entered a plant whose store `held` so much, and what it became.
fn closure(quantity: &str, unit: &str, held: f64, entered: f64, accounted: f64) -> Closure {
    Closure {
        quantity: quantity.into(),
        unit: unit.into(),
        entered,
        accounted,
        relative_gap: (accounted - entered).abs()
            / entered.abs().max(NOTHING_OF_HELD * held).max(NOTHING),
        limit: LIMIT,
    }
}

/// All balances. The digester's own stand in its outcome; these begin where they end, with the gas of all units.
pub(super) fn closures(
    outcome: &Outcome,
    units: f64,
    made: &Made,
    train: &TrainOutcome,
    hourly: &HourlyOutcome,
) -> Vec<Closure> {
    // What entered is summed from the run's rows, what became of it from each unit's own books.
    let run_nl = units * outcome.plant.iter().map(|r| r.gas_nl).sum::<f64>();
    let run_ch4 = units * outcome.plant.iter().map(|r| r.ch4_nl).sum::<f64>();
    let all = |days: &[Portion]| days.iter().fold(Portion::default(), |sum, p| sum.plus(*p));
    let (gas, burnt) = (all(&made.made), all(&made.burnt));
    let stages = |f: fn(&crate::plant::cleaning::StageOutcome) -> f64| -> f64 {
        train.stages.iter().map(f).sum()
    };
    let (co2, h2s, o2) = (
        stages(|s| s.co2_taken_kg),
        stages(|s| s.h2s_taken_kg),
        stages(|s| s.o2_taken_kg),
    );
    let kmol = |kg: f64, molar: f64| kg / molar;
    let nl = |kg: f64, molar: f64| kmol(kg, molar) * NORM_M3_PER_KMOL * 1000.0;
    let beds = Portion {
        co2_nl: nl(co2, molar_mass::CO2),
        h2s_nl: nl(h2s, molar_mass::H2S),
        o2_nl: nl(o2, 2.0 * molar_mass::O),
        ..Portion::default()
    };
    let after = hourly
        .used
        .plus(hourly.overflowed)
        .plus(hourly.seeped)
        .plus(hourly.stored_change);
    let became = burnt.plus(beds).plus(after);
    let held =
        |of: fn(&Portion) -> f64| of(&hourly.first_content).abs() + of(&hourly.stored_change).abs();
    let flared_and_escaped = hourly.overflowed.ch4_nl + hourly.seeped.ch4_nl;
    let kg = |f: fn(&Portion) -> f64, p: &Portion| f(p) / G_PER_KG;
    vec![
        closure(
            "gas",
            "NL",
            held(Portion::dry_nl),
            run_nl,
            became.plus(made.owed).dry_nl(),
        ),
        closure(
            "methane",
            "NL",
            held(|p| p.ch4_nl),
            run_ch4,
            burnt.ch4_nl
                + hourly.used.ch4_nl
                + flared_and_escaped
                + hourly.stored_change.ch4_nl
                + made.owed.ch4_nl,
        ),
        closure(
            "mass of dry gas",
            "kg",
            held(Portion::mass_g) / G_PER_KG,
            kg(Portion::mass_g, &gas),
            kg(Portion::mass_g, &became),
        ),
        closure(
            "carbon of the gas",
            "kg",
            held(Portion::carbon_g) / G_PER_KG,
            kg(Portion::carbon_g, &gas),
            kg(Portion::carbon_g, &became),
        ),
        closure(
            "sulphur of the gas",
            "kg",
            held(Portion::sulphur_g) / G_PER_KG,
            kg(Portion::sulphur_g, &gas),
            kg(Portion::sulphur_g, &became),
        ),
        closure(
            "water of the gas",
            "kg",
            0.0,
            train.water.in_kg,
            train.water.out_kg,
        ),
        closure(
            "energy of the gas",
            "kWh",
            held(signed_kwh),
            gas.energy_kwh(),
            {
                let burner: f64 = made.heater_kwh.iter().sum();
                burner + signed_kwh(&beds) + signed_kwh(&after)
            },
        ),
    ]
}

/// Energy of an amount of which single species may be negative: by species, as the gas is ideal \[kWh\].
fn signed_kwh(p: &Portion) -> f64 {
    let one = |f: fn(f64) -> Portion, nl: f64| f(1.0).energy_kwh() * nl;
    let ch4 = |x| Portion {
        ch4_nl: x,
        ..Portion::default()
    };
    let h2 = |x| Portion {
        h2_nl: x,
        ..Portion::default()
    };
    let h2s = |x| Portion {
        h2s_nl: x,
        ..Portion::default()
    };
    one(ch4, p.ch4_nl) + one(h2, p.h2_nl) + one(h2s, p.h2s_nl)
}

/// The first balance that does not close, as the failure of a run.
pub(super) fn first_open(closures: &[Closure]) -> Option<RunFailure> {
    closures
        .iter()
        .find(|c| c.relative_gap > c.limit || c.relative_gap.is_nan())
        .map(|c| RunFailure::Open {
            quantity: c.quantity.clone(),
            gap: c.relative_gap,
            limit: c.limit,
        })
}
