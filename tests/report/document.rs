//! What a document says of a run.

use crate::fixture::{Shape, bands, outcome};
use marshgas::report::{Document, Layer, Plot, run};
use marshgas::simulate::{Event, EventKind, Outcome};

fn document(outcome: &Outcome) -> Document {
    run(outcome, &bands())
}

fn panels(document: &Document, id: &str) -> marshgas::report::Panels {
    let figure = document.figures.iter().find(|f| f.id == id).unwrap();
    match &figure.plot {
        Plot::Panels(panels) => panels.clone(),
        Plot::Amounts(_) | Plot::Map(_) => panic!("{id} has no panels"),
    }
}

#[test]
fn a_sour_spell_is_told_counted_and_shaded() {
    let outcome = outcome(&Shape::default());
    let document = document(&outcome);
    let days = outcome.plant.iter().filter(|r| r.sour).count();
    assert!(days > 10);
    let story = document.story.join("\n");
    assert!(
        story.contains(&format!("It was sour on {days} days: from day")),
        "{story}"
    );
    let number = document
        .key_numbers
        .iter()
        .find(|k| k.label == "Sour days")
        .unwrap();
    assert_eq!(number.value, days.to_string());
    let spans = panels(&document, "acids").spans;
    assert_eq!(spans.len(), 1);
    assert!((spans[0].to - spans[0].from - f64::from(u32::try_from(days).unwrap())).abs() < 1e-9);
}

#[test]
fn a_run_without_a_sour_day_shows_no_shading() {
    let shape = Shape {
        sour: vec![],
        ..Shape::default()
    };
    let document = document(&outcome(&shape));
    assert!(document.story.iter().any(|p| p == "It never turned sour."));
    assert!(panels(&document, "gas").spans.is_empty());
    assert!(document.trends.marks.is_empty());
}

#[test]
fn hydrogen_is_laid_to_sour_days_only_where_the_day_was_sour() {
    let told = |sour: Vec<(u32, u32)>| {
        let mut outcome = outcome(&Shape {
            sour,
            ..Shape::default()
        });
        outcome.plant[30].h2_ppm = 2.3e5;
        outcome.plant[30].sour = outcome.plant.iter().any(|r| r.sour);
        let story = document(&outcome).story;
        let found = story.iter().find(|p| p.contains("of hydrogen.")).unwrap();
        (found.replace('\u{a0}', " "), story.join("\n"))
    };
    let (found, story) = told(vec![]);
    assert!(story.contains("It never turned sour."));
    assert!(
        found.starts_with("On day 30") && !found.contains("sour days"),
        "{found}"
    );
    assert!(
        found.contains("was not sour then") && found.contains("23 %"),
        "{found}"
    );
    let (found, _) = told(Shape::default().sour);
    assert!(found.starts_with("The gas of the sour days"), "{found}");
}

#[test]
fn the_usual_gas_is_the_mean_of_the_last_four_weeks_rounded() {
    let mut outcome = outcome(&Shape::default());
    for row in &mut outcome.plant {
        row.gas_read_l = if row.day >= 152 { 314.0 } else { 1.0 };
    }
    let document = document(&outcome);
    let gas = &document.key_numbers[0];
    assert_eq!((gas.value.as_str(), gas.unit.as_str()), ("310", "L/d"));
    assert!(gas.note.contains("last 28 days"), "{}", gas.note);
}

#[test]
fn what_never_happened_is_not_told() {
    let shape = Shape {
        days: 1,
        sour: vec![],
        ..Shape::default()
    };
    let document = document(&outcome(&shape));
    let flame = document
        .key_numbers
        .iter()
        .find(|k| k.label == "First flame")
        .unwrap();
    assert_eq!(
        (flame.value.as_str(), flame.unit.as_str()),
        ("\u{2013}", "")
    );
    let story = document.story.join("\n");
    assert!(story.contains("never became fit to burn"), "{story}");
    assert!(!story.contains("NaN") && !story.contains("inf"), "{story}");
}

#[test]
fn ending_sour_asks_to_stop_what_is_fed_and_never_speaks_of_a_feed_that_is_not() {
    let sour_from = |day| {
        let shape = Shape {
            sour: vec![(day, 300)],
            ..Shape::default()
        };
        document(&outcome(&shape))
    };
    // The feed of these rows stops with the souring: 20 days before the end, and 30.
    for (day, first) in [(160, "Stop feeding now"), (150, "Do not feed.")] {
        let advice = &sour_from(day).advice[0];
        assert!(advice.starts_with(first), "{advice}");
    }
    let document = sour_from(160);
    assert!(document.story.iter().any(|p| p.contains("to the end")));
}

#[test]
fn washing_out_comes_before_any_other_advice() {
    let mut outcome = outcome(&Shape {
        sour: vec![(150, 300)],
        ..Shape::default()
    });
    outcome.events.push(Event {
        day: 170.0,
        vessel: 0,
        kind: EventKind::WashesOut,
    });
    let document = document(&outcome);
    assert!(
        document.advice[0].contains("start again"),
        "{}",
        document.advice[0]
    );
    assert!(
        document
            .story
            .iter()
            .any(|p| p.contains("washed out or dead"))
    );
}

#[test]
fn a_large_leak_is_named() {
    let document = document(&outcome(&Shape {
        leak: 0.2,
        ..Shape::default()
    }));
    assert!(
        document
            .advice
            .iter()
            .any(|a| a.starts_with("Mend the leak"))
    );
    // 0.2 of the gas beside the gas itself is a sixth of all.
    assert!(
        document
            .story
            .iter()
            .any(|p| p.contains("17\u{a0}% of the methane was lost"))
    );
}

#[test]
fn a_balance_that_does_not_close_fails_the_closing_line() {
    let mut outcome = outcome(&Shape::default());
    assert!(document(&outcome).closing.holds);
    outcome.closures[2].relative_gap = 0.5;
    let closing = document(&outcome).closing;
    assert!(
        !closing.holds && closing.text.contains("nitrogen"),
        "{}",
        closing.text
    );
    outcome.closures[2].relative_gap = f64::NAN;
    assert!(!document(&outcome).closing.holds);
    outcome.closures.clear();
    assert!(!document(&outcome).closing.holds);
}

#[test]
fn the_fates_are_ordered_and_sum_to_all_that_came_in() {
    let outcome = outcome(&Shape::default());
    let document = document(&outcome);
    let Plot::Amounts(amounts) = &document.figures.last().unwrap().plot else {
        panic!("the fate is drawn as bars");
    };
    assert!(amounts.bars.windows(2).all(|w| w[0].value >= w[1].value));
    let sum: f64 = amounts.bars.iter().map(|b| b.value).sum();
    let all = outcome.fate.start + outcome.fate.fed;
    assert!((sum / all - 1.0).abs() < 1e-3, "{sum} of {all}");
}

#[test]
fn a_row_of_vessels_shows_each() {
    let outcome = outcome(&Shape {
        vessels: 3,
        ..Shape::default()
    });
    let document = document(&outcome);
    for id in ["acids-1", "acids-2", "acids-3", "vessels"] {
        assert!(document.figures.iter().any(|f| f.id == id), "{id}");
    }
    let ph = panels(&document, "ph");
    let lines = ph.panels[0]
        .layers
        .iter()
        .filter(|l| matches!(l, Layer::Line(_)))
        .count();
    assert_eq!(lines, 3);
}

#[test]
fn every_figure_has_words_and_every_quantity_its_unit() {
    for shape in [
        Shape::default(),
        Shape {
            vessels: 2,
            start_date: None,
            ..Shape::default()
        },
    ] {
        let document = document(&outcome(&shape));
        assert!(document.figures.len() >= 6);
        let mut ids: Vec<_> = document.figures.iter().map(|f| f.id.clone()).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), document.figures.len());
        for figure in &document.figures {
            assert!(
                figure.caption.ends_with('.') && figure.alt.ends_with('.'),
                "{}",
                figure.id
            );
            if let Plot::Panels(panels) = &figure.plot {
                for panel in &panels.panels {
                    let pure = panel.title.contains("pH") || panel.title.contains("over");
                    assert!(
                        pure == panel.unit.is_empty(),
                        "{} has unit {:?}",
                        panel.title,
                        panel.unit
                    );
                }
            }
        }
    }
}

#[test]
fn tables_are_rectangular_and_dated_only_with_a_date() {
    for start_date in [None, Some("2027-03-14")] {
        let document = document(&outcome(&Shape {
            start_date,
            ..Shape::default()
        }));
        for table in &document.tables {
            assert!(
                table.rows.iter().all(|r| r.len() == table.columns.len()),
                "{}",
                table.id
            );
            let dated = table.columns.iter().any(|c| c.name == "Date");
            assert_eq!(
                dated,
                start_date.is_some() && table.id != "closures",
                "{}",
                table.id
            );
        }
    }
}

#[test]
fn an_outcome_without_days_gives_a_document() {
    let mut outcome = outcome(&Shape {
        days: 1,
        ..Shape::default()
    });
    outcome.plant.clear();
    outcome.vessels.clear();
    outcome.events.clear();
    outcome.days = 0;
    let document = document(&outcome);
    assert!(!document.story.is_empty());
}
