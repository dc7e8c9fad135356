//! Diagnoses of made-up records whose story is known.

use std::sync::atomic::AtomicBool;

use marshgas::case::Case;
use marshgas::diary::diagnose::result::Diagnosis;
use marshgas::diary::diagnose::story::{Book, Story};
use marshgas::diary::diagnose::{Options, WEEK, diagnose};
use marshgas::diary::fit::ahead::continued;
use marshgas::diary::fit::model::{Model, usual_gas};
use marshgas::diary::fit::readings::Readings;
use marshgas::diary::fit::unknown::reading_factor;
use marshgas::diary::{Entry, GasReading, Habits};
use marshgas::study::batch::{self, BatchOptions};
use marshgas::study::generator::Draws;

use super::diary_made_up::{Owner, case, record, start, truth};

static NEVER: AtomicBool = AtomicBool::new(false);

/// A made-up record of a story; `None` where its truth cannot be run.
fn readings(
    book: &Book,
    story: &Story,
    case: &Case,
    owner: &Owner,
    seed: u64,
) -> Option<(Readings, f64)> {
    let unknowns = book.unknowns(story);
    let usual = usual_gas(case, f64::from(owner.days)).unwrap();
    let values = truth(&unknowns, seed);
    let nothing = Readings::default();
    let rows = Model::new(case, &unknowns, &nothing, usual)
        .unwrap()
        .run(&values)
        .ok()?;
    let factor = reading_factor(&unknowns, &values);
    // Gas held back: three days in four it comes only in part, on the fourth with what had gathered.
    let held = |draws: &mut Draws| {
        if draws.uniform() < 0.25 { 2.5 } else { 0.5 }
    };
    let steady = |_: &mut Draws| 1.0;
    let jump: &dyn Fn(&mut Draws) -> f64 = if story.scatter > 1.0 { &held } else { &steady };
    let written = record(start(case), &rows, factor, usual, owner, seed, jump);
    Some((
        Readings::of(&written, start(case), &Habits::default(), usual),
        usual,
    ))
}

fn diagnosed(
    book: &Book,
    case: &Case,
    readings: &Readings,
    usual: f64,
    threads: Option<usize>,
) -> Diagnosis {
    let options = Options {
        seed: 1,
        threads,
        stop: &NEVER,
    };
    let longer = continued(case, readings.last_day, WEEK);
    diagnose(book, &longer, readings, usual, &options, &|_| {}).unwrap()
}

/// Ranks of the right story over records of each story, by story.
fn ranks(name: &str, owner: &Owner, records: usize) -> Vec<(String, Vec<usize>)> {
    let book = Book::standard();
    let case = case(name, owner.days);
    let stories = book.stories.len();
    let one = |index: usize| {
        let story = &book.stories[index % stories];
        let seed = 5000 + index as u64;
        let (readings, usual) = readings(&book, story, &case, owner, seed)?;
        let found = diagnosed(&book, &case, &readings, usual, Some(1));
        let rank = found.stories.iter().position(|s| s.name == story.name)?;
        Some((rank, found.stories[0].name.clone(), found.stories[0].chance))
    };
    let jobs = batch::run_all(records * stories, BatchOptions::new(&NEVER), one, &|_| {}).unwrap();
    let mut all: Vec<(String, Vec<usize>)> = book
        .stories
        .iter()
        .map(|s| (s.name.clone(), Vec::new()))
        .collect();
    for (index, job) in jobs.into_iter().enumerate() {
        if let Some((rank, first, chance)) = job.unwrap().unwrap() {
            all[index % stories].1.push(rank);
            if rank > 0 {
                println!(
                    "  {} taken for {first} ({chance:.2}), itself at rank {rank}",
                    all[index % stories].0
                );
            }
        }
    }
    for (name, ranks) in &all {
        let first = ranks.iter().filter(|r| **r == 0).count();
        let two = ranks.iter().filter(|r| **r < 2).count();
        println!(
            "{name:9}: first {first}/{}, top two {two}/{}",
            ranks.len(),
            ranks.len()
        );
    }
    let total: usize = all.iter().map(|a| a.1.len()).sum();
    let count = |most: usize| {
        all.iter()
            .flat_map(|a| &a.1)
            .filter(|r| **r <= most)
            .count()
    };
    println!(
        "all: first {}/{total}, top two {}/{total}",
        count(0),
        count(1)
    );
    all
}

#[test]
#[ignore = "minutes: run once, counts in DEVELOPERS.md"]
fn the_right_story_is_found() {
    let records: usize = std::env::var("RECORDS").map_or(20, |n| n.parse().unwrap());
    ranks("warm-tote", &Owner::careful(75), records);
}

/// Ten days of no gas and a temperature.
#[test]
fn a_scrap_of_a_record_gets_a_hedged_answer() {
    let book = Book::standard();
    let case = case("manure-start", 10);
    let mut written = marshgas::diary::Record::default();
    for day in 1..10i64 {
        let date = start(&case)
            .checked_add(jiff::Span::new().days(day))
            .unwrap();
        let mut entry = Entry::blank(date);
        entry.line = day as u64 + 1;
        entry.temperature_c = Some(25.0);
        entry.gas = Some(GasReading {
            litres: 0.0,
            temperature_c: None,
            pressure_mbar: None,
            wet: None,
            lime: None,
        });
        written.entries.push(entry);
    }
    let usual = usual_gas(&case, 10.0).unwrap();
    let readings = Readings::of(&written, start(&case), &Habits::default(), usual);
    let found = diagnosed(&book, &case, &readings, usual, None);
    let total: f64 = found.stories.iter().map(|s| s.chance).sum();
    assert!((total - 1.0).abs() < 1e-9);
    // Hedged: no single story takes it all.
    assert!(found.stories[0].chance < 0.9, "{}", found.stories[0].chance);
    assert!(found.tests[0].between_best_two_bits > 0.1);
}
