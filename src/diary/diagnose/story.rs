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
    /// The same where the record is cold; as else where it is missing.
    #[serde(default)]
    pub title_in_the_cold: Option<String>,
    /// In words that complete "it may be that ...".
    pub words: String,
    /// The same where no gas was read at all; as else where it is missing.
    #[serde(default)]
    pub words_without_gas: Option<String>,
    /// What a record of it looks like, in words that follow a colon.
    pub looks: String,
    /// Chance before the record is looked at; all add up to 1.
    pub chance: f64,
    /// Unknowns of a fit that are known differently in this story.
    pub changes: Vec<Known>,
    /// The same told the other way round, where there are two ways to be wrong; each is as likely as the other.
    #[serde(default)]
    pub otherwise: Vec<Known>,
    /// Unknowns that only this story has.
    pub more: Vec<Unknown>,
    /// Chance that it began on a day within the record and not before it, if it is true.
    #[serde(default)]
    pub later: f64,
    /// How many times wider gas readings scatter.
    pub scatter: f64,
    /// What to do if it is true.
    pub act: String,
    /// The same where the record is cold; as else where it is missing.
    #[serde(default)]
    pub act_in_the_cold: Option<String>,
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
    /// What it costs its owner beyond the walk to the tank, waiting and gas that does not come counted in \[min\].
    pub effort_min: f64,
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
    /// What else is open in every story.
    #[serde(skip)]
    more: Vec<Unknown>,
}

impl Book {
    /// The stories and tests of this build.
    #[must_use]
    pub fn standard() -> Self {
        embedded::read("stories.json", include_str!("data/stories.json"))
    }

    /// The same with more unknowns open in every story, faulty or not.
    #[must_use]
    pub fn with_open(self, more: Vec<Unknown>) -> Self {
        Self { more, ..self }
    }

    /// What is open where nothing is wrong.
    #[must_use]
    pub fn sound(&self) -> Vec<Unknown> {
        self.with(&[])
    }

    /// What is open in each of a story's ways.
    #[must_use]
    pub fn ways(&self, story: &Story) -> Vec<Vec<Unknown>> {
        let ways = changes(story).map(|changes| self.unknowns(story, changes));
        ways.collect()
    }

    /// The same where the story began on a day, before which all was sound; none for a story that does not begin.
    #[must_use]
    pub fn ways_since(&self, story: &Story, day: f64) -> Vec<Vec<Unknown>> {
        if story.later <= 0.0 {
            return Vec::new();
        }
        let since = |unknown: Unknown| Unknown {
            since: Some(day),
            ..unknown
        };
        let ways = changes(story).map(|changes| {
            let mut all = self.with(&[]);
            let changed = self.with(changes).into_iter();
            let changed = changed.filter(|u| changes.iter().any(|c| c.name == u.name));
            all.extend(changed.chain(story.more.iter().cloned()).map(since));
            all
        });
        ways.collect()
    }

    fn unknowns(&self, story: &Story, changes: &[Known]) -> Vec<Unknown> {
        let mut all = self.with(changes);
        all.extend(story.more.iter().cloned());
        all
    }

    fn with(&self, changes: &[Known]) -> Vec<Unknown> {
        let mut all = unknowns();
        all.extend(self.more.iter().cloned());
        for known in self.sound.iter().chain(changes) {
            for unknown in all.iter_mut().filter(|u| u.name == known.name) {
                unknown.prior = known.prior;
            }
        }
        all
    }
}

/// What changes in each way of a story.
fn changes(story: &Story) -> impl Iterator<Item = &[Known]> {
    let other = Some(story.otherwise.as_slice()).filter(|o| !o.is_empty());
    std::iter::once(story.changes.as_slice()).chain(other)
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
            assert!((0.0..1.0).contains(&story.later), "{}", story.name);
            for unknown in book.ways(story).into_iter().flatten() {
                unknown.prior.validate().unwrap();
            }
            // What begins on the way is what is changed from the start in the other telling.
            let (ways, since) = (book.ways(story), book.ways_since(story, 9.0));
            assert_eq!(since.is_empty(), story.later == 0.0, "{}", story.name);
            for (way, since) in ways.iter().zip(&since) {
                let begun = since.iter().filter(|u| u.since == Some(9.0));
                let changed = begun.inspect(|u| {
                    let same = |o: &&Unknown| o.name == u.name && o.prior == u.prior;
                    assert_eq!(way.iter().filter(same).count(), 1, "{}", u.name);
                });
                assert!(changed.count() > 0, "{}", story.name);
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
            assert!(test.effort_min > 0.0, "{}", test.name);
        }
    }
}
