//! What can be wrong with a scenario, told in plain sentences, file first.

use std::fmt;

use serde::Serialize;

/// One thing that is wrong, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Problem {
    /// The file as the user named it.
    pub file: String,
    /// Line, counted from 1, where there is one.
    pub line: Option<usize>,
    /// Column in characters, counted from 1.
    pub column: Option<usize>,
    /// Address of the value, such as `vessels[0].liquid_l`; empty for the file as a whole.
    pub path: String,
    /// What stands there.
    pub value: Option<String>,
    /// What may stand there.
    pub allowed: Option<String>,
    /// What is wrong, or why the value cannot be taken: full sentences.
    pub why: String,
    /// What to do: full sentences, or empty where `why` says it already.
    pub mend: String,
    /// The line of the file, shortened round the column.
    pub source: Option<Excerpt>,
}

/// A line of the file with the place to look at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Excerpt {
    /// The line, shortened, control characters replaced.
    pub text: String,
    /// Place of the marker in `text`, in characters, counted from 0.
    pub marker: usize,
}

/// Everything that is wrong with one scenario.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Problems {
    /// At least one; the first [`Problems::LISTED`] in full.
    pub problems: Vec<Problem>,
    /// How many more there are.
    pub more: usize,
    /// Whether the scenario could not be read to its end, so that there may be more that nobody has seen yet.
    pub stopped: bool,
}

/// Something that is allowed but that the user should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Warning {
    /// The file as the user named it.
    pub file: String,
    /// Line, counted from 1, where there is one.
    pub line: Option<usize>,
    /// Address of what it is about; empty for the scenario as a whole.
    pub path: String,
    /// What was seen, with its numbers.
    pub seen: String,
    /// Why it matters, with the source.
    pub why: String,
    /// What to do about it.
    pub mend: String,
}

impl Problems {
    /// How many problems are listed in full.
    pub const LISTED: usize = 200;
    /// How many of them the text shows.
    const SHOWN: usize = 30;

    /// A list of one.
    #[must_use]
    pub fn one(problem: Problem) -> Self {
        Self {
            problems: vec![problem],
            more: 0,
            stopped: false,
        }
    }
}

impl std::error::Error for Problems {}

impl fmt::Display for Problems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let total = self.problems.len() + self.more;
        if let ([only], 0) = (self.problems.as_slice(), self.more) {
            write!(f, "{only}")?;
            return self.write_stopped(f);
        }
        let file = self.problems.first().map_or("", |p| p.file.as_str());
        writeln!(f, "{file}: {total} problems, so nothing was computed.")?;
        for problem in self.problems.iter().take(Self::SHOWN) {
            writeln!(f)?;
            write!(f, "{problem}")?;
        }
        if total > Self::SHOWN {
            writeln!(f)?;
            writeln!(f, "... and {} more.", total - Self::SHOWN)?;
        }
        self.write_stopped(f)
    }
}

impl Problems {
    fn write_stopped(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.stopped {
            writeln!(f, "The rest is checked once this is mended; more may come.")?;
        }
        Ok(())
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        f.write_str(":")?;
        let path = tame(&self.path);
        match (path.is_empty(), &self.value) {
            (false, Some(value)) => write!(f, " {path} is {value}.")?,
            (false, None) => write!(f, " {path}:")?,
            (true, Some(value)) => write!(f, " {value}:")?,
            (true, None) => {}
        }
        if !self.why.is_empty() {
            write!(f, " {}", self.why)?;
        }
        if let Some(allowed) = &self.allowed {
            write!(f, " Allowed: {allowed}.")?;
        }
        if !self.mend.is_empty() {
            write!(f, " {}", self.mend)?;
        }
        writeln!(f)?;
        if let (Some(line), Some(source)) = (self.line, &self.source) {
            let number = line.to_string();
            let gap = " ".repeat(source.marker);
            writeln!(f, "  {number} | {}", source.text)?;
            writeln!(f, "  {} | {gap}^", " ".repeat(number.len()))?;
        }
        Ok(())
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        f.write_str(": ")?;
        if !self.path.is_empty() {
            write!(f, "{}: ", tame(&self.path))?;
        }
        write!(f, "{} {} {}", self.seen, self.why, self.mend)
    }
}

/// Longest piece of a user's own text that a message repeats \[characters\].
const REPEATED: usize = 60;

/// A user's text made fit for a message: control characters replaced, shortened.
///
/// A scenario can come from a stranger; what it holds must not steer the terminal.
pub(crate) fn shown(text: &str) -> String {
    let mut out: String = text.chars().take(REPEATED).map(visible).collect();
    if text.chars().nth(REPEATED).is_some() {
        out.push_str("...");
    }
    out
}

/// A whole text made fit for a message: control characters replaced.
pub(crate) fn tame(text: &str) -> String {
    text.chars().map(visible).collect()
}

/// Replaces what a terminal would obey instead of showing: control and direction-changing characters.
pub(crate) fn visible(c: char) -> char {
    let steers = c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}');
    if c == '\t' {
        ' '
    } else if steers {
        '\u{fffd}'
    } else {
        c
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_of_one_and_of_many() {
        let one = Problem {
            file: "tote.json".into(),
            line: Some(7),
            column: Some(3),
            path: "days".into(),
            value: Some("0".into()),
            allowed: Some("1 to 7300".into()),
            why: "Too short.".into(),
            mend: "Give more.".into(),
            source: Some(Excerpt {
                text: "  \"days\": 0".into(),
                marker: 10,
            }),
        };
        let line = "tote.json, line 7, column 3: days is 0. Too short. Allowed: 1 to 7300. Give more.\n  \
                    7 |   \"days\": 0\n    |           ^\n";
        assert_eq!(Problems::one(one.clone()).to_string(), line);
        let stopped = Problems {
            stopped: true,
            ..Problems::one(one.clone())
        };
        let more = "The rest is checked once this is mended; more may come.\n";
        assert_eq!(stopped.to_string(), format!("{line}{more}"));
        let two = Problems {
            problems: vec![one.clone(), one.clone()],
            more: 3,
            stopped: false,
        };
        let text = two.to_string();
        assert!(
            text.starts_with(
                "tote.json: 5 problems, so nothing was computed.\n\ntote.json, line 7"
            )
        );
    }

    #[test]
    fn a_strangers_text_cannot_steer_the_terminal() {
        assert_eq!(shown("a\u{1b}[2Jb\u{202e}"), "a\u{fffd}[2Jb\u{fffd}");
        assert_eq!(shown(&"x".repeat(61)), format!("{}...", "x".repeat(60)));
    }
}
