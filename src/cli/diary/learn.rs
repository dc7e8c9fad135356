//! What `fit` and `diagnose` have in common: a record and a scenario become a case and its readings; files and tellings.

use std::path::{Path, PathBuf};
use std::time::Instant;

use serde::Serialize;
use serde_json::{Value, json};

use super::show::{failure, tell_doubts};
use super::{refused, today};
use crate::case::Case;
use crate::cli::failure::Failure;
use crate::cli::folder::Folder;
use crate::cli::input::{self, Input};
use crate::cli::terminal::Terminal;
use crate::diary::fit::ahead::continued;
use crate::diary::fit::model::usual_gas;
use crate::diary::fit::readings::Readings;
use crate::diary::fit::unknown::{COLD_C, Unknown, unknowns_in_the_cold};
use crate::diary::{self, Doubt, Entry, Joined, Record, read};
use crate::report::{self, Document, ReportError};
use crate::scenario;
use crate::study::batch::MAX_THREADS;

/// The record, the scenario, and how to go about it.
#[derive(Debug, clap::Args)]
pub(super) struct Common {
    /// The record, a CSV file.
    #[arg(value_name = "FILE")]
    pub(super) file: PathBuf,
    /// Scenario of the tank: a file, or the name of a bundled one. It is needed.
    #[arg(long, value_name = "SCENARIO")]
    scenario: Option<PathBuf>,
    /// Number from which all draws follow; the same number gives the same result.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Threads to work with, 1 to 256; changes no result [default: one for each core].
    #[arg(long, value_name = "N", value_parser = threads)]
    pub(super) threads: Option<usize>,
    /// Folder for the report [default: print the summary only].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Write the figures as PNG too.
    #[arg(long, requires = "out")]
    pub(super) png: bool,
}

fn threads(word: &str) -> Result<usize, String> {
    within(word, 1, MAX_THREADS)
}

/// A whole number within bounds.
pub(super) fn within(word: &str, low: usize, high: usize) -> Result<usize, String> {
    match word.parse::<usize>() {
        Ok(value) if (low..=high).contains(&value) => Ok(value),
        _ => Err(format!("give a whole number from {low} to {high}")),
    }
}

/// The scenario of the tank, which no record can do without.
pub(super) fn tank(scenario: Option<&Path>) -> Result<&Path, Failure> {
    scenario.ok_or_else(|| {
        Failure::Usage(
            "a record says nothing of the tank it was kept at: name its scenario with --scenario FILE. \"marshgas new \
             tank.json\" begins one of your own; \"marshgas scenarios\" lists ready ones, such as --scenario warm-tote."
                .into(),
        )
    })
}

/// A past so short tells nothing that a filling does not \[d\].
const SHORT_PAST: f64 = 7.0;
/// What is made of a cold record without feed, whose scenario stands far warmer. In the model the ration of a warm tank sours
/// a cold one within weeks, and nobody goes on with it for months; so the two pasts that are told are a tank without any
/// food left and one just filled, and what stood there lies between.
const SPENT: &str = "The record notes no feed, and the scenario's is meant for a far warmer tank: one so cold would sour on it. So the \
tank is taken as unfed from its filling on. If it was fed, note the feed: everything below hangs on it.";

/// What is known before anything is learnt.
pub(super) struct Ready {
    /// The scenario as it stands.
    pub(super) scenario: Value,
    /// The checked case of the scenario as it stands.
    pub(super) planned: Case,
    /// The case that follows the record, and so many days more.
    pub(super) case: Case,
    pub(super) readings: Readings,
    pub(super) usual_nl: f64,
    /// How long one run of the case took \[s\].
    pub(super) run_s: f64,
    /// The same of a tank that was filled when the record began, where the scenario's past cannot be the tank's.
    pub(super) fresh: Option<(Case, Readings)>,
    /// What is open beyond the usual unknowns.
    pub(super) more: Vec<Unknown>,
    pub(super) doubts: Vec<Doubt>,
    pub(super) notes: Vec<String>,
    /// What a reader must know before the result: what was left out, and how the tank is taken to be fed.
    pub(super) said: Vec<String>,
}

impl Common {
    /// The scenario as it was named.
    pub(super) fn tank(&self) -> &Path {
        self.scenario.as_deref().unwrap_or(Path::new(""))
    }

    /// Reads, joins, continues.
    pub(super) fn ready(&self, ahead: u32, terminal: &Terminal) -> Result<Ready, Failure> {
        let scenario = tank(self.scenario.as_deref())?;
        let mut record =
            read::load(&self.file, Some(today())).map_err(|e| refused(&self.file, &e))?;
        let Input { loaded, .. } = input::load(scenario)?;
        let label = loaded.case.source.file.clone();
        let parent = scenario.parent();
        let tables = parent.filter(|p| !p.as_os_str().is_empty());
        let tables = tables.unwrap_or(Path::new("."));
        let mut joined = diary::join(&record, &loaded.json, &label, Some(tables))
            .map_err(|e| failure(e, &self.file))?;
        let noted = record.entries.iter().filter_map(|e| e.temperature_c);
        let coldest = noted.min_by(f64::total_cmp);
        let foreign = joined.leap.filter(|leap| leap.day > SHORT_PAST);
        let mut tank = loaded.json.clone();
        let is_spent =
            foreign.is_some() && coldest.is_some_and(|c| c < COLD_C) && !notes_feed(&record);
        if is_spent {
            tank["feeding"] = json!([]);
            joined = diary::join(&record, &tank, &label, Some(tables))
                .map_err(|e| failure(e, &self.file))?;
        }
        let mut said: Vec<String> = joined.before_filling.iter().cloned().collect();
        if let Some(leap) = &joined.leap {
            said.push(leap.told());
        }
        if let Some(left_out) = &joined.left_out {
            said.push(format!(
                "{} What is found below is bent by it: missing feed looks like a faster or richer one, or a meter that shows too \
                 much.",
                left_out.told()
            ));
        }
        let fed = feeding(&record, &mut joined, &tank, &label, tables);
        said.extend(match is_spent {
            true => Some(SPENT.to_owned()),
            false => fed,
        });
        record.doubts.extend(joined.doubts.iter().cloned());
        record.doubts.sort_by_key(|d| d.line);
        tell_doubts(&record.doubts, &self.file, terminal);
        let case = &joined.loaded.case;
        let habits = diary::habits(case);
        // What leaks through a hole and what a bell can show go by the size of the plant, so by the gas that it gives as
        // its scenario has it where that is more: both stay as they are where the record is cold or hardly fed.
        let plan = &loaded.case;
        let begin = Instant::now();
        let own = usual_gas(case, f64::from(case.days));
        let run_s = begin.elapsed().as_secs_f64();
        let usual_nl = own
            .and_then(|own| Ok(usual_gas(plan, f64::from(plan.days))?.max(own)))
            .map_err(|failure| Failure::Run {
                file: label.clone(),
                failure,
            })?;
        let liquid_l = 1000.0 * case.vessels.iter().map(|v| v.liquid_m3).sum::<f64>();
        let readings = Readings::of(&record, joined.start, &habits, usual_nl)
            .without_absurd(usual_nl, liquid_l);
        if readings.readings.is_empty() && !readings.absurd.is_empty() {
            return Err(Failure::Diary {
                path: self.file.clone(),
                why: readings.absurd.join(" "),
            });
        }
        said.extend(readings.absurd.iter().cloned());
        let fresh = foreign.and_then(|_| fresh(&record, &tank, &label, tables));
        let fresh = fresh.map(|fresh| {
            let readings = Readings::of(&record, fresh.start, &habits, usual_nl)
                .without_absurd(usual_nl, liquid_l);
            (
                continued(&fresh.loaded.case, readings.last_day, ahead),
                readings,
            )
        });
        Ok(Ready {
            fresh,
            more: unknowns_in_the_cold(coldest),
            case: continued(case, readings.last_day, ahead),
            scenario: loaded.json,
            planned: loaded.case,
            readings,
            usual_nl,
            run_s,
            doubts: record.doubts,
            notes: [record.taken.notes, joined.notes].concat(),
            said,
        })
    }
}

/// The record joined with a tank that was filled on its first day, if that can be.
fn fresh(record: &Record, scenario: &Value, label: &str, tables: &Path) -> Option<Joined> {
    let mut filled = scenario.clone();
    filled["start_date"] = json!(record.entries.first()?.date.to_string());
    let mut joined = diary::join(record, &filled, label, Some(tables)).ok()?;
    feeding(record, &mut joined, &filled, label, tables);
    Some(joined)
}

/// Whether a record notes any feed or water.
fn notes_feed(record: &Record) -> bool {
    let noted = |e: &Entry| !e.fed.is_empty() || e.water_l.is_some();
    record.entries.iter().any(noted)
}

/// How the tank is taken to be fed where the record notes no feed at all, in a sentence. A record without a place for
/// feed says nothing about it, so `joined` is then fed as its scenario says; one with an empty place says that there
/// was none.
fn feeding(
    record: &Record,
    joined: &mut Joined,
    scenario: &Value,
    label: &str,
    tables: &Path,
) -> Option<String> {
    if notes_feed(record) {
        return None;
    }
    let is_feed = |words: &str| words.ends_with("was fed") || words == "water put in";
    if !record.taken.columns.iter().any(|(_, words)| is_feed(words)) {
        let days = joined.loaded.case.days;
        let mut json = joined.loaded.json.clone();
        json["feeding"] = scenario["feeding"].clone();
        // Lines of the plan beyond the record are sound too.
        json["days"] = json!(scenario["days"].as_u64().unwrap_or(0).max(days.into()));
        if let Ok(mut fed) = scenario::from_value(&json, label, Some(tables)) {
            fed.case.days = days;
            fed.case.doses.retain(|dose| dose.day < f64::from(days));
            let none = match fed.case.doses.is_empty() {
                true => ", which is nothing up to the record's end",
                false => "",
            };
            joined.loaded = fed;
            joined.notes.retain(|note| !note.contains("notes no feed"));
            return Some(format!(
                "The record has no column for feed, so the tank is taken as fed as its scenario says{none}. If it was fed \
                 otherwise or not at all, add the column: everything below hangs on it."
            ));
        }
    }
    Some(
        "The record notes no feed, so the tank is taken as unfed from the record's first day on. If it was fed, add the \
         feed: everything below hangs on it."
            .into(),
    )
}

/// Tells on standard error what begins and about how long it takes, where no bar shows that.
pub(super) fn begin(what: &str, runs: f64, ready: &Ready, common: &Common, terminal: &Terminal) {
    let cores = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = common.threads.unwrap_or_else(cores);
    let seconds = runs * ready.run_s / threads as f64;
    terminal.begin(&format!("{what} takes {}.", about(seconds)));
}

/// A time as rough as it can be foreseen.
fn about(seconds: f64) -> String {
    match seconds {
        s if s < 3.0 => "a few seconds".into(),
        s if s < 100.0 => format!("about {:.0} s", (s / 5.0).ceil() * 5.0),
        s => format!("about {:.0} min", (s / 60.0).ceil()),
    }
}

/// What a reader must know comes before what was found.
pub(super) fn say(document: &mut Document, said: &[String]) {
    document.story.splice(0..0, said.iter().cloned());
}

/// The result as JSON, in the folder and on standard output.
#[derive(Serialize)]
pub(super) struct Told<'a, T> {
    pub(super) schema: &'a str,
    pub(super) schema_version: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) files: Option<&'a [String]>,
    pub(super) doubts: &'a [Doubt],
    pub(super) notes: &'a [String],
    pub(super) result: &'a T,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) fitted_scenario: Option<&'a Value>,
}

/// Page, figures and the given files; the figures as PNG too where that is asked for.
pub(super) fn write(
    folder: Folder,
    document: &Document,
    more: Vec<(String, Vec<u8>)>,
    png: bool,
) -> Result<Vec<String>, Failure> {
    let path = folder.path().to_owned();
    let failed = |error: ReportError| Failure::Write {
        path: path.clone(),
        why: error.to_string(),
    };
    let mut files = vec![(
        "report.html".to_owned(),
        report::html(document).map_err(failed)?.into_bytes(),
    )];
    files.extend(more);
    for figure in &document.figures {
        files.push((
            format!("{}.svg", figure.id),
            report::svg(figure, report::Theme::Light).into_bytes(),
        ));
        if png {
            let png = report::png(figure).map_err(failed)?;
            files.push((format!("{}.png", figure.id), png));
        }
    }
    report::write_all(folder.path(), &files).map_err(failed)?;
    folder.keep();
    let names = files.iter().map(|(name, _)| path.join(name));
    Ok(names.map(|p| p.display().to_string()).collect())
}

/// JSON for a file.
pub(super) fn json_bytes(value: &impl Serialize) -> Result<Vec<u8>, Failure> {
    let mut bytes = serde_json::to_vec_pretty(value).map_err(|e| Failure::Output(e.into()))?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// The summary on a terminal.
pub(super) fn print(
    document: &Document,
    files: &[String],
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let (width, unicode) = terminal.layout();
    let mut text = report::text(document, width, true, unicode);
    if !files.is_empty() {
        let list: Vec<String> = files.iter().map(|f| format!("  {f}")).collect();
        text.push_str(&format!("\nFiles\n{}\n", list.join("\n")));
    }
    terminal.print(&text)
}

#[cfg(test)]
mod tests {
    use super::about;

    #[test]
    fn a_time_is_told_as_roughly_as_it_is_known() {
        for (seconds, words) in [
            (0.4, "a few seconds"),
            (11.2, "about 15 s"),
            (130.0, "about 3 min"),
        ] {
            assert_eq!(about(seconds), words);
        }
    }
}
