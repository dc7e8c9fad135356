//! Stages of the cleaning.

use super::Desk;
use crate::plant::cleaning::{BedMaterial, BedSettings, Refill, Stage, TrapSettings, bed_row};
use crate::scenario::address::Address;
use crate::scenario::near::listed;
use crate::scenario::schema::{RawBed, RawBedMaterial, RawRefill, RawStage, RawTrap};

/// Most stages.
const MOST_STAGES: usize = 50;

/// Kinds of beds and what each may be filled with; the first is the default.
const LIME: &[RawBedMaterial] = &[
    RawBedMaterial::LimeSlurry,
    RawBedMaterial::DampLime,
    RawBedMaterial::LimeWater,
];
const IRON: &[RawBedMaterial] = &[RawBedMaterial::IronOxideGrains, RawBedMaterial::RustedWool];
const CARBON: &[RawBedMaterial] = &[RawBedMaterial::Carbon, RawBedMaterial::CarbonWithOxygen];
const DRYING: &[RawBedMaterial] = &[
    RawBedMaterial::SilicaGel,
    RawBedMaterial::DryingClay,
    RawBedMaterial::MolecularSieve,
];

/// Stages by their keys.
const FILLED: [(&str, &[RawBedMaterial]); 4] = [
    ("lime", LIME),
    ("iron", IRON),
    ("carbon", CARBON),
    ("drying", DRYING),
];

/// What a stage may be filled with; `None` where the written address is not that of a filling.
pub(in crate::scenario) fn fillings(at: &str) -> Option<Vec<String>> {
    let inner = at
        .strip_prefix("plant.cleaning[")?
        .strip_suffix(".material")?;
    let (_, stage) = inner.split_once("].")?;
    let (_, fitting) = FILLED.iter().find(|(key, _)| *key == stage)?;
    Some(fitting.iter().map(|m| key(material(*m))).collect())
}

/// Checks all stages.
pub(super) fn stages(desk: &mut Desk<'_>, at: &Address, raw: Option<&[RawStage]>) -> Vec<Stage> {
    let raw = raw.unwrap_or_default();
    if !desk.checker.is_short(at, raw.len(), MOST_STAGES) {
        return Vec::new();
    }
    raw.iter()
        .enumerate()
        .filter_map(|(i, raw)| stage(desk, &at.index(i), raw))
        .collect()
}

fn stage(desk: &mut Desk<'_>, at: &Address, raw: &RawStage) -> Option<Stage> {
    match raw {
        RawStage::WaterTrap(raw) => Some(trap(desk, &at.key("water_trap"), raw)),
        RawStage::Lime(raw) => bed(desk, &at.key("lime"), raw, LIME),
        RawStage::Iron(raw) => bed(desk, &at.key("iron"), raw, IRON),
        RawStage::Carbon(raw) => bed(desk, &at.key("carbon"), raw, CARBON),
        RawStage::Drying(raw) => bed(desk, &at.key("drying"), raw, DRYING),
    }
}

fn trap(desk: &mut Desk<'_>, at: &Address, raw: &RawTrap) -> Stage {
    let stage = Stage::WaterTrap(TrapSettings {
        temperature_c: raw.temperature_c,
        drop_pa: raw.drop_pa.unwrap_or(0.0),
    });
    desk.pass(stage.check(&at.to_string()));
    stage
}

fn bed(
    desk: &mut Desk<'_>,
    at: &Address,
    raw: &RawBed,
    fitting: &[RawBedMaterial],
) -> Option<Stage> {
    let wanted = raw.material.or_else(|| fitting.first().copied())?;
    let material = material(wanted);
    if !fitting.contains(&wanted) {
        let names: Vec<String> = fitting.iter().map(|m| key(self::material(*m))).collect();
        desk.checker.outside(
            &at.key("material"),
            format!("\"{}\"", key(material)),
            listed(names.iter().map(String::as_str), 5),
            "This stage is not made of that.",
            "Name the stage after what it holds: \"lime\", \"iron\", \"carbon\" or \"drying\".",
        );
        return None;
    }
    let row = bed_row(material);
    let mass_kg = desk.needed(
        &at.key("mass_kg"),
        raw.mass_kg,
        "Give the mass of a filling in kilograms.",
    );
    let mut or = |name: &str, given, figure| desk.or_figure(&at.key(name), given, figure);
    let settings = BedSettings {
        material,
        mass_kg: mass_kg.unwrap_or(1.0),
        capacity_kg_per_kg: or("capacity_kg_per_kg", raw.capacity_kg_per_kg, &row.capacity),
        used_share: or("used_share", raw.used_share, &row.used_share),
        removal_share: or("removal_share", raw.removal_share, &row.removal_share),
        dip_cm: or("dip_cm", raw.dip_cm, &row.dip_cm),
        drop_pa: or("drop_pa", raw.drop_pa, &row.drop_pa),
        cycles: or("cycles", raw.cycles, &row.cycles),
        loaded_share: raw.loaded_share.unwrap_or(0.0),
        refill: match raw.refill {
            Some(RawRefill::Never) => Refill::Never,
            Some(RawRefill::WhenSpent) | None => Refill::WhenSpent,
        },
    };
    let stage = Stage::Bed(settings);
    desk.pass(stage.check(&at.to_string()));
    Some(stage)
}

fn material(raw: RawBedMaterial) -> BedMaterial {
    match raw {
        RawBedMaterial::LimeSlurry => BedMaterial::LimeSlurry,
        RawBedMaterial::DampLime => BedMaterial::DampLime,
        RawBedMaterial::LimeWater => BedMaterial::LimeWater,
        RawBedMaterial::IronOxideGrains => BedMaterial::IronOxideGrains,
        RawBedMaterial::RustedWool => BedMaterial::RustedWool,
        RawBedMaterial::Carbon => BedMaterial::Carbon,
        RawBedMaterial::CarbonWithOxygen => BedMaterial::CarbonWithOxygen,
        RawBedMaterial::SilicaGel => BedMaterial::SilicaGel,
        RawBedMaterial::DryingClay => BedMaterial::DryingClay,
        RawBedMaterial::MolecularSieve => BedMaterial::MolecularSieve,
    }
}

/// The name as it stands in a scenario.
fn key(material: BedMaterial) -> String {
    serde_json::to_value(material)
        .ok()
        .and_then(|value| value.as_str().map(str::to_owned))
        .unwrap_or_default()
}
