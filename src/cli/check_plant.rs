//! What `marshgas check` says about heaters and the plant behind the digester.

use serde_json::{Value, json};

use crate::case::{Case, Plant};
use crate::plant::cleaning::Stage;
use crate::plant::store::StoreSettings;
use crate::plant::uses::{Appliance, Demand};
use crate::thermal::HeatSource;

use super::columns::short;

/// What, how.
pub(super) type Line = (String, String);

/// Heater of each vessel that has one.
pub(super) fn heaters(case: &Case) -> Vec<Line> {
    let heaters = case.vessels.iter().filter_map(|vessel| {
        let heater = vessel.heat.as_ref()?.surroundings.heater.as_ref()?;
        let from = match heater.source {
            HeatSource::OwnGas { efficiency } => {
                format!("own gas, {} % of it as heat", short(100.0 * efficiency))
            }
            HeatSource::Mains => "bought energy".to_owned(),
            HeatSource::EngineWaste => "an engine's waste heat".to_owned(),
        };
        let what = format!(
            "{} W at most, set to {} C, {from}",
            short(heater.power_w),
            short(heater.set_c)
        );
        Some((vessel.name.clone(), what))
    });
    heaters.collect()
}

/// Cleaning in the order of the flow, store, appliances with their hours a week, flare, residue.
pub(super) fn plant(plant: &Plant) -> Vec<Line> {
    let mut lines = Vec::new();
    if plant.units > 1 {
        let what = format!("{} like this one, side by side", plant.units);
        lines.push(("digesters".to_owned(), what));
    }
    if plant.cleaning.is_empty() {
        lines.push(("cleaning".to_owned(), "none".to_owned()));
    }
    for (i, stage) in plant.cleaning.iter().enumerate() {
        lines.push((format!("cleaning {}", i + 1), stage_words(stage)));
    }
    lines.push(("store".to_owned(), store_words(plant)));
    for named in &plant.appliances {
        let what = match &named.appliance {
            Appliance::Burner(burner) => format!("burner of {} kW", short(burner.power_kw)),
            Appliance::Lamp(lamp) => format!("lamp of {} kW", short(lamp.power_kw)),
            Appliance::Engine(engine) => {
                format!("engine of {} kW on its plate", short(engine.rated_kw))
            }
        };
        let hours = hours_a_week(plant, &named.name);
        lines.push((
            named.name.clone(),
            format!("{what}, {} h a week", short(hours)),
        ));
    }
    let flare = plant.flare.as_ref().map_or_else(
        || "none: what the store cannot take escapes".to_owned(),
        |flare| format!("{} kW", short(flare.power_kw)),
    );
    lines.push(("flare".to_owned(), flare));
    let residue = if plant.residue.closed {
        "gas-tight store"
    } else {
        "open store"
    };
    lines.push(("residue".to_owned(), residue.to_owned()));
    if !plant.assumed.is_empty() {
        let count = format!("{} values, listed by marshgas season", plant.assumed.len());
        lines.push(("left to tables".to_owned(), count));
    }
    lines
}

fn stage_words(stage: &Stage) -> String {
    match stage {
        Stage::WaterTrap(_) => stage.words().to_owned(),
        Stage::Bed(bed) => format!("{}, {} kg", stage.words(), short(bed.mass_kg)),
    }
}

/// Volume that can be drawn \[L\].
fn usable_l(store: &StoreSettings) -> f64 {
    match store {
        StoreSettings::Bell(bell) => {
            let (full, dead) = bell.volumes_l();
            full - dead
        }
        StoreSettings::Bag(bag) => bag.volume_l,
    }
}

fn store_words(plant: &Plant) -> String {
    let kind = match &plant.store {
        StoreSettings::Bell(bell) => format!("bell of {} cm", short(bell.diameter_cm)),
        StoreSettings::Bag(_) => "bag".to_owned(),
    };
    format!(
        "{kind}, {} L usable, {} Pa",
        short(usable_l(&plant.store)),
        short(plant.store_pa())
    )
}

fn hours_a_week(plant: &Plant, appliance: &str) -> f64 {
    let of = |d: &Demand| d.hours * d.weekdays.iter().filter(|on| **on).count() as f64;
    plant
        .demands
        .iter()
        .filter(|d| d.appliance == appliance)
        .map(of)
        .sum()
}

/// The same for machines.
pub(super) fn as_json(plant: &Plant) -> Value {
    json!({
        "units": plant.units,
        "cleaning": plant.cleaning.iter().map(stage_words).collect::<Vec<_>>(),
        "cleaning_pa": plant.cleaning_pa(),
        "store": {
            "kind": match plant.store {
                StoreSettings::Bell(_) => "bell",
                StoreSettings::Bag(_) => "bag",
            },
            "usable_l": usable_l(&plant.store),
            "pressure_pa": plant.store_pa(),
        },
        "appliances": plant.appliances.iter().map(|named| json!({
            "name": named.name,
            "hours_a_week": hours_a_week(plant, &named.name),
        })).collect::<Vec<_>>(),
        "flare": plant.flare.is_some(),
        "residue_closed": plant.residue.closed,
        "left_to_tables": plant.assumed.len(),
    })
}
