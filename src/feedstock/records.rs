//! The data files of the materials, and how an entry is put together from them.

use serde::Deserialize;

use super::assumed::assumptions;
use super::class::{self, MaterialClass};
use super::composition::{Acids, Composition, Pools};
use super::library::{Entry, Kind, Suitability};
use super::provenance::{Group, Provenance};
use super::triple::Triple;
use crate::embedded;

const PERCENT: f64 = 0.01;
const GRAM: f64 = 0.001;

/// All entries in the order of the files.
pub(crate) fn entries() -> Vec<Entry> {
    const FILES: [(&str, &str); 4] = [
        ("kitchen.json", include_str!("data/kitchen.json")),
        ("garden.json", include_str!("data/garden.json")),
        ("manures.json", include_str!("data/manures.json")),
        ("starters.json", include_str!("data/starters.json")),
    ];
    let mut entries = Vec::new();
    for (name, text) in FILES {
        let file: MaterialFile = embedded::read(name, text);
        entries.extend(file.materials.into_iter().map(|row| entry(file.kind, row)));
    }
    entries
}

fn entry(kind: Kind, row: MaterialRow) -> Entry {
    let composition = composition(&row);
    let assumed = assumptions();
    let liquor = assumed.liquor_of(&row.id);
    Entry {
        kind,
        class: row.class,
        suitability: row.suitability,
        starter: row.starter,
        total_solids: row
            .total_solids_range_pct
            .map(|[low, high]| Triple::new(low, row.total_solids_pct, high).times(PERCENT)),
        bulk_density: row.bulk_density_kg_per_l,
        strong_ions: assumed.strong_ions_of(&row.id),
        fresh_ph: liquor.map(|liquor| liquor.fresh_ph()),
        acids_factor: liquor.map(|_| assumed.acids_factor()),
        living_factor: assumed.living_factor(),
        provenance: provenance(&row),
        composition,
        id: row.id,
        name: row.name,
        also: row.also,
        advice: row.advice,
    }
}

fn composition(row: &MaterialRow) -> Composition {
    let assumed = assumptions();
    let total_solids = row.total_solids_pct * PERCENT;
    let volatile_solids = total_solids * row.volatile_solids_pct_of_solids * PERCENT;
    let shares = &row.shares_of_volatile;
    let liquor = assumed.liquor_of(&row.id);
    Composition {
        total_solids,
        volatile_solids,
        pools: Pools {
            fast_carb: shares.fast_carb * volatile_solids,
            fibre: shares.fibre * volatile_solids,
            protein: shares.protein * volatile_solids,
            fat: shares.fat * volatile_solids,
        },
        inert: shares.inert * volatile_solids,
        degradable: row.class.degradable(),
        hydrolysis: class::hydrolysis(&row.hydrolysis).0,
        carbon: row.carbon_g_per_kg * GRAM,
        nitrogen: row.nitrogen_g_per_kg * GRAM,
        ammonia_n: row.ammonia_n_g_per_kg * GRAM,
        labile_n: row.labile_n_g_per_kg * GRAM,
        sulfur: row.sulfur_g_per_kg_solids * GRAM * total_solids,
        acids: liquor.map_or_else(Acids::default, |liquor| liquor.acids()),
        strong_ions: assumed.strong_ions_of(&row.id).typical,
        fresh_ph: liquor.map(|liquor| liquor.fresh_ph().typical),
        living: assumed.living_of(&row.id),
        methane_potential: Some(row.methane_nl_per_kg_vs.range()),
    }
}

fn provenance(row: &MaterialRow) -> Vec<(Group, Provenance)> {
    let said = &row.provenance;
    let assumed = assumptions();
    let (_, hydrolysis) = class::hydrolysis(&row.hydrolysis);
    [
        (Group::TotalSolids, &said.total_solids),
        (Group::VolatileSolids, &said.volatile_solids),
        (Group::Shares, &said.shares),
        (Group::Degradable, MaterialClass::provenance()),
        (Group::Hydrolysis, hydrolysis),
        (Group::Nitrogen, &said.nitrogen),
        (Group::Ammonia, &said.ammonia),
        (Group::Sulfur, &said.sulfur),
        (Group::Carbon, &said.carbon),
        (Group::Methane, &said.methane),
        (Group::Density, &said.density),
    ]
    .into_iter()
    .map(|(group, source)| (group, source.clone()))
    .chain(assumed.provenance_of(&row.id))
    .collect()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MaterialFile {
    kind: Kind,
    materials: Vec<MaterialRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MaterialRow {
    id: String,
    name: String,
    also: Vec<String>,
    class: MaterialClass,
    hydrolysis: String,
    suitability: Suitability,
    starter: bool,
    advice: String,
    total_solids_pct: f64,
    #[serde(default)]
    total_solids_range_pct: Option<[f64; 2]>,
    volatile_solids_pct_of_solids: f64,
    shares_of_volatile: ShareRow,
    nitrogen_g_per_kg: f64,
    ammonia_n_g_per_kg: f64,
    labile_n_g_per_kg: f64,
    sulfur_g_per_kg_solids: f64,
    carbon_g_per_kg: f64,
    methane_nl_per_kg_vs: Triple,
    bulk_density_kg_per_l: f64,
    provenance: MaterialSources,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShareRow {
    fast_carb: f64,
    fibre: f64,
    protein: f64,
    fat: f64,
    inert: f64,
}

/// Every group is a field, so that no material can lack a source.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MaterialSources {
    total_solids: Provenance,
    volatile_solids: Provenance,
    shares: Provenance,
    nitrogen: Provenance,
    ammonia: Provenance,
    sulfur: Provenance,
    carbon: Provenance,
    methane: Provenance,
    density: Provenance,
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = include_str!("data/starters.json");

    fn fault(text: &str) -> String {
        let Err(fault) = serde_json::from_str::<MaterialFile>(text) else {
            panic!("accepted");
        };
        fault.to_string()
    }

    #[test]
    fn an_unknown_figure_is_refused() {
        let changed = TEXT.replacen("\"labile_n_g_per_kg\"", "\"labil_n_g_per_kg\"", 1);
        assert!(fault(&changed).contains("labil_n_g_per_kg"));
    }

    #[test]
    fn a_figure_without_a_source_is_refused() {
        let changed = TEXT.replacen("\"density\": {", "\"nitrogen\": {", 1);
        assert!(fault(&changed).contains("nitrogen"));
        assert!(serde_json::from_str::<MaterialFile>(TEXT).is_ok());
    }
}
