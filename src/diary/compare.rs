//! The model's run beside the record: gas by the stretches between readings, and whatever else was measured.

mod course;

use jiff::civil::Date;
use serde::Serialize;

use super::join::moment;
use super::read::days_between;
use super::record::{Habits, Record};
use super::stretch::stretches;
use crate::case::Case;
use crate::simulate::{DayRow, Outcome};
use course::Course;

/// Days of a rolling average, and how many of them readings must cover \[d\].
const WINDOW: f64 = 7.0;
const COVERED: f64 = 4.0;
/// Days without an entry that count as a gap \[d\].
const GAP: i32 = 3;
/// A stretch so many times as long as the usual one tells little about a day.
const LONG: f64 = 3.0;

/// A record beside the run that follows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Date of day 0, ISO 8601.
    pub start: String,
    /// Days of the run.
    pub days: u32,
    /// Day of the run on which the record begins.
    pub first_day: f64,
    /// Gas between readings, in order.
    pub intervals: Vec<Interval>,
    /// Other measurements, in order.
    pub readings: Vec<Reading>,
    /// Flame tests, in order.
    pub flames: Vec<Flame>,
    /// Rolling averages over seven days, where readings cover four of them.
    pub rolling: Vec<Rolling>,
    /// Stretches of three or more days without an entry.
    pub gaps: Vec<Gap>,
    /// Sums over all intervals.
    pub totals: Totals,
    /// What was assumed, in full sentences.
    pub notes: Vec<String>,
}

/// Gas between two readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// Line of the record of the later reading.
    pub line: u64,
    /// Earlier reading \[d of the run\].
    pub from_day: f64,
    /// Later reading \[d of the run\].
    pub to_day: f64,
    /// Measured, dry, 0 C, 101.325 kPa \[norm L\].
    pub measured_nl: f64,
    /// Computed for the same stretch \[norm L\].
    pub computed_nl: f64,
    /// Measured less computed \[norm L\].
    pub residual_nl: f64,
    /// Measured so far \[norm L\].
    pub measured_so_far_nl: f64,
    /// Computed so far, over the same stretches \[norm L\].
    pub computed_so_far_nl: f64,
    /// Whether both are without carbon dioxide: read after the lime.
    pub after_lime: bool,
    /// Whether the stretch is several times as long as usual.
    pub long: bool,
}

impl Interval {
    /// Length \[d\].
    #[must_use]
    pub fn days(&self) -> f64 {
        self.to_day - self.from_day
    }
}

/// What a reading measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// pH.
    Ph,
    /// Methane share of the dry gas \[%\].
    MethanePct,
    /// Volatile acids \[mg/L as acetic acid\].
    AcidsMgL,
    /// Alkalinity \[mg CaCO3/L\].
    AlkalinityMgL,
}

/// One measurement beside the model's value of the same moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reading {
    /// Line of the record.
    pub line: u64,
    /// When \[d of the run\].
    pub day: f64,
    /// What.
    pub what: Measured,
    /// As noted.
    pub measured: f64,
    /// As computed.
    pub computed: f64,
}

/// A flame test beside what the model expects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Flame {
    /// Line of the record.
    pub line: u64,
    /// Day of the run.
    pub day: u32,
    /// Whether it burnt.
    pub burnt: bool,
    /// Whether the model says that it burns.
    pub computed: bool,
}

/// Gas a day over the last seven days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rolling {
    /// End of the seven days \[d of the run\].
    pub day: f64,
    /// Measured \[norm L/d\].
    pub measured_nl_d: f64,
    /// Computed for the same readings \[norm L/d\].
    pub computed_nl_d: f64,
}

/// Days without an entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Gap {
    /// First day without, ISO 8601.
    pub from: String,
    /// Last day without, ISO 8601.
    pub to: String,
    /// How many.
    pub days: i32,
}

/// Sums over all intervals.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Totals {
    /// Days that readings cover.
    pub days: f64,
    /// Measured \[norm L\].
    pub measured_nl: f64,
    /// Computed \[norm L\].
    pub computed_nl: f64,
    /// Measured over computed; `None` where nothing was computed.
    pub ratio: Option<f64>,
}

/// What a case says of the circumstances of readings that do not say them.
#[must_use]
pub fn habits(case: &Case) -> Habits {
    const MBAR_PER_BAR: f64 = 1000.0;
    Habits {
        temperature_c: case.gas.reading_c,
        pressure_mbar: case.gas.back_pressure_bar * MBAR_PER_BAR,
        ambient_bar: case.gas.ambient_bar,
        ..Habits::default()
    }
}

/// Puts a run beside the record that it follows. `start` is the date of its day 0.
#[must_use]
pub fn compare(record: &Record, start: Date, outcome: &Outcome, habits: &Habits) -> Comparison {
    let course = Course::of(outcome);
    let mut notes = Vec::new();
    let intervals = intervals(record, start, &course, habits, &mut notes);
    let totals = totals(&intervals);
    let first = record.entries.first().map_or(start, |e| e.date);
    Comparison {
        start: start.to_string(),
        days: outcome.days,
        first_day: f64::from(days_between(start, first)),
        readings: readings(record, start, &outcome.plant),
        flames: flames(record, start, &outcome.plant),
        rolling: rolling(&intervals, &course, outcome.days),
        gaps: gaps(record),
        totals,
        intervals,
        notes,
    }
}

fn intervals(
    record: &Record,
    start: Date,
    course: &Course,
    habits: &Habits,
    notes: &mut Vec<String>,
) -> Vec<Interval> {
    let (stretches, told) = stretches(record, start, habits);
    notes.extend(told);
    if stretches.iter().any(|s| s.after_lime) {
        notes.push(
            "Gas read after the lime is compared with the computed gas without its carbon dioxide."
                .into(),
        );
    }
    let mut lengths: Vec<f64> = stretches.iter().map(|s| s.to - s.from).collect();
    lengths.sort_by(f64::total_cmp);
    let usual = lengths.get(lengths.len() / 2).copied().unwrap_or(1.0);
    let (mut measured, mut computed) = (0.0, 0.0);
    stretches
        .iter()
        .map(|s| {
            let model = course.between(s.from, s.to, s.after_lime);
            measured += s.norm_l;
            computed += model;
            Interval {
                line: record.entries.get(s.entry).map_or(0, |e| e.line),
                from_day: s.from,
                to_day: s.to,
                measured_nl: s.norm_l,
                computed_nl: model,
                residual_nl: s.norm_l - model,
                measured_so_far_nl: measured,
                computed_so_far_nl: computed,
                after_lime: s.after_lime,
                long: s.to - s.from > LONG * usual,
            }
        })
        .collect()
}

fn totals(intervals: &[Interval]) -> Totals {
    let Some(last) = intervals.last() else {
        return Totals::default();
    };
    let (measured, computed) = (last.measured_so_far_nl, last.computed_so_far_nl);
    Totals {
        days: intervals.iter().map(Interval::days).sum(),
        measured_nl: measured,
        computed_nl: computed,
        ratio: (computed > 0.0).then(|| measured / computed),
    }
}

fn rolling(intervals: &[Interval], course: &Course, days: u32) -> Vec<Rolling> {
    (1..=days)
        .filter_map(|day| {
            let (from, to) = (f64::from(day) - WINDOW, f64::from(day));
            let (mut covered, mut measured, mut computed) = (0.0, 0.0, 0.0);
            for i in intervals
                .iter()
                .filter(|i| i.to_day > from && i.from_day < to)
            {
                let (a, b) = (i.from_day.max(from), i.to_day.min(to));
                covered += b - a;
                measured += i.measured_nl * (b - a) / i.days();
                computed += course.between(a, b, i.after_lime);
            }
            (covered >= COVERED).then(|| Rolling {
                day: to,
                measured_nl_d: measured / covered,
                computed_nl_d: computed / covered,
            })
        })
        .collect()
}

fn gaps(record: &Record) -> Vec<Gap> {
    let day = |date: Date, step: i32| {
        let span = jiff::Span::new().try_days(step).ok()?;
        date.checked_add(span).ok()
    };
    record
        .entries
        .windows(2)
        .filter_map(|pair| {
            let days = days_between(pair[0].date, pair[1].date) - 1;
            (days >= GAP).then_some(())?;
            Some(Gap {
                from: day(pair[0].date, 1)?.to_string(),
                to: day(pair[1].date, -1)?.to_string(),
                days,
            })
        })
        .collect()
}

/// Value at a moment from rows that hold values of day ends.
fn at(rows: &[DayRow], day: f64, value: fn(&DayRow) -> f64) -> Option<f64> {
    let end = |i: usize| {
        rows.get(i)
            .map(|row| (f64::from(row.day) + 1.0, value(row)))
    };
    let after = rows.partition_point(|row| f64::from(row.day) + 1.0 < day);
    match (after.checked_sub(1).and_then(end), end(after)) {
        (Some((a, from)), Some((b, to))) => Some(from + (to - from) * (day - a) / (b - a)),
        (Some((_, only)), None) | (None, Some((_, only))) => Some(only),
        (None, None) => None,
    }
}

/// How a value is taken from a day of the run.
type Value = fn(&DayRow) -> f64;

fn readings(record: &Record, start: Date, rows: &[DayRow]) -> Vec<Reading> {
    let mut all = Vec::new();
    for entry in &record.entries {
        let day = moment(entry, start);
        let measured: [(Measured, Option<f64>, Value); 4] = [
            (Measured::Ph, entry.ph, |r| r.ph),
            (Measured::MethanePct, entry.methane_pct, |r| {
                100.0 * r.ch4_share
            }),
            (Measured::AcidsMgL, entry.acids_mg_l, |r| r.acids_mg_l),
            (Measured::AlkalinityMgL, entry.alkalinity_mg_l, |r| {
                r.alkalinity_mg_l
            }),
        ];
        for (what, noted, value) in measured {
            if let (Some(measured), Some(computed)) = (noted, at(rows, day, value)) {
                all.push(Reading {
                    line: entry.line,
                    day,
                    what,
                    measured,
                    computed,
                });
            }
        }
    }
    all
}

fn flames(record: &Record, start: Date, rows: &[DayRow]) -> Vec<Flame> {
    record
        .entries
        .iter()
        .filter_map(|entry| {
            let burnt = entry.burns?;
            let day = moment(entry, start);
            // The row whose end lies nearest.
            let row = rows.get((day.round() as usize).saturating_sub(1))?;
            Some(Flame {
                line: entry.line,
                day: day as u32,
                burnt,
                computed: row.burns,
            })
        })
        .collect()
}
