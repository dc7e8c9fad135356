//! The text of a scenario and the places in it that messages point to.

use std::collections::HashSet;

use super::problem::{Excerpt, Problem, Warning, visible};
use super::scan;

/// Longest line that an excerpt repeats \[characters\].
const WIDTH: usize = 96;
/// How much of a longer line stands before the marker \[characters\].
const BEFORE: usize = 60;

/// A scenario's text, with the name that the user gave it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SourceText<'a> {
    /// File as the user named it.
    pub(crate) file: &'a str,
    /// The text, without a byte order mark.
    pub(crate) text: &'a str,
}

impl<'a> SourceText<'a> {
    /// Points `problem` at a byte offset.
    pub(crate) fn point(&self, problem: &mut Problem, offset: usize) {
        let (line, column, excerpt) = place(self.text, offset);
        problem.file = self.file.to_owned();
        problem.line = Some(line);
        problem.column = Some(column);
        problem.source = Some(excerpt);
    }

    /// The line of a byte offset, counted from 1.
    pub(crate) fn line(&self, offset: usize) -> usize {
        place(self.text, offset).0
    }

    /// Gives every problem that has an address but no line the line of that address, or else of the innermost group
    /// around it that exists. `keys` are the addresses of which the key is meant, not the value.
    pub(crate) fn point_all(
        &self,
        problems: &mut [Problem],
        warnings: &mut [Warning],
        keys: &HashSet<String>,
    ) {
        let pending = |file: &str, line: Option<usize>| line.is_none() && file == self.file;
        let wanted: Vec<String> = problems
            .iter()
            .filter(|p| pending(&p.file, p.line))
            .map(|p| p.path.as_str())
            .chain(
                warnings
                    .iter()
                    .filter(|w| pending(&w.file, w.line) && !w.path.is_empty())
                    .map(|w| w.path.as_str()),
            )
            .flat_map(|path| ancestors(path).map(str::to_owned))
            .collect();
        if wanted.is_empty() {
            return;
        }
        let found = scan::locate(self.text, wanted.iter().map(String::as_str));
        let offset = |path: &str| {
            ancestors(path).find_map(|around| {
                let spot = found.get(around)?;
                // The value itself where it exists; of a missing key, the group that lacks it.
                Some(if around == path && !keys.contains(path) {
                    spot.value
                } else {
                    spot.key.unwrap_or(spot.value)
                })
            })
        };
        for problem in problems.iter_mut() {
            if pending(&problem.file, problem.line)
                && let Some(offset) = offset(&problem.path)
            {
                self.point(problem, offset);
            }
        }
        for warning in warnings.iter_mut() {
            if pending(&warning.file, warning.line)
                && !warning.path.is_empty()
                && let Some(offset) = offset(&warning.path)
            {
                warning.line = Some(self.line(offset));
            }
        }
    }
}

/// A written address and everything around it, from the inside out; ends with the scenario as a whole.
fn ancestors(path: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(Some(path), |inner| {
        (!inner.is_empty()).then(|| &inner[..last_step(inner)])
    })
}

/// Where the last step of a written address begins.
fn last_step(path: &str) -> usize {
    // A quoted key may hold points and brackets: take the whole quoted part as one step.
    if path.ends_with("\"]") {
        let mut at = 0;
        let mut start = 0;
        while let Some(open) = path[at..].find("[\"") {
            start = at + open;
            let body = start + 1;
            let mut keys = serde_json::Deserializer::from_str(&path[body..])
                .into_iter::<serde::de::IgnoredAny>();
            if !matches!(keys.next(), Some(Ok(_))) {
                break;
            }
            at = body + keys.byte_offset();
        }
        return start;
    }
    path.rfind(['.', '[']).unwrap_or(0)
}

/// Line and column (both from 1) of a byte offset, and the line itself.
pub(crate) fn place(text: &str, offset: usize) -> (usize, usize, Excerpt) {
    let offset = floor_char(text, offset.min(text.len()));
    let before = &text[..offset];
    let line = before.bytes().filter(|b| *b == b'\n').count() + 1;
    let start = before.rfind('\n').map_or(0, |i| i + 1);
    let end = text[offset..].find('\n').map_or(text.len(), |i| offset + i);
    let column = text[start..offset].chars().count();
    (
        line,
        column + 1,
        excerpt(text[start..end].trim_end_matches('\r'), column),
    )
}

fn floor_char(text: &str, mut offset: usize) -> usize {
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

fn excerpt(line: &str, column: usize) -> Excerpt {
    let skip = if line.chars().nth(WIDTH).is_some() {
        column.saturating_sub(BEFORE)
    } else {
        0
    };
    let lead = if skip > 0 { "..." } else { "" };
    let mut rest = line.chars().skip(skip);
    let body: String = rest.by_ref().take(WIDTH).map(visible).collect();
    let tail = if rest.next().is_some() { "..." } else { "" };
    Excerpt {
        text: format!("{lead}{body}{tail}"),
        marker: lead.len() + column - skip,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn around_an_address() {
        let all: Vec<&str> = ancestors(r#"recipes["a.b[\"x\"]"].materials[0].kg"#).collect();
        assert_eq!(
            all,
            [
                r#"recipes["a.b[\"x\"]"].materials[0].kg"#,
                r#"recipes["a.b[\"x\"]"].materials[0]"#,
                r#"recipes["a.b[\"x\"]"].materials"#,
                r#"recipes["a.b[\"x\"]"]"#,
                "recipes",
                "",
            ]
        );
    }

    #[test]
    fn lines_and_columns_count_characters() {
        let text = "{\r\n  \"é\": 5,\r\n\"b\": 6}";
        let (line, column, excerpt) = place(text, text.find('5').unwrap());
        assert_eq!((line, column), (2, 8));
        assert_eq!(excerpt.text, "  \"é\": 5,");
        assert_eq!(excerpt.marker, 7);
    }

    #[test]
    fn a_long_line_is_shortened_round_the_marker() {
        let text = format!("{}!{}", "a".repeat(500), "b".repeat(500));
        let (_, column, excerpt) = place(&text, 500);
        assert_eq!(column, 501);
        assert_eq!(excerpt.text.chars().nth(excerpt.marker), Some('!'));
        assert!(excerpt.text.chars().count() <= WIDTH + 6);
    }
}
