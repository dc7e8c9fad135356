//! What a diagnosis gives, as plain data.

use serde::Serialize;

use crate::diary::fit::readings::What;

/// A diagnosis.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diagnosis {
    /// Title of the scenario.
    pub title: String,
    /// Calendar date of day 0.
    pub start_date: String,
    /// Last day of the record \[d\].
    pub last_day: f64,
    /// Number of readings used.
    pub readings: usize,
    /// What a sound tank would have given over the days of the record; `None` where it could not be computed.
    pub expected: Option<Expected>,
    /// What the last readings alone say of souring, whatever story is the likeliest; `None` where they say nothing of it.
    pub alarm: Option<Alarm>,
    /// The stories, the likeliest first.
    pub stories: Vec<Ranked>,
    /// The tests, the one that tells most between the best two stories for its effort first.
    pub tests: Vec<TestWorth>,
    /// The gas readings that the stories are held against.
    pub gas: Vec<GasRead>,
    /// Gas of the likeliest story at its best values, day by day from the first reading on.
    pub course: Vec<CourseDay>,
    /// How many times wider than assumed the readings scatter about even the best story, at least 1.
    pub noise: f64,
    /// Gas at typical values \[norm litres/d\].
    pub usual_gas_nl: f64,
    /// Runs, failed ones among them.
    pub runs: usize,
    /// Failed runs.
    pub failed: usize,
    /// Seed.
    pub seed: u64,
    /// What was left aside and why.
    pub notes: Vec<String>,
    /// Where the chances of the tests come from.
    pub source: String,
    /// Version of marshgas.
    pub version: &'static str,
    /// Scenario file.
    pub file: String,
    /// SHA-256 of the scenario's bytes.
    pub sha256: String,
}

/// What a sound tank, as far as it is known before the record, would have given over the days that its readings cover.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// First of these days; the last is that of the record \[d\].
    pub from_day: f64,
    /// Mean temperature of the tank over these days, as noted or else as the scenario has it \[C\].
    pub tank_c: f64,
    /// Gas: 5, 50, 95 % \[norm litres/d\].
    pub gas_nl_d: [f64; 3],
    /// What was read of it \[norm litres/d\]; `None` where no gas was read.
    pub read_nl_d: Option<f64>,
}

/// A reading of the last days that asks to stop feeding before anything else is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Alarm {
    /// When it was read \[d\].
    pub day: f64,
    /// The pH, where that is what was read; else a flame that burnt before was out.
    pub ph: Option<f64>,
}

/// Gas that was read over some days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GasRead {
    /// When it began to gather \[d\].
    pub from_day: f64,
    /// When it was read \[d\].
    pub day: f64,
    /// How much \[norm litres\].
    pub gas_nl: f64,
    /// Read after the lime, without its carbon dioxide.
    pub after_lime: bool,
}

/// A day of the record as a story has it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CourseDay {
    /// Day.
    pub day: f64,
    /// Gas as it would be read \[norm litres/d\].
    pub gas_nl: f64,
}

/// A story with its chance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ranked {
    /// Short name.
    pub name: String,
    /// As a heading.
    pub title: String,
    /// In words that complete "it may be that ...".
    pub words: String,
    /// What a record of it looks like, in words that follow a colon.
    pub looks: String,
    /// What to do if it is true.
    pub act: String,
    /// Why it looks like this, and what is assumed.
    pub why: String,
    /// Chance before the record.
    pub before: f64,
    /// Chance with the record, among these stories.
    pub chance: f64,
    /// Logarithm of its evidence, less what all stories share; `None` where it could not be computed.
    pub log_evidence: Option<f64>,
    /// When it began, of a story that may have begun on a day of the record.
    pub since: Option<Since>,
    /// What speaks for and against it.
    pub evidence: Vec<Evidence>,
    /// Its own best values.
    pub changed: Vec<Changed>,
    /// Its look of the next week.
    pub week: Vec<WeekDay>,
    /// Why it could not be computed.
    pub failed: Option<String>,
}

/// When a story began, if on a day of the record.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Since {
    /// Chance, if the story is true, that it began on the way; else it held from the first day on.
    pub chance: f64,
    /// If it began on the way: with 1 chance in 20 before this day.
    pub from_day: f64,
    /// As likely before as after this day.
    pub day: f64,
    /// With 1 chance in 20 after this day.
    pub to_day: f64,
}

/// What one kind of reading says about a story.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Evidence {
    /// Kind.
    pub what: What,
    /// How many of them.
    pub readings: usize,
    /// The story it is held against.
    pub against: String,
    /// Natural logarithm of how many times better it goes with this story's best fit.
    pub gain: f64,
}

/// A value in a story.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Changed {
    /// Unknown.
    pub name: String,
    /// What it is.
    pub words: String,
    /// Value.
    pub value: f64,
    /// Unit.
    pub unit: String,
    /// Where it lies in what was known before: as many standard deviations from the middle of a bell.
    pub place: f64,
    /// From which day on, if not from the first.
    pub since: Option<f64>,
}

/// A day to come: 5, 50, 95 %.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeekDay {
    /// Days after the record.
    pub ahead: u32,
    /// Gas as it would be read \[norm litres/d\].
    pub gas_nl: [f64; 3],
    /// pH.
    pub ph: [f64; 3],
    /// Methane share of the dry gas, 0..1.
    pub methane: [f64; 3],
}

/// A test and what it is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TestWorth {
    /// Short name.
    pub name: String,
    /// As a heading.
    pub title: String,
    /// How it is done.
    pub how: String,
    /// What it costs beyond the walk to the tank \[min\].
    pub effort_min: f64,
    /// Expected information between the best two stories \[bits, at most 1\].
    pub between_best_two_bits: f64,
    /// Expected information among all stories \[bits\].
    pub among_all_bits: f64,
    /// What it can show.
    pub outcomes: Vec<String>,
    /// Chances of the outcomes by story, the likeliest story first.
    pub chances: Vec<(String, Vec<f64>)>,
}
