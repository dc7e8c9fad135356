//! Another kind of file, read through the same sieves as a scenario.

use std::path::Path;

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::check::Checker;
use super::kinds::{self, Kinds};
use super::problem::{Problem, Problems, Warning, tame};
use super::source::SourceText;
use super::{pointed, read};

/// Keys at the top that only a scenario has, and only a wish.
pub(crate) const SCENARIO: &[&str] = &["vessels", "starter", "feeding", "recipes", "days"];
pub(crate) const WISH: &[&str] = &["scraps", "target", "builder"];

/// Names the keys by which a file is of one kind, where it has none of the other.
pub(crate) fn looks_like(json: &Value, kind: &[&str], other: &[&str]) -> Option<String> {
    let has = |keys: &[&str]| -> Vec<String> {
        let there = keys.iter().filter(|key| json.get(**key).is_some());
        there.map(|key| format!("\"{key}\"")).collect()
    };
    let found = has(kind);
    (!found.is_empty() && has(other).is_empty()).then(|| found.join(", "))
}

/// A file that has been read but not yet checked.
pub(crate) struct Sheet<T> {
    /// The file as the user named it.
    pub(crate) label: String,
    text: String,
    kinds: Kinds<T>,
    problems: Vec<Problem>,
}

impl<T: DeserializeOwned> Sheet<T> {
    /// Reads a file.
    ///
    /// # Errors
    /// What keeps it from being read as JSON.
    pub(crate) fn open(path: &Path) -> Result<Self, Problems> {
        let label = tame(&path.display().to_string());
        let bytes = read::bytes(path, &label).map_err(|p| Problems::one(*p))?;
        let text = read::text(&bytes, &label).map_err(|p| Problems::one(*p))?;
        Self::of(text, &label)
    }

    /// Reads a text; `label` stands for the file in messages.
    ///
    /// # Errors
    /// What keeps it from being read as JSON.
    pub(crate) fn of(text: &str, label: &str) -> Result<Self, Problems> {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (json, problems) =
            read::json(SourceText { file: label, text }).map_err(|p| Problems {
                stopped: true,
                ..Problems::one(*p)
            })?;
        if !json.is_object() {
            return Err(Problems::one(Problem {
                file: label.to_owned(),
                why: "This file is one group in { }.".to_owned(),
                mend: "Begin it with { and end it with }.".to_owned(),
                ..Problem::default()
            }));
        }
        if let Some(why) = looks_like(&json, SCENARIO, WISH) {
            return Err(Problems {
                stopped: true,
                ..Problems::one(Problem {
                    file: label.to_owned(),
                    why: format!("This is a scenario, not a wish: it has {why}."),
                    mend: "`marshgas run` and the other commands take it; `marshgas size --example` writes a wish to begin from."
                        .to_owned(),
                    ..Problem::default()
                })
            });
        }
        let kinds = kinds::read(&json, label);
        Ok(Self {
            label: label.to_owned(),
            text: text.to_owned(),
            kinds,
            problems,
        })
    }

    /// The raw file; `None` where its kinds are too wrong to read on.
    pub(crate) fn raw(&self) -> Option<&T> {
        self.kinds.raw.as_ref()
    }

    /// Ends the check: its warnings with their lines, or everything that is wrong.
    ///
    /// # Errors
    /// All problems, in the order of the file.
    pub(crate) fn close(self, checker: Checker) -> Result<Vec<Warning>, Problems> {
        let source = SourceText {
            file: &self.label,
            text: &self.text,
        };
        let (found, more, mut warnings) = checker.finish();
        let mut problems = self.problems;
        problems.extend(self.kinds.problems.iter().cloned());
        problems.extend(found.into_iter().filter(|p| !self.kinds.explain(p)));
        if problems.is_empty() && self.kinds.raw.is_some() {
            source.point_all(&mut [], &mut warnings, &self.kinds.unknown);
            return Ok(warnings);
        }
        Err(Problems {
            stopped: self.kinds.raw.is_none(),
            ..pointed(source, problems, more, &self.kinds.unknown)
        })
    }
}
