//! The nearest known name to one that nobody knows.

use super::problem::shown;

/// Jaro-Winkler likeness from which a name counts as near (0 nothing alike, 1 equal); found by trying typical slips.
const LIKE: f64 = 0.8;

/// The known name that is most like `name`, if any is like it.
pub(crate) fn nearest<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = name.to_lowercase();
    known
        .into_iter()
        .map(|candidate| {
            (
                strsim::jaro_winkler(&lower, &candidate.to_lowercase()),
                candidate,
            )
        })
        .filter(|(likeness, _)| *likeness >= LIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, candidate)| candidate)
}

/// Words of keys that tell nothing of their meaning, units of many keys among them.
const COMMON: [&str; 16] = [
    "per", "day", "of", "from", "to", "the", "is", "cm", "mm", "m2", "kg", "kw", "pct", "over",
    "first", "like",
];

/// The known key that shares most words with `name`, where it shares one that tells something.
pub(crate) fn sharing<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let words = |key: &str| -> Vec<String> {
        let parts = key.split(['_', '-', ' ']).map(str::to_lowercase);
        parts
            .filter(|word| word.len() > 1 && !COMMON.contains(&word.as_str()))
            .collect()
    };
    let given = words(name);
    let mut best: Option<(usize, &str)> = None;
    for key in known {
        let shared = words(key)
            .iter()
            .filter(|word| given.contains(word))
            .count();
        if shared > best.map_or(0, |(most, _)| most) {
            best = Some((shared, key));
        }
    }
    best.map(|(_, key)| key)
}

/// "Did you mean ...?", or nothing.
pub(crate) fn did_you_mean<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(name, known).map_or_else(String::new, |near| {
        format!("Did you mean \"{}\"?", shown(near))
    })
}

/// Names for a sentence, at most `most` of them, fit for a terminal.
pub(crate) fn listed<'a>(names: impl IntoIterator<Item = &'a str>, most: usize) -> String {
    let mut names = names.into_iter();
    let shortened: Vec<String> = names.by_ref().take(most).map(shown).collect();
    let mut text = shortened.join(", ");
    let rest = names.count();
    if rest > 0 {
        text.push_str(&format!(" and {rest} more"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen() {
        let known = ["liquid_l", "headspace_l", "temperature", "stirring"];
        for (slip, meant) in [
            ("liquid", "liquid_l"),
            ("Liquid_L", "liquid_l"),
            ("headspace_litres", "headspace_l"),
            ("temprature_c", "temperature"),
            ("stiring", "stirring"),
        ] {
            assert_eq!(nearest(slip, known), Some(meant), "{slip}");
        }
        assert_eq!(nearest("colour", known), None);
    }

    #[test]
    fn a_word_in_common_is_a_hint() {
        let target = [
            "burner_hours_per_day",
            "winter_kwh",
            "winter_as",
            "treat_kg_per_day",
            "months",
        ];
        assert_eq!(sharing("heat_kwh_per_day", target), Some("winter_kwh"));
        assert_eq!(sharing("burner_time", target), Some("burner_hours_per_day"));
        assert_eq!(sharing("fuel_kg_per_day", target), None);
        assert_eq!(sharing("colour_per_day", target), None);
    }

    #[test]
    fn long_lists_are_cut() {
        assert_eq!(listed(["a", "b"], 3), "a, b");
        assert_eq!(listed(["a", "b", "c", "d"], 2), "a, b and 2 more");
    }
}
