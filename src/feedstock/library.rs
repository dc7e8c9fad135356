//! The built-in materials.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use serde::Deserialize;

use super::class::MaterialClass;
use super::composition::{Composition, Range};
use super::provenance::{Group, Provenance, Reference};
use super::records;
use crate::embedded;

/// Where a material is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Kitchen.
    Kitchen,
    /// Garden.
    Garden,
    /// Stable.
    Manure,
    /// Another digester.
    Starter,
}

/// How well a material suits a small hand-fed digester.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Suitability {
    /// Carries a digester by itself.
    Excellent,
    /// A sound part of the daily feed.
    Good,
    /// Works, gives little.
    Fair,
    /// Good in small doses or beside a buffer.
    WithCare,
    /// Only a small part of the feed.
    Limited,
    /// Hardly worth it.
    Poor,
    /// Does not belong into a digester.
    Unsuitable,
    /// For the first filling, hardly feed.
    Starter,
}

impl Suitability {
    /// For people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Excellent => "excellent",
            Self::Good => "good",
            Self::Fair => "fair",
            Self::WithCare => "good with care",
            Self::Limited => "only a little",
            Self::Poor => "poor",
            Self::Unsuitable => "unsuitable",
            Self::Starter => "for starting",
        }
    }
}

/// One material.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Key.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Other names people use.
    pub also: Vec<String>,
    /// Where it is found.
    pub kind: Kind,
    /// Tissue class, which sets the degradable shares.
    pub class: MaterialClass,
    /// How well it suits.
    pub suitability: Suitability,
    /// Whether it brings enough methane formers to start a digester.
    pub starter: bool,
    /// One sentence of advice.
    pub advice: String,
    /// Total solids with their range \[kg/kg\], where sources differ.
    pub total_solids: Option<Range>,
    /// Bulk density as collected \[kg/L\]; in the digester take about 1.
    pub bulk_density: f64,
    /// Strong ions with their range \[eq/kg\].
    pub strong_ions: Range,
    /// pH of the fresh material with its range; `None`: no carbonate.
    pub fresh_ph: Option<Range>,
    /// Factor that the acids are uncertain by; `None`: no acids.
    pub acids_factor: Option<Range>,
    /// Factor that the living groups are uncertain by, either way.
    pub living_factor: f64,
    /// Source of each group of numbers.
    pub provenance: Vec<(Group, Provenance)>,
    /// What it holds.
    pub(crate) composition: Composition,
}

impl Entry {
    /// What one kilogram of it holds, at typical values.
    #[must_use]
    pub fn composition(&self) -> &Composition {
        &self.composition
    }

    /// Keys of the references behind its numbers, sorted, each once.
    #[must_use]
    pub fn references(&self) -> Vec<&str> {
        let keys = self.provenance.iter().flat_map(|(_, source)| &source.refs);
        let unique: BTreeSet<&str> = keys.map(String::as_str).collect();
        unique.into_iter().collect()
    }
}

/// All built-in materials.
#[derive(Debug)]
pub struct Library {
    entries: Vec<Entry>,
    references: Vec<Reference>,
}

/// The built-in library.
#[must_use]
pub fn library() -> &'static Library {
    &LIBRARY
}

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library {
    entries: records::entries(),
    references: embedded::read::<References>(
        "references.json",
        include_str!("data/references.json"),
    )
    .references,
});

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct References {
    references: Vec<Reference>,
}

/// How alike two names must be to be offered, 0..1.
const ALIKE: f64 = 0.6;
/// Likeness of a name that holds the whole word asked for.
const WHOLE_WORD: f64 = 0.8;
/// Likeness of a name that ends in the same word, the kind of thing that it is: dung, slurry, peel.
const SAME_KIND: f64 = 0.6;
/// How many names are offered.
const OFFERED: usize = 4;

impl Library {
    /// The material of this key.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id == id)
    }

    /// All materials, always in the same order: kitchen, garden, manures, starters.
    pub fn iter(&self) -> impl Iterator<Item = &Entry> {
        self.entries.iter()
    }

    /// Keys whose key or names are like the one asked for, best first; may be empty.
    #[must_use]
    pub fn nearest(&self, asked: &str) -> Vec<&str> {
        let asked = plain(asked);
        let mut scored: Vec<(f64, &str)> = Vec::new();
        for entry in &self.entries {
            let names = entry.also.iter().chain([&entry.id, &entry.name]);
            let best = names
                .map(|name| likeness(&asked, &plain(name)))
                .fold(0.0, f64::max);
            if best >= ALIKE {
                scored.push((best, &entry.id));
            }
        }
        scored.sort_by(|a, b| b.0.total_cmp(&a.0));
        scored.into_iter().take(OFFERED).map(|(_, id)| id).collect()
    }

    /// The reference of this key.
    #[must_use]
    pub fn reference(&self, id: &str) -> Option<&Reference> {
        self.references.iter().find(|reference| reference.id == id)
    }

    /// All references.
    #[must_use]
    pub fn references(&self) -> &[Reference] {
        &self.references
    }
}

fn plain(name: &str) -> String {
    let lower = name.trim().to_lowercase();
    lower.replace([' ', '_'], "-")
}

fn likeness(asked: &str, name: &str) -> f64 {
    let spelled = strsim::normalized_damerau_levenshtein(asked, name);
    let holds_word = name.split('-').any(|word| word == asked);
    let kind = |name: &str| name.rsplit_once('-').map(|(_, last)| last.to_owned());
    if holds_word {
        spelled.max(WHOLE_WORD)
    } else if kind(asked).is_some() && kind(asked) == kind(name) {
        spelled.max(SAME_KIND)
    } else {
        spelled
    }
}
