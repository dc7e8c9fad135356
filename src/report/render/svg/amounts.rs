//! Named amounts as horizontal bars.

use super::axis::Axis;
use super::canvas::{Anchor, Canvas};
use super::ink::Ink;
use super::text_width::{fit, text_width, wrap, wrap_bold};
use crate::report::figure::{Amount, Amounts, Scale};

/// Text size and heights \[px\].
const TEXT: f64 = 12.0;
const TITLE: f64 = 13.0;
const TITLE_LINE: f64 = 18.0;
const LINE: f64 = 15.0;
const BAR: f64 = 18.0;
const BETWEEN: f64 = 10.0;
/// Sheets narrower than this put the names above the bars.
const NARROW: f64 = 520.0;
const MARGIN: f64 = 8.0;
const GAP: f64 = 6.0;

struct Row<'a> {
    bar: &'a Amount,
    name: Vec<String>,
    top: f64,
    height: f64,
}

/// Bars ready to be drawn.
pub(super) struct AmountDrawing<'a> {
    amounts: &'a Amounts,
    axis: Axis,
    title: Vec<String>,
    rows: Vec<Row<'a>>,
    above: bool,
    left: f64,
    width: f64,
    top: f64,
    bottom: f64,
    /// Height of the whole \[px\].
    pub(super) height: f64,
}

impl<'a> AmountDrawing<'a> {
    /// Places everything on a sheet `sheet` px wide, starting `top` px from its top.
    pub(super) fn new(amounts: &'a Amounts, sheet: f64, top: f64) -> Self {
        let widest = |texts: &mut dyn Iterator<Item = &str>| {
            texts.map(|t| text_width(t, TEXT)).fold(0.0, f64::max)
        };
        let names = widest(&mut amounts.bars.iter().map(|b| b.name.as_str()));
        let texts = widest(&mut amounts.bars.iter().map(|b| b.text.as_str()));
        let above = sheet < NARROW;
        let name_width = if above {
            sheet - 2.0 * MARGIN
        } else {
            names.min(0.4 * sheet)
        };
        let left = MARGIN + if above { 0.0 } else { name_width + GAP };
        let width = (sheet - left - texts - GAP - MARGIN).max(40.0);
        let finite = amounts
            .bars
            .iter()
            .map(|b| b.value)
            .filter(|v| v.is_finite());
        let longest = finite.chain(amounts.reach).fold(0.0, f64::max);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small
        let most = (width / 60.0).max(2.0) as usize;
        let axis = Axis::nice(0.0, longest, Scale::Linear, most);
        let title = wrap_bold(&amounts.title, TITLE, sheet - 2.0 * MARGIN);
        #[allow(clippy::cast_precision_loss)] // few lines
        let tall = |lines: usize| lines as f64 * LINE;
        #[allow(clippy::cast_precision_loss)]
        let first = top + title.len() as f64 * TITLE_LINE + GAP;
        let mut y = first;
        let rows = amounts.bars.iter().map(|bar| {
            let name = wrap(&bar.name, TEXT, name_width);
            let name: Vec<_> = name
                .iter()
                .map(|line| fit(line, TEXT, name_width))
                .collect();
            let height = if above {
                tall(name.len()) + BAR
            } else {
                tall(name.len()).max(BAR)
            };
            let row = Row {
                bar,
                name,
                top: y,
                height,
            };
            y += height + BETWEEN;
            row
        });
        let rows: Vec<_> = rows.collect();
        Self {
            amounts,
            axis,
            title,
            rows,
            above,
            left,
            width,
            top: first,
            bottom: y,
            height: y + 22.0,
        }
    }

    /// Draws everything.
    pub(super) fn draw(&self, canvas: &Canvas<'_>) {
        let mut baseline = self.top - GAP - 5.0;
        for line in self.title.iter().rev() {
            canvas.bold(line, (MARGIN, baseline), TITLE, Anchor::Start, Ink::Text);
            baseline -= TITLE_LINE;
        }
        for tick in &self.axis.ticks {
            let x = self.x(tick.at);
            if !self.above {
                canvas.line(&[(x, self.top), (x, self.bottom)], Ink::Grid, 0.8);
            }
            canvas.line(&[(x, self.bottom), (x, self.bottom + 4.0)], Ink::Axis, 1.0);
            canvas.text(
                &tick.label,
                (x, self.bottom + 17.0),
                TEXT,
                Anchor::Middle,
                Ink::Muted,
            );
        }
        for row in &self.rows {
            self.draw_row(canvas, row);
        }
        let ends = [
            (self.left, self.bottom),
            (self.left + self.width, self.bottom),
        ];
        canvas.line(&ends, Ink::Axis, 1.0);
        if self.amounts.bars.is_empty() {
            let at = (self.left, self.bottom - GAP);
            canvas.text("no values", at, TITLE, Anchor::Start, Ink::Muted);
        }
    }

    fn x(&self, value: f64) -> f64 {
        self.left + self.axis.place(value).unwrap_or(0.0) * self.width
    }

    fn draw_row(&self, canvas: &Canvas<'_>, row: &Row<'_>) {
        #[allow(clippy::cast_precision_loss)] // few lines
        let text = row.name.len() as f64 * LINE;
        let (bar_top, mut baseline) = if self.above {
            (row.top + text, row.top + 11.0)
        } else {
            let middle = row.top + row.height / 2.0;
            (middle - BAR / 2.0, middle - text / 2.0 + 11.0)
        };
        for line in &row.name {
            let (x, anchor) = if self.above {
                (self.left, Anchor::Start)
            } else {
                (self.left - GAP, Anchor::End)
            };
            canvas.text(line, (x, baseline), TEXT, anchor, Ink::Text);
            baseline += LINE;
        }
        let end = self.x(row.bar.value);
        if end > self.left {
            canvas.rect(
                (self.left, bar_top),
                (end, bar_top + BAR),
                Ink::solid(row.bar.look),
            );
        }
        let at = (end + GAP, bar_top + BAR / 2.0 + 0.36 * TEXT);
        canvas.text(&row.bar.text, at, TEXT, Anchor::Start, Ink::Rimmed);
    }
}
