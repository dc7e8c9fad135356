//! Drawing the layers of a panel.

use super::axis::Axis;
use super::canvas::Canvas;
use super::ink::Ink;
use super::marks::{along, mark};
use super::thin::{bucket, means, pieces, thin};
use crate::report::figure::{Fan, Layer, Look, Panel, Series, Zone};

/// Width of data lines \[px\].
pub(super) const LINE: f64 = 1.7;
/// Width of the upper edge of areas \[px\].
const EDGE: f64 = 1.1;
/// Panels with so many lines carry marks: dashes alone are then hard to follow.
const MARKED_FROM: usize = 3;
/// Columns wider than this stand apart by a pixel.
const APART_FROM: f64 = 5.0;

/// A rectangle of pixels under two axes.
pub(super) struct Plot<'a> {
    pub(super) x: &'a Axis,
    pub(super) y: &'a Axis,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Plot<'_> {
    pub(super) fn right(&self) -> f64 {
        self.left + self.width
    }

    pub(super) fn bottom(&self) -> f64 {
        self.top + self.height
    }

    pub(super) fn px(&self, x: f64) -> Option<f64> {
        self.x.place(x).map(|p| self.left + p * self.width)
    }

    pub(super) fn py(&self, y: f64) -> Option<f64> {
        self.y.place(y).map(|p| self.bottom() - p * self.height)
    }

    fn at(&self, point: (f64, f64)) -> (f64, f64) {
        let x = self.px(point.0).unwrap_or(f64::NAN);
        (x, self.py(point.1).unwrap_or(f64::NAN))
    }

    /// Pixels of the points, split where a point has no place, and thinned to what can be seen.
    fn paths(&self, points: &[(f64, f64)]) -> Vec<Vec<(f64, f64)>> {
        let placed: Vec<_> = points.iter().map(|p| self.at(*p)).collect();
        let columns = columns_of(self.width);
        pieces(&placed)
            .iter()
            .map(|piece| thin(piece, columns))
            .collect()
    }
}

/// How many neighbouring values a panel of `width` px merges in its stacks and columns; 1 for none.
pub(super) fn merged(panel: &Panel, width: f64) -> usize {
    let most = columns_of(width);
    let counts = panel.layers.iter().map(|layer| match layer {
        Layer::Stack(all) | Layer::Columns(all) => all.iter().map(|s| s.points.len()).max(),
        _ => None,
    });
    counts.flatten().map(|n| bucket(n, most)).max().unwrap_or(1)
}

/// How the lines of a panel are told apart besides their hue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dress {
    /// Dashes: not on a lone line, which needs none, nor on crowded ones, where they cannot be seen.
    pub(super) dashed: bool,
    /// Marks: where dashes are missing or hard to follow.
    pub(super) marked: bool,
}

impl Dress {
    /// The dress of a panel that is `width` px wide.
    pub(super) fn of(panel: &Panel, width: f64) -> Self {
        let lines = panel.layers.iter().filter_map(|l| match l {
            Layer::Line(series) => Some(series.points.len()),
            _ => None,
        });
        let lines: Vec<usize> = lines.collect();
        let crowded = lines.iter().any(|n| *n > 4 * columns_of(width));
        Self {
            dashed: lines.len() > 1 && !crowded,
            marked: lines.len() >= MARKED_FROM || (lines.len() > 1 && crowded),
        }
    }

    /// The ink of a line.
    pub(super) fn ink(self, look: Look) -> Ink {
        if self.dashed {
            Ink::line(look)
        } else {
            Ink::edge(look)
        }
    }
}

/// Stretches of two pixels: more detail than that is not seen.
fn columns_of(width: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // some hundred pixels
    let columns = (width / 2.0).max(1.0) as usize;
    columns
}

/// Draws the zones, which lie below the grid.
pub(super) fn draw_zones(canvas: &Canvas<'_>, plot: &Plot<'_>, panel: &Panel) {
    for layer in &panel.layers {
        if let Layer::Stretch(stretch) = layer
            && let (Some(a), Some(b)) = (plot.px(stretch.from), plot.px(stretch.to))
        {
            canvas.rect(
                (a, plot.top),
                (b.max(a + 1.0), plot.bottom()),
                Ink::Zone(stretch.tone),
            );
        }
        if let Layer::Zone(zone) = layer
            && let Some((low, high)) = zone_extent(zone, plot.y)
        {
            let (Some(a), Some(b)) = (plot.py(low), plot.py(high)) else {
                continue;
            };
            // A sliver of paper between zones marks the border without relying on hue.
            canvas.rect(
                (plot.left, a),
                (plot.right(), b + 0.6),
                Ink::Zone(zone.tone),
            );
        }
    }
}

/// The part of a zone that lies on the axis; `None` when it lies outside.
pub(super) fn zone_extent(zone: &Zone, axis: &Axis) -> Option<(f64, f64)> {
    let low = zone.from.unwrap_or(axis.low).max(axis.low);
    let high = zone.to.unwrap_or(axis.high).min(axis.high);
    (high > low).then_some((low, high))
}

/// Draws everything above the grid.
pub(super) fn draw_layers(canvas: &Canvas<'_>, plot: &Plot<'_>, panel: &Panel) {
    let size = merged(panel, plot.width);
    let lines = panel
        .layers
        .iter()
        .filter(|l| matches!(l, Layer::Line(_)))
        .count();
    let dress = Dress::of(panel, plot.width);
    let mut turn = 0;
    for layer in &panel.layers {
        match layer {
            Layer::Line(series) => {
                draw_line(canvas, plot, series, dress, (turn, lines));
                turn += 1;
            }
            Layer::Step(series) => {
                for path in plot.paths(&stairs(&series.points)) {
                    canvas.line(&path, Ink::line(series.look), LINE);
                }
            }
            Layer::Dots(series) => {
                for point in plot.paths(&series.points).iter().flatten() {
                    mark(canvas, *point, series.look);
                }
            }
            Layer::Area(series) => draw_area(canvas, plot, series),
            Layer::Stack(all) => draw_stack(canvas, plot, all, size),
            Layer::Columns(all) => draw_columns(canvas, plot, all, size),
            Layer::Fan(fan) => draw_fan(canvas, plot, fan),
            Layer::Rule(rule) => {
                if let Some(y) = plot.py(rule.y) {
                    canvas.line(&[(plot.left, y), (plot.right(), y)], Ink::Rule, 1.2);
                }
            }
            Layer::Zone(_) | Layer::Stretch(_) => {}
        }
    }
}

/// Draws a line; `turn` is its number among the panel's lines and their count.
fn draw_line(
    canvas: &Canvas<'_>,
    plot: &Plot<'_>,
    series: &Series,
    dress: Dress,
    turn: (usize, usize),
) {
    for path in plot.paths(&series.points) {
        if let [only] = path.as_slice() {
            mark(canvas, *only, series.look);
        }
        canvas.line(&path, dress.ink(series.look), LINE);
        if dress.marked {
            along(canvas, &path, series.look, turn.0, turn.1);
        }
    }
}

/// Points of a line that holds each value until the next.
fn stairs(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut out = Vec::with_capacity(2 * points.len());
    for (i, point) in points.iter().enumerate() {
        out.push(*point);
        if let Some(next) = points.get(i + 1) {
            out.push((next.0, point.1));
        }
    }
    out
}

fn draw_area(canvas: &Canvas<'_>, plot: &Plot<'_>, series: &Series) {
    let ground = plot.py(plot.y.ground()).unwrap_or(plot.bottom());
    for path in plot.paths(&series.points) {
        let (Some(first), Some(last)) = (path.first(), path.last()) else {
            continue;
        };
        let mut outline = path.clone();
        outline.extend([(last.0, ground), (first.0, ground)]);
        canvas.polygon(&outline, Ink::wash(series.look));
        canvas.line(&path, Ink::edge(series.look), EDGE);
    }
}

/// Lower and upper edges of each series over the ones before it, after merging neighbours.
fn layered(all: &[Series], size: usize) -> Vec<Vec<(f64, f64, f64)>> {
    let mut tops: Vec<f64> = Vec::new();
    let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
    all.iter()
        .map(|series| {
            let points = means(&series.points, size);
            tops.resize(tops.len().max(points.len()), 0.0);
            let edges = points.iter().zip(&mut tops).map(|(point, top)| {
                let low = *top;
                *top += finite(point.1);
                (point.0, low, *top)
            });
            edges.collect()
        })
        .collect()
}

fn draw_stack(canvas: &Canvas<'_>, plot: &Plot<'_>, all: &[Series], size: usize) {
    let edges = layered(all, size);
    for (series, edges) in all.iter().zip(&edges) {
        let upper: Vec<_> = edges.iter().map(|e| plot.at((e.0, e.2))).collect();
        if let [only] = upper.as_slice() {
            mark(canvas, *only, series.look);
        }
        let lower = edges.iter().rev().map(|e| plot.at((e.0, e.1)));
        if upper.iter().any(|p| p.0.is_nan() || p.1.is_nan()) {
            continue;
        }
        let outline: Vec<_> = upper.iter().copied().chain(lower).collect();
        canvas.polygon(&outline, Ink::wash(series.look));
        canvas.line(&upper, Ink::edge(series.look), EDGE);
    }
}

fn draw_columns(canvas: &Canvas<'_>, plot: &Plot<'_>, all: &[Series], size: usize) {
    for (series, edges) in all.iter().zip(layered(all, size)) {
        let widths: Vec<f64> = edges.windows(2).map(|w| w[1].0 - w[0].0).collect();
        let usual = widths.first().copied().unwrap_or(1.0);
        for (i, (x, low, high)) in edges.iter().enumerate() {
            let end = x + widths.get(i).copied().unwrap_or(usual);
            let (Some(a), Some(b)) = (plot.px(*x), plot.px(end)) else {
                continue;
            };
            let (Some(c), Some(d)) = (plot.py(*low), plot.py(*high)) else {
                continue;
            };
            let gap = if b - a > APART_FROM { 0.5 } else { 0.0 };
            if high > low && b > a {
                canvas.rect((a + gap, c), (b - gap, d), Ink::solid(series.look));
            }
        }
    }
}

fn draw_fan(canvas: &Canvas<'_>, plot: &Plot<'_>, fan: &Fan) {
    for range in &fan.ranges {
        let edge = |pick: fn(&(f64, f64, f64)) -> (f64, f64)| -> Vec<(f64, f64)> {
            range
                .edges
                .iter()
                .filter(|e| e.1.is_finite() && e.2.is_finite())
                .map(pick)
                .collect()
        };
        let size = bucket(range.edges.len(), columns_of(plot.width));
        let place = |points: &[(f64, f64)]| -> Vec<(f64, f64)> {
            let placed = means(points, size).into_iter().map(|p| plot.at(p));
            placed
                .filter(|p| p.0.is_finite() && p.1.is_finite())
                .collect()
        };
        let mut outline = place(&edge(|e| (e.0, e.2)));
        let mut lower = place(&edge(|e| (e.0, e.1)));
        lower.reverse();
        outline.append(&mut lower);
        canvas.polygon(&outline, Ink::wash(fan.look));
    }
    for path in plot.paths(&fan.middle) {
        canvas.line(&path, Ink::line(fan.look), LINE);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_holds_each_value_until_the_next() {
        let stairs = stairs(&[(0.0, 1.0), (2.0, 3.0)]);
        assert_eq!(stairs, vec![(0.0, 1.0), (2.0, 1.0), (2.0, 3.0)]);
    }

    #[test]
    fn stacked_series_stand_on_each_other_and_gaps_count_as_nothing() {
        let series = |ys: [f64; 2]| Series {
            name: String::new(),
            look: Look(0),
            points: vec![(0.0, ys[0]), (1.0, ys[1])],
        };
        let edges = layered(&[series([1.0, 2.0]), series([3.0, f64::NAN])], 1);
        assert_eq!(edges[1], vec![(0.0, 1.0, 4.0), (1.0, 2.0, 2.0)]);
    }
}
