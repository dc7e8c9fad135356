//! What practice and handbooks expect of small digesters.

use serde_json::json;

use super::sketch::{Sketch, late_mean};
use super::{EvidenceFailure, Values};
use crate::scenario;
use crate::simulate::{EventKind, Outcome};

/// Retention of a well-run warm tank \[d\]. Common practice, no source.
const RETENTION_D: f64 = 45.0;
const TANK_L: f64 = 800.0;

/// Three healthy tanks after many retention times: a mixed bucket and slurry at 35 C, dung at 25 C.
pub(super) fn healthy_tanks() -> Result<Values, EvidenceFailure> {
    let mixed = Sketch {
        feed: vec![("kitchen-scraps", 5.0), ("cattle-dung", 2.5)],
        feed_water_l: TANK_L / RETENTION_D - 7.5,
        ramp_d: 60,
        ..Sketch::of_digestate(TANK_L, 35.0, 300)
    };
    let slurry = Sketch::of_digestate(TANK_L, 35.0, 300).fed("cattle-slurry", 1.5, RETENTION_D)?;
    let dung = Sketch::of_digestate(TANK_L, 25.0, 300).fed("cattle-dung", 1.5, RETENTION_D)?;
    let mut values = Values::new();
    for (name, tank) in [("mixed", mixed), ("slurry", slurry), ("dung", dung)] {
        let outcome = tank.run()?;
        let mean = |of| late_mean(&outcome, 45, of);
        values.push((format!("healthy.{name}.ch4"), mean(|d| 100.0 * d.ch4_share)));
        values.push((format!("healthy.{name}.h2s"), mean(|d| d.h2s_ppm / 1e4)));
        values.push((format!("healthy.{name}.ph"), mean(|d| d.ph)));
        if name == "mixed" {
            values.push(("healthy.mixed.gas".into(), mean(|d| d.gas_read_l) / TANK_L));
        }
    }
    Ok(values)
}

/// Day of the first flame of an unfed tank; infinite if there is none within the run.
fn first_flame(
    material: &'static str,
    kg: f64,
    water_l: f64,
    celsius: f64,
) -> Result<f64, EvidenceFailure> {
    let tank = Sketch {
        starter: vec![(material, kg)],
        starter_water_l: water_l,
        ..Sketch::of_digestate(kg + water_l, celsius, 200)
    };
    Ok(flame(&tank.run()?))
}

fn flame(outcome: &Outcome) -> f64 {
    outcome
        .events
        .iter()
        .find(|e| e.kind == EventKind::FirstFlame)
        .map_or(f64::INFINITY, |e| e.day)
}

/// Unfed tanks of manure and water.
pub(super) fn first_flames() -> Result<Values, EvidenceFailure> {
    let mut values = Values::new();
    for celsius in [35, 25] {
        let day = first_flame("cattle-dung", 400.0, 400.0, f64::from(celsius))?;
        values.push((format!("flame.cattle-dung.{celsius}"), day));
    }
    for (material, kg, water) in [
        ("cattle-slurry", 800.0, 0.0),
        ("pig-slurry", 800.0, 0.0),
        ("sheep-goat-manure", 200.0, 600.0),
    ] {
        let day = first_flame(material, kg, water, 30.0)?;
        values.push((format!("flame.{material}.30"), day));
    }
    let warm = first_flame("cattle-slurry", 800.0, 0.0, 30.0)?;
    let cold = first_flame("cattle-slurry", 800.0, 0.0, 18.0)?;
    values.push(("flame.later-in-the-cold".into(), cold / warm));
    Ok(values)
}

/// Horse dung and water, one to three, 25 C, in a batch of sixty days: methane in all its gas \[%\].
pub(super) fn horse_dung() -> Result<Values, EvidenceFailure> {
    let tank = Sketch {
        starter: vec![("horse-dung", 250.0)],
        starter_water_l: 750.0,
        ..Sketch::of_digestate(1000.0, 25.0, 60)
    };
    let outcome = tank.run()?;
    let sum = |of: fn(&crate::simulate::DayRow) -> f64| outcome.plant.iter().map(of).sum::<f64>();
    // The air of the empty headspace leaves with the first gas and is no gas of the dung.
    let gas = sum(|d| d.gas_nl * (1.0 - d.air_share));
    Ok(vec![(
        "horse-dung.ch4".into(),
        100.0 * sum(|d| d.ch4_nl) / gas,
    )])
}

/// A simple plant on dung and water, one to one, 28 C: methane over that of all degradable feed.
pub(super) fn simple_farm_plant() -> Result<Values, EvidenceFailure> {
    let mut values = Values::new();
    for retention in [30.0, 60.0] {
        let kg = TANK_L / retention / 2.0;
        let tank = Sketch {
            feed: vec![("cattle-dung", kg)],
            feed_water_l: kg,
            ..Sketch::of_digestate(TANK_L, 28.0, 360)
        };
        let outcome = tank.run()?;
        let share = late_mean(&outcome, 60, |d| d.ch4_nl)
            / late_mean(&outcome, 60, |d| d.theoretical_ch4_nl);
        values.push((format!("simple-plant.{retention}"), 100.0 * share));
    }
    Ok(values)
}

/// Lowest loading of a row of steps at which the check of a scenario warns that food alone is too much.
pub(super) fn food_alone() -> Result<Values, EvidenceFailure> {
    let leftovers_vs = super::sketch::volatile_solids("cooked-leftovers")?;
    for step in 2..=10 {
        let loading = 0.5 * f64::from(step);
        let kg = loading * TANK_L / 1000.0 / leftovers_vs;
        let scenario = json!({
            "title": "evidence",
            "days": 60,
            "vessels": [{"liquid_l": TANK_L, "headspace_l": 200, "temperature": {"constant_c": 35}}],
            "starter": {"materials": [{"material": "digestate-cattle", "kg": TANK_L}]},
            "recipes": {"food": {"materials": [{"material": "cooked-leftovers", "kg": kg}], "water_l": 15}},
            "feeding": [{"daily": {"recipe": "food", "from_day": 1}}]
        });
        let loaded = scenario::from_text(&scenario.to_string(), "evidence", None)
            .map_err(|problems| EvidenceFailure::List(problems.to_string()))?;
        let warns = |w: &scenario::Warning| {
            w.seen.starts_with("Food or plants alone") && w.seen.contains("kg VS/m3/d")
        };
        if loaded.warnings.iter().any(warns) {
            return Ok(vec![("food-alone.warns".into(), loading)]);
        }
    }
    Ok(vec![("food-alone.warns".into(), f64::INFINITY)])
}

/// A hundred litres fed two litres a day.
pub(super) fn retention_arithmetic() -> Result<Values, EvidenceFailure> {
    let tank = Sketch {
        feed: vec![("cattle-slurry", 2.0)],
        ..Sketch::of_digestate(100.0, 30.0, 20)
    };
    let outcome = tank.run()?;
    let last = outcome.plant.last().and_then(|d| d.retention_d);
    Ok(vec![(
        "retention.hundred-litres".into(),
        last.unwrap_or(f64::INFINITY),
    )])
}
