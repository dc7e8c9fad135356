//! The record in words, and the numbers to take home.

use super::Reading;
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{count, date_of, long_date, rough};

pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let mut story = vec![extent(reading), gas(reading)];
    story.extend(flames(reading));
    story.extend(gaps(reading));
    story
}

fn extent(reading: &Reading<'_>) -> String {
    let (from, to) = reading.span();
    let day = |d: f64| date_of(d, reading.start).map_or_else(String::new, long_date);
    format!(
        "The record has {} from {} to {}, with {}.",
        count(reading.record.entries.len(), "entry", "entries"),
        day(from),
        day(to - 1.0),
        count(
            reading.comparison.intervals.len(),
            "reading of gas",
            "readings of gas"
        )
    )
}

fn gas(reading: &Reading<'_>) -> String {
    let totals = &reading.comparison.totals;
    let Some(ratio) = totals.ratio else {
        return "There is no stretch of gas that could be compared.".into();
    };
    let side = if ratio < 1.0 { "less" } else { "more" };
    format!(
        "Over {} days the readings add up to {} norm litres, and the run gives {}: the record has {} % {side}.",
        rough(totals.days),
        significant(totals.measured_nl, 3),
        significant(totals.computed_nl, 3),
        percent((ratio - 1.0).abs(), 0)
    )
}

fn flames(reading: &Reading<'_>) -> Option<String> {
    let flames = &reading.comparison.flames;
    if flames.is_empty() {
        return None;
    }
    let agree = flames.iter().filter(|f| f.burnt == f.computed).count();
    Some(format!(
        "The flame was tried {}; the run agrees on {agree}.",
        count(flames.len(), "time", "times")
    ))
}

fn gaps(reading: &Reading<'_>) -> Option<String> {
    let gaps = &reading.comparison.gaps;
    if gaps.is_empty() {
        return None;
    }
    let longest = gaps.iter().map(|g| g.days).max().unwrap_or(0);
    Some(format!(
        "{} three days or longer without an entry; the longest has {longest} days. The run has no feed there.",
        count(gaps.len(), "stretch is", "stretches are")
    ))
}

/// Mean of the last rolling averages.
pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let c = reading.comparison;
    let number = |label: &str, value: String, unit: &str, note: String| KeyNumber {
        label: label.into(),
        value,
        unit: unit.into(),
        note,
    };
    let mut all = vec![number(
        "Gas measured",
        significant(c.totals.measured_nl, 3),
        "NL",
        format!("over {} days between readings", rough(c.totals.days)),
    )];
    all.push(number(
        "Gas computed",
        significant(c.totals.computed_nl, 3),
        "NL",
        "for the same stretches, scenario as it stands".into(),
    ));
    if let Some(ratio) = c.totals.ratio {
        all.push(number(
            "Measured of computed",
            percent(ratio, 0),
            "%",
            "100 would be agreement".into(),
        ));
    }
    if let Some(last) = c.rolling.last() {
        let day = date_of(last.day - 1.0, reading.start).map_or_else(String::new, long_date);
        all.push(number(
            "Last seven days",
            rough(last.measured_nl_d),
            "NL/d",
            format!("computed {}; up to {day}", rough(last.computed_nl_d)),
        ));
    }
    let spread = spread(reading);
    if let Some(spread) = spread {
        all.push(number(
            "Scatter of a reading",
            fixed(spread, 0),
            "NL/d",
            "half of the readings lie within so much of the run".into(),
        ));
    }
    all
}

/// Median of the absolute residuals \[norm L/d\].
fn spread(reading: &Reading<'_>) -> Option<f64> {
    let rates = reading.comparison.intervals.iter();
    let mut sizes: Vec<f64> = rates.map(|i| (i.residual_nl / i.days()).abs()).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.get(sizes.len() / 2).copied()
}
