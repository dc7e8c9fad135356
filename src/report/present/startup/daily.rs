//! The plan day by day, as a table for scripts and spreadsheets.

use crate::report::error::ReportError;
use crate::report::present::words::date_of;
use crate::study::startup::{Begin, Startup};

/// One line a day: `day`, `date` (empty without one), `share_of_wanted_feed`, then each material and the water in kg for
/// a feeding on this day. `None` without a plan. A plan that waits for the checks counts its days from their passing.
///
/// # Errors
/// [`ReportError::Table`].
pub fn csv_startup(found: &Startup) -> Result<Option<String>, ReportError> {
    let Some(feeding) = &found.feeding else {
        return Ok(None);
    };
    let start = found
        .start_date
        .as_deref()
        .and_then(|d| d.parse().ok())
        .filter(|_| feeding.begin == Begin::Fixed);
    let failed = |e: &dyn std::fmt::Display| ReportError::Table(e.to_string());
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let mut head = vec![
        "day".to_owned(),
        "date".into(),
        "share_of_wanted_feed".into(),
    ];
    head.extend(
        found
            .wanted
            .materials
            .iter()
            .map(|(name, _)| format!("{name}_kg")),
    );
    head.push("water_kg".into());
    writer.write_record(&head).map_err(|e| failed(&e))?;
    for day in 0..found.days {
        let share = feeding.plan.share(day) * feeding.size;
        let date = date_of(f64::from(day), start).map(|d| d.to_string());
        let mut row = vec![
            day.to_string(),
            date.unwrap_or_default(),
            format!("{share:.4}"),
        ];
        let amounts = found.wanted.materials.iter().map(|(_, kg)| *kg);
        row.extend(
            amounts
                .chain([found.wanted.water_kg])
                .map(|kg| format!("{:.3}", kg * share)),
        );
        writer.write_record(&row).map_err(|e| failed(&e))?;
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map(Some).map_err(|e| failed(&e))
}
