//! Places of words around the panels: beside them for zones and limits, above them for instants.

use super::axis::Axis;
use super::canvas::Anchor;
use super::layers::zone_extent;
use super::text_width::text_width;
use crate::report::figure::{Layer, Marker, Panel, Zone};

/// Text size \[px\].
pub(super) const TICK: f64 = 12.0;
/// Least distance between labels, and the room at the right edge \[px\].
pub(super) const GAP: f64 = 6.0;
pub(super) const EDGE: f64 = 14.0;
/// At most so many lanes of marker labels.
const LANES: usize = 4;

/// A marker with the lane and side of its label; `None` where no lane had room.
pub(super) struct Flagged<'a> {
    pub(super) marker: &'a Marker,
    pub(super) label: Option<(usize, Anchor)>,
}

/// Words beside a panel with the value they belong to, the zones' at their middle on the axis.
pub(super) fn side_labels(panel: &Panel) -> Vec<(Side, String)> {
    let labels = panel.layers.iter().filter_map(|layer| match layer {
        Layer::Zone(zone) => Some((Side::Zone(zone.clone()), zone.label.clone())),
        Layer::Rule(rule) => Some((Side::Rule(rule.y), rule.label.clone())),
        _ => None,
    });
    labels.filter(|(_, label)| !label.is_empty()).collect()
}

/// What a word beside a panel belongs to.
pub(super) enum Side {
    Zone(Zone),
    Rule(f64),
}

/// Places of side words from the top of the panel, pushed apart; what finds no room is left out.
pub(super) fn spread(labels: Vec<(Side, String)>, axis: &Axis, height: f64) -> Vec<(f64, String)> {
    let down = |value: f64| axis.place(value).map(|p| (1.0 - p) * height);
    let mut wanted: Vec<(f64, String)> = labels
        .into_iter()
        .filter_map(|(side, label)| {
            let value = match side {
                Side::Rule(y) => (axis.low..=axis.high).contains(&y).then_some(y),
                Side::Zone(zone) => zone_extent(&zone, axis).map(|(a, b)| (a + b) / 2.0),
            };
            Some((down(value?)?, label))
        })
        .collect();
    wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let line = TICK + 1.0;
    // From above push down, then from below push up.
    for i in 1..wanted.len() {
        wanted[i].0 = wanted[i].0.max(wanted[i - 1].0 + line);
    }
    let mut limit = height;
    for (y, _) in wanted.iter_mut().rev() {
        *y = y.min(limit);
        limit = *y - line;
    }
    wanted.retain(|(y, _)| *y >= 0.0);
    wanted
}

/// A lane and a side for each marker's label, and the number of lanes used.
pub(super) fn lanes<'a>(markers: &'a [Marker], x: &Axis, width: f64) -> (Vec<Flagged<'a>>, usize) {
    let mut taken: Vec<Vec<(f64, f64)>> = vec![Vec::new(); LANES];
    let mut sorted: Vec<&Marker> = markers.iter().filter(|m| m.x.is_finite()).collect();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x));
    // The lines of all markers must miss the labels in the lanes that they cross, so later markers
    // get the lower lanes: lanes are given from the right.
    let mut placed: Vec<_> = sorted
        .into_iter()
        .rev()
        .map(|marker| {
            let at = x.place(marker.x).unwrap_or(0.0) * width;
            let wide = text_width(&marker.label, TICK) + 4.0 + GAP;
            let (anchor, from, to) = if at + wide <= width + EDGE {
                (Anchor::Start, at - 1.0, at + wide)
            } else {
                (Anchor::End, at - wide, at + 1.0)
            };
            let free = |lane: &Vec<(f64, f64)>| lane.iter().all(|(a, b)| to <= *a || from >= *b);
            let lane = taken.iter().position(free);
            if let Some(lane) = lane {
                // The line crosses every lane below its own.
                for (i, used) in taken.iter_mut().enumerate().take(lane + 1) {
                    used.push(if i == lane {
                        (from, to)
                    } else {
                        (at - 1.0, at + 1.0)
                    });
                }
            }
            Flagged {
                marker,
                label: lane.map(|lane| (lane, anchor)),
            }
        })
        .collect();
    placed.reverse();
    let count = placed
        .iter()
        .filter_map(|f| f.label.map(|l| l.0 + 1))
        .max()
        .unwrap_or(0);
    (placed, count)
}
