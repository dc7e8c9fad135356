//! The page: whole in itself, well formed, with words for every figure.

use crate::fixture::{Shape, bands, outcome};
use marshgas::report::{html, run};
use roxmltree::{Document, Node, ParsingOptions};

fn page(shape: &Shape) -> String {
    html(&run(&outcome(shape), &bands())).unwrap()
}

/// The page is written so that it parses as XML too, which finds every tag left open.
fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).unwrap()
}

fn shapes() -> Vec<Shape> {
    let base = Shape::default();
    vec![
        base.clone(),
        Shape {
            start_date: None,
            ..base.clone()
        },
        Shape {
            days: 1,
            ..base.clone()
        },
        Shape {
            vessels: 3,
            fed: false,
            ..base.clone()
        },
        Shape {
            days: 7305,
            sour: vec![(200, 260), (3000, 3100)],
            ..base
        },
    ]
}

fn elements<'a>(document: &'a Document<'_>, name: &'static str) -> Vec<Node<'a, 'a>> {
    document
        .descendants()
        .filter(|n| n.has_tag_name(name))
        .collect()
}

#[test]
fn nothing_comes_from_outside() {
    for shape in shapes() {
        let page = page(&shape);
        for bad in [
            "http:",
            "https:",
            "//",
            "<script",
            "<link",
            "<img",
            "<iframe",
            "@import",
            "javascript:",
            " on",
            "src=",
        ] {
            let found = match bad {
                // Attributes that run something begin with " on".
                " on" => parsed(&page)
                    .descendants()
                    .flat_map(|n| n.attributes())
                    .any(|a| a.name().starts_with("on")),
                bad => page.contains(bad),
            };
            assert!(!found, "{bad} in the page of {} days", shape.days);
        }
        // What is referred to lies in the page.
        let document = parsed(&page);
        let ids: Vec<_> = document
            .descendants()
            .filter_map(|n| n.attribute("id"))
            .collect();
        for link in elements(&document, "a") {
            let target = link.attribute("href").unwrap().strip_prefix('#').unwrap();
            assert!(ids.contains(&target), "{target}");
        }
    }
}

#[test]
fn ids_are_unique_and_labels_resolve() {
    for shape in shapes() {
        let page = page(&shape);
        let document = parsed(&page);
        let mut ids: Vec<_> = document
            .descendants()
            .filter_map(|n| n.attribute("id"))
            .collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count);
        let labels = document
            .descendants()
            .filter_map(|n| n.attribute("aria-labelledby"));
        for id in labels.flat_map(str::split_whitespace) {
            assert!(ids.contains(&id), "{id}");
        }
    }
}

#[test]
fn every_figure_has_title_description_and_caption() {
    for shape in shapes() {
        let page = page(&shape);
        let document = parsed(&page);
        let drawings = elements(&document, "svg");
        assert_eq!(drawings.len(), 2 * elements(&document, "figcaption").len());
        for svg in drawings {
            assert_eq!(svg.attribute("role"), Some("img"));
            for name in ["title", "desc"] {
                let words = svg
                    .children()
                    .find(|n| n.has_tag_name(name))
                    .and_then(|n| n.text());
                assert!(words.is_some_and(|w| w.len() > 4), "{name}");
            }
        }
    }
}

#[test]
fn no_number_is_missing_from_a_drawing() {
    for shape in shapes() {
        let page = page(&shape);
        assert!(
            !page.contains("NaN") && !page.contains("inf\""),
            "{} days",
            shape.days
        );
    }
}

#[test]
fn sour_days_are_hatched_and_only_they() {
    assert!(page(&Shape::default()).contains("acids-hatch"));
    assert!(
        !page(&Shape {
            sour: vec![],
            ..Shape::default()
        })
        .contains("acids-hatch")
    );
}

#[test]
fn cautions_name_what_can_hurt_with_sources() {
    let page = page(&Shape::default());
    for words in [
        "5 to 15\u{a0}% methane",
        "ISO 23590:2020",
        "Never enter",
        "Residue carries germs",
        "licensed people",
        "tens of per cent",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn foreign_words_cannot_break_out_of_the_page() {
    let mut outcome = outcome(&Shape {
        vessels: 2,
        ..Shape::default()
    });
    let bad = "</title><script>alert('x')</script>\"&\u{0}\u{1b}\n<b>";
    outcome.title = bad.into();
    outcome.about = bad.into();
    outcome.vessels[0].name = bad.into();
    outcome.vessels[1].name = "-->]]>".into();
    outcome.provenance.file = bad.into();
    let page = html(&run(&outcome, &bands())).unwrap();
    let document = parsed(&page);
    assert!(elements(&document, "script").is_empty());
    assert!(
        elements(&document, "b")
            .iter()
            .all(|b| b.text().is_some_and(|t| t.starts_with("Figure")))
    );
}

#[test]
fn a_page_of_twenty_years_stays_small() {
    let page = page(&Shape {
        days: 7305,
        sour: vec![(200, 260)],
        ..Shape::default()
    });
    assert!(page.len() < 1_500_000, "{}", page.len());
}
