//! Tables: in columns where they fit, cells and heads wrapped within their column, else row by row with the heads
//! repeated.

use super::lines::{Page, broken, width_of};
use super::{QUIET, TITLE};
use crate::report::document::{Column, Table};
use anstyle::Style;

/// A table shows so many rows at most: three quarters from its beginning, the rest from its end.
const ROWS: usize = 16;
/// Between columns, and before the first.
const APART: &str = "  ";
/// No column of words is narrower than its longest word, up to this length.
const LONG_WORD: usize = 18;

pub(super) fn story_table(page: &mut Page, table: &Table) {
    page.wrapped(&table.title, "", "", TITLE);
    let plain = |row: &Vec<String>| row.iter().map(|c| page.plain(c)).collect::<Vec<_>>();
    let rows: Vec<Vec<String>> = table.rows.iter().map(plain).collect();
    let heads = heads(page, table);
    let widths = widths(page, table, &rows, heads.as_deref());
    if let Some((heads, widths)) = heads.as_ref().zip(widths.as_ref()) {
        in_columns(page, table, heads, widths);
    }
    let hidden = rows.len().saturating_sub(ROWS);
    for (i, row) in rows.iter().enumerate() {
        if hidden > 0 && (ROWS - ROWS / 4..rows.len() - ROWS / 4).contains(&i) {
            if i == ROWS - ROWS / 4 {
                let left_out = format!("({hidden} more in the HTML report)");
                page.wrapped(&left_out, APART, APART, QUIET);
            }
            continue;
        }
        match &widths {
            Some(widths) => in_columns(page, table, row, widths),
            None => in_lines(page, row, heads.as_deref()),
        }
    }
    page.wrapped(&table.note, APART, APART, QUIET);
    page.blank();
}

/// The heads, where a table has more columns than its words tell apart.
fn heads(page: &Page, table: &Table) -> Option<Vec<String>> {
    let numbers = table.columns.iter().filter(|c| c.numeric).count();
    let head = |c: &Column| match (c.name.as_str(), c.unit.as_str()) {
        (name, "") => page.plain(name),
        ("", unit) => page.plain(unit),
        (name, unit) => page.plain(&format!("{name} ({unit})")),
    };
    (numbers > 1 || table.columns.len() > 2).then(|| table.columns.iter().map(head).collect())
}

/// Widths of the columns: as wide as cells and heads where there is room. Else heads are broken first, then words, the
/// widest before others; numbers never. `None` where that is not enough.
fn widths(
    page: &Page,
    table: &Table,
    rows: &[Vec<String>],
    heads: Option<&[String]>,
) -> Option<Vec<usize>> {
    let word = |text: &str| text.split(' ').map(width_of).max().unwrap_or(0);
    let of = |i: usize, whole_head: bool, whole_cells: bool| {
        let head = heads.and_then(|h| h.get(i));
        let head = head.map_or(0, |head| match whole_head {
            true => width_of(head),
            false => word(head),
        });
        let numeric = table.columns.get(i).is_some_and(|c| c.numeric);
        let cells = rows.iter().filter_map(|row| row.get(i));
        let widest = cells.map(|cell| match whole_cells || numeric {
            true => width_of(cell),
            false => word(cell).min(LONG_WORD),
        });
        widest.max().unwrap_or(0).max(head)
    };
    let count = table.columns.len();
    let room = page.columns().checked_sub(count * APART.len())?;
    let mut widths: Vec<usize> = (0..count).map(|i| of(i, true, true)).collect();
    for whole_cells in [true, false] {
        let least: Vec<usize> = (0..count).map(|i| of(i, false, whole_cells)).collect();
        while widths.iter().sum::<usize>() > room {
            let wide = (0..count).filter(|&i| widths[i] > least[i]);
            let Some(widest) = wide.max_by_key(|&i| widths[i]) else {
                break;
            };
            widths[widest] -= 1;
        }
    }
    (widths.iter().sum::<usize>() <= room).then_some(widths)
}

/// One row, each cell broken within its column.
fn in_columns(page: &mut Page, table: &Table, row: &[String], widths: &[usize]) {
    let cells: Vec<Vec<String>> = row
        .iter()
        .zip(widths)
        .map(|(cell, &width)| broken(cell, (width, width)))
        .collect();
    let height = cells.iter().map(Vec::len).max().unwrap_or(0);
    for i in 0..height {
        let mut line = String::new();
        for ((cell, width), column) in cells.iter().zip(widths).zip(&table.columns) {
            let text = cell.get(i).map_or("", String::as_str);
            let space = " ".repeat(width.saturating_sub(width_of(text)));
            line.push_str(APART);
            match column.numeric {
                true => line.push_str(&format!("{space}{text}")),
                false => line.push_str(&format!("{text}{space}")),
            }
        }
        page.line(line.trim_end());
    }
}

/// One row, its first cell alone and the others below, each behind its head.
fn in_lines(page: &mut Page, row: &[String], heads: Option<&[String]>) {
    for (i, cell) in row.iter().enumerate() {
        let head = heads.and_then(|h| h.get(i)).filter(|h| !h.is_empty());
        let text = match head {
            Some(head) if i > 0 => format!("{head}: {cell}"),
            _ => cell.clone(),
        };
        let lead = if i == 0 { "  " } else { "    " };
        page.wrapped(&text, lead, &format!("{lead}  "), Style::new());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::document::Weight;

    fn table() -> Table {
        Table {
            id: "t".into(),
            title: "Rescues".into(),
            columns: vec![
                Column::words("Rescue"),
                Column::number("Fed on", "d"),
                Column::number("Paused", "d"),
            ],
            rows: vec![
                vec!["pour in a lot of water".into(), "no".into(), "5".into()],
                vec!["nothing".into(), "12 345".into(), "7".into()],
            ],
            note: String::new(),
            weight: Weight::Story,
        }
    }

    fn at(columns: usize) -> String {
        let mut page = Page::new(columns, false, true);
        story_table(&mut page, &table());
        page.finish()
    }

    #[test]
    fn heads_stand_over_their_columns_and_wrap_with_them() {
        let wide = "Rescues
  Rescue                  Fed on (d)  Paused (d)
  pour in a lot of water          no           5
  nothing                     12 345           7

";
        assert_eq!(at(80), wide);
        let tight = "Rescues
  Rescue      Fed on  Paused
                 (d)     (d)
  pour in a       no       5
  lot of
  water
  nothing     12 345       7

";
        assert_eq!(at(28), tight);
    }

    #[test]
    fn what_fits_no_columns_repeats_its_heads() {
        let lines = "Rescues
  pour in a lot of
    water
    Fed on (d): no
    Paused (d): 5
  nothing
    Fed on (d): 12 345
    Paused (d): 7

";
        assert_eq!(at(22), lines);
    }
}
