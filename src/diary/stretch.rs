//! Gas readings as stretches of time: from when, to when, how much. What is shown and what is fitted use the same ones.

use jiff::civil::Date;

use super::join::moment;
use super::record::{Habits, Record};

/// Gas that gathered between two looks at bell or meter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    /// Place of the later reading among the record's entries.
    pub(crate) entry: usize,
    /// Earlier look \[d from the start of the run\].
    pub(crate) from: f64,
    /// Later look \[d from the start of the run\], above `from`.
    pub(crate) to: f64,
    /// Gas, dry \[norm L\].
    pub(crate) norm_l: f64,
    /// Whether it was read after the lime.
    pub(crate) after_lime: bool,
}

/// The stretches of a record for a run whose day 0 is `start`, and what was assumed or left aside, in sentences.
///
/// A look without an amount (a meter's first count, a lost reading) begins the next stretch. A second reading at the
/// same moment adds to the first: the store was emptied in between.
pub(crate) fn stretches(
    record: &Record,
    start: Date,
    habits: &Habits,
) -> (Vec<Stretch>, Vec<String>) {
    let begin = record.entries.first().map_or(0.0, |e| moment(e, start));
    let mut all: Vec<Stretch> = Vec::new();
    let mut notes = Vec::new();
    let mut before: Option<f64> = None;
    for (i, entry) in record.entries.iter().enumerate() {
        let to = moment(entry, start);
        let Some(gas) = &entry.gas else {
            if entry.gas_seen {
                before = Some(before.map_or(to, |at| at.max(to)));
            }
            continue;
        };
        let (norm_l, after_lime) = (gas.norm_l(habits), gas.after_lime(habits));
        let mut aside = |why: &str| {
            notes.push(format!(
                "The gas of line {} is left aside: {why}.",
                entry.line
            ));
        };
        if let Some(at) = before.filter(|at| to <= *at) {
            match all.last_mut() {
                Some(last) if last.to == at && last.after_lime == after_lime => {
                    last.norm_l += norm_l;
                }
                Some(last) if last.to == at => {
                    aside("at the same moment gas was read before and after the lime");
                }
                _ => aside("it was read at the same time as a look before it"),
            }
            continue;
        }
        let from = match before {
            Some(at) => at,
            None if to > begin.max(0.0) => {
                notes.push(
                    "The first gas reading is taken for the gas since the record's first line."
                        .into(),
                );
                begin.max(0.0)
            }
            None => {
                notes.push(
                    "The first line already reads gas; it is taken for the gas of one day.".into(),
                );
                (to - 1.0).max(0.0)
            }
        };
        before = Some(to);
        if to <= 0.0 {
            notes.push(format!(
                "The gas of line {} is left aside: it was read before the start of the run.",
                entry.line
            ));
        } else if from < 0.0 {
            notes.push(format!(
                "The gas of line {} is left aside: part of it came before the start of the run.",
                entry.line
            ));
        } else {
            all.push(Stretch {
                entry: i,
                from,
                to,
                norm_l,
                after_lime,
            });
        }
    }
    (all, notes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::read::from_text;
    use jiff::civil::date;

    /// (line, from, to, litres as read).
    fn of(text: &str) -> Vec<(u64, f64, f64, f64)> {
        let record = from_text(text, None).unwrap();
        let start = date(2026, 5, 1);
        let (all, _) = stretches(&record, start, &Habits::default());
        all.iter()
            .map(|s| {
                let entry = &record.entries[s.entry];
                let gas = entry.gas.unwrap();
                let litres = s.norm_l / gas.norm_l(&Habits::default()) * gas.litres;
                let day = |at: f64| (at * 1000.0).round() / 1000.0;
                (
                    entry.line,
                    day(s.from),
                    day(s.to),
                    (litres * 1000.0).round() / 1000.0,
                )
            })
            .collect()
    }

    #[test]
    fn a_meters_first_count_begins_the_first_stretch() {
        let text = "date,meter_l,ph\n2026-05-01,,7\n2026-05-03,100,\n2026-05-05,160,\n";
        assert_eq!(of(text), [(4, 2.333, 4.333, 60.0)]);
    }

    #[test]
    fn a_meter_set_back_begins_anew() {
        let text = "date,meter_l\n2026-05-01,100\n2026-05-02,150\n2026-05-03,10\n2026-05-04,40\n";
        assert_eq!(of(text), [(3, 0.333, 1.333, 50.0), (5, 2.333, 3.333, 30.0)]);
    }

    #[test]
    fn a_meter_is_differenced_in_the_order_of_the_days() {
        let text = "date,meter_l\n2026-05-03,200\n2026-05-01,100\n2026-05-02,150\n";
        assert_eq!(of(text), [(4, 0.333, 1.333, 50.0), (2, 1.333, 2.333, 50.0)]);
        let record = from_text(text, None).unwrap();
        assert!(!record.doubts.iter().any(|d| d.reason.contains("runs back")));
    }

    #[test]
    fn a_lost_reading_ends_a_stretch_without_an_amount() {
        for lost in ["spilt", "-5"] {
            let text = format!(
                "date,gas_l\n2026-05-01,10\n2026-05-02,20\n2026-05-03,{lost}\n2026-05-04,30\n"
            );
            assert_eq!(
                of(&text),
                [
                    (2, 0.0, 0.333, 10.0),
                    (3, 0.333, 1.333, 20.0),
                    (5, 2.333, 3.333, 30.0)
                ],
                "{lost}"
            );
        }
    }

    #[test]
    fn two_readings_of_one_moment_add_up() {
        let text = "date,gas_l\n2026-05-01,10\n2026-05-02,20\n2026-05-02,5\n";
        assert_eq!(of(text), [(2, 0.0, 0.333, 10.0), (3, 0.333, 1.333, 25.0)]);
    }
}
