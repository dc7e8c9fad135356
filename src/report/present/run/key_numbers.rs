//! The numbers to take home.

use super::super::words::{acid_ratio, count, date_of, long_date, rough};
use super::reading::Reading;
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent};
use crate::simulate::{DayRow, EventKind};

/// What stands where there is no number.
const NONE: &str = "\u{2013}";

/// Gas that a household burner takes \[L/h\]. Source: Werner, Stoehr & Hees 1989, Biogas Plants in Animal Husbandry (GTZ):
/// household burners take 200 to 450 L/h; from memory.
const BURNER_L_PER_H: f64 = 300.0;

/// A first flame before this day is earlier than practice knows well \[d\].
const EARLY_D: f64 = 3.0;

/// In order of interest.
pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let usual = &reading.usual;
    let lately = format!("mean of the last {}", count(usual.days, "day", "days"));
    let mut numbers = vec![
        number(
            "Gas per day",
            rough(usual.gas_read_l),
            "L/d",
            format!(
                "wet, as the owner reads it; {lately}; {} norm litres dry",
                rough(usual.gas_nl)
            ),
        ),
        number(
            "Methane in the gas",
            percent(usual.ch4_share, 0),
            "%",
            lately.clone(),
        ),
        first_flame(reading),
        number(
            "Sour days",
            reading.sour_days().to_string(),
            "d",
            format!("of {}", count(reading.rows().len(), "day", "days")),
        ),
        extreme(
            reading,
            "Highest acid ratio",
            |r| r.acid_ratio,
            acid_ratio,
            |_, ratio| {
                format!(
                    "acids over alkalinity; healthy below {}",
                    ratio.acid_ratio.good
                )
            },
        ),
        lowest_ph(reading),
        methane_yield(reading),
        match reading.has_unknown_solids() {
            true => number(
                "Loading",
                NONE.into(),
                "",
                "volatile solids of the stream not known".into(),
            ),
            false => number(
                "Loading",
                rough(usual.loading),
                "kg VS/m\u{b3}/d",
                lately.clone(),
            ),
        },
    ];
    // Days with gas worth a flame count; a stove needs no less.
    if usual.ch4_share >= reading.bands.flame.methane {
        let left = super::heat::left(reading, usual.days);
        let minutes = 60.0 * usual.gas_read_l * left.unwrap_or(1.0) / BURNER_L_PER_H;
        let after = match left {
            Some(share) if share > 0.0 => format!(
                "; after the heater, which leaves {} % of the gas",
                percent(share, 0)
            ),
            Some(_) => "; the heater takes all of the gas".to_owned(),
            None => String::new(),
        };
        numbers.insert(
            1,
            number(
                "What it gives",
                rough(minutes),
                "min/d",
                format!(
                    "of one burner at {} m\u{b3}/h (GTZ 1989){after}",
                    BURNER_L_PER_H / 1000.0
                ),
            ),
        );
    }
    if let Some(peak) = reading
        .peak(|r| r.h2_ppm)
        .filter(|r| r.h2_ppm > super::story::SOME_HYDROGEN_PPM)
    {
        numbers.push(number(
            "Most hydrogen",
            percent(peak.h2_ppm / 1e6, 0),
            "%",
            format!(
                "in the gas, day {}: more than a real tank gives; burns unseen, explodes in air from 4 %",
                peak.day
            ),
        ));
    }
    if let Some(retention) = usual.retention_d {
        numbers.push(number(
            "Retention time",
            rough(retention),
            "d",
            lately.clone(),
        ));
    }
    numbers.push(number(
        "Residue",
        rough(usual.overflow_l),
        "L/d",
        format!("overflow, {lately}"),
    ));
    if let Some(share) = reading.leak_share().filter(|s| *s > 0.0) {
        numbers.push(number(
            "Methane lost by leaking",
            percent(share, 1),
            "%",
            "of all methane made".into(),
        ));
    }
    numbers
}

fn number(label: &str, value: String, unit: &str, note: String) -> KeyNumber {
    let unit = if value == NONE { "" } else { unit };
    KeyNumber::new(label, value, unit, note)
}

fn first_flame(reading: &Reading<'_>) -> KeyNumber {
    let label = "First flame";
    match reading.first(EventKind::FirstFlame) {
        Some(event) => {
            let date = date_of(event.day, reading.start).map(long_date);
            let mut note = date.unwrap_or_else(|| "counted from the start".into());
            if event.day < EARLY_D {
                note.push_str(
                    "; the model lets slurry burn too early: in practice 1 to 42 days, from memory",
                );
            }
            number(label, fixed(event.day.floor(), 0), "d", note)
        }
        None => number(
            label,
            NONE.into(),
            "",
            "the gas never became fit to burn".into(),
        ),
    }
}

fn extreme(
    reading: &Reading<'_>,
    label: &str,
    of: fn(&DayRow) -> f64,
    show: fn(f64) -> String,
    note: fn(&DayRow, &super::Bands) -> String,
) -> KeyNumber {
    match reading.peak(of) {
        Some(row) => {
            let note = format!("{}; on day {}", note(row, reading.bands), row.day);
            number(label, show(of(row)), "", note)
        }
        None => number(label, NONE.into(), "", String::new()),
    }
}

fn lowest_ph(reading: &Reading<'_>) -> KeyNumber {
    let label = "Lowest pH";
    match reading.peak(|r| -r.ph) {
        Some(row) => {
            let [low, high] = reading.bands.ph.healthy;
            let note = format!("healthy {low} to {high}; on day {}", row.day);
            number(label, fixed(row.ph, 1), "", note)
        }
        None => number(label, NONE.into(), "", String::new()),
    }
}

/// Most of the ultimate methane that simple farm plants reach. Source: GTZ 1989 (read): 30 to 60 %.
const SIMPLE_PLANTS_SHARE: f64 = 0.6;

fn methane_yield(reading: &Reading<'_>) -> KeyNumber {
    let label = "Methane yield";
    if reading.has_unknown_solids() {
        let note = "volatile solids of the stream not known";
        return number(label, NONE.into(), "", note.into());
    }
    match (reading.rows().last(), reading.yield_share()) {
        (Some(row), Some(share)) => number(
            label,
            rough(row.yield_nl_kg_vs),
            "norm L/kg VS",
            format!(
                "whole run, starter included; {} % of all methane that was in it{}",
                percent(share, 0),
                if share > SIMPLE_PLANTS_SHARE {
                    ". That is a mixed tank without scum or dead corners: simple plants bring 30 to 60 %"
                } else {
                    ""
                }
            ),
        ),
        _ => number(label, NONE.into(), "", "nothing was fed".into()),
    }
}
