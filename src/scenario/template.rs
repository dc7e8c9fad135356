//! Starter scenarios: own inventions to begin from, each commented through its "about" texts.

/// A scenario to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template {
    /// Short name, such as `tote`.
    pub name: &'static str,
    /// What it is, in one line.
    pub about: &'static str,
    /// The scenario's text.
    pub text: &'static str,
}

const TEMPLATES: &[Template] = &[
    Template {
        name: "tote",
        about: "a 1000 L tote kept at 30 C, started on cattle slurry, fed scraps and dung by the bucket",
        text: include_str!("templates/tote.json"),
    },
    Template {
        name: "drum",
        about: "a 200 L drum outdoors through a temperate year, with a rest in winter",
        text: include_str!("templates/drum.json"),
    },
    Template {
        name: "bottle",
        about: "a 2 L bottle in a water bath, filled once: how much gas a food gives, for a class",
        text: include_str!("templates/bottle.json"),
    },
    Template {
        name: "row-of-totes",
        about: "three totes in a row, warm, fed every morning and evening, with a party and a rescue",
        text: include_str!("templates/row-of-totes.json"),
    },
];

/// All starter scenarios.
#[must_use]
pub fn templates() -> &'static [Template] {
    TEMPLATES
}
