//! One more line at the end of a record's text, in the file's own columns, separator and decimal mark.

use super::read::{self, Column, Decimal, Placed, Refusal};
use super::record::Entry;
use super::write;

/// Why a line cannot be added.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum AppendError {
    /// The file is no record.
    #[error("{0}")]
    Refused(#[from] Refusal),
    /// The gas of the file is a running count.
    #[error(
        "the file keeps the gas as the count of a meter, and a line in words says what came since the last reading. Add \
         this reading in the spreadsheet, and the rest here."
    )]
    Meter,
    /// What would be written does not read back.
    #[error(
        "the line does not read back as it was understood; nothing was written. Add it in the spreadsheet."
    )]
    Unsound,
}

/// The text with one more line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Appended {
    /// The whole text.
    pub text: String,
    /// The line as it stands in the file.
    pub line: String,
    /// Its number.
    pub number: u64,
    /// Columns that had to be added to the heading.
    pub added: Vec<String>,
    /// What is doubtful about the line beside the others, in sentences.
    pub doubts: Vec<String>,
}

/// Adds `entry` to the text of a record. All that stands there stays, but for new columns at the heading's end.
///
/// # Errors
/// [`AppendError`].
pub fn append(text: &str, entry: &Entry) -> Result<Appended, AppendError> {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let table = read::table(body)?;
    let before = read::from_text(body, None)?.entries;
    let decimal = table.decimal().decimal;
    let mut columns = table.columns.clone();
    let has = |columns: &[Option<Placed>], column: &Column| {
        columns.iter().flatten().any(|p| p.column == *column)
    };
    if entry.gas.is_some() && has(&columns, &Column::Meter) {
        return Err(AppendError::Meter);
    }
    let mut added = Vec::new();
    for column in read::STANDARD {
        if !write::cell(entry, &column).is_empty() && !has(&columns, &column) {
            added.push(column.heading().to_owned());
            columns.push(Some(Placed { column, unit: None }));
        }
    }
    let end = if body.contains("\r\n") { "\r\n" } else { "\n" };
    let separator = table.separator.0;
    let row: Vec<String> = columns
        .iter()
        .map(|placed| cell(entry, placed.as_ref(), decimal))
        .collect();
    let line = line(&row, separator);
    let (heading, rest) = body.split_at(table.heading_end);
    let more: String = added
        .iter()
        .map(|name| format!("{}{name}", char::from(separator)))
        .collect();
    let mut text = format!("{mark}{heading}{more}{rest}");
    if !text.ends_with(['\n', '\r']) {
        text.push_str(end);
    }
    text.push_str(&line);
    text.push_str(end);
    let after = read::from_text(&text, None)?.entries;
    let new = after.iter().max_by_key(|e| e.line);
    // One more cell may turn the decimal mark or the order of day and month of all lines: none may change.
    let rest = after
        .iter()
        .filter(|e| new.is_none_or(|n| n.line != e.line));
    let sound = rest.eq(&before) && new.is_some_and(|new| same(new, entry));
    match new.filter(|_| sound) {
        Some(new) => Ok(Appended {
            number: new.line,
            doubts: beside(entry, &before),
            text,
            line,
            added,
        }),
        None => Err(AppendError::Unsound),
    }
}

/// What is doubtful about a new line beside those before it.
fn beside(entry: &Entry, before: &[Entry]) -> Vec<String> {
    let mut doubts = Vec::new();
    let latest = before.iter().max_by_key(|e| e.date);
    if let Some(latest) = latest.filter(|latest| entry.date < latest.date) {
        doubts.push(format!(
            "{} lies before {}, the day of line {}. It stands last in the file, and counts between the days where it belongs.",
            entry.date, latest.date, latest.line
        ));
    }
    if let Some(twin) = before.iter().find(|old| same(old, entry)) {
        doubts.push(format!(
            "line {} says the same; both are kept and counted. Take one out if it was written twice.",
            twin.line
        ));
    }
    doubts
}

/// Whether two entries say the same, up to the last digits that a change of units costs.
fn same(found: &Entry, wanted: &Entry) -> bool {
    let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * b.abs().max(1.0),
        (a, b) => a == b,
    };
    let numbers = |e: &Entry| {
        let gas = e.gas.as_ref();
        [
            e.time_h,
            e.water_l,
            e.temperature_c,
            gas.map(|g| g.litres),
            gas.and_then(|g| g.temperature_c),
            gas.and_then(|g| g.pressure_mbar),
            e.ph,
            e.methane_pct,
            e.acids_mg_l,
            e.alkalinity_mg_l,
        ]
    };
    let words = |e: &Entry| {
        let gas = e.gas.as_ref();
        (
            e.date,
            e.fed.clone(),
            e.burns,
            gas.map(|g| (g.wet, g.lime)),
            e.remark.clone(),
        )
    };
    words(found) == words(wanted)
        && numbers(found)
            .into_iter()
            .zip(numbers(wanted))
            .all(|(a, b)| near(a, b))
}

/// One cell in the file's own unit and decimal mark.
fn cell(entry: &Entry, placed: Option<&Placed>, decimal: Decimal) -> String {
    let Some(placed) = placed else {
        return String::new();
    };
    if placed.column == Column::Fed && decimal == Decimal::Comma {
        return write::fed(&entry.fed, ',');
    }
    let text = write::cell(entry, &placed.column);
    let Some(value) = placed.column.quantity().and(text.parse::<f64>().ok()) else {
        return text;
    };
    let own = match placed.unit {
        Some((factor, offset)) if (factor, offset) != (1.0, 0.0) => {
            tidy((value - offset) / factor).to_string()
        }
        _ => text,
    };
    match decimal {
        Decimal::Point => own,
        Decimal::Comma => own.replace('.', ","),
    }
}

/// Without the last digits that a change of units costs.
fn tidy(value: f64) -> f64 {
    const DIGITS: f64 = 1e9;
    let rounded = (value * DIGITS).round() / DIGITS;
    if rounded.is_finite() { rounded } else { value }
}

/// Cells as one line, quoted where they need it.
fn line(cells: &[String], separator: u8) -> String {
    let quoted = |cell: &String| {
        let needs = cell.contains([char::from(separator), '"', '\n', '\r'])
            || cell.starts_with(' ')
            || cell.ends_with(' ');
        if needs {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell.clone()
        }
    };
    let cells: Vec<String> = cells.iter().map(quoted).collect();
    cells.join(&char::from(separator).to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::record::{Fed, GasReading};
    use jiff::civil::date;

    fn entry() -> Entry {
        Entry {
            temperature_c: Some(24.5),
            gas: Some(GasReading {
                litres: 310.0,
                temperature_c: None,
                pressure_mbar: None,
                wet: None,
                lime: None,
            }),
            fed: vec![Fed {
                material: "kitchen-scraps".into(),
                kg: 2.0,
            }],
            remark: "smells \"odd\"; wet".into(),
            ..Entry::blank(date(2026, 5, 2))
        }
    }

    #[test]
    fn the_file_keeps_its_own_habits() {
        let old = "\u{feff}Date;Feed;Tank (F);Gas (m3);Notes\r\n1.5.2026;;75,5;0,2;\r\n";
        let new = append(old, &entry()).unwrap();
        assert!(new.text.starts_with(old));
        let expected = "2026-05-02;2 kg kitchen-scraps;76,1;0,31;\"smells \"\"odd\"\"; wet\"";
        assert_eq!(new.line, expected);
        assert_eq!(new.number, 3);
        assert!(new.added.is_empty());
    }

    #[test]
    fn missing_columns_go_to_the_end_of_the_heading() {
        let old = "date,ph\n2026-05-01,7.1";
        let new = append(old, &entry()).unwrap();
        assert_eq!(new.added, ["fed", "tank_c", "gas_l", "remark"]);
        assert!(
            new.text
                .starts_with("date,ph,fed,tank_c,gas_l,remark\n2026-05-01,7.1\n")
        );
    }

    #[test]
    fn a_line_that_turns_the_others_is_not_written() {
        let old = "date;tank_c;water_l\n2026-05-01;24;1,234\n";
        let before = read::from_text(old, None).unwrap().entries;
        let after = read::from_text(&append(old, &entry()).unwrap().text, None)
            .unwrap()
            .entries;
        assert_eq!(after[..1], before);
        // An open quotation mark takes the new line into the last one.
        let open = "date,ph,remark\n2026-05-01,7,\"well\n";
        assert_eq!(append(open, &entry()), Err(AppendError::Unsound));
    }

    #[test]
    fn a_line_beside_the_others_is_looked_at_again() {
        let old = append("date,fed,gas_l\n", &entry()).unwrap();
        assert!(old.doubts.is_empty());
        let again = append(&old.text, &entry()).unwrap().doubts;
        assert!(
            again.len() == 1 && again[0].starts_with("line 2 says the same"),
            "{again:?}"
        );
        let earlier = Entry {
            date: date(2026, 4, 30),
            ..entry()
        };
        let back = append(&old.text, &earlier).unwrap().doubts;
        assert!(
            back.len() == 1 && back[0].contains("before 2026-05-02, the day of line 2"),
            "{back:?}"
        );
    }

    #[test]
    fn a_remark_is_no_formula() {
        for remark in ["=1+1", "-smells", "@home", "+", "'=1"] {
            let new = Entry {
                remark: remark.into(),
                ..entry()
            };
            let appended = append("date,remark\n2026-05-01,well\n", &new).unwrap();
            assert!(
                appended.line.contains(&format!(",'{remark}")),
                "{}",
                appended.line
            );
            let entries = read::from_text(&appended.text, None).unwrap().entries;
            assert_eq!(entries[1].remark, remark);
        }
    }

    #[test]
    fn a_running_count_is_left_to_the_spreadsheet() {
        let old = "date,meter_l\n2026-05-01,100\n";
        assert_eq!(append(old, &entry()), Err(AppendError::Meter));
        assert!(matches!(append("", &entry()), Err(AppendError::Refused(_))));
    }
}
