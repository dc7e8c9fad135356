//! Cautions by the part of the plant that they belong to.

use super::super::cautions::cautions as common;
use super::super::words::bind;
use crate::plant::caution::{self, Place};
use crate::report::document::Caution;
use crate::study::season::SeasonOutcome;

/// The parts of this plant, then what every report says.
pub(super) fn cautions(season: &SeasonOutcome) -> Vec<Caution> {
    let cleaned = !season.stages.is_empty();
    let used = !season.uses.is_empty();
    let parts = [
        (Place::Store, "Store", true),
        (Place::Cleaning, "Cleaning", cleaned),
        (Place::Engine, "Engine and flames", used),
        (Place::Residue, "Residue", true),
        (Place::Leak, "Leaks", true),
    ];
    let mut told = Vec::new();
    let mut list: Vec<Caution> = Vec::new();
    for (place, name, _) in parts.into_iter().filter(|(.., there)| *there) {
        for caution in caution::cautions_at(place) {
            if told.contains(&&caution.name) {
                continue;
            }
            told.push(&caution.name);
            list.push(Caution {
                title: format!("{name}: {}", caution.name.replace('-', " ")),
                text: bind(&caution.text),
                source: bind(&format!(
                    "{} ({}).",
                    caution.source.trim_end_matches('.'),
                    caution.standing.words()
                )),
            });
        }
    }
    // The last of the common ones refers to local rules and licensed people.
    list.extend(common().into_iter().next_back());
    list
}
