//! Materials by name: those of the library and those of the scenario, in pieces of any size.

use super::address::Address;
use super::check::Checker;
use super::limits::MOST_NAMES;
use super::near::nearest;
use super::own;
use super::problem::shown;
use super::schema::{Named, RawMaterial, RawPart, RawPieces};
use crate::case::Material;
use crate::feedstock::{Composition, Living, PieceSize, library};

/// How many names of the library a message offers at most.
const OFFERED: usize = 4;

/// A material of the scenario's own.
struct Own<'a> {
    id: &'a str,
    /// `None` after a problem.
    built: Option<own::Built>,
    used: bool,
}

/// What distinguishes one entry of the list from another.
#[derive(PartialEq)]
struct Key {
    id: String,
    pieces: PieceSize,
    living_factor: f64,
}

/// Materials that starter and recipes use, as a growing list.
pub(crate) struct Materials<'a> {
    own: Vec<Own<'a>>,
    keys: Vec<Key>,
    list: Vec<Material>,
}

impl<'a> Materials<'a> {
    /// Checks the scenario's own materials.
    pub(crate) fn new(checker: &mut Checker, raw: Option<&'a Named<RawMaterial>>) -> Self {
        let top = Address::default().key("materials");
        let mut own = Vec::new();
        let named = raw.map_or(&[][..], |named| named.0.as_slice());
        let named = if checker.is_short(&top, named.len(), MOST_NAMES) {
            named
        } else {
            &[]
        };
        for (id, raw) in named {
            let at = top.key(id);
            checker.name(&at, Some(id));
            if library().get(id).is_some() {
                checker.wrong(
                    &at,
                    "The library has a material of that name.",
                    "Choose another name, such as one with \"my-\" before it.",
                );
            }
            own.push(Own {
                id,
                built: own::build(checker, &at, id, raw),
                used: false,
            });
        }
        Self {
            own,
            keys: Vec::new(),
            list: Vec::new(),
        }
    }

    /// Index of a part's material in the list; `None` after a problem.
    pub(crate) fn find(
        &mut self,
        checker: &mut Checker,
        at: &Address,
        part: &RawPart,
        living_factor: f64,
    ) -> Option<usize> {
        let at = at.key("material");
        let Some(id) = part.material.as_deref() else {
            checker.missing(&at, "Name a material of the library or of this scenario.");
            return None;
        };
        let key = Key {
            id: id.to_owned(),
            pieces: size(part.pieces),
            living_factor,
        };
        let (name, composition, from_library) = self.composition(checker, &at, id)?;
        if let Some(index) = self.keys.iter().position(|known| *known == key) {
            return Some(index);
        }
        let name = match key.pieces {
            PieceSize::Chopped => name,
            other => format!("{name} ({})", other.key()),
        };
        let mut composition = key.pieces.applied_to(&composition);
        composition.living = scaled_living(composition.living, living_factor);
        self.keys.push(key);
        self.list.push(Material {
            id: id.to_owned(),
            name,
            from_library,
            composition,
        });
        Some(self.list.len() - 1)
    }

    fn composition(
        &mut self,
        checker: &mut Checker,
        at: &Address,
        id: &str,
    ) -> Option<(String, Composition, bool)> {
        if let Some(entry) = library().get(id) {
            return Some((entry.name.clone(), entry.composition().clone(), true));
        }
        if let Some(own) = self.own.iter_mut().find(|own| own.id == id) {
            own.used = true;
            let built = own.built.as_ref()?;
            return Some((built.name.clone(), built.composition.clone(), false));
        }
        let own = self.own.iter().map(|own| own.id);
        unknown(checker, at, id, own);
        None
    }

    /// Warns of own materials that nothing uses.
    pub(crate) fn warn_unused(&self, checker: &mut Checker) {
        for own in self.own.iter().filter(|own| !own.used) {
            checker.warn(
                &Address::default().key("materials").key(own.id),
                "This material is never used.",
                "Neither starter nor recipes name it.",
                "Use it, or remove it.",
            );
        }
    }

    /// Total solids of some parts \[kg\].
    pub(crate) fn total_solids_kg(&self, parts: &[(usize, f64)]) -> f64 {
        let solids = |(index, kg): &(usize, f64)| {
            let material = self.list.get(*index);
            material.map_or(0.0, |material| material.composition.total_solids * kg)
        };
        parts.iter().map(solids).sum()
    }

    /// The list that the indices point into.
    pub(crate) fn into_list(self) -> Vec<Material> {
        self.list
    }
}

/// Notes a name that neither the library nor the scenario knows.
pub(crate) fn unknown<'a>(
    checker: &mut Checker,
    at: &Address,
    id: &str,
    own: impl Iterator<Item = &'a str>,
) {
    let in_library = library().nearest(id).into_iter().take(OFFERED);
    let near: Vec<String> = nearest(id, own)
        .into_iter()
        .chain(in_library)
        .map(|name| format!("\"{}\"", shown(name)))
        .collect();
    let mean = match near.split_last() {
        None => String::new(),
        Some((only, [])) => format!("Did you mean {only}? "),
        Some((last, others)) => format!("Did you mean {} or {last}? ", others.join(", ")),
    };
    checker.wrong_value(
        at,
        format!("\"{}\"", shown(id)),
        "There is no material of that name.",
        format!("{mean}`marshgas feedstocks` lists those of the library."),
    );
}

fn size(pieces: Option<RawPieces>) -> PieceSize {
    match pieces {
        Some(RawPieces::Pulp) => PieceSize::Pulp,
        Some(RawPieces::Chopped) | None => PieceSize::Chopped,
        Some(RawPieces::Coarse) => PieceSize::Coarse,
        Some(RawPieces::Whole) => PieceSize::Whole,
    }
}

/// All living groups times a factor.
pub(crate) fn scaled_living(living: Living, factor: f64) -> Living {
    Living {
        su: living.su * factor,
        aa: living.aa * factor,
        fa: living.fa * factor,
        c4: living.c4 * factor,
        pro: living.pro * factor,
        ac: living.ac * factor,
        h2: living.h2 * factor,
    }
}
