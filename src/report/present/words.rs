//! Numbers, days and dates as parts of sentences.

use crate::digester::MOST_ACID_RATIO;
use crate::report::calendar::date_after;
use crate::report::document::Document;
use crate::report::numbers::{fixed, significant, trimmed};
use jiff::civil::Date;

pub(super) use crate::units::MONTHS;

/// Digits worth reading where the truth is uncertain by tens of per cent.
pub(super) const ROUGH: i32 = 2;

/// Months of a year in words, `true` for each that counts: "May to September", "every month".
pub(super) fn month_span(months: &[bool; 12]) -> String {
    let on = |m: usize| months[m % 12];
    let count = months.iter().filter(|m| **m).count();
    if count == 12 {
        return "every month".to_owned();
    }
    // Stretches of a year that has no end.
    let begins = (0..12).filter(|m| on(*m) && !on(m + 11));
    let stretches: Vec<String> = begins
        .map(|first| {
            let long = (0..12).take_while(|k| on(first + k)).count();
            let name = |m: usize| MONTHS[m % 12];
            match long {
                1 => name(first).to_owned(),
                2 => format!("{} and {}", name(first), name(first + 1)),
                _ => format!("{} to {}", name(first), name(first + long - 1)),
            }
        })
        .collect();
    match stretches.len() {
        0 => "no month".to_owned(),
        1 => stretches.concat(),
        _ => stretches.join(", "),
    }
}

/// A number as rough as it is known.
pub(super) fn rough(value: f64) -> String {
    significant(value, ROUGH)
}

/// A ratio of acids to alkalinity; where the alkalinity is spent only that it is large is told.
pub(super) fn acid_ratio(value: f64) -> String {
    if value >= MOST_ACID_RATIO {
        return format!("{MOST_ACID_RATIO} or more");
    }
    fixed(value, 2)
}

/// A number that somebody gave.
pub(super) fn given(value: f64) -> String {
    trimmed(significant(value, 3))
}

/// "1 day", "12 days".
pub(super) fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 {
        format!("1 {one}")
    } else {
        format!("{n} {many}")
    }
}

/// "day 12", with the date when the start is known.
pub(super) fn day_name(day: f64, start: Option<Date>) -> String {
    let day = day.floor();
    match date_of(day, start) {
        Some(date) => format!("day {day:.0} ({})", long_date(date)),
        None => format!("day {day:.0}"),
    }
}

/// The date on which a day of the run falls.
pub(super) fn date_of(day: f64, start: Option<Date>) -> Option<Date> {
    date_after(start?, day)
}

/// "3 March 2027".
pub(super) fn long_date(date: Date) -> String {
    let month = usize::try_from(date.month() - 1).ok();
    let month = month.and_then(|m| MONTHS.get(m)).copied().unwrap_or("");
    format!("{} {month} {}", date.day(), date.year())
}

/// Units that stay on the line of their number.
const BOUND: [&str; 6] = ["%", "\u{b0}C", "kg", "L", "ppm", "C"];
/// No-break space.
const BOUND_SPACE: char = '\u{a0}';

/// What is counted in these texts: after a lone 1 it stands without its last letter.
const COUNTED: [&str; 11] = [
    "days", "draws", "doses", "hours", "lines", "points", "runs", "steps", "values", "weeks",
    "years",
];

/// The text with no-break spaces between numbers and their units, and with one day in place of 1 days.
pub(super) fn bind(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut after_digit = false;
    let mut after_one = false;
    for (i, word) in text.split(' ').enumerate() {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')', '?']);
        let one = after_one && COUNTED.contains(&bare);
        after_one = word.trim_start_matches('(') == "1";
        if one {
            out.push(' ');
            out.push_str(&bare[..bare.len() - 1]);
            out.push_str(&word[bare.len()..]);
            after_digit = false;
            continue;
        }
        if i > 0 {
            out.push(if after_digit && BOUND.contains(&bare) {
                BOUND_SPACE
            } else {
                ' '
            });
        }
        out.push_str(word);
        after_digit = word.ends_with(|c: char| c.is_ascii_digit());
    }
    out
}

/// A document as it is shown: numbers bound to their units, lone days told as such, and no unit behind a word such as
/// "never".
pub(super) fn finished(mut document: Document) -> Document {
    let pieces = [
        &mut document.story,
        &mut document.advice,
        &mut document.limits,
    ];
    for piece in pieces.into_iter().flatten() {
        *piece = bind(piece);
    }
    for figure in &mut document.figures {
        figure.caption = bind(&figure.caption);
    }
    for number in &mut document.key_numbers {
        number.note = bind(&number.note);
        if !number.value.contains(|c: char| c.is_ascii_digit()) {
            number.unit.clear();
        }
    }
    for table in &mut document.tables {
        table.note = bind(&table.note);
    }
    document.closing.text = bind(&document.closing.text);
    document
}

/// Parts joined as in a sentence: "a", "a and b", "a, b and c".
pub(super) fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::document::KeyNumber;
    use jiff::civil::date;

    #[test]
    fn days_carry_their_date_when_there_is_one() {
        assert_eq!(
            day_name(31.9, Some(date(2027, 3, 1))),
            "day 31 (1 April 2027)"
        );
        assert_eq!(day_name(0.0, None), "day 0");
    }

    #[test]
    fn numbers_keep_their_units() {
        assert_eq!(
            bind("about 5 to 15 % of 20 kg"),
            "about 5 to 15\u{a0}% of 20\u{a0}kg"
        );
        assert_eq!(bind("(50 %), a L"), "(50\u{a0}%), a L");
    }

    #[test]
    fn one_of_a_thing_is_no_plural() {
        let text = "healthy after 1 days, (1 runs), of 21 days; 0.1 days, 1 times";
        assert_eq!(
            bind(text),
            "healthy after 1 day, (1 run), of 21 days; 0.1 days, 1 times"
        );
        let number = |value: &str| KeyNumber {
            label: "first flame".into(),
            value: value.into(),
            unit: "day".into(),
            note: String::new(),
        };
        let document = finished(Document {
            key_numbers: vec![number("12"), number("never")],
            ..Document::default()
        });
        let units: Vec<_> = document.key_numbers.into_iter().map(|k| k.unit).collect();
        assert_eq!(units, ["day", ""]);
    }

    #[test]
    fn counts_and_lists_read_like_sentences() {
        assert_eq!(
            (acid_ratio(10.0), acid_ratio(0.126)),
            ("10 or more".into(), "0.13".into())
        );
        assert_eq!(count(1, "day", "days"), "1 day");
        assert_eq!(count(0, "day", "days"), "0 days");
        let parts = ["a".to_owned(), "b".into(), "c".into()];
        assert_eq!(list(&parts), "a, b and c");
        assert_eq!(list(&parts[..1]), "a");
    }
}
