//! The summary for a terminal.

use crate::fixture::{Shape, bands, outcome};
use marshgas::report::{run, text};
use unicode_width::UnicodeWidthStr;

fn summary(shape: &Shape, width: usize, colour: bool, unicode: bool) -> String {
    text(&run(&outcome(shape), &bands()), width, colour, unicode)
}

/// The text without its escape sequences.
fn bare(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

fn shapes() -> Vec<Shape> {
    let base = Shape::default();
    vec![
        base.clone(),
        Shape {
            start_date: None,
            vessels: 3,
            ..base.clone()
        },
        Shape {
            days: 1,
            ..base.clone()
        },
        Shape {
            days: 7305,
            sour: (0..20).map(|i| (i * 365 + 200, i * 365 + 230)).collect(),
            ..base
        },
    ]
}

#[test]
fn no_line_is_wider_than_asked() {
    for shape in shapes() {
        for width in [24, 31, 40, 60, 80, 120, 200] {
            for unicode in [true, false] {
                let text = summary(&shape, width, false, unicode);
                for line in text.lines() {
                    assert!(
                        line.width() <= width,
                        "{} columns of {width}: {line}",
                        line.width()
                    );
                }
            }
        }
    }
}

#[test]
fn wide_letters_count_double() {
    let mut outcome = outcome(&Shape {
        vessels: 2,
        ..Shape::default()
    });
    outcome.title = "\u{6cbc}\u{6c23}".repeat(30);
    outcome.vessels[0].name = "\u{6cbc}\u{6c23}".repeat(10);
    let text = text(&run(&outcome, &bands()), 50, false, true);
    assert!(text.lines().all(|l| l.width() <= 50), "{text}");
}

#[test]
fn colour_changes_no_word() {
    let plain = summary(&Shape::default(), 80, false, true);
    let coloured = summary(&Shape::default(), 80, true, true);
    assert!(!plain.contains('\u{1b}') && coloured.contains('\u{1b}'));
    let trimmed = |t: &str| {
        t.lines()
            .map(|l| l.trim_end().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(trimmed(&bare(&coloured)), trimmed(&plain));
}

#[test]
fn ascii_is_ascii() {
    for shape in shapes() {
        let text = summary(&shape, 80, false, false);
        assert!(
            text.is_ascii(),
            "{:?}",
            text.chars().find(|c| !c.is_ascii())
        );
        assert!(!text.contains('?'), "{text}");
    }
}

#[test]
fn the_summary_holds_numbers_events_courses_and_the_closing_line() {
    let text = summary(&Shape::default(), 80, false, true);
    for words in [
        "Gas per day",
        "First flame",
        "Turns sour",
        "15 June 2027",
        "acid ratio",
        "\u{2588}",
        "What to do next",
        "What can hurt",
        "balances close",
    ] {
        assert!(text.contains(words), "{words} not in\n{text}");
    }
    let marks = text.lines().find(|l| l.starts_with("sour ")).unwrap();
    assert!(marks.contains('!') && marks.contains('\u{b7}'), "{marks}");
    assert!(text.lines().count() < 60, "{text}");
}

#[test]
fn a_title_cannot_steer_the_terminal() {
    let mut outcome = outcome(&Shape::default());
    outcome.title = "drum\u{1b}[2J\u{7}".into();
    let text = text(&run(&outcome, &bands()), 80, false, true);
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()));
}
