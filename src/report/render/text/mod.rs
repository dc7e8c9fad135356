//! A document as a compact summary for a terminal.

mod lines;
mod spark;
mod table;

use crate::report::document::{Document, Trends, Weight};
use anstyle::{AnsiColor, Style};
use lines::{Page, pad, width_of};

/// Narrower than this nothing can be set.
const NARROWEST: usize = 24;
/// Widest column of labels.
const LABELS: usize = 24;
/// Pages narrower than this do without the last value of a course.
const LAST_VALUE: usize = 64;
/// A note needs so much room to be worth setting.
const NOTE: usize = 18;

const TITLE: Style = Style::new().bold();
const QUIET: Style = Style::new().dimmed();
const GOOD: Style = Style::new().fg_color(Some(anstyle::Color::Ansi(AnsiColor::Green)));
const BAD: Style = Style::new()
    .fg_color(Some(anstyle::Color::Ansi(AnsiColor::Red)))
    .bold();

/// The document's title, key numbers, courses, events, advice and cautions, no line wider than
/// `width` (at least 24) columns. With `unicode` off only ASCII is used; with `colour` off no escape
/// sequences.
#[must_use]
pub fn text(document: &Document, width: usize, colour: bool, unicode: bool) -> String {
    let mut page = Page::new(width.max(NARROWEST), colour, unicode);
    page.wrapped(
        &format!("{}: {}", document.kind, document.title),
        "",
        "",
        TITLE,
    );
    page.wrapped(&document.about, "", "", QUIET);
    page.blank();
    // A study without daily courses tells its story in words.
    if document.trends.courses.is_empty() {
        for paragraph in &document.story {
            page.wrapped(paragraph, "", "", Style::new());
        }
        page.blank();
    }
    key_numbers(&mut page, document);
    page.wrapped(&document.trust, "", "", QUIET);
    page.blank();
    trends(&mut page, &document.trends);
    for table in document.tables_of(Weight::Story) {
        table::story_table(&mut page, table);
    }
    if !document.advice.is_empty() {
        page.wrapped("What to do next", "", "", TITLE);
        for (i, piece) in document.advice.iter().enumerate() {
            page.wrapped(piece, &format!("{}. ", i + 1), "   ", Style::new());
        }
        page.blank();
    }
    if !document.cautions.is_empty() {
        let titles: Vec<&str> = document.cautions.iter().map(|c| c.title.as_str()).collect();
        page.wrapped("What can hurt (more in the HTML report)", "", "", TITLE);
        page.wrapped(&format!("{}.", titles.join("; ")), "", "", Style::new());
        page.blank();
    }
    let style = if document.closing.holds { GOOD } else { BAD };
    page.wrapped(&document.closing.text, "", "", style);
    page.finish()
}

fn key_numbers(page: &mut Page, document: &Document) {
    let numbers = &document.key_numbers;
    let label = numbers
        .iter()
        .map(|k| page.width(&k.label))
        .max()
        .unwrap_or(0)
        .min(LABELS);
    let value = |k: &crate::report::document::KeyNumber| format!("{} {}", k.value, k.unit);
    let values = numbers
        .iter()
        .map(|k| page.width(value(k).trim()))
        .max()
        .unwrap_or(0);
    for number in numbers {
        let head = page.plain(&number.label);
        let body = page.plain(value(number).trim());
        let left = format!("{}  {}", pad(&head, label), pad(&body, values));
        let room = page.columns().saturating_sub(width_of(&left) + 2);
        if room >= NOTE && !number.note.is_empty() {
            let indent = " ".repeat(width_of(&left) + 2);
            page.wrapped(&number.note, &format!("{left}  "), &indent, QUIET);
        } else {
            page.pair(left.trim_end(), "", QUIET);
        }
    }
}

fn trends(page: &mut Page, trends: &Trends) {
    if trends.courses.is_empty() || trends.days == 0 {
        return;
    }
    let name = |label: &str, unit: &str| match unit {
        "" => label.to_owned(),
        unit => format!("{label} ({unit})"),
    };
    let names: Vec<String> = trends
        .courses
        .iter()
        .map(|t| page.plain(&name(&t.label, &t.unit)))
        .collect();
    let marks: Vec<String> = trends.marks.iter().map(|m| page.plain(&m.label)).collect();
    let label = names
        .iter()
        .chain(&marks)
        .map(|n| width_of(n))
        .max()
        .unwrap_or(0);
    let ranges: Vec<String> = trends
        .courses
        .iter()
        .map(|t| page.plain(&spark::range(t, page.columns() >= LAST_VALUE)))
        .collect();
    let range = ranges.iter().map(|r| width_of(r)).max().unwrap_or(0);
    let cells = page.columns().saturating_sub(label + range + 4);
    if cells < 4 {
        return;
    }
    for ((trend, name), range) in trends.courses.iter().zip(&names).zip(&ranges) {
        let words = spark::words(&trend.values);
        if !words.is_empty() {
            page.pair(&format!("{}  {words}", pad(name, label)), "", QUIET);
            continue;
        }
        let chart = spark::line(&trend.values, cells, page.unicode());
        let left = format!("{}  {}", pad(name, label), pad(&chart, cells));
        page.pair(&left, &format!("  {range}"), QUIET);
    }
    for (mark, name) in trends.marks.iter().zip(&marks) {
        let chart = spark::flags(&mark.days, cells, page.unicode());
        page.pair(&format!("{}  ", pad(name, label)), &chart, BAD);
    }
    let last = f64::from(trends.days);
    let axis = match trends.start {
        Some(start) => {
            let end = crate::report::numbers::fixed(last, 0);
            format!("{start}, for {end} days")
        }
        None => format!("day 0 to {}", crate::report::numbers::fixed(last, 0)),
    };
    page.wrapped(&axis, &" ".repeat(label + 2), &" ".repeat(label + 2), QUIET);
    page.blank();
}
