//! What a study under uncertainty has to show.

mod figures;
mod story;
mod tables;

use super::cautions::cautions;
use super::words::finished;
use crate::digester::Bands;
use crate::report::document::{Closing, Document};
use crate::study::risk::{Level, Matter, Risk, Summary, Target};
use crate::study::uncertain::Factor;

/// What the chances can be trusted for.
const TRUST: &str = "These chances are no better than the spreads that were assumed, which the table of unknowns \
shows with their sources. Trust comparisons of levels and of unknowns more than a single chance.";

const LIMITS: [&str; 8] = [
    "The spread is what was assumed, not what was measured at your digester. A wider or narrower assumption gives \
     other chances.",
    "The interval beside a chance is sampling error alone: it shrinks with more draws, while the error of the \
     assumptions stays.",
    "The unknowns are drawn independently of each other, and each moves all materials or vessels together. In truth \
     a warm summer, a good starter and a careful hand may come together.",
    "Only the listed unknowns are drawn. Scum, blocked outlets, poisons, leaks, and whether the equations are right \
     at all are not among them.",
    "Nobody watches in these runs: the feeding goes on as planned while it turns sour. A person who looks at the \
     flame would stop.",
    "A correlation says how surely a result goes with an unknown, not by how much, and only over the assumed spread. \
     Unknowns that change from day to day are summed up to one number a run first, named beside them: what happens on \
     single days is not in it.",
    "The acid ratio here comes from the acids themselves. A titration on two points counts some bicarbonate as acid: what \
     is computed at 0.01 may titrate at 0.1 to 0.2. Hold your readings against your own usual.",
    "Sour is a rule on pH, acid ratio and falling methane; first flame is a rule on methane and air. See the record \
     of a single run for both.",
];

/// The document of a study, read against `bands`.
#[must_use]
pub fn risk(risk: &Risk, bands: &Bands) -> Document {
    let view = View {
        risk,
        bands,
        start: risk.start_date.as_deref().and_then(|d| d.parse().ok()),
    };
    let figures = figures::figures(&view);
    finished(Document {
        kind: "Risk".into(),
        title: risk.title.clone(),
        about: risk.about.clone(),
        story: story::story(&view),
        advice: story::advice(&view),
        key_numbers: story::key_numbers(&view),
        trust: TRUST.into(),
        figures,
        tables: tables::tables(&view),
        cautions: cautions(),
        limits: LIMITS.map(str::to_owned).to_vec(),
        facts: tables::facts(&view),
        closing: closing(risk),
        ..Document::default()
    })
}

/// A study with what its parts have in common.
struct View<'a> {
    risk: &'a Risk,
    bands: &'a Bands,
    start: Option<jiff::civil::Date>,
}

impl View<'_> {
    fn main(&self) -> Option<&Level> {
        self.risk.levels.get(self.risk.main)
    }

    fn factor(&self, name: &str) -> Option<&Factor> {
        self.risk.factors.iter().find(|f| f.name == name)
    }

    /// "how warm the liquor really is".
    fn words<'b>(&'b self, name: &'b str) -> &'b str {
        self.factor(name).map_or(name, |f| &f.words)
    }

    /// The same with the number that stands for it, where it changes from day to day.
    fn words_of(&self, matter: &Matter) -> String {
        let words = self.words(&matter.factor);
        match by_words(matter.by) {
            Some(by) => format!("{words} ({by})"),
            None => words.to_owned(),
        }
    }
}

/// A result as a noun.
const fn target_words(target: Target) -> &'static str {
    match target {
        Target::FirstFlame => "the day of the first flame",
        Target::LowestPh => "how low the pH falls",
        Target::Yield => "the methane from a kilogram of feed",
    }
}

/// The days whose sum stands for an unknown; `None` for one that is a single number anyway.
const fn by_words(by: Summary) -> Option<&'static str> {
    match by {
        Summary::Value => None,
        Summary::FirstWeeks => Some("first four weeks"),
        Summary::HeaviestWeeks => Some("heaviest four weeks"),
        Summary::WholeRun => Some("whole run"),
    }
}

/// The same in full sentences.
const BY: &str = "The daily feed stands as the kilograms fed, the batches as the kilograms of solids fed, both in times \
of the plan: for the first flame those of the first four weeks of the run, for the pH those of the heaviest four weeks on \
end, for the methane those of the whole run.";

fn closing(risk: &Risk) -> Closing {
    let finished: u64 = risk.levels.iter().map(|l| l.finished).sum();
    let failed: u64 = risk.levels.iter().map(|l| l.failed).sum();
    let mut text = format!("{finished} runs came through");
    text.push_str(&match failed {
        0 => ", none failed".to_owned(),
        n => format!(", {n} failed and count in no share"),
    });
    if risk.not_begun > 0 {
        text.push_str(&format!(
            "; stopped early, {} were not begun",
            risk.not_begun
        ));
    }
    text.push('.');
    Closing {
        holds: failed == 0 && finished > 0,
        text,
    }
}
