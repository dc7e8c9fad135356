//! From the name of a feed in a record to materials of library and scenario.

use serde_json::{Map, Value};

use crate::diary::read::{known_material, taken_for};
use crate::diary::record::Fed;
use crate::feedstock::library;

/// Part of a feed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Share {
    pub(super) material: String,
    /// Size of the pieces, where the scenario says one.
    pub(super) pieces: Option<String>,
    /// Share of the mass, 0..1.
    pub(super) share: f64,
}

/// Names that a record may use with a scenario.
pub(super) struct Names<'a> {
    own: Vec<&'a str>,
    recipes: Option<&'a Map<String, Value>>,
}

fn plain(name: &str) -> String {
    name.to_lowercase().replace([' ', '_'], "-")
}

impl<'a> Names<'a> {
    pub(super) fn of(scenario: &'a Value) -> Self {
        let own = scenario.get("materials").and_then(Value::as_object);
        Self {
            own: own
                .into_iter()
                .flat_map(|m| m.keys())
                .map(String::as_str)
                .collect(),
            recipes: scenario.get("recipes").and_then(Value::as_object),
        }
    }

    /// Materials of a name: one of the owner's, a recipe, or one of the library. Without a name the only recipe.
    pub(super) fn resolve(&self, name: &str) -> Option<Vec<Share>> {
        let recipes = || self.recipes.into_iter().flatten();
        if name.is_empty() {
            let mut all = recipes();
            return match (all.next(), all.next()) {
                (Some((_, only)), None) => shares(only),
                _ => None,
            };
        }
        let like = |known: &str| known == name || plain(known) == plain(name);
        let material = match self.own.iter().find(|own| like(own)) {
            Some(own) => Some((*own).to_owned()),
            None => match recipes().find(|(recipe, _)| like(recipe)) {
                Some((_, recipe)) => return shares(recipe),
                None => known_material(name),
            },
        }?;
        Some(vec![Share {
            pieces: self.pieces(&material),
            material,
            share: 1.0,
        }])
    }

    /// What a name is taken for that is none of the scenario and another name of something in the library.
    pub(super) fn taken_for(&self, name: &str) -> Option<String> {
        let like = |known: &str| plain(known) == plain(name);
        let own = self.own.iter().any(|own| like(own));
        let recipe = self.recipes.into_iter().flat_map(|r| r.keys());
        let is_own = own || recipe.into_iter().any(|known| like(known));
        taken_for(name).filter(|_| !is_own)
    }

    /// How the scenario cuts a material, by the first recipe that has it.
    fn pieces(&self, material: &str) -> Option<String> {
        let parts = self
            .recipes
            .into_iter()
            .flatten()
            .filter_map(|(_, recipe)| recipe["materials"].as_array())
            .flatten();
        parts
            .filter(|part| part["material"] == material)
            .find_map(|part| part["pieces"].as_str())
            .map(str::to_owned)
    }

    /// What to say of a feed whose name is not known, as a doubt.
    pub(super) fn unknown(&self, fed: &Fed) -> String {
        let (name, kg) = (&fed.material, fed.kg);
        if name.is_empty() {
            return format!(
                "it does not say of what the {kg} kg fed are, and the scenario has not exactly one recipe to take them for; the \
                 run goes without"
            );
        }
        let near = self.nearest(name);
        let mean = near.map_or_else(String::new, |n| format!(". Did you mean {n}?"));
        format!(
            "\"{name}\" is no material of the library or the scenario; the run goes without these {kg} kg{mean}"
        )
    }

    fn nearest(&self, name: &str) -> Option<String> {
        let own = self
            .own
            .iter()
            .copied()
            .chain(
                self.recipes
                    .into_iter()
                    .flat_map(|r| r.keys())
                    .map(String::as_str),
            )
            .map(|own| (strsim::jaro_winkler(&plain(own), &plain(name)), own))
            .filter(|(likeness, _)| *likeness >= 0.85)
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, own)| own.to_owned());
        own.or_else(|| library().nearest(name).first().map(|n| (*n).to_owned()))
    }
}

/// Materials of a recipe by their share of its mass without the water.
fn shares(recipe: &Value) -> Option<Vec<Share>> {
    let parts = recipe["materials"].as_array()?;
    let kg = |part: &Value| part["kg"].as_f64().unwrap_or(0.0);
    let sum: f64 = parts.iter().map(kg).sum();
    if sum <= 0.0 {
        return None;
    }
    parts
        .iter()
        .filter(|part| kg(part) > 0.0)
        .map(|part| {
            Some(Share {
                material: part["material"].as_str()?.to_owned(),
                pieces: part["pieces"].as_str().map(str::to_owned),
                share: kg(part) / sum,
            })
        })
        .collect()
}
