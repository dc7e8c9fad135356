//! Collects problems and warnings; checks single numbers and names.

use crate::scenario::address::Address;
use crate::scenario::limits::Limit;
use crate::scenario::near::listed;
use crate::scenario::problem::{Problem, Problems, Warning, shown, visible};
use crate::units::repeated;

/// Longest name \[characters\].
const LONGEST_NAME: usize = 120;

/// Collects what is wrong and what is doubtful.
pub(crate) struct Checker {
    file: String,
    problems: Vec<Problem>,
    more: usize,
    warnings: Vec<Warning>,
}

impl Checker {
    pub(crate) fn new(file: &str) -> Self {
        Self {
            file: file.to_owned(),
            problems: Vec::new(),
            more: 0,
            warnings: Vec::new(),
        }
    }

    /// Whether nothing is wrong so far.
    pub(crate) fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }

    /// Everything found.
    pub(crate) fn finish(self) -> (Vec<Problem>, usize, Vec<Warning>) {
        (self.problems, self.more, self.warnings)
    }

    /// Notes a problem that is already worded; counts it only, once there are very many.
    pub(crate) fn push(&mut self, problem: Problem) {
        if self.problems.len() < Problems::LISTED {
            self.problems.push(problem);
        } else {
            self.more += 1;
        }
    }

    /// Notes a problem that has no value of its own.
    pub(crate) fn wrong(&mut self, at: &Address, why: impl Into<String>, mend: impl Into<String>) {
        self.push(Problem {
            file: self.file.clone(),
            path: at.to_string(),
            why: why.into(),
            mend: mend.into(),
            ..Problem::default()
        });
    }

    /// Notes a problem with the value that stands at `at`.
    pub(crate) fn wrong_value(
        &mut self,
        at: &Address,
        value: impl ToString,
        why: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.push(Problem {
            file: self.file.clone(),
            path: at.to_string(),
            value: Some(value.to_string()),
            why: why.into(),
            mend: mend.into(),
            ..Problem::default()
        });
    }

    /// Notes a name that stands for nothing, with those that do.
    pub(crate) fn unknown<'a>(
        &mut self,
        at: &Address,
        name: &str,
        what: &str,
        near: Option<&str>,
        known: impl IntoIterator<Item = &'a str>,
    ) {
        let mut known = known.into_iter().peekable();
        let allowed = known.peek().is_some().then(|| listed(known, 12));
        self.push(Problem {
            file: self.file.clone(),
            path: at.to_string(),
            value: Some(format!("\"{}\"", shown(name))),
            allowed,
            why: format!("There is no {what} of that name."),
            mend: near.map_or_else(String::new, |near| {
                format!("Did you mean \"{}\"?", shown(near))
            }),
            ..Problem::default()
        });
    }

    /// Whether a list is short enough to be looked at; notes it if not.
    pub(crate) fn is_short(&mut self, at: &Address, len: usize, most: usize) -> bool {
        if len > most {
            self.wrong_value(
                at,
                format!("a list of {len}"),
                format!("More than {most} entries cannot be computed."),
                "Join some of them, or check that this is the right file.",
            );
        }
        len <= most
    }

    /// Notes that a key is missing.
    pub(crate) fn missing(&mut self, at: &Address, mend: impl Into<String>) {
        self.wrong(at, "This key is missing.", mend);
    }

    /// Notes something doubtful.
    pub(crate) fn warn(
        &mut self,
        at: &Address,
        seen: impl Into<String>,
        why: impl Into<String>,
        mend: impl Into<String>,
    ) {
        if self.warnings.len() < Problems::LISTED {
            self.warnings.push(Warning {
                file: self.file.clone(),
                line: None,
                path: at.to_string(),
                seen: seen.into(),
                why: why.into(),
                mend: mend.into(),
            });
        }
    }

    /// Notes a value outside its range.
    pub(crate) fn outside(
        &mut self,
        at: &Address,
        value: impl ToString,
        allowed: impl Into<String>,
        why: impl Into<String>,
        mend: impl Into<String>,
    ) {
        self.push(Problem {
            file: self.file.clone(),
            path: at.to_string(),
            value: Some(value.to_string()),
            allowed: Some(allowed.into()),
            why: why.into(),
            mend: mend.into(),
            ..Problem::default()
        });
    }

    /// A number within its limit; NaN after a problem, so that no later comparison complains of it again.
    pub(crate) fn number(&mut self, at: &Address, value: f64, limit: &Limit) -> f64 {
        if limit.admits(value) {
            return value;
        }
        let hint = limit.hint(value);
        self.outside(at, repeated(value), limit.allowed(), limit.why, hint);
        f64::NAN
    }

    /// A number that has a default.
    pub(crate) fn optional(
        &mut self,
        at: &Address,
        value: Option<f64>,
        default: f64,
        limit: &Limit,
    ) -> f64 {
        value.map_or(default, |value| self.number(at, value, limit))
    }

    /// A number that must be there; NaN after a problem.
    pub(crate) fn required(&mut self, at: &Address, value: Option<f64>, limit: &Limit) -> f64 {
        match value {
            Some(value) => self.number(at, value, limit),
            None => {
                self.missing(at, format!("Give a number: {}.", limit.allowed()));
                f64::NAN
            }
        }
    }

    /// A short text for people that must be there.
    pub(crate) fn name(&mut self, at: &Address, text: Option<&str>) -> String {
        let Some(text) = text else {
            self.missing(at, "Give a short text in double quotes.");
            return String::new();
        };
        if text.trim().is_empty() {
            self.wrong(at, "This text is empty.", "Give a short text.");
        } else if text.chars().any(|c| visible(c) != c) {
            self.wrong(
                at,
                "This text holds a line break or another control character.",
                "Keep it to one line.",
            );
        } else if text.chars().nth(LONGEST_NAME).is_some() {
            self.wrong(
                at,
                format!("This text is longer than {LONGEST_NAME} characters."),
                "Shorten it; more belongs into \"about\".",
            );
        }
        text.trim().to_owned()
    }

    /// A long text for people that may be missing.
    pub(crate) fn prose(&mut self, at: &Address, text: Option<&str>) -> String {
        let text = text.unwrap_or_default();
        if text
            .chars()
            .any(|c| c != '\n' && c != '\r' && c != '\t' && visible(c) != c)
        {
            self.wrong(
                at,
                "This text holds a control character.",
                "Keep it to letters and line breaks.",
            );
        }
        text.to_owned()
    }
}
