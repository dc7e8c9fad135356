//! Chores as an iCalendar file (RFC 5545).

use jiff::civil::Date;

use crate::report::calendar::date_after;
use crate::study::season::{Repeat, SeasonOutcome};

/// Longest line without its end \[octets\]: RFC 5545, 3.1.
const LINE: usize = 75;

/// All chores as whole-day events; `None` where the run has no date.
///
/// The same season gives the same bytes: the stamp is the start of the run, and the names of the events follow from the
/// scenario's title, the kind and the date, so that a calendar replaces what it read before.
#[must_use]
pub fn ics(season: &SeasonOutcome) -> Option<String> {
    let start: Date = season.start_date.as_ref()?.parse().ok()?;
    let plant = slug(&season.title);
    let mut out = String::new();
    for text in [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//marshgas//season//EN",
        "CALSCALE:GREGORIAN",
    ] {
        line(&mut out, text);
    }
    line(
        &mut out,
        &format!("X-WR-CALNAME:{}", escaped(&season.title)),
    );
    for chore in &season.chores {
        let Some(date) = date_after(start, f64::from(chore.day)) else {
            continue;
        };
        line(&mut out, "BEGIN:VEVENT");
        line(
            &mut out,
            &format!("UID:{}@{plant}.marshgas.invalid", chore.id),
        );
        line(&mut out, &format!("DTSTAMP:{}T000000Z", basic(start)));
        line(&mut out, &format!("DTSTART;VALUE=DATE:{}", basic(date)));
        if let Some(repeat) = chore.repeat {
            let rule = match repeat {
                Repeat::Days(n) if n % 7 == 0 => format!("FREQ=WEEKLY;INTERVAL={}", n / 7),
                Repeat::Days(n) => format!("FREQ=DAILY;INTERVAL={n}"),
                Repeat::Monthly => monthly(date),
            };
            let until = date_after(start, f64::from(chore.last_day)).unwrap_or(date);
            line(&mut out, &format!("RRULE:{rule};UNTIL={}", basic(until)));
        }
        line(&mut out, &format!("SUMMARY:{}", escaped(&chore.title)));
        line(&mut out, &format!("DESCRIPTION:{}", escaped(&chore.detail)));
        line(&mut out, &format!("CATEGORIES:{}", chore.kind.name()));
        line(&mut out, "TRANSP:TRANSPARENT");
        line(&mut out, "END:VEVENT");
    }
    line(&mut out, "END:VCALENDAR");
    Some(out)
}

/// Days that every month has.
const SHORTEST_MONTH: i8 = 28;

/// Every month on the day of `date`; where a month has no such day, on its last. A bare rule would leave it out.
fn monthly(date: Date) -> String {
    if date.day() <= SHORTEST_MONTH {
        return "FREQ=MONTHLY".into();
    }
    let days: Vec<String> = (SHORTEST_MONTH..=date.day())
        .map(|d| d.to_string())
        .collect();
    format!("FREQ=MONTHLY;BYMONTHDAY={};BYSETPOS=-1", days.join(","))
}

/// A date without its hyphens.
fn basic(date: Date) -> String {
    date.to_string().replace('-', "")
}

/// Lower-case letters, digits and hyphens of a title, with a mark of the whole where that leaves something out: plants of
/// different titles must not share the names of their events.
fn slug(title: &str) -> String {
    let mut out = String::new();
    for c in title.chars() {
        if c.is_ascii_alphanumeric() {
            out.push(c.to_ascii_lowercase());
        } else if !out.ends_with('-') && !out.is_empty() {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    if out.replace('-', " ") == title {
        return out.to_owned();
    }
    // FNV-1a over the title's octets (Fowler, Noll, Vo; from memory): the same in every build.
    let mark = title.bytes().fold(0x811c_9dc5_u32, |hash, b| {
        (hash ^ u32::from(b)).wrapping_mul(0x0100_0193)
    });
    let out = if out.is_empty() { "plant" } else { out };
    format!("{out}-{mark:08x}")
}

/// A text with the marks of the format escaped; controls become blanks.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(c);
            }
            '\n' => out.push_str("\\n"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// One content line, folded between characters, with its line end.
fn line(out: &mut String, text: &str) {
    let mut room = LINE;
    for c in text.chars() {
        if c.len_utf8() > room {
            out.push_str("\r\n ");
            room = LINE - 1;
        }
        out.push(c);
        room -= c.len_utf8();
    }
    out.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_folded_between_characters_and_unfold_to_the_text() {
        let text = format!("SUMMARY:{}", "\u{e4}b".repeat(80));
        let mut out = String::new();
        line(&mut out, &text);
        for folded in out.split("\r\n") {
            assert!(folded.len() <= 75, "{}", folded.len());
        }
        assert_eq!(out.replace("\r\n ", "").trim_end(), text);
    }

    #[test]
    fn marks_are_escaped_and_titles_become_names() {
        assert_eq!(escaped("a, b; c\\d\ne\u{7}"), "a\\, b\\; c\\\\d\\ne ");
        assert_eq!(slug("yard 2"), "yard-2");
        assert_eq!(slug("A").split_once('-').map(|s| s.0), Some("a"));
        assert_ne!(slug("???"), slug("??"));
    }
}
