//! What published tables lack: strong ions, liquor and living groups, all assumptions of this project.

use std::sync::LazyLock;

use serde::Deserialize;

use super::composition::{Acids, Living, Range};
use super::provenance::{Group, Provenance};
use super::triple::Triple;
use crate::embedded;

const GRAM: f64 = 0.001;

/// The table of assumptions.
pub(crate) fn assumptions() -> &'static Assumptions {
    &ASSUMPTIONS
}

static ASSUMPTIONS: LazyLock<Assumptions> =
    LazyLock::new(|| embedded::read("assumptions.json", include_str!("data/assumptions.json")));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Assumptions {
    #[serde(rename = "about")]
    _about: String,
    strong_ions: StrongIonTable,
    liquor: LiquorTable,
    living: LivingTable,
}

impl Assumptions {
    /// Strong cations minus strong anions \[eq/kg fresh\].
    pub(crate) fn strong_ions_of(&self, id: &str) -> Range {
        self.strong_ions_row(id).eq_per_kg.range()
    }

    /// Factor that the acids are uncertain by.
    pub(crate) fn acids_factor(&self) -> Range {
        self.liquor.acids_factor.range()
    }

    /// Factor that the living groups are uncertain by, either way.
    pub(crate) fn living_factor(&self) -> f64 {
        self.living.factor
    }

    fn strong_ions_row(&self, id: &str) -> &StrongIonRow {
        let found = self.strong_ions.values.iter().find(|row| row.id == id);
        embedded::linked(found, "strong ions of", id)
    }

    /// Acids and pH, where the material holds any.
    pub(crate) fn liquor_of(&self, id: &str) -> Option<&LiquorRow> {
        let mut rows = self.liquor.values.iter();
        rows.find(|row| row.ids.iter().any(|listed| listed == id))
    }

    fn living_row(&self, id: &str) -> Option<&LivingRow> {
        let mut rows = self.living.values.iter();
        rows.find(|row| row.ids.iter().any(|listed| listed == id))
    }

    /// Living groups; none where the table lists none.
    pub(crate) fn living_of(&self, id: &str) -> Living {
        self.living_row(id)
            .map_or_else(Living::default, LivingRow::living)
    }

    /// General source of each table, with the reasoning for this material.
    pub(crate) fn provenance_of(&self, id: &str) -> Vec<(Group, Provenance)> {
        let with = |source: &Provenance, why: &str| Provenance {
            note: format!("{why} {}", source.note),
            ..source.clone()
        };
        let ions = &self.strong_ions;
        let mut sources = vec![(
            Group::StrongIons,
            with(&ions.provenance, &self.strong_ions_row(id).why),
        )];
        if let Some(row) = self.liquor_of(id) {
            sources.push((Group::Liquor, with(&self.liquor.provenance, &row.why)));
        }
        if let Some(row) = self.living_row(id) {
            sources.push((Group::Living, with(&self.living.provenance, &row.why)));
        }
        sources
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StrongIonTable {
    #[serde(rename = "about")]
    _about: String,
    provenance: Provenance,
    values: Vec<StrongIonRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StrongIonRow {
    id: String,
    eq_per_kg: Triple,
    why: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LiquorTable {
    #[serde(rename = "about")]
    _about: String,
    provenance: Provenance,
    acids_factor: Triple,
    values: Vec<LiquorRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LiquorRow {
    ids: Vec<String>,
    acids_g_per_kg: AcidRow,
    fresh_ph: Triple,
    why: String,
}

impl LiquorRow {
    /// pH of the fresh material.
    pub(crate) fn fresh_ph(&self) -> Range {
        self.fresh_ph.range()
    }

    /// Acids already present.
    pub(crate) fn acids(&self) -> Acids {
        Acids {
            acetic: self.acids_g_per_kg.acetic * GRAM,
            propionic: self.acids_g_per_kg.propionic * GRAM,
            butyric: self.acids_g_per_kg.butyric * GRAM,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AcidRow {
    acetic: f64,
    propionic: f64,
    butyric: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LivingTable {
    #[serde(rename = "about")]
    _about: String,
    provenance: Provenance,
    factor: f64,
    values: Vec<LivingRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LivingRow {
    ids: Vec<String>,
    g_cod_per_kg: GroupRow,
    why: String,
}

impl LivingRow {
    fn living(&self) -> Living {
        let groups = &self.g_cod_per_kg;
        Living {
            su: groups.su * GRAM,
            aa: groups.aa * GRAM,
            fa: groups.fa * GRAM,
            c4: groups.c4 * GRAM,
            pro: groups.pro * GRAM,
            ac: groups.ac * GRAM,
            h2: groups.h2 * GRAM,
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GroupRow {
    su: f64,
    aa: f64,
    fa: f64,
    c4: f64,
    pro: f64,
    ac: f64,
    h2: f64,
}
