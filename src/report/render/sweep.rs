//! A sweep as a table and as JSON.

use super::csv::Flavour;
use crate::report::error::ReportError;
use crate::report::present::SweepRecord;
use crate::simulate::EventKind;
use crate::study::sweep::{Level, SweepResult};
use serde::Serialize;

/// Name and version of the layout; the number rises whenever a field changes its name or meaning.
pub const SWEEP_SCHEMA: (&str, u32) = ("marshgas-sweep", 1);

/// Name of a column and its value.
type LevelColumn = (&'static str, fn(&Level) -> Option<f64>);

/// Columns of a level. `nL` is a norm litre: dry gas at 0 C and 101.325 kPa; days of events are their first ones.
const LEVEL: [LevelColumn; 26] = [
    ("run_d", |l| Some(f64::from(l.days))),
    ("window_d", |l| Some(f64::from(l.window_d))),
    ("retention_times", |l| l.retention_times),
    ("drift_share", |l| l.drift),
    ("settled", |l| Some(f64::from(u8::from(l.settled)))),
    ("yield_nLCH4_per_kgVS", |l| l.yield_nl_kg_vs),
    ("yield_nLCH4_per_kgCOD", |l| l.yield_nl_kg_cod),
    ("gas_nL_per_d", |l| Some(l.gas_nl_d)),
    ("gas_as_read_L_per_d", |l| Some(l.gas_read_l_d)),
    ("CH4_nL_per_d", |l| Some(l.ch4_nl_d)),
    ("gas_nL_per_L_d", |l| Some(l.gas_nl_l_d)),
    ("CH4_share", |l| l.ch4_share),
    ("pH", |l| Some(l.ph)),
    ("acids_mgHAc_per_L", |l| Some(l.acids_mg_l)),
    ("acid_ratio_mgHAc_per_mgCaCO3", |l| Some(l.acid_ratio)),
    ("loading_kgVS_per_m3_d", |l| Some(l.loading_kg_vs_m3_d)),
    ("retention_d", |l| l.retention_d),
    ("fed_kg_per_d", |l| Some(l.fed_kg_d)),
    ("water_kg_per_d", |l| Some(l.water_kg_d)),
    ("temperature_C", |l| Some(l.temperature_c)),
    ("sour_days", |l| Some(f64::from(l.sour_days))),
    ("first_flame_day", |l| l.first(EventKind::FirstFlame)),
    ("burns_steadily_day", |l| l.first(EventKind::BurnsSteadily)),
    ("turns_sour_day", |l| l.first(EventKind::TurnsSour)),
    ("recovers_day", |l| l.first(EventKind::Recovers)),
    ("washes_out_day", |l| l.first(EventKind::WashesOut)),
];

/// One line per point; an absent number is an empty cell.
///
/// # Errors
/// [`ReportError::NotFinite`] with the point and the column, [`ReportError::Table`].
pub fn csv_sweep(result: &SweepResult, flavour: Flavour) -> Result<String, ReportError> {
    check_finite(result)?;
    let spreadsheet = flavour == Flavour::Spreadsheet;
    let mut writer = ::csv::WriterBuilder::new()
        .delimiter(if spreadsheet { b';' } else { b',' })
        .terminator(::csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let number = |value: f64| {
        let text = value.to_string();
        if spreadsheet {
            text.replace('.', ",")
        } else {
            text
        }
    };
    let failed = |e: ::csv::Error| ReportError::Table(e.to_string());
    let mut head: Vec<String> = result.axes.iter().map(|a| a.knob.clone()).collect();
    head.push("outcome".into());
    head.extend(LEVEL.iter().map(|(name, _)| (*name).to_owned()));
    head.push("remark".into());
    writer.write_record(&head).map_err(failed)?;
    for point in &result.points {
        let mut row: Vec<String> = point.values.iter().map(|v| number(*v)).collect();
        row.push(
            serde_json::to_value(point.class)?
                .as_str()
                .unwrap_or_default()
                .to_owned(),
        );
        row.extend(LEVEL.iter().map(|(_, of)| {
            point
                .level
                .as_ref()
                .and_then(of)
                .map(number)
                .unwrap_or_default()
        }));
        row.push(
            point
                .mishap
                .as_ref()
                .map(|m| m.message.clone())
                .unwrap_or_default(),
        );
        writer.write_record(&row).map_err(failed)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|e| ReportError::Table(e.to_string()))?;
    let text = String::from_utf8(bytes).map_err(|e| ReportError::Table(e.to_string()))?;
    Ok(if spreadsheet {
        format!("\u{feff}{text}")
    } else {
        text
    })
}

#[derive(Serialize)]
struct Envelope<'a> {
    schema: &'a str,
    schema_version: u32,
    record: &'a SweepRecord,
    sweep: &'a SweepResult,
}

/// The sweep as indented JSON under its schema name and version; field names carry the units.
///
/// # Errors
/// [`ReportError::NotFinite`] when a number is not finite.
pub fn json_sweep(result: &SweepResult, record: &SweepRecord) -> Result<String, ReportError> {
    check_finite(result)?;
    let envelope = Envelope {
        schema: SWEEP_SCHEMA.0,
        schema_version: SWEEP_SCHEMA.1,
        record,
        sweep: result,
    };
    let mut text = serde_json::to_string_pretty(&envelope)?;
    text.push('\n');
    Ok(text)
}

fn check_finite(result: &SweepResult) -> Result<(), ReportError> {
    for point in &result.points {
        let Some(level) = &point.level else { continue };
        for (name, of) in LEVEL {
            if let Some(value) = of(level).filter(|v| !v.is_finite()) {
                let place = format!("point {}, {name}", point.index);
                return Err(ReportError::NotFinite { place, value });
            }
        }
    }
    Ok(())
}
