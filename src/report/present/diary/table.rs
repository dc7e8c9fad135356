//! Gas from reading to reading, as a table for scripts and spreadsheets.

use crate::diary::Comparison;
use crate::report::error::ReportError;

const HEAD: [&str; 9] = [
    "line",
    "from_day",
    "to_day",
    "measured_nl",
    "computed_nl",
    "residual_nl",
    "measured_so_far_nl",
    "computed_so_far_nl",
    "after_lime",
];

/// One line for each stretch between two readings of gas; days count from day 0 of the run, gas is dry at 0 C and
/// 101.325 kPa.
///
/// # Errors
/// [`ReportError::Table`].
pub fn csv_diary(comparison: &Comparison) -> Result<String, ReportError> {
    let failed = |e: &dyn std::fmt::Display| ReportError::Table(e.to_string());
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(HEAD).map_err(|e| failed(&e))?;
    for i in &comparison.intervals {
        writer
            .write_record([
                i.line.to_string(),
                format!("{:.4}", i.from_day),
                format!("{:.4}", i.to_day),
                format!("{:.3}", i.measured_nl),
                format!("{:.3}", i.computed_nl),
                format!("{:.3}", i.residual_nl),
                format!("{:.3}", i.measured_so_far_nl),
                format!("{:.3}", i.computed_so_far_nl),
                i.after_lime.to_string(),
            ])
            .map_err(|e| failed(&e))?;
    }
    let bytes = writer.into_inner().map_err(|e| failed(&e))?;
    String::from_utf8(bytes).map_err(|e| failed(&e))
}
