//! The outcome as JSON.

use super::columns::{DAY, HEAT, RowColumn, SEASON, TRACE};
use crate::report::error::ReportError;
use crate::simulate::Outcome;
use crate::study::season::SeasonOutcome;
use serde::Serialize;

/// Name and version of the layout; the number rises whenever a field changes its name or meaning.
pub const OUTCOME_SCHEMA: (&str, u32) = ("marshgas-outcome", 1);

/// Name and version of the layout of a season.
pub const SEASON_SCHEMA: (&str, u32) = ("marshgas-season", 1);

#[derive(Serialize)]
struct Envelope<'a> {
    schema: &'a str,
    schema_version: u32,
    outcome: &'a Outcome,
}

/// The outcome as indented JSON under its schema name and version; field names carry the units.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite: JSON has no word for it, and `null` would
/// not read back.
pub fn json(outcome: &Outcome) -> Result<String, ReportError> {
    check_finite(outcome)?;
    let envelope = Envelope {
        schema: OUTCOME_SCHEMA.0,
        schema_version: OUTCOME_SCHEMA.1,
        outcome,
    };
    let mut text = serde_json::to_string_pretty(&envelope)?;
    text.push('\n');
    Ok(text)
}

#[derive(Serialize)]
struct SeasonEnvelope<'a> {
    schema: &'a str,
    schema_version: u32,
    season: &'a SeasonOutcome,
}

/// A season as indented JSON under its schema name and version.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number of a day or of a balance is not finite.
pub fn json_season(season: &SeasonOutcome) -> Result<String, ReportError> {
    rows("plant", "day", SEASON, &season.days)?;
    for closure in &season.closures {
        one(&closure.quantity, "accounted", closure.accounted)?;
    }
    let envelope = SeasonEnvelope {
        schema: SEASON_SCHEMA.0,
        schema_version: SEASON_SCHEMA.1,
        season,
    };
    let mut text = serde_json::to_string_pretty(&envelope)?;
    text.push('\n');
    Ok(text)
}

fn check_finite(outcome: &Outcome) -> Result<(), ReportError> {
    rows("plant", "day", DAY, &outcome.plant)?;
    for vessel in &outcome.vessels {
        one(&vessel.name, "liquid_l", vessel.liquid_l)?;
        rows(&vessel.name, "day", DAY, &vessel.days)?;
        rows(&vessel.name, "point", TRACE, &vessel.trace)?;
        if let Some(heat) = &vessel.heat {
            rows(&vessel.name, "heat of day", HEAT, &heat.days)?;
        }
    }
    for event in &outcome.events {
        one("events", "day", event.day)?;
    }
    let fate = &outcome.fate;
    let fates = [
        ("start", fate.start),
        ("fed", fate.fed),
        ("methane", fate.methane),
        ("hydrogen", fate.hydrogen),
        ("leaked", fate.leaked),
        ("out_degradable", fate.out_degradable),
        ("out_dissolved", fate.out_dissolved),
        ("out_living", fate.out_living),
        ("out_inert", fate.out_inert),
        ("left", fate.left),
    ];
    for (field, value) in fates {
        one("fate", field, value)?;
    }
    for closure in &outcome.closures {
        one(&closure.quantity, "entered", closure.entered)?;
        one(&closure.quantity, "accounted", closure.accounted)?;
        one(&closure.quantity, "relative_gap", closure.relative_gap)?;
        one(&closure.quantity, "limit", closure.limit)?;
    }
    let solver = &outcome.solver;
    one("solver", "relative_tolerance", solver.relative_tolerance)?;
    one("solver", "smallest_step_d", solver.smallest_step_d)?;
    one("solver", "largest_step_d", solver.largest_step_d)?;
    for (name, value) in &outcome.provenance.parameters {
        one("parameters", name, *value)?;
    }
    Ok(())
}

fn rows<T>(
    name: &str,
    kind: &str,
    columns: &[RowColumn<T>],
    rows: &[T],
) -> Result<(), ReportError> {
    for (i, row) in rows.iter().enumerate() {
        for column in columns {
            if let Some(value) = (column.value)(row).not_finite() {
                let place = format!("{name}, {kind} {i}, {}", column.field);
                return Err(ReportError::NotFinite { place, value });
            }
        }
    }
    Ok(())
}

fn one(name: &str, field: &str, value: f64) -> Result<(), ReportError> {
    if value.is_finite() {
        return Ok(());
    }
    let place = format!("{name}, {field}");
    Err(ReportError::NotFinite { place, value })
}
