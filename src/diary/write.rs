//! From a record to a table: what this program writes, it reads back the same.

use super::read::{Column, LOOKED, STANDARD, is_formula};
use super::record::{Entry, Fed, Record};

/// The whole record as a table with commas and decimal points. Doubts are not part of it.
///
/// # Errors
/// None that a table in memory can have; the writer's own are passed on.
pub fn text(record: &Record) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(STANDARD.iter().map(Column::heading))?;
    for entry in &record.entries {
        writer.write_record(STANDARD.iter().map(|column| cell(entry, column)))?;
    }
    let bytes = writer.into_inner().map_err(|e| e.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// What an entry says in one column, in the units of the record; empty for nothing.
pub(crate) fn cell(entry: &Entry, column: &Column) -> String {
    let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let word = |value: Option<bool>, yes: &str, no: &str| match value {
        Some(true) => yes.to_owned(),
        Some(false) => no.to_owned(),
        None => String::new(),
    };
    let gas = entry.gas.as_ref();
    match column {
        Column::Date => entry.date.to_string(),
        Column::Time => entry.time_h.map_or_else(String::new, clock),
        Column::Fed => fed(&entry.fed, '.'),
        // These two stand in the column of feeds; a meter's count is not kept.
        Column::Kg | Column::KgOf(_) | Column::Meter => String::new(),
        Column::Water => number(entry.water_l),
        Column::Tank => number(entry.temperature_c),
        Column::Gas if gas.is_none() && entry.gas_seen => LOOKED.into(),
        Column::Gas => number(gas.map(|g| g.litres)),
        Column::GasTemperature => number(gas.and_then(|g| g.temperature_c)),
        Column::GasPressure => number(gas.and_then(|g| g.pressure_mbar)),
        Column::Wet => word(gas.and_then(|g| g.wet), "wet", "dry"),
        Column::Lime => word(gas.and_then(|g| g.lime), "after", "before"),
        Column::Ph => number(entry.ph),
        Column::Methane => number(entry.methane_pct),
        Column::Burns => word(entry.burns, "yes", "no"),
        Column::Acids => number(entry.acids_mg_l),
        Column::Alkalinity => number(entry.alkalinity_mg_l),
        // A spreadsheet takes what stands behind an apostrophe for text; reading takes the apostrophe off again.
        Column::Remark if is_formula(&entry.remark) => format!("'{}", entry.remark),
        Column::Remark => entry.remark.clone(),
    }
}

/// An hour of the day as a clock shows it; a number where it is no whole minute \[h\].
#[must_use]
pub fn clock(hour: f64) -> String {
    const MINUTES: f64 = 60.0;
    let minutes = (hour * MINUTES).round();
    let (h, m) = ((minutes / MINUTES).floor(), minutes % MINUTES);
    // The same sum as reading makes, so that it reads back to the last digit.
    if h + m / MINUTES == hour {
        format!("{h:.0}:{m:02.0}")
    } else {
        hour.to_string()
    }
}

/// Feeds in one cell, with this decimal mark.
pub(crate) fn fed(all: &[Fed], mark: char) -> String {
    let one = |f: &Fed| {
        let kg = f.kg.to_string().replace('.', &mark.to_string());
        format!("{kg} kg {}", f.material).trim_end().to_owned()
    };
    all.iter().map(one).collect::<Vec<_>>().join(" + ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::read::hour;

    #[test]
    fn hours_stand_as_a_clock_shows_them() {
        for (value, text) in [(8.5, "8:30"), (8.0, "8:00"), (0.25, "0:15"), (8.33, "8.33")] {
            assert_eq!(clock(value), text);
        }
        for minutes in 0..24 * 60 {
            let value = f64::from(minutes / 60) + f64::from(minutes % 60) / 60.0;
            let text = clock(value);
            assert!(text.contains(':'), "{text}");
            assert_eq!(hour(&text), Some(value), "{text}");
        }
    }
}
