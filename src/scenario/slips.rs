//! The slips that people make when they write JSON by hand, each in plain words.

use super::problem::{shown, visible};

/// Why a text is no JSON.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Slip {
    /// Byte offset of the place to look at.
    pub(crate) at: usize,
    /// What is wrong.
    pub(crate) why: String,
    /// What to do.
    pub(crate) mend: String,
}

fn slip(at: usize, why: impl Into<String>, mend: impl Into<String>) -> Slip {
    Slip {
        at,
        why: why.into(),
        mend: mend.into(),
    }
}

/// The run of characters that a person would take for one number or word.
pub(crate) fn token(rest: &str) -> &str {
    let end = rest
        .find(|c: char| !(c.is_alphanumeric() || matches!(c, '+' | '-' | '.' | '_' | '%' | '°')))
        .unwrap_or(rest.len());
    &rest[..end]
}

/// Names of what is no number, as other programs write them.
const NOT_FINITE: &[&str] = &["nan", "inf", "infinity"];
/// How other languages write the three words of JSON.
const WORDS: &[(&str, &str)] = &[
    ("True", "true"),
    ("TRUE", "true"),
    ("yes", "true"),
    ("False", "false"),
    ("FALSE", "false"),
    ("no", "false"),
    ("None", "null"),
    ("NULL", "null"),
    ("Null", "null"),
];

/// Checks a token that begins like a number.
///
/// # Errors
/// A [`Slip`] that names what keeps it from being one.
pub(crate) fn check_number(at: usize, token: &str) -> Result<(), Slip> {
    if is_json_number(token) {
        return match token.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(()),
            _ => Err(slip(
                at,
                format!(
                    "The number {} is too large to be computed with.",
                    shown(token)
                ),
                "Write a number of ordinary size.",
            )),
        };
    }
    let bare = token.trim_start_matches(['+', '-']);
    if NOT_FINITE.contains(&bare.to_lowercase().as_str()) {
        return Err(not_finite(at, token));
    }
    Err(misspelt_number(at, token, bare))
}

fn misspelt_number(at: usize, token: &str, bare: &str) -> Slip {
    let why = format!("{} is not written as a JSON number.", shown(token));
    if looks_like_date(token) {
        return slip(at, why, format!("A date stands in quotes: \"{token}\"."));
    }
    let sign = if token.starts_with('-') { "-" } else { "" };
    if token.starts_with('+') && is_json_number(bare) {
        return slip(at, why, format!("Write {bare}, without the plus sign."));
    }
    let zeroed = if bare.starts_with('.') {
        format!("{sign}0{bare}")
    } else if bare.ends_with('.') {
        format!("{sign}{bare}0")
    } else {
        let short = bare.trim_start_matches('0');
        let lead = if short.starts_with(|c: char| c.is_ascii_digit()) {
            ""
        } else {
            "0"
        };
        format!("{sign}{lead}{short}")
    };
    if is_json_number(&zeroed) && zeroed != token {
        return slip(at, why, format!("Write {zeroed}."));
    }
    let digits = bare
        .find(|c: char| !(c.is_ascii_digit() || c == '.'))
        .unwrap_or(bare.len());
    let (number, unit) = bare.split_at(digits);
    let number = format!("{sign}{number}");
    if is_json_number(&number)
        && unit.starts_with(|c: char| c.is_alphabetic() || matches!(c, '%' | '°'))
    {
        return slip(
            at,
            why,
            format!("Write {number} alone: the unit stands in the name of the key."),
        );
    }
    slip(
        at,
        why,
        "Write digits with at most one decimal point, such as 2.5, or put text in quotes.",
    )
}

/// The grammar of numbers in RFC 8259, section 6.
pub(crate) fn is_json_number(token: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    let unsigned = token.strip_prefix('-').unwrap_or(token);
    let (mantissa, exponent) = match unsigned.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (unsigned, None),
    };
    let (whole, fraction) = match mantissa.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    digits(whole)
        && (whole == "0" || !whole.starts_with('0'))
        && fraction.is_none_or(digits)
        && exponent.is_none_or(|e| digits(e.strip_prefix(['+', '-']).unwrap_or(e)))
}

fn looks_like_date(token: &str) -> bool {
    let parts: Vec<&str> = token.split(['-', '.']).collect();
    parts.len() == 3
        && parts
            .iter()
            .all(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit()))
}

fn not_finite(at: usize, token: &str) -> Slip {
    slip(
        at,
        format!("{} is no number that a digester can have.", shown(token)),
        "Write a finite number, or leave the key out if it is optional.",
    )
}

/// Something stands where a value should.
pub(crate) fn no_value(at: usize, token: &str, first: char) -> Slip {
    if NOT_FINITE.contains(&token.to_lowercase().as_str()) {
        return not_finite(at, token);
    }
    if let Some((_, right)) = WORDS.iter().find(|(wrong, _)| *wrong == token) {
        return slip(
            at,
            format!("JSON does not know the word {token}."),
            format!("Write {right}."),
        );
    }
    if let Some(slip) = foreign_quote(at, first) {
        return slip;
    }
    if !token.is_empty() {
        return slip(
            at,
            format!("The text {} stands without quotes.", shown(token)),
            "Put text in double quotes.",
        );
    }
    match first {
        ',' => two_commas(at),
        '}' | ']' => slip(
            at,
            "A value is missing before this bracket.",
            "Write the value, or remove its key.",
        ),
        _ => slip(
            at,
            format!("A value is expected here, but there is {}.", named(first)),
            "Write a number, a text in double quotes, a list in [ ] or a group in { }.",
        ),
    }
}

/// Something stands where a key should.
pub(crate) fn no_key(at: usize, token: &str, first: char) -> Slip {
    if let Some(slip) = foreign_quote(at, first) {
        return slip;
    }
    if !token.is_empty() {
        return slip(
            at,
            format!("The key {} stands without quotes.", shown(token)),
            "Put every key in double quotes.",
        );
    }
    match first {
        ',' => two_commas(at),
        _ => slip(
            at,
            format!("A key is expected here, but there is {}.", named(first)),
            "Write a key in double quotes, a colon and its value.",
        ),
    }
}

fn foreign_quote(at: usize, first: char) -> Option<Slip> {
    let foreign = matches!(first, '\'' | '`' | '\u{2018}'..='\u{201f}' | '«' | '»');
    foreign.then(|| {
        slip(
            at,
            format!("{first} is not the quote that JSON knows."),
            "Use the plain double quote \" at both ends; a word processor may have replaced it.",
        )
    })
}

fn two_commas(at: usize) -> Slip {
    slip(
        at,
        "There is a comma where a value or key should stand.",
        "Remove one comma.",
    )
}

/// `2,5` in an object.
pub(crate) fn decimal_comma(at: usize, whole: &str, fraction: &str) -> Slip {
    let whole = shown(whole);
    let fraction = shown(fraction);
    let thousand = if fraction.len() == 3 {
        format!(", or {whole}{fraction} if the comma parts thousands")
    } else {
        String::new()
    };
    slip(
        at,
        format!("{whole},{fraction} looks like a number with a decimal comma."),
        format!("JSON wants a point: write {whole}.{fraction}{thousand}."),
    )
}

/// A comma before a closing bracket.
pub(crate) fn trailing_comma(at: usize, bracket: char) -> Slip {
    slip(
        at,
        format!("There is a comma before the closing {bracket}."),
        "Remove that comma: the last entry has none after it.",
    )
}

/// A comment.
pub(crate) fn comment(at: usize, first: char) -> Slip {
    slip(
        at,
        format!("A comment begins with {first} here, but JSON has no comments."),
        "Write remarks as text under the key \"about\".",
    )
}

/// No colon after a key.
pub(crate) fn no_colon(at: usize, found: char) -> Slip {
    slip(
        at,
        format!(
            "After a key there must be a colon, but there is {}.",
            named(found)
        ),
        "Write \"key\": value.",
    )
}

/// No comma between two entries.
pub(crate) fn no_comma(at: usize, found: char) -> Slip {
    if found == '"' || found == '{' || found == '[' || found.is_alphanumeric() || found == '-' {
        return slip(
            at,
            "A comma is missing before this entry.",
            "Put a comma between two entries.",
        );
    }
    slip(
        at,
        format!(
            "After a value there must be a comma or a closing bracket, but there is {}.",
            named(found)
        ),
        "Remove it.",
    )
}

/// Something after the end.
pub(crate) fn stray(at: usize, found: char) -> Slip {
    slip(
        at,
        format!("The scenario has ended, but {} follows.", named(found)),
        "Check the brackets above, or remove what follows the last one.",
    )
}

/// `[` closed by `}` or the other way round.
pub(crate) fn wrong_bracket(at: usize, bracket: char) -> Slip {
    let (opened, right) = if bracket == '}' {
        ('[', ']')
    } else {
        ('{', '}')
    };
    slip(
        at,
        format!("A {opened} is closed by {bracket} here."),
        format!("Close it with {right} first."),
    )
}

/// The text ends within a bracket.
pub(crate) fn not_closed(text: &str, open: usize) -> Slip {
    let bracket = text[open..].chars().next().unwrap_or('{');
    slip(
        open,
        format!("The file ends, but this {bracket} is not closed."),
        "Add the missing bracket; perhaps the end of the file was lost.",
    )
}

/// Nothing in the file.
pub(crate) fn empty() -> Slip {
    slip(
        0,
        "The file is empty.",
        "`marshgas new mine.json` makes a scenario to start from.",
    )
}

/// Brackets within brackets without end.
pub(crate) fn too_deep(at: usize, deepest: usize) -> Slip {
    slip(
        at,
        format!("Brackets are nested more than {deepest} deep; no scenario needs that."),
        "Check that this is the right file.",
    )
}

/// A backslash that JSON does not know.
pub(crate) fn backslash(at: usize, c: char) -> Slip {
    slip(
        at,
        format!("A backslash stands before {} here.", named(c)),
        "In file names write / instead; a real backslash is written \\\\.",
    )
}

/// A line break or the like within text.
pub(crate) fn control_in_text(start: usize, at: usize, c: char) -> Slip {
    if c == '\n' || c == '\r' {
        return slip(
            start,
            "This text is not closed on its line.",
            "End it with a double quote; a line break within text is written \\n.",
        );
    }
    slip(
        at,
        "A tab or another control character stands within text.",
        "Replace it by a blank.",
    )
}

/// A text without its closing quote.
pub(crate) fn text_not_closed(start: usize) -> Slip {
    slip(
        start,
        "This text is not closed.",
        "End it with a double quote.",
    )
}

/// `\u` without four hexadecimal digits, or half of a pair.
pub(crate) fn bad_escape(start: usize) -> Slip {
    slip(
        start,
        "This text holds a \\u that names no character.",
        "Write the character itself.",
    )
}

fn named(c: char) -> String {
    match visible(c) {
        ' ' => "a blank".to_owned(),
        c => c.to_string(),
    }
}
