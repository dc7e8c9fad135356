//! A quantity over two others: shaded cells, hatched ones where there is no result, and a border.

use super::axis::Axis;
use super::canvas::{Anchor, Canvas};
use super::ink::{Ink, SHADES};
use super::text_width::{fit, text_width, wrap_bold};
use crate::report::figure::{Map, MapCell, Scale, extent};
use crate::report::numbers::significant;

/// Text sizes and heights \[px\].
const TEXT: f64 = 12.0;
const TITLE: f64 = 13.0;
const TITLE_LINE: f64 = 18.0;
const ROW: f64 = 18.0;
const GAP: f64 = 6.0;
const EDGE: f64 = 14.0;
/// Height of a row of cells, and of all rows at least and at most \[px\].
const CELL: f64 = 34.0;
const LEAST: f64 = 120.0;
const MOST: f64 = 420.0;
/// Width of a box of the scale, and its height \[px\].
const BOX: f64 = 46.0;
const BOX_HEIGHT: f64 = 12.0;
/// Cells smaller than this show no number \[px\].
const NUMBER_HEIGHT: f64 = 18.0;
/// Room between labels of neighbouring columns or rows \[px\].
const APART: f64 = 8.0;
/// Widths of the border and of the paper around it \[px\].
const BORDER: f64 = 2.2;
const RIM: f64 = 5.0;
/// Values below this share of a step of the scale are written 0.
const NOTHING: f64 = 0.002;
/// A sliver of paper between cells \[px\].
const SLIVER: f64 = 0.4;
/// Digits of a number in a cell.
const DIGITS: i32 = 3;

/// A map ready to be drawn.
pub(super) struct MapDrawing<'a> {
    map: &'a Map,
    title: Vec<String>,
    scale: Option<Axis>,
    beyond: bool,
    hatched: bool,
    boxes: f64,
    scale_top: f64,
    grid_top: f64,
    left: f64,
    cell: (f64, f64),
    columns: usize,
    rows: usize,
    /// Height of the whole \[px\].
    pub(super) height: f64,
}

#[allow(clippy::cast_precision_loss)] // counts of cells and lines are small
impl<'a> MapDrawing<'a> {
    /// Places everything on a sheet `sheet` px wide, starting `top` px from its top.
    pub(super) fn new(map: &'a Map, sheet: f64, top: f64) -> Self {
        let (columns, rows) = (map.x.labels.len().max(1), map.y.labels.len().max(1));
        let named = match map.unit.as_str() {
            "" => map.title.clone(),
            unit => format!("{} ({unit})", map.title),
        };
        let title = wrap_bold(&named, TITLE, sheet - 2.0 * GAP);
        let finite = map.cells.iter().filter_map(|c| c.value);
        let scale = extent(finite).map(|(low, high)| Axis::nice(low, high, Scale::Linear, 7));
        let beyond = !map.beyond.is_empty() && map.cells.iter().any(|c| c.beyond);
        let hatched = map.cells.iter().any(|c| value_of(c).is_none());
        let widest = map.y.labels.iter().map(|l| text_width(l, TEXT));
        let left = GAP + widest.fold(0.0, f64::max) + GAP;
        let width = (sheet - left - EDGE).max(40.0);
        let height = (rows as f64 * CELL).clamp(LEAST, MOST);
        let scale_top = top + title.len() as f64 * TITLE_LINE + GAP;
        let bins = scale.as_ref().map_or(1, bins_of) as f64;
        let boxes = BOX.min((sheet - 2.0 * EDGE - 2.0 * GAP) / bins);
        let mut y = scale_top + BOX_HEIGHT + ROW + GAP;
        y += ROW * (f64::from(u8::from(beyond)) + f64::from(u8::from(hatched)));
        // The title of the rows stands above them.
        let grid_top = y + ROW;
        Self {
            map,
            title,
            scale,
            beyond,
            hatched,
            boxes,
            scale_top,
            grid_top,
            left,
            cell: (width / columns as f64, height / rows as f64),
            columns,
            rows,
            height: grid_top + height + 20.0 + TITLE_LINE + 4.0,
        }
    }

    /// Draws everything.
    pub(super) fn draw(&self, canvas: &Canvas<'_>) {
        let mut baseline = self.scale_top - GAP - 5.0;
        for line in self.title.iter().rev() {
            canvas.bold(line, (GAP, baseline), TITLE, Anchor::Start, Ink::Text);
            baseline -= TITLE_LINE;
        }
        self.draw_scale(canvas);
        self.draw_cells(canvas);
        self.draw_border(canvas);
        self.draw_labels(canvas);
    }

    fn draw_scale(&self, canvas: &Canvas<'_>) {
        let left = EDGE + GAP;
        let bottom = self.scale_top + BOX_HEIGHT;
        if let Some(scale) = &self.scale {
            let bins = bins_of(scale);
            for bin in 0..bins {
                let x = left + bin as f64 * self.boxes;
                let ink = Ink::Shade(shade_of(bin, bins));
                canvas.rect((x, self.scale_top), (x + self.boxes, bottom), ink);
            }
            let widest = scale.ticks.iter().map(|t| text_width(&t.label, TEXT));
            let every = every(widest.fold(0.0, f64::max), self.boxes);
            for (i, tick) in scale.ticks.iter().enumerate() {
                let x = left + i as f64 * self.boxes;
                canvas.line(&[(x, self.scale_top), (x, bottom + 3.0)], Ink::Axis, 1.0);
                if i % every == 0 {
                    let at = (x, bottom + 15.0);
                    canvas.text(&tick.label, at, TEXT, Anchor::Middle, Ink::Muted);
                }
            }
        }
        let mut y = bottom + ROW + GAP;
        if self.beyond {
            let sample = [(left, y + ROW / 2.0), (left + BOX / 2.0, y + ROW / 2.0)];
            canvas.line(&sample, Ink::Border, BORDER);
            self.name(
                canvas,
                &format!("border to {} (marked \u{d7})", self.map.beyond),
                (left + BOX / 2.0, y),
            );
            y += ROW;
        }
        if self.hatched {
            canvas.rect(
                (left, y + 3.0),
                (left + BOX / 2.0, y + ROW - 3.0),
                Ink::Span,
            );
            self.name(canvas, &self.map.hatched, (left + BOX / 2.0, y));
        }
    }

    fn name(&self, canvas: &Canvas<'_>, text: &str, at: (f64, f64)) {
        let room = self.left + self.cell.0 * self.columns as f64 - at.0 - GAP;
        let at = (at.0 + GAP, at.1 + ROW / 2.0 + 0.35 * TEXT);
        canvas.text(&fit(text, TEXT, room), at, TEXT, Anchor::Start, Ink::Text);
    }

    fn cell_at(&self, column: usize, row: usize) -> Option<&MapCell> {
        if column >= self.columns || row >= self.rows {
            return None;
        }
        self.map.cells.get(row * self.columns + column)
    }

    /// Left and top of a cell; rows count from the bottom.
    fn corner(&self, column: usize, row: usize) -> (f64, f64) {
        (
            self.left + column as f64 * self.cell.0,
            self.grid_top + (self.rows - 1 - row) as f64 * self.cell.1,
        )
    }

    /// A value as rough as the scale is fine: what is nothing beside the scale's steps is written so.
    fn number(&self, value: f64) -> String {
        let step = self
            .scale
            .as_ref()
            .and_then(|s| Some(s.ticks.get(1)?.at - s.ticks.first()?.at));
        if step.is_some_and(|step| value.abs() < NOTHING * step) {
            return "0".into();
        }
        significant(value, DIGITS)
    }

    fn draw_cells(&self, canvas: &Canvas<'_>) {
        for row in 0..self.rows {
            for column in 0..self.columns {
                let cell = self.cell_at(column, row).copied().unwrap_or_default();
                let (x, y) = self.corner(column, row);
                let end = (x + self.cell.0 - SLIVER, y + self.cell.1 - SLIVER);
                let Some(value) = value_of(&cell) else {
                    canvas.rect((x, y), end, Ink::Span);
                    continue;
                };
                if let Some(scale) = &self.scale {
                    let bins = bins_of(scale);
                    let place = scale.place(value).unwrap_or(0.0);
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0..=bins
                    let bin = ((place * bins as f64).floor() as usize).min(bins - 1);
                    canvas.rect((x, y), end, Ink::Shade(shade_of(bin, bins)));
                }
                let sign = if cell.beyond { " \u{d7}" } else { "" };
                let text = format!("{}{sign}", self.number(value));
                if self.cell.1 >= NUMBER_HEIGHT && text_width(&text, TEXT) + 6.0 <= self.cell.0 {
                    let at = (x + self.cell.0 / 2.0, y + self.cell.1 / 2.0 + 0.36 * TEXT);
                    canvas.text(&text, at, TEXT, Anchor::Middle, Ink::Rimmed);
                }
            }
        }
    }

    /// The border runs along the edges between cells on its two sides: no finer than the grid knows.
    fn draw_border(&self, canvas: &Canvas<'_>) {
        if !self.beyond {
            return;
        }
        let mut edges = Vec::new();
        for row in 0..self.rows {
            for column in 0..self.columns {
                let here = self.cell_at(column, row).is_some_and(|c| c.beyond);
                let differs = |other: Option<&MapCell>| {
                    other.is_some_and(|o| value_of(o).is_some() && o.beyond != here)
                };
                if self
                    .cell_at(column, row)
                    .is_none_or(|c| value_of(c).is_none())
                {
                    continue;
                }
                let (x, y) = self.corner(column, row);
                let (right, bottom) = (x + self.cell.0, y + self.cell.1);
                if differs(self.cell_at(column + 1, row)) {
                    edges.push([(right, y), (right, bottom)]);
                }
                if differs(self.cell_at(column, row + 1)) {
                    edges.push([(x, y), (right, y)]);
                }
            }
        }
        for (ink, width) in [(Ink::Rim, RIM), (Ink::Border, BORDER)] {
            for edge in &edges {
                canvas.line(edge, ink, width);
            }
        }
    }

    fn draw_labels(&self, canvas: &Canvas<'_>) {
        let (labels, bottom) = (&self.map.x.labels, self.corner(0, 0).1 + self.cell.1);
        let widest = labels.iter().map(|l| text_width(l, TEXT));
        let step = every(widest.fold(0.0, f64::max), self.cell.0);
        for (i, label) in labels.iter().enumerate().step_by(step) {
            let x = self.left + (i as f64 + 0.5) * self.cell.0;
            canvas.line(&[(x, bottom), (x, bottom + 4.0)], Ink::Axis, 1.0);
            canvas.text(label, (x, bottom + 17.0), TEXT, Anchor::Middle, Ink::Muted);
        }
        let step = every(TEXT - APART / 2.0, self.cell.1);
        for (i, label) in self.map.y.labels.iter().enumerate().step_by(step) {
            let at = (
                self.left - GAP,
                self.corner(0, i).1 + self.cell.1 / 2.0 + 0.36 * TEXT,
            );
            canvas.text(label, at, TEXT, Anchor::End, Ink::Muted);
        }
        let at = (GAP, self.grid_top - GAP);
        canvas.text(&self.map.y.title, at, TEXT, Anchor::Start, Ink::Text);
        let middle = self.left + self.columns as f64 * self.cell.0 / 2.0;
        let at = (middle, bottom + 17.0 + TITLE_LINE);
        canvas.text(&self.map.x.title, at, TEXT, Anchor::Middle, Ink::Text);
    }
}

fn value_of(cell: &MapCell) -> Option<f64> {
    cell.value.filter(|v| v.is_finite())
}

fn bins_of(scale: &Axis) -> usize {
    scale.ticks.len().saturating_sub(1).max(1)
}

/// The shade of a bin: all shades are used, from the first to the last.
fn shade_of(bin: usize, bins: usize) -> usize {
    match bins {
        0 | 1 => SHADES / 2,
        _ => (bin * (SHADES - 1) + (bins - 1) / 2) / (bins - 1),
    }
}

/// Each how many-th label has room.
fn every(widest: f64, room: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small and positive
    let every = ((widest + APART) / room.max(1.0)).ceil().max(1.0) as usize;
    every
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shades_span_from_little_to_much_and_grow() {
        for bins in 2..12 {
            let shades: Vec<usize> = (0..bins).map(|b| shade_of(b, bins)).collect();
            assert_eq!((shades[0], shades[bins - 1]), (0, SHADES - 1));
            assert!(shades.windows(2).all(|p| p[0] <= p[1]));
        }
    }
}
