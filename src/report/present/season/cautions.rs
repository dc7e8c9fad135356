//! Cautions by the part of the plant that they belong to.

use super::super::cautions::cautions as common;
use super::super::words::{bind, count};
use crate::plant::caution::{self, Place};
use crate::report::document::Caution;
use crate::study::season::SeasonOutcome;

/// What ice does. Common practice, no source.
fn frost(season: &SeasonOutcome) -> Option<Caution> {
    let frost = season.frost.as_ref()?;
    Some(Caution {
        title: "Frost: seals, traps and pipes".into(),
        text: bind(&format!(
            "The air falls below freezing on {}. A frozen water seal lets no gas out, so that the pressure rises until \
             something gives; an iced pipe or trap does the same. Look at seal, trap and pipe before each use in a frost, thaw \
             with warm water and never with a flame, and light nothing while gas may have gone astray.",
            count(frost.days, "night", "nights")
        )),
        source: "Common practice, no source.".into(),
    })
}

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
    list.extend(frost(season));
    // The last of the common ones refers to local rules and licensed people.
    list.extend(common().into_iter().next_back());
    list
}
