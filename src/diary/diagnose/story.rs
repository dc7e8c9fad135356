//! What may be wrong, as data: each story a small change of what is known before, each test what it looks at.

use serde::Deserialize;

use crate::diary::fit::unknown::{Unknown, unknowns};
use crate::embedded;
use crate::study::distribution::Distribution;

/// One thing that may be wrong, or nothing.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Story {
    /// Short name.
    pub name: String,
    /// As a heading.
    pub title: String,
    /// In words that complete "it may be that ...".
    pub words: String,
    /// Chance before the record is looked at; all add up to 1.
    pub chance: f64,
    /// Unknowns of a fit that are known differently in this story.
    pub changes: Vec<Known>,
    /// The same told the other way round, where there are two ways to be wrong; each is as likely as the other.
    #[serde(default)]
    pub otherwise: Vec<Known>,
    /// Unknowns that only this story has.
    pub more: Vec<Unknown>,
    /// How many times wider gas readings scatter.
    pub scatter: f64,
    /// What to do if it is true.
    pub act: String,
    /// Why it looks like this.
    pub why: String,
}

/// What is known before of one unknown.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// Name of the unknown.
    pub name: String,
    /// What is known.
    pub prior: Distribution,
}

/// Something cheap to try.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Test {
    /// Short name.
    pub name: String,
    /// As a heading.
    pub title: String,
    /// How it is done.
    pub how: String,
    /// What it looks at.
    pub look: Look,
    /// What it can show, from low to high.
    pub outcomes: Vec<String>,
}

/// What a test looks at.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Look {
    /// The pH.
    Ph(Classes),
    /// Whether the gas burns: the methane share against the flame limit.
    Flame {
        /// Half width in shares.
        sd: f64,
    },
    /// How much colder the liquor is than noted \[K\], as its offset.
    Colder(Classes),
    /// Gas of the last two days of a pause in parts of the gas of the last days before.
    Pause {
        /// Length of the pause \[d\].
        days: u32,
        /// Edges of the classes.
        edges: Vec<f64>,
        /// Error.
        sd: f64,
    },
    /// Chance of the second outcome by story.
    Table(Vec<(String, f64)>),
}

/// Classes of a number that is read with an error.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Classes {
    /// Edges between the classes, rising.
    pub edges: Vec<f64>,
    /// Standard deviation of the reading.
    pub sd: f64,
}

/// All stories and tests.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Book {
    #[serde(rename = "about")]
    _about: String,
    /// What is known before where an unknown is sound.
    sound: Vec<Known>,
    /// The stories.
    pub stories: Vec<Story>,
    /// The tests.
    pub tests: Vec<Test>,
    /// Where the chances of the tests come from.
    pub source: String,
}

impl Book {
    /// The stories and tests of this build.
    #[must_use]
    pub fn standard() -> Self {
        embedded::read("stories.json", include_str!("data/stories.json"))
    }

    /// What is open in each of a story's ways.
    #[must_use]
    pub fn ways(&self, story: &Story) -> Vec<Vec<Unknown>> {
        let mut ways = vec![self.unknowns(story, &story.changes)];
        if !story.otherwise.is_empty() {
            ways.push(self.unknowns(story, &story.otherwise));
        }
        ways
    }

    fn unknowns(&self, story: &Story, changes: &[Known]) -> Vec<Unknown> {
        let mut all = unknowns();
        for known in self.sound.iter().chain(changes) {
            for unknown in all.iter_mut().filter(|u| u.name == known.name) {
                unknown.prior = known.prior;
            }
        }
        all.extend(story.more.iter().cloned());
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_book_is_sound() {
        let book = Book::standard();
        let chances: f64 = book.stories.iter().map(|s| s.chance).sum();
        assert!((chances - 1.0).abs() < 1e-12, "{chances}");
        let names: Vec<String> = unknowns().into_iter().map(|u| u.name).collect();
        for story in &book.stories {
            let known = book.sound.iter().chain(&story.changes);
            for known in known.chain(&story.otherwise) {
                assert!(names.contains(&known.name), "{}", known.name);
            }
            for unknown in book.ways(story).into_iter().flatten() {
                unknown.prior.validate().unwrap();
            }
        }
        for test in &book.tests {
            let classes = match &test.look {
                Look::Ph(c) | Look::Colder(c) => c.edges.len() + 1,
                Look::Pause { edges, .. } => edges.len() + 1,
                Look::Flame { .. } => 2,
                Look::Table(rows) => {
                    for story in &book.stories {
                        assert!(rows.iter().any(|(name, _)| *name == story.name));
                    }
                    2
                }
            };
            assert_eq!(classes, test.outcomes.len(), "{}", test.name);
        }
    }
}
