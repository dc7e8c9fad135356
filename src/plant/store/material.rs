//! What stores are made of, as tables.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use crate::embedded;
use crate::plant::Figure;

/// A film or sheet that gas seeps through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Film {
    /// Low-density polyethylene.
    Ldpe,
    /// High-density polyethylene.
    Hdpe,
    /// PVC with softener.
    SoftPvc,
    /// PVC without.
    RigidPvc,
    /// Natural rubber.
    NaturalRubber,
    /// Butyl rubber.
    Butyl,
    /// EPDM rubber.
    Epdm,
    /// PET.
    Pet,
}

/// What a bell is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shell {
    /// Mild steel.
    Steel,
    /// Polyethylene.
    Polyethylene,
    /// Rigid PVC.
    Pvc,
    /// Glass fibre and resin.
    Fibreglass,
}

/// Permeability of a film at 25 C \[barrer, 1e-10 cm3(STP) cm/(cm2 s cmHg)\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Permeability {
    /// Methane.
    pub ch4_barrer: f64,
    /// Carbon dioxide.
    pub co2_barrer: f64,
    /// Nitrogen.
    pub n2_barrer: f64,
    /// Oxygen.
    pub o2_barrer: f64,
}

/// A film with its figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FilmRow {
    /// Key.
    pub material: Film,
    /// Name for people.
    pub words: String,
    /// Methane \[barrer\].
    pub ch4: Figure,
    /// Carbon dioxide \[barrer\].
    pub co2: Figure,
    /// Nitrogen \[barrer\].
    pub n2: Figure,
    /// Oxygen \[barrer\].
    pub o2: Figure,
}

impl FilmRow {
    /// The typical values.
    #[must_use]
    pub fn typical(&self) -> Permeability {
        Permeability {
            ch4_barrer: self.ch4.typical(),
            co2_barrer: self.co2.typical(),
            n2_barrer: self.n2.typical(),
            o2_barrer: self.o2.typical(),
        }
    }
}

/// A shell with its density.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShellRow {
    /// Key.
    pub material: Shell,
    /// Name for people.
    pub words: String,
    /// Density \[kg/m3\].
    pub density: Figure,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[serde(rename = "about")]
    _about: String,
    seal_margin_cm: Figure,
    films: Vec<FilmRow>,
    shells: Vec<ShellRow>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    embedded::read(
        "plant/data/stores.json",
        include_str!("../data/stores.json"),
    )
});

/// All films.
#[must_use]
pub fn film_rows() -> &'static [FilmRow] {
    &TABLE.films
}

/// The row of one film.
#[must_use]
pub fn film_row(film: Film) -> &'static FilmRow {
    let found = TABLE.films.iter().find(|row| row.material == film);
    embedded::linked(found, "film", "of this material")
}

/// All shells.
#[must_use]
pub fn shell_rows() -> &'static [ShellRow] {
    &TABLE.shells
}

/// The row of one shell.
#[must_use]
pub fn shell_row(shell: Shell) -> &'static ShellRow {
    let found = TABLE.shells.iter().find(|row| row.material == shell);
    embedded::linked(found, "shell", "of this material")
}

/// How much deeper than the pressure a skirt should stand \[cm\].
#[must_use]
pub fn seal_margin() -> &'static Figure {
    &TABLE.seal_margin_cm
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_film_and_shell_has_one_row() {
        use Film::*;
        let films = [
            Ldpe,
            Hdpe,
            SoftPvc,
            RigidPvc,
            NaturalRubber,
            Butyl,
            Epdm,
            Pet,
        ];
        for film in films {
            assert_eq!(film_rows().iter().filter(|r| r.material == film).count(), 1);
        }
        let shells = [
            Shell::Steel,
            Shell::Polyethylene,
            Shell::Pvc,
            Shell::Fibreglass,
        ];
        for shell in shells {
            assert_eq!(
                shell_rows().iter().filter(|r| r.material == shell).count(),
                1
            );
        }
        assert_eq!(
            (film_rows().len(), shell_rows().len()),
            (films.len(), shells.len())
        );
    }
}
