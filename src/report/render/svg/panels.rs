//! Laying out and drawing panels over one x axis.

use super::axis::{Axis, Tick};
use super::canvas::{Anchor, Canvas};
use super::dates::day_axis;
use super::ink::Ink;
use super::labels::{EDGE, Flagged, GAP, TICK, lanes, side_labels, spread};
use super::layers::{Dress, Plot, draw_layers, draw_zones, merged};
use super::legend::Legend;
use super::text_width::{text_width, wrap_bold};
use super::thin::join;
use crate::report::figure::{Layer, Panel, Panels, XKind, extent};

/// Size of titles \[px\].
const TITLE: f64 = 13.0;
/// Heights \[px\]: a lone panel, one of several, a title line, a lane of marker labels.
const LONE: f64 = 220.0;
const SHARED: f64 = 132.0;
const TITLE_LINE: f64 = 18.0;
const LANE: f64 = 15.0;
const BETWEEN: f64 = 16.0;
/// Room per tick on a y axis \[px\].
const TICK_ROOM: f64 = 34.0;
/// Names of merge sizes in days.
const DAY_NAMES: [(usize, &str); 2] = [(7, "weekly means"), (365, "yearly means")];

/// A panel with everything placed except its left edge and top.
struct Placed<'a> {
    panel: &'a Panel,
    axis: Axis,
    height: f64,
    title: Vec<String>,
    legend: Legend,
    beside: Vec<(f64, String)>,
    top: f64,
}

/// Panels ready to be drawn.
pub(super) struct PanelDrawing<'a> {
    panels: &'a Panels,
    x: Axis,
    sheet: f64,
    left: f64,
    width: f64,
    placed: Vec<Placed<'a>>,
    flagged: Vec<Flagged<'a>>,
    lane_count: usize,
    /// Height of the whole \[px\].
    pub(super) height: f64,
}

/// Room left and right of the panels \[px\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Margins {
    left: f64,
    right: f64,
}

impl Margins {
    /// What these panels need for the labels beside them.
    pub(super) fn of(panels: &Panels) -> Self {
        Self::around(panels, &y_axes(panels))
    }

    fn around(panels: &Panels, axes: &[(Axis, f64)]) -> Self {
        let widest = |texts: &mut dyn Iterator<Item = f64>| texts.fold(0.0, f64::max);
        let ticks = axes.iter().flat_map(|(axis, _)| &axis.ticks);
        let labels = panels.panels.iter().flat_map(side_labels);
        let beside = widest(&mut labels.map(|l| text_width(&l.1, TICK)));
        Self {
            left: GAP + widest(&mut ticks.map(|t| text_width(&t.label, TICK))) + GAP,
            right: if beside > 0.0 {
                beside + GAP + 4.0
            } else {
                EDGE
            },
        }
    }

    /// The wider of both on each side.
    pub(super) fn max(self, other: Self) -> Self {
        Self {
            left: self.left.max(other.left),
            right: self.right.max(other.right),
        }
    }
}

impl<'a> PanelDrawing<'a> {
    /// Places everything on a sheet `sheet` px wide, starting `top` px from its top, with margins of at least `least`.
    pub(super) fn new(panels: &'a Panels, sheet: f64, top: f64, least: Margins) -> Self {
        let axes = y_axes(panels);
        let Margins { left, right } = Margins::around(panels, &axes).max(least);
        let width = (sheet - left - right).max(40.0);
        let x = x_axis(panels, width);
        let (flagged, lane_count) = lanes(&panels.markers, &x, width);
        let mut y = top;
        let mut placed = Vec::with_capacity(axes.len());
        for (i, (panel, (axis, height))) in panels.panels.iter().zip(axes).enumerate() {
            let spans = if i == 0 { panels.spans.as_slice() } else { &[] };
            let note = merge_note(merged(panel, width), panels.x.kind);
            let title = wrap_bold(&title_of(panel, &note), TITLE, sheet - left - EDGE);
            let legend = Legend::of(panel, spans, Dress::of(panel, width), sheet - left - EDGE);
            #[allow(clippy::cast_precision_loss)] // few lines and lanes
            let above = title.len() as f64 * TITLE_LINE
                + legend.height
                + if i == 0 {
                    lane_count as f64 * LANE
                } else {
                    0.0
                }
                + GAP;
            let beside = spread(side_labels(panel), &axis, height);
            let top = y + above;
            y = top + height + BETWEEN;
            placed.push(Placed {
                panel,
                axis,
                height,
                title,
                legend,
                beside,
                top,
            });
        }
        let years = x.ticks.iter().any(|t| t.below.is_some());
        let height = y - BETWEEN + 20.0 + if years { 14.0 } else { 0.0 } + TITLE_LINE + 4.0;
        Self {
            panels,
            x,
            sheet,
            left,
            width,
            placed,
            flagged,
            lane_count,
            height,
        }
    }

    /// Draws everything.
    pub(super) fn draw(&self, canvas: &Canvas<'_>) {
        for placed in &self.placed {
            self.draw_panel(canvas, placed);
        }
        self.draw_markers(canvas);
        if let Some(last) = self.placed.last() {
            self.draw_x_labels(canvas, last.top + last.height);
        }
    }

    fn plot<'p>(&'p self, placed: &'p Placed<'a>) -> Plot<'p> {
        Plot {
            x: &self.x,
            y: &placed.axis,
            left: self.left,
            top: placed.top,
            width: self.width,
            height: placed.height,
        }
    }

    fn draw_panel(&self, canvas: &Canvas<'_>, placed: &Placed<'a>) {
        let plot = self.plot(placed);
        let first = placed.top == self.placed[0].top;
        #[allow(clippy::cast_precision_loss)] // few lanes
        let lanes = if first {
            self.lane_count as f64 * LANE
        } else {
            0.0
        };
        let legend_top = plot.top - GAP - lanes - placed.legend.height;
        placed.legend.draw(canvas, (self.left, legend_top));
        let mut baseline = legend_top - 5.0;
        for line in placed.title.iter().rev() {
            canvas.bold(line, (self.left, baseline), TITLE, Anchor::Start, Ink::Text);
            baseline -= TITLE_LINE;
        }
        draw_zones(canvas, &plot, placed.panel);
        for tick in &placed.axis.ticks {
            let Some(y) = plot.py(tick.at) else { continue };
            canvas.line(&[(plot.left, y), (plot.right(), y)], Ink::Grid, 0.8);
            let at = (plot.left - GAP, y + 0.36 * TICK);
            canvas.text(&tick.label, at, TICK, Anchor::End, Ink::Muted);
        }
        for tick in &self.x.ticks {
            if let Some(x) = plot.px(tick.at) {
                canvas.line(&[(x, plot.top), (x, plot.bottom())], Ink::Grid, 0.8);
            }
        }
        self.draw_spans(canvas, &plot);
        if has_data(placed.panel) {
            draw_layers(canvas, &plot, placed.panel);
        } else {
            let at = (plot.left + plot.width / 2.0, plot.top + plot.height / 2.0);
            canvas.text("no values", at, TITLE, Anchor::Middle, Ink::Muted);
        }
        let bottom = plot.bottom();
        canvas.line(
            &[(plot.left, bottom), (plot.right(), bottom)],
            Ink::Axis,
            1.0,
        );
        for (y, label) in &placed.beside {
            let at = (plot.right() + GAP, plot.top + y + 0.36 * TICK);
            canvas.text(label, at, TICK, Anchor::Start, Ink::Muted);
        }
    }

    fn draw_spans(&self, canvas: &Canvas<'_>, plot: &Plot<'_>) {
        let spans: Vec<_> = self.panels.spans.iter().map(|s| (s.from, s.to)).collect();
        let pixel = (self.x.high - self.x.low) / self.width;
        for (from, to) in join(&spans, pixel) {
            if let (Some(a), Some(b)) = (plot.px(from), plot.px(to)) {
                canvas.rect((a, plot.top), (b.max(a + 1.0), plot.bottom()), Ink::Span);
            }
        }
    }

    fn draw_markers(&self, canvas: &Canvas<'_>) {
        for Flagged { marker, label } in &self.flagged {
            for (i, placed) in self.placed.iter().enumerate() {
                let plot = self.plot(placed);
                let Some(x) = plot.px(marker.x) else { continue };
                let mut top = plot.top;
                if let (0, Some((lane, anchor))) = (i, label) {
                    #[allow(clippy::cast_precision_loss)] // few lanes
                    let up = (*lane + 1) as f64 * LANE;
                    top -= up;
                    let shift = if *anchor == Anchor::End { -4.0 } else { 4.0 };
                    let at = (x + shift, top + 11.0);
                    canvas.text(&marker.label, at, TICK, *anchor, Ink::Rimmed);
                }
                canvas.line(&[(x, top), (x, plot.bottom())], Ink::Marker, 1.4);
            }
        }
    }

    fn draw_x_labels(&self, canvas: &Canvas<'_>, bottom: f64) {
        let place = |tick: &Tick| self.x.place(tick.at).map(|p| self.left + p * self.width);
        let mut lower = bottom + 17.0;
        for tick in &self.x.ticks {
            let Some(x) = place(tick) else { continue };
            canvas.line(&[(x, bottom), (x, bottom + 4.0)], Ink::Axis, 1.0);
            let x = x.min(self.sheet - 2.0 - text_width(&tick.label, TICK) / 2.0);
            canvas.text(
                &tick.label,
                (x, bottom + 17.0),
                TICK,
                Anchor::Middle,
                Ink::Muted,
            );
            if let Some(below) = &tick.below {
                lower = bottom + 31.0;
                canvas.text(below, (x, lower), TICK, Anchor::Middle, Ink::Muted);
            }
        }
        let at = (self.left + self.width / 2.0, lower + TITLE_LINE);
        canvas.text(&x_title(self.panels), at, TICK, Anchor::Middle, Ink::Text);
    }
}

fn title_of(panel: &Panel, note: &str) -> String {
    let parts = [panel.unit.as_str(), note];
    let parts: Vec<&str> = parts.into_iter().filter(|p| !p.is_empty()).collect();
    if parts.is_empty() {
        return panel.title.clone();
    }
    format!("{} ({})", panel.title, parts.join("; "))
}

fn x_title(panels: &Panels) -> String {
    match panels.x.kind {
        XKind::Days { start: Some(start) } => format!("Date (day 0 is {start})"),
        _ => panels.x.title.clone(),
    }
}

fn x_axis(panels: &Panels, width: f64) -> Axis {
    let (low, high) = panels.x_range().unwrap_or((f64::NAN, f64::NAN));
    match panels.x.kind {
        XKind::Days { start } => day_axis((low, high), start, width, TICK),
        XKind::Number(scale) => {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small
            let most = (width / 70.0).max(2.0) as usize;
            Axis::exact(low, high, scale, most)
        }
    }
}

fn y_axes(panels: &Panels) -> Vec<(Axis, f64)> {
    let all = panels.panels.iter();
    all.map(|p| y_axis(p, panels.panels.len())).collect()
}

/// The y axis of a panel and its height.
fn y_axis(panel: &Panel, count: usize) -> (Axis, f64) {
    let common = if count == 1 { LONE } else { SHARED };
    let factor = if panel.height > 0.0 {
        panel.height.clamp(0.4, 3.0)
    } else {
        1.0
    };
    let height = common * factor;
    let values = panel
        .layers
        .iter()
        .flat_map(Layer::ys)
        .chain(panel.include.iter().copied());
    let (low, high) = extent(values).unwrap_or((f64::NAN, f64::NAN));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small
    let most = (height / TICK_ROOM).max(2.0) as usize;
    (Axis::nice(low, high, panel.scale, most), height)
}

fn has_data(panel: &Panel) -> bool {
    let drawn = |l: &&Layer| !matches!(l, Layer::Zone(_) | Layer::Rule(_) | Layer::Stretch(_));
    let mut layers = panel.layers.iter().filter(drawn);
    layers.any(|l| {
        let points = match l {
            Layer::Area(s) => s.points.iter().map(|p| p.1).collect(),
            Layer::Stack(all) | Layer::Columns(all) => {
                all.iter().flat_map(|s| &s.points).map(|p| p.1).collect()
            }
            other => other.ys(),
        };
        extent(points).is_some()
    })
}

/// What merged stacks and columns say of themselves.
fn merge_note(size: usize, kind: XKind) -> String {
    let named = DAY_NAMES.iter().find(|(days, _)| *days == size);
    match (size, kind, named) {
        (1, _, _) => String::new(),
        (_, XKind::Days { .. }, Some((_, name))) => (*name).to_owned(),
        (_, XKind::Days { .. }, None) => format!("{size}-day means"),
        _ => format!("means of {size}"),
    }
}
