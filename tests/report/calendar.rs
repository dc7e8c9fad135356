//! The calendar of chores, read by a strict reader that knows the standard (RFC 5545) and nothing of its writer.

use std::collections::BTreeSet;

use marshgas::report::ics;
use marshgas::study::season::{Chore, ChoreKind, Repeat, SeasonOutcome, season};
use marshgas::{scenario, simulate};
use serde_json::{Value, json};

/// One content line.
#[derive(Debug, Clone, PartialEq)]
struct Line {
    name: String,
    parameters: Vec<(String, String)>,
    value: String,
}

/// Lines of a component, and the components within.
#[derive(Debug, Default)]
struct Component {
    name: String,
    lines: Vec<Line>,
    parts: Vec<Component>,
}

/// RFC 5545, 3.1: lines of at most 75 octets without their end, which is CR LF; folded lines begin with a blank.
fn unfolded(bytes: &[u8]) -> Vec<String> {
    let mut lines: Vec<Vec<u8>> = Vec::new();
    let mut rest = bytes;
    while !rest.is_empty() {
        let end = rest
            .iter()
            .position(|b| *b == b'\r' || *b == b'\n')
            .expect("the last line has no end");
        assert_eq!(
            rest.get(end..end + 2),
            Some(&b"\r\n"[..]),
            "a line ends with CR LF"
        );
        let line = &rest[..end];
        assert!(!line.is_empty(), "an empty line");
        assert!(line.len() <= 75, "{} octets", line.len());
        // Folding within a character is allowed, and readers fail on it.
        std::str::from_utf8(line).expect("folded within a character");
        match line[0] {
            b' ' | b'\t' => lines
                .last_mut()
                .expect("the first line is folded")
                .extend(&line[1..]),
            _ => lines.push(line.to_vec()),
        }
        rest = &rest[end + 2..];
    }
    lines
        .into_iter()
        .map(|l| String::from_utf8(l).unwrap())
        .collect()
}

/// `name *(";" param "=" value) ":" value`, as the grammar has it.
fn content_line(text: &str) -> Line {
    let token =
        |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    assert!(
        !text.chars().any(|c| c.is_control() && c != '\t'),
        "a control in {text:?}"
    );
    let mut quoted = false;
    let colon = text
        .char_indices()
        .find(|(_, c)| {
            quoted ^= *c == '"';
            *c == ':' && !quoted
        })
        .unwrap_or_else(|| panic!("no colon in {text:?}"))
        .0;
    let mut head = text[..colon].split(';');
    let name = head.next().unwrap().to_owned();
    assert!(token(&name), "{name:?}");
    let parameters = head.map(|parameter| {
        let (key, value) = parameter
            .split_once('=')
            .unwrap_or_else(|| panic!("{text:?}"));
        assert!(
            token(key) && !value.is_empty() && !value.contains('"'),
            "{text:?}"
        );
        (key.to_owned(), value.to_owned())
    });
    Line {
        parameters: parameters.collect(),
        name,
        value: text[colon + 1..].to_owned(),
    }
}

fn component(lines: &mut std::vec::IntoIter<Line>, name: &str) -> Component {
    let mut out = Component {
        name: name.to_owned(),
        ..Component::default()
    };
    while let Some(line) = lines.next() {
        match line.name.as_str() {
            "BEGIN" => out.parts.push(component(lines, &line.value)),
            "END" => {
                assert_eq!(line.value, name);
                return out;
            }
            _ => out.lines.push(line),
        }
    }
    panic!("{name} has no end");
}

fn read(text: &str) -> Component {
    let lines: Vec<Line> = unfolded(text.as_bytes())
        .iter()
        .map(|l| content_line(l))
        .collect();
    let mut lines = lines.into_iter();
    let begin = lines.next().unwrap();
    assert_eq!(
        (begin.name.as_str(), begin.value.as_str()),
        ("BEGIN", "VCALENDAR")
    );
    let calendar = component(&mut lines, "VCALENDAR");
    assert!(lines.next().is_none(), "something behind the calendar");
    calendar
}

impl Component {
    /// The line that stands exactly once.
    fn once(&self, name: &str) -> &Line {
        let found: Vec<&Line> = self.lines.iter().filter(|l| l.name == name).collect();
        assert_eq!(found.len(), 1, "{name} in {self:?}");
        found[0]
    }

    /// Every line is known, and none but these may be left out or stand twice.
    fn holds_but(&self, once: &[&str], at_most_once: &[&str]) {
        for name in once {
            self.once(name);
        }
        for line in &self.lines {
            let known =
                once.contains(&line.name.as_str()) || at_most_once.contains(&line.name.as_str());
            assert!(known || line.name.starts_with("X-"), "{line:?}");
            self.once(&line.name);
        }
    }
}

/// RFC 5545, 3.3.11: what a TEXT says. Nothing but a backslash escapes, and it escapes four marks.
fn said(line: &Line) -> String {
    assert_eq!(line.parameters, [], "{line:?}");
    let mut out = String::new();
    let mut letters = line.value.chars();
    while let Some(c) = letters.next() {
        match c {
            '\\' => out.push(match letters.next() {
                Some('n' | 'N') => '\n',
                Some(c @ ('\\' | ';' | ',')) => c,
                other => panic!("\\{other:?} in {line:?}"),
            }),
            ';' | ',' => panic!("a bare {c} in {line:?}"),
            c => out.push(c),
        }
    }
    out
}

/// (year, month, day) of a DATE, a day that is.
fn date(text: &str) -> (i32, u32, u32) {
    assert!(
        text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()),
        "{text}"
    );
    let (y, m, d) = (
        text[..4].parse().unwrap(),
        text[4..6].parse().unwrap(),
        text[6..].parse().unwrap(),
    );
    assert!(
        (1..=12).contains(&m) && (1..=days_of(y, m)).contains(&d),
        "{text}"
    );
    (y, m, d)
}

fn days_of(year: i32, month: u32) -> u32 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days since 1 January of the year 0.
fn number((year, month, day): (i32, u32, u32)) -> i64 {
    let years = (0..year)
        .map(|y| i64::from(365 + days_of(y, 2) - 28))
        .sum::<i64>();
    let months = (1..month).map(|m| i64::from(days_of(year, m))).sum::<i64>();
    years + months + i64::from(day) - 1
}

fn date_of(line: &Line) -> (i32, u32, u32) {
    assert_eq!(line.parameters, [("VALUE".to_owned(), "DATE".to_owned())]);
    date(&line.value)
}

/// Days on which an event falls, by its rule.
fn falls(event: &Component) -> Vec<i64> {
    let start = date_of(event.once("DTSTART"));
    let Some(rule) = event.lines.iter().find(|l| l.name == "RRULE") else {
        return vec![number(start)];
    };
    let parts: Vec<(&str, &str)> = rule
        .value
        .split(';')
        .map(|p| p.split_once('=').unwrap())
        .collect();
    let of = |key: &str| {
        let found: Vec<&str> = parts.iter().filter(|p| p.0 == key).map(|p| p.1).collect();
        assert!(found.len() <= 1, "{rule:?}");
        found.first().copied()
    };
    for (key, _) in &parts {
        assert!(
            ["FREQ", "INTERVAL", "UNTIL", "BYMONTHDAY", "BYSETPOS"].contains(key),
            "{rule:?}"
        );
    }
    let until = number(date(of("UNTIL").unwrap()));
    let each: i64 = of("INTERVAL").map_or(1, |n| n.parse().unwrap());
    assert!(each > 0);
    let mut out = Vec::new();
    match of("FREQ").unwrap() {
        freq @ ("DAILY" | "WEEKLY") => {
            let step = each * if freq == "WEEKLY" { 7 } else { 1 };
            out.extend(
                (0..)
                    .map(|k| number(start) + k * step)
                    .take_while(|d| *d <= until),
            );
        }
        "MONTHLY" => {
            let listed: Vec<u32> = of("BYMONTHDAY").map_or_else(
                || vec![start.2],
                |days| days.split(',').map(|d| d.parse().unwrap()).collect(),
            );
            if listed.len() > 1 {
                assert_eq!(of("BYSETPOS"), Some("-1"));
            }
            for k in 0.. {
                let (y, m) = (
                    start.0 + (start.1 as i32 - 1 + k) / 12,
                    (start.1 - 1 + k as u32) % 12 + 1,
                );
                let day = listed.iter().copied().filter(|d| *d <= days_of(y, m)).max();
                let Some(day) = day.map(|d| number((y, m, d))) else {
                    continue;
                };
                if day > until {
                    break;
                }
                out.push(day);
            }
        }
        other => panic!("{other}"),
    }
    assert_eq!(
        out.first(),
        Some(&number(start)),
        "the first day keeps to the rule: {rule:?}"
    );
    out
}

/// The calendar of a season, all of it examined.
fn calendar(season: &SeasonOutcome) -> Component {
    let calendar = read(&ics(season).unwrap());
    calendar.holds_but(&["PRODID", "VERSION"], &["CALSCALE"]);
    assert_eq!(calendar.once("VERSION").value, "2.0");
    let mut names = BTreeSet::new();
    for event in &calendar.parts {
        assert_eq!(event.name, "VEVENT");
        assert!(event.parts.is_empty());
        event.holds_but(
            &["UID", "DTSTAMP", "DTSTART", "SUMMARY"],
            &["RRULE", "DESCRIPTION", "CATEGORIES", "TRANSP"],
        );
        let uid = said(event.once("UID"));
        assert!(
            !uid.is_empty() && uid.is_ascii() && !uid.contains(' '),
            "{uid}"
        );
        assert!(names.insert(uid.clone()), "{uid} stands twice");
        let stamp = event.once("DTSTAMP");
        let (day, time) = stamp.value.split_once('T').unwrap();
        date(day);
        assert!(
            stamp.parameters.is_empty() && time == "000000Z",
            "{stamp:?}"
        );
        falls(event);
    }
    calendar
}

/// The heated tote with its engine; `change` turns its scenario.
fn winter_engine(change: impl FnOnce(&mut Value)) -> SeasonOutcome {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/scenarios/winter-engine.json");
    let mut raw: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    raw["days"] = json!(120);
    change(&mut raw);
    let case = scenario::from_value(&raw, "season.json", None)
        .unwrap()
        .case;
    let outcome = simulate::run(&case, &mut |_| {}).unwrap();
    season(&case, &outcome).unwrap()
}

#[test]
fn every_chore_is_read_back_as_it_was_meant() {
    let mut season = winter_engine(|_| {});
    let long = "Grün, weiß; \u{1F9EA} 沼気 \\ \"so\": ".repeat(40);
    season.title = format!("Hof, Süd; \u{1F6E2} \\n {long}");
    season.chores[0].title = long.clone();
    season.chores[0].detail = format!("a\nb\n\n{long}\n");
    season.chores[1].detail = format!("bell\u{7}, return\r, tab\t. {}", "\u{e9}".repeat(300));
    let calendar = calendar(&season);
    // Controls have no place in a text.
    let told = |text: &str| -> String {
        text.chars()
            .map(|c| if c.is_control() && c != '\n' { ' ' } else { c })
            .collect()
    };
    assert_eq!(calendar.parts.len(), season.chores.len());
    let start = date_number(season.start_date.as_deref().unwrap());
    for (event, chore) in calendar.parts.iter().zip(&season.chores) {
        assert_eq!(said(event.once("SUMMARY")), told(&chore.title));
        assert_eq!(said(event.once("DESCRIPTION")), told(&chore.detail));
        let days = falls(event);
        assert_eq!(days[0], start + i64::from(chore.day));
        assert!(days.iter().all(|d| *d <= start + i64::from(chore.last_day)));
        match chore.repeat {
            None => assert_eq!(days.len(), 1),
            Some(Repeat::Days(n)) => {
                let count = (chore.last_day - chore.day) / n + 1;
                assert_eq!(days.len(), count as usize, "{chore:?}");
            }
            Some(Repeat::Monthly) => assert!(days.len() > 1, "{chore:?}"),
        }
    }
    let name = calendar
        .lines
        .iter()
        .find(|l| l.name == "X-WR-CALNAME")
        .unwrap();
    assert_eq!(said(name), told(&season.title));
}

fn date_number(iso: &str) -> i64 {
    number(date(&iso.replace('-', "")))
}

#[test]
fn a_monthly_chore_of_the_31st_comes_in_every_month() {
    let mut season = winter_engine(|_| {});
    for (start, months) in [
        ("2027-12-31", 13),
        ("2027-11-30", 14),
        ("2028-01-29", 12),
        ("2027-12-15", 13),
    ] {
        season.start_date = Some(start.to_owned());
        season.chores = vec![Chore {
            id: "leak-test".into(),
            kind: ChoreKind::LeakTest,
            day: 0,
            date: None,
            repeat: Some(Repeat::Monthly),
            last_day: (date_number("2028-12-31") - date_number(start)) as u32,
            title: "Leak test".into(),
            detail: String::new(),
        }];
        assert_eq!(falls(&calendar(&season).parts[0]).len(), months, "{start}");
    }
}

#[test]
fn plants_of_other_names_do_not_take_each_others_days() {
    let mut season = winter_engine(|_| {});
    let mut seen = BTreeSet::new();
    for title in [
        "Hof",
        "Höf",
        "Häf",
        "农场",
        "家",
        "A farm",
        "a farm!",
        "Ферма",
    ] {
        season.title = title.into();
        let uid = said(calendar(&season).parts[0].once("UID"));
        assert!(seen.insert(uid.clone()), "{title}: {uid}");
        assert_eq!(said(calendar(&season).parts[0].once("UID")), uid);
    }
}

#[test]
fn the_reader_is_strict() {
    let fails = |text: &str| std::panic::catch_unwind(|| read(text)).is_err();
    let whole = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VCALENDAR\r\n";
    assert!(!fails(whole));
    assert!(fails(&whole.replace("\r\n", "\n")));
    assert!(fails(whole.trim_end()));
    assert!(fails(&whole.replace("2.0", &"2".repeat(80))));
    assert!(fails(&whole.replace("VERSION:2.0", "VERSION")));
    assert!(fails(&whole.replace("END:VCALENDAR", "END:VEVENT")));
    assert!(fails(&whole.replace("2.0", "2\u{7}0")));
    let text = |value: &str| content_line(&format!("SUMMARY:{value}"));
    assert!(std::panic::catch_unwind(|| said(&text("a, b"))).is_err());
    assert!(std::panic::catch_unwind(|| said(&text("a\\b"))).is_err());
    assert_eq!(said(&text("a\\, b\\n\\\\")), "a, b\n\\");
    assert!(std::panic::catch_unwind(|| date("20270229")).is_err());
    assert_eq!(number((2000, 3, 1)) - number((2000, 2, 28)), 2);
}
