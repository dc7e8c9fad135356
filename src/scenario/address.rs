//! Addresses of values in a scenario, as people write them: `vessels[0].liquid_l`.

use std::fmt::{self, Write as _};
use std::str::FromStr;

/// One step of an [`Address`].
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Step {
    /// Into an object.
    Key(String),
    /// Into a list, counted from 0.
    Index(usize),
}

/// Where a value stands in a scenario; empty for the scenario as a whole.
///
/// Written as keys joined by points and list places in brackets. A key with anything but letters, digits, `_`, `-`
/// in it stands in brackets and quotes: `recipes["mother's soup"].water_l`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Address(Vec<Step>);

/// Why a text is no [`Address`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{text}` is not an address of a value: {why}; write it like vessels[0].liquid_l or recipes.scraps.water_l"
)]
pub struct AddressError {
    /// What was given.
    pub text: String,
    /// What is wrong with it.
    pub why: &'static str,
}

impl Address {
    /// The address of `key` within the object that stands here.
    #[must_use]
    pub fn key(&self, key: &str) -> Self {
        self.with(Step::Key(key.to_owned()))
    }

    /// The address of element `i` of the list that stands here.
    #[must_use]
    pub fn index(&self, i: usize) -> Self {
        self.with(Step::Index(i))
    }

    /// The steps from the top.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.0
    }

    /// Whether this is the scenario as a whole.
    #[must_use]
    pub fn is_top(&self) -> bool {
        self.0.is_empty()
    }

    pub(crate) fn with(&self, step: Step) -> Self {
        let mut steps = self.0.clone();
        steps.push(step);
        Self(steps)
    }

    /// Everything but the last step, and that step.
    pub(crate) fn split_last(&self) -> Option<(Self, &Step)> {
        let (last, rest) = self.0.split_last()?;
        Some((Self(rest.to_vec()), last))
    }
}

/// Appends one step to a written address; returns nothing, so that a scanner can reuse one buffer.
pub(crate) fn write_key(buffer: &mut String, key: &str) {
    if is_plain(key) {
        if !buffer.is_empty() {
            buffer.push('.');
        }
        buffer.push_str(key);
    } else {
        let quoted = serde_json::Value::String(key.to_owned());
        // Writing to a String cannot fail.
        let _ = write!(buffer, "[{quoted}]");
    }
}

/// Appends a list place to a written address.
pub(crate) fn write_index(buffer: &mut String, i: usize) {
    let _ = write!(buffer, "[{i}]");
}

fn is_plain(key: &str) -> bool {
    !key.is_empty()
        && key
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | '$'))
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::new();
        for step in &self.0 {
            match step {
                Step::Key(key) => write_key(&mut text, key),
                Step::Index(i) => write_index(&mut text, *i),
            }
        }
        f.write_str(&text)
    }
}

impl FromStr for Address {
    type Err = AddressError;

    fn from_str(text: &str) -> Result<Self, AddressError> {
        let fail = |why| AddressError {
            text: text.to_owned(),
            why,
        };
        let mut address = Self::default();
        let mut rest = text.trim();
        while !rest.is_empty() {
            if let Some(inner) = rest.strip_prefix('[') {
                if inner.starts_with('"') {
                    let mut keys = serde_json::Deserializer::from_str(inner).into_iter::<String>();
                    let key = match keys.next() {
                        Some(Ok(key)) => key,
                        _ => return Err(fail("the quoted key does not end")),
                    };
                    let after = &inner[keys.byte_offset()..];
                    rest = after
                        .strip_prefix(']')
                        .ok_or_else(|| fail("a bracket is not closed"))?;
                    address = address.key(&key);
                } else {
                    let (place, after) = inner
                        .split_once(']')
                        .ok_or_else(|| fail("a bracket is not closed"))?;
                    let i = place
                        .trim()
                        .parse()
                        .map_err(|_| fail("the place in a list is a whole number from 0"))?;
                    rest = after;
                    address = address.index(i);
                }
            } else {
                if !address.is_top() {
                    rest = rest
                        .strip_prefix('.')
                        .ok_or_else(|| fail("a point is missing between two keys"))?;
                }
                let end = rest.find(['.', '[']).unwrap_or(rest.len());
                let key = &rest[..end];
                if !is_plain(key) {
                    return Err(fail(
                        "a key is empty or holds a character that needs brackets and quotes",
                    ));
                }
                address = address.key(key);
                rest = &rest[end..];
            }
        }
        if address.is_top() {
            return Err(fail("it is empty"));
        }
        Ok(address)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn written_and_read_back() {
        let address = Address::default()
            .key("recipes")
            .key("mother's \"soup\"]")
            .key("materials")
            .index(2)
            .key("kg");
        let text = address.to_string();
        assert_eq!(text, r#"recipes["mother's \"soup\"]"].materials[2].kg"#);
        assert_eq!(text.parse(), Ok(address));
    }

    #[test]
    fn a_bare_name_with_blanks_round_the_ends() {
        assert_eq!(" days ".parse(), Ok(Address::default().key("days")));
    }

    #[test]
    fn what_is_no_address() {
        for (text, why) in [
            ("", "it is empty"),
            ("vessels[0", "a bracket is not closed"),
            (
                "vessels[-1].liquid_l",
                "the place in a list is a whole number from 0",
            ),
            ("vessels[0]liquid_l", "a point is missing between two keys"),
            (
                "vessels..liquid_l",
                "a key is empty or holds a character that needs brackets and quotes",
            ),
            ("recipes[\"x", "the quoted key does not end"),
        ] {
            assert_eq!(text.parse::<Address>().map_err(|e| e.why), Err(why));
        }
    }
}
