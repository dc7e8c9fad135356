//! Entries in the order of their days, and what does not fit together.

use std::collections::HashMap;

use jiff::civil::{Date, date};

use super::dates::days_between;
use crate::diary::record::{Doubt, Entry};

/// Days without an entry after which the year may be a slip of the pen \[d\].
const LONG: i32 = 366;
/// First day that is not doubted.
const EARLIEST: Date = date(1990, 1, 1);

/// Sorts entries by day and hour; lines of the same moment stay in the order of the file.
pub(super) fn sorted(
    mut entries: Vec<Entry>,
    today: Option<Date>,
    doubts: &mut Vec<Doubt>,
) -> Vec<Entry> {
    let mut doubt = |line: u64, reason: String| doubts.push(Doubt { line, reason });
    let mut latest: Option<(u64, Date)> = None;
    let mut seen: HashMap<String, u64> = HashMap::new();
    for entry in &entries {
        if let Some((line, date)) = latest.filter(|(_, date)| entry.date < *date) {
            doubt(
                entry.line,
                format!(
                    "{} stands after {date} of line {line}; it counts on its own day",
                    entry.date
                ),
            );
        }
        if latest.is_none_or(|(_, date)| entry.date > date) {
            latest = Some((entry.line, entry.date));
        }
        if today.is_some_and(|today| entry.date > today) {
            doubt(
                entry.line,
                format!("{} lies in the future; kept", entry.date),
            );
        }
        if entry.date < EARLIEST {
            doubt(entry.line, format!("{} lies long ago; kept", entry.date));
        }
        let same = format!(
            "{:?}",
            Entry {
                line: 0,
                ..entry.clone()
            }
        );
        if let Some(first) = seen.insert(same, entry.line) {
            doubt(
                entry.line,
                format!("it says the same as line {first}; both are kept and counted"),
            );
        }
    }
    entries.sort_by_key(|e| e.date);
    for day in entries.chunk_by_mut(|a, b| a.date == b.date) {
        // Without all hours the order of the file is the best that is known.
        if day.iter().all(|e| e.time_h.is_some()) {
            let hour = |e: &Entry| e.time_h.unwrap_or(0.0);
            day.sort_by(|a, b| hour(a).total_cmp(&hour(b)));
        }
    }
    for pair in entries.windows(2) {
        if let [before, after] = pair
            && days_between(before.date, after.date) > LONG
        {
            doubt(
                after.line,
                format!(
                    "{} comes {} days after the entry before; kept. Is the year right?",
                    after.date,
                    days_between(before.date, after.date)
                ),
            );
        }
    }
    entries
}
