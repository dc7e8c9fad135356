//! `marshgas diary add`: one more line, in words.

use std::path::PathBuf;

use serde_json::json;

use super::store::Store;
use super::today;
use crate::cli::columns::{Side, lines};
use crate::cli::failure::Failure;
use crate::cli::terminal::Terminal;
use crate::diary::{self, AppendError, Entry, Stranger, read};
use crate::scenario::Warning;

/// Add a line to a record, in words.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas diary add mine.csv fed 2 kg kitchen-scraps water 2 gas 310 temp 24
  marshgas diary add mine.csv 'gas 310 at 22 C 8 mbar wet, ph 7.1, burns'
  marshgas diary add mine.csv yesterday fed 1 cattle-dung + 2 lawn-clippings
  marshgas diary add mine.csv 2026-04-30 at 8:30 ph 6.9 no flame note smells

Words:
  fed 2 kg NAME + 1 NAME    what was fed, or: fed nothing
  water 2                   water put in, L
  temp 24                   temperature of the tank, C
  gas 310                   gas since the last reading, L; behind it:
                            at 22 C, 8 mbar, wet, dry, after lime, before lime
  ph 7.1, methane 58        pH, methane in %
  burns, no flame           flame test
  acids 900, alkalinity 4000
                            mg/L
  today, yesterday, on DATE, at 8:30
                            when (today, without an hour, if it is left out)
  note ...                  your own words, to the end

Other units may stand behind a number: g, ml, m3, F, kPa. A feed that looks
like a slip of a library's name is refused; with --own, or once the record has
it, it counts as a material or recipe of your scenario. A feed stays in the
record as you call it: what it is taken for is told here and in every report.
The line is written whole or not at all. FILE.bak keeps the version before;
FILE.lock keeps other writers waiting while one is at work. No day to come is
taken.")]
pub(super) struct Options {
    /// The record; `marshgas diary new` makes one.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Take feeds that the library does not know as your own, even when they look like a slip.
    #[arg(long)]
    own: bool,
    /// What to note, as words; see below.
    #[arg(value_name = "WORDS", required = true, allow_negative_numbers = true)]
    words: Vec<String>,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let file = &options.file;
    let told = diary::understand(&options.words.join(" "), today())
        .map_err(|e| Failure::Usage(format!("{e} Nothing was written.")))?;
    let store = Store::open(file)?;
    let mut notes = told.notes;
    notes.extend(strangers(&told.unknown, &store.text, options)?);
    let taken: Vec<String> = told
        .taken
        .iter()
        .map(|(name, meant)| {
            format!(
                "\"{name}\" is kept as it was written. It is taken for {meant}, unless the scenario has a material or recipe \
                 called \"{name}\"."
            )
        })
        .collect();
    let new = diary::append(&store.text, &told.entry).map_err(|e| failure(e, options))?;
    notes.extend(new.doubts);
    let backup = store.replace(&new.text)?;
    for seen in &taken {
        terminal.warn(&Warning {
            file: file.display().to_string(),
            line: usize::try_from(new.number).ok(),
            path: String::new(),
            seen: seen.clone(),
            why: String::new(),
            mend: String::new(),
        });
    }
    if terminal.wants_json() {
        let all_notes = [notes, taken].concat();
        return terminal.print_json(&json!({
            "file": file.display().to_string(),
            "line": new.number,
            "text": new.line,
            "understood": understood(&told.entry).into_iter().collect::<std::collections::BTreeMap<_, _>>(),
            "notes": all_notes,
            "columns_added": new.added,
            "backup": backup.display().to_string(),
        }));
    }
    let mut text = format!(
        "{}, line {}: {}\n",
        file.display(),
        new.number,
        told.entry.date
    );
    let rows: Vec<Vec<String>> = understood(&told.entry)
        .into_iter()
        .map(|(what, value)| vec![format!("  {what}"), value])
        .collect();
    text.push_str(&lines(&[Side::Left, Side::Left], &rows));
    if !new.added.is_empty() {
        text.push_str(&format!("new columns: {}\n", new.added.join(", ")));
    }
    for note in &notes {
        text.push_str(&format!("look again: {note}\n"));
    }
    terminal.print(&text)
}

/// Refuses feeds that look like a slip of a library's name, unless the record has them already or they are said to be
/// the owner's; and tells what the others need.
fn strangers(
    unknown: &[Stranger],
    record: &str,
    options: &Options,
) -> Result<Vec<String>, Failure> {
    let new: Vec<&Stranger> = match unknown {
        [] => Vec::new(),
        _ => {
            let before = read::from_text(record, None).map_or_else(|_| Vec::new(), |r| r.entries);
            let is_there = |name: &str| {
                before
                    .iter()
                    .flat_map(|e| &e.fed)
                    .any(|f| f.material == name)
            };
            unknown.iter().filter(|s| !is_there(&s.name)).collect()
        }
    };
    if let Some((slip, meant)) = new.iter().find_map(|s| Some((s, s.nearest?)))
        && !options.own
    {
        return Err(Failure::Usage(format!(
            "\"{}\" is no material of the library. Did you mean {meant}? If it is a material or recipe of your own \
             scenario, say so once with --own. Nothing was written.",
            slip.name
        )));
    }
    let tell = |s: &&Stranger| {
        format!(
            "\"{}\" is no material of the library; it is kept as one of your own, which the scenario must have under \
             \"materials\" or \"recipes\".",
            s.name
        )
    };
    Ok(new.iter().map(tell).collect())
}

fn failure(error: AppendError, options: &Options) -> Failure {
    Failure::Diary {
        path: options.file.clone(),
        why: error.to_string(),
    }
}

/// What was understood, by name.
fn understood(entry: &Entry) -> Vec<(&'static str, String)> {
    let mut all = Vec::new();
    if let Some(hour) = entry.time_h {
        all.push(("hour", diary::clock(hour)));
    }
    for fed in &entry.fed {
        all.push(("fed", format!("{} kg {}", fed.kg, fed.material)));
    }
    let mut number = |what, value: Option<f64>, unit: &str| {
        all.extend(value.map(|v| (what, format!("{v} {unit}").trim_end().to_owned())));
    };
    number("water", entry.water_l, "L");
    number("tank", entry.temperature_c, "C");
    if let Some(gas) = &entry.gas {
        number("gas", Some(gas.litres), "L since the last reading");
        number("gas read at", gas.temperature_c, "C");
        number("gas pressure", gas.pressure_mbar, "mbar above the air");
    }
    number("pH", entry.ph, "");
    number("methane", entry.methane_pct, "%");
    number("acids", entry.acids_mg_l, "mg/L");
    number("alkalinity", entry.alkalinity_mg_l, "mg/L");
    let mut word = |what, value: Option<bool>, yes: &str, no: &str| {
        all.extend(value.map(|v| (what, (if v { yes } else { no }).to_owned())));
    };
    let gas = entry.gas.as_ref();
    word("gas was", gas.and_then(|g| g.wet), "wet", "dry");
    word(
        "read",
        gas.and_then(|g| g.lime),
        "after the lime",
        "before the lime",
    );
    word("flame", entry.burns, "burns", "does not burn");
    if !entry.remark.is_empty() {
        all.push(("note", entry.remark.clone()));
    }
    all
}
