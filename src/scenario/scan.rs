//! A JSON scanner that knows where everything stands and names the slips people make.
//!
//! It accepts exactly what JSON allows, with three refusals on top: a key given twice, a number too large for a
//! 64-bit float, and nesting beyond any sensible depth. It never recurses, so no input can exhaust the stack.

use std::collections::HashMap;

use super::address::{write_index, write_key};
use super::slips::{self, Slip};

/// Deepest nesting; the deepest scenario needs eight.
const DEEPEST: usize = 64;
/// How many double keys are listed.
const MOST_DOUBLES: usize = 200;

/// Byte offsets of a value and of its key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spot {
    /// Offset of the key's opening quote, for a value in an object.
    pub(crate) key: Option<usize>,
    /// Offset of the value's first character.
    pub(crate) value: usize,
}

/// A key that an object holds twice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Double {
    /// Address of the value.
    pub(crate) path: String,
    /// Offset of the first key.
    pub(crate) first: usize,
    /// Offset of the second key.
    pub(crate) second: usize,
}

struct Frame {
    /// Offset of the opening bracket.
    open: usize,
    /// Keys met so far with their offsets; `None` in a list.
    keys: Option<HashMap<String, usize>>,
    /// Elements met so far in a list.
    count: usize,
    /// Length of the written address of the container itself.
    base: usize,
}

enum Expect {
    Value { first: bool },
    Key { first: bool },
    Comma,
}

struct Scanner<'a> {
    text: &'a str,
    at: usize,
    path: String,
    stack: Vec<Frame>,
    key: Option<usize>,
    doubles: Vec<Double>,
    /// The last value, where it was a number: its span.
    number: Option<(usize, usize)>,
}

/// Goes through `text`, telling `visit` the written address and the place of every value.
///
/// # Errors
/// The first [`Slip`] that makes the text no JSON.
pub(crate) fn scan(text: &str, visit: &mut dyn FnMut(&str, Spot)) -> Result<Vec<Double>, Slip> {
    let mut scanner = Scanner {
        text,
        at: 0,
        path: String::new(),
        stack: Vec::new(),
        key: None,
        doubles: Vec::new(),
        number: None,
    };
    scanner.run(visit)?;
    Ok(scanner.doubles)
}

/// Finds the places of the given written addresses; those that do not occur are absent.
pub(crate) fn locate<'a>(
    text: &str,
    wanted: impl Iterator<Item = &'a str>,
) -> HashMap<&'a str, Spot> {
    let mut found: HashMap<&str, Option<Spot>> = wanted.map(|path| (path, None)).collect();
    // A slip further down leaves the places above it valid.
    let _ = scan(text, &mut |path, spot| {
        if let Some(place) = found.get_mut(path) {
            place.get_or_insert(spot);
        }
    });
    found
        .into_iter()
        .filter_map(|(path, spot)| Some((path, spot?)))
        .collect()
}

impl<'a> Scanner<'a> {
    fn run(&mut self, visit: &mut dyn FnMut(&str, Spot)) -> Result<(), Slip> {
        let mut expect = Expect::Value { first: false };
        loop {
            self.skip_blanks()?;
            expect = match expect {
                Expect::Value { first } => self.value(first, visit)?,
                Expect::Key { first } => self.object_key(first)?,
                Expect::Comma => match self.after_value()? {
                    Some(next) => next,
                    None => return Ok(()),
                },
            };
        }
    }

    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn skip_blanks(&mut self) -> Result<(), Slip> {
        let blanks = self
            .rest()
            .bytes()
            .take_while(|b| matches!(b, b' ' | b'\t' | b'\n' | b'\r'))
            .count();
        self.at += blanks;
        match self.peek() {
            Some(c @ ('/' | '#')) => Err(slips::comment(self.at, c)),
            _ => Ok(()),
        }
    }

    fn value(&mut self, first: bool, visit: &mut dyn FnMut(&str, Spot)) -> Result<Expect, Slip> {
        let Some(c) = self.peek() else {
            return Err(self.ends_early());
        };
        if c == ']' && self.in_list() {
            return if first {
                self.close(c)
            } else {
                Err(slips::trailing_comma(self.at, c))
            };
        }
        if let Some(Frame {
            keys: None,
            count,
            base,
            ..
        }) = self.stack.last_mut()
        {
            self.path.truncate(*base);
            write_index(&mut self.path, *count);
            *count += 1;
            self.key = None;
        }
        let spot = Spot {
            key: self.key.take(),
            value: self.at,
        };
        self.number = None;
        match c {
            '{' | '[' => {
                visit(&self.path, spot);
                return self.open(c);
            }
            '"' => {
                self.string()?;
            }
            '-' | '+' | '.' | '0'..='9' => {
                let token = slips::token(self.rest());
                slips::check_number(self.at, token)?;
                self.number = Some((self.at, self.at + token.len()));
                self.at += token.len();
            }
            _ => {
                let token = slips::token(self.rest());
                if !matches!(token, "true" | "false" | "null") {
                    return Err(slips::no_value(self.at, token, c));
                }
                self.at += token.len();
            }
        }
        visit(&self.path, spot);
        Ok(Expect::Comma)
    }

    fn in_list(&self) -> bool {
        matches!(self.stack.last(), Some(Frame { keys: None, .. }))
    }

    fn open(&mut self, bracket: char) -> Result<Expect, Slip> {
        if self.stack.len() >= DEEPEST {
            return Err(slips::too_deep(self.at, DEEPEST));
        }
        let object = bracket == '{';
        self.stack.push(Frame {
            open: self.at,
            keys: object.then(HashMap::new),
            count: 0,
            base: self.path.len(),
        });
        self.at += 1;
        Ok(if object {
            Expect::Key { first: true }
        } else {
            Expect::Value { first: true }
        })
    }

    fn close(&mut self, bracket: char) -> Result<Expect, Slip> {
        let Some(frame) = self.stack.pop() else {
            return Err(slips::stray(self.at, bracket));
        };
        if frame.keys.is_some() != (bracket == '}') {
            return Err(slips::wrong_bracket(self.at, bracket));
        }
        self.path.truncate(frame.base);
        self.number = None;
        self.at += 1;
        Ok(Expect::Comma)
    }

    fn object_key(&mut self, first: bool) -> Result<Expect, Slip> {
        let start = self.at;
        match self.peek() {
            None => return Err(self.ends_early()),
            Some('}') if first => return self.close('}'),
            Some('}') => return Err(slips::trailing_comma(start, '}')),
            Some('"') => {}
            Some(c) => {
                let token = slips::token(self.rest());
                if let (false, Some((from, to)), '0'..='9') = (first, self.number, c) {
                    let number = &self.text[from..to];
                    return Err(slips::decimal_comma(from, number, token));
                }
                return Err(slips::no_key(start, token, c));
            }
        }
        let key = self.string()?;
        let mut double = None;
        if let Some(Frame {
            keys: Some(keys),
            base,
            ..
        }) = self.stack.last_mut()
        {
            self.path.truncate(*base);
            write_key(&mut self.path, &key);
            double = keys.insert(key, start);
        }
        if let Some(earlier) = double
            && self.doubles.len() < MOST_DOUBLES
        {
            self.doubles.push(Double {
                path: self.path.clone(),
                first: earlier,
                second: start,
            });
        }
        self.skip_blanks()?;
        match self.peek() {
            Some(':') => self.at += 1,
            None => return Err(self.ends_early()),
            Some(c) => return Err(slips::no_colon(self.at, c)),
        }
        self.key = Some(start);
        Ok(Expect::Value { first: false })
    }

    fn after_value(&mut self) -> Result<Option<Expect>, Slip> {
        let next = self.peek();
        if self.stack.is_empty() {
            return match next {
                None => Ok(None),
                Some(c) => Err(slips::stray(self.at, c)),
            };
        }
        match next {
            None => Err(self.ends_early()),
            Some(',') => {
                self.at += 1;
                Ok(Some(if self.in_list() {
                    Expect::Value { first: false }
                } else {
                    Expect::Key { first: false }
                }))
            }
            Some(c @ (']' | '}')) => self.close(c).map(Some),
            Some(c) => Err(slips::no_comma(self.at, c)),
        }
    }

    /// Reads a string from its opening quote on, and decodes it.
    fn string(&mut self) -> Result<String, Slip> {
        let start = self.at;
        let mut escaped = false;
        let mut end = None;
        for (i, c) in self.rest().char_indices().skip(1) {
            let place = start + i;
            if escaped {
                if !matches!(c, '"' | '\\' | '/' | 'b' | 'f' | 'n' | 'r' | 't' | 'u') {
                    return Err(slips::backslash(place, c));
                }
                escaped = false;
            } else if c == '\\' {
                escaped = true;
            } else if c == '"' {
                end = Some(place + 1);
                break;
            } else if c < ' ' {
                return Err(slips::control_in_text(start, place, c));
            }
        }
        let Some(end) = end else {
            return Err(slips::text_not_closed(start));
        };
        self.at = end;
        serde_json::from_str(&self.text[start..end]).map_err(|_| slips::bad_escape(start))
    }

    fn ends_early(&self) -> Slip {
        match self.stack.last() {
            None => slips::empty(),
            Some(frame) => slips::not_closed(self.text, frame.open),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(text: &str) -> Vec<(String, Option<usize>, usize)> {
        let mut all = Vec::new();
        let doubles = scan(text, &mut |path, spot| {
            all.push((path.to_owned(), spot.key, spot.value));
        });
        assert_eq!(doubles, Ok(vec![]), "{text}");
        all
    }

    #[test]
    fn every_value_has_its_place() {
        let text = r#"{"a": [1, {"b c": "x"}, []], "d": {}}"#;
        let expected = [
            ("", None, 0),
            ("a", Some(1), 6),
            ("a[0]", None, 7),
            ("a[1]", None, 10),
            (r#"a[1]["b c"]"#, Some(11), 18),
            ("a[2]", None, 24),
            ("d", Some(29), 34),
        ];
        assert_eq!(
            places(text),
            expected.map(|(path, key, value)| (path.to_owned(), key, value))
        );
    }

    #[test]
    fn a_key_given_twice_even_in_another_spelling() {
        let text = r#"{"x": {"a": 1, "\u0061": 2}}"#;
        let doubles = scan(text, &mut |_, _| {});
        assert_eq!(
            doubles,
            Ok(vec![Double {
                path: "x.a".into(),
                first: 7,
                second: 15
            }])
        );
    }

    #[test]
    fn places_of_chosen_addresses() {
        let text = r#"{"a": [5, 6]}"#;
        let found = locate(text, ["a[1]", "a[7]"].into_iter());
        assert_eq!(found.get("a[1]").map(|s| s.value), Some(10));
        assert_eq!(found.get("a[7]"), None);
    }

    #[test]
    fn nesting_without_end() {
        for bomb in ["[".repeat(1_000_000), "{\"a\":".repeat(1_000_000)] {
            let slip = scan(&bomb, &mut |_, _| {});
            assert!(slip.is_err_and(|s| s.why.contains("64 deep")));
        }
    }
}
