//! Legends: samples of the looks in a panel, flowing in rows above it.

use super::canvas::{Anchor, Canvas};
use super::ink::Ink;
use super::layers::{Dress, LINE};
use super::marks::mark;
use super::text_width::{fit, text_width};
use crate::report::figure::{Layer, Look, Panel, Span};

/// Text size and row height \[px\].
const SIZE: f64 = 12.0;
const ROW: f64 = 18.0;
/// Width of a sample and its distances to the text and to the next entry \[px\].
const SAMPLE: f64 = 26.0;
const TO_TEXT: f64 = 6.0;
const TO_NEXT: f64 = 18.0;

/// How an entry shows its look.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sample {
    Line(Look, Ink, bool),
    /// A wash, how many of them lie on each other, and an edge.
    Surface(Ink, usize, Option<Ink>),
    Dot(Look),
}

/// Entries with their places, relative to the upper left corner.
pub(super) struct Legend {
    entries: Vec<(Sample, String, f64, f64)>,
    /// Height taken \[px\]; 0 without entries.
    pub(super) height: f64,
}

impl Legend {
    /// The legend of a panel that is `width` px wide.
    pub(super) fn of(panel: &Panel, spans: &[Span], dress: Dress, width: f64) -> Self {
        let mut items: Vec<(Sample, String)> = Vec::new();
        for layer in &panel.layers {
            collect(layer, dress, &mut items);
        }
        items.retain(|(_, name)| !name.is_empty());
        // A lone series that says what the panel's title says needs no legend.
        let is_series = |sample: &Sample| !matches!(sample, Sample::Surface(Ink::Zone(_), ..));
        if items.iter().filter(|i| is_series(&i.0)).count() == 1 {
            items.retain(|(sample, name)| !is_series(sample) || *name != panel.title);
        }
        for span in spans {
            let item = (Sample::Surface(Ink::Span, 1, None), span.name.clone());
            if !items.contains(&item) {
                items.push(item);
            }
        }
        Self::flow(items, width)
    }

    fn flow(items: Vec<(Sample, String)>, width: f64) -> Self {
        let (mut x, mut row) = (0.0, 0.0);
        let mut entries = Vec::with_capacity(items.len());
        for (sample, name) in items {
            let name = fit(&name, SIZE, width - SAMPLE - TO_TEXT);
            let wide = SAMPLE + TO_TEXT + text_width(&name, SIZE);
            if x > 0.0 && x + wide > width {
                x = 0.0;
                row += 1.0;
            }
            entries.push((sample, name, x, row * ROW));
            x += wide + TO_NEXT;
        }
        let height = if entries.is_empty() {
            0.0
        } else {
            (row + 1.0) * ROW
        };
        Self { entries, height }
    }

    /// Draws it with its upper left corner at `at`.
    pub(super) fn draw(&self, canvas: &Canvas<'_>, at: (f64, f64)) {
        for (sample, name, x, y) in &self.entries {
            let (x, y) = (at.0 + x, at.1 + y);
            let middle = y + ROW / 2.0;
            match *sample {
                Sample::Line(look, ink, marked) => {
                    canvas.line(&[(x, middle), (x + SAMPLE, middle)], ink, LINE);
                    if marked {
                        mark(canvas, (x + SAMPLE / 2.0, middle), look);
                    }
                }
                Sample::Surface(wash, layers, edge) => {
                    for _ in 0..layers {
                        canvas.rect((x + 4.0, middle - 5.0), (x + SAMPLE, middle + 5.0), wash);
                    }
                    if let Some(edge) = edge {
                        let (left, top) = (x + 4.0, middle - 5.0);
                        canvas.line(&[(left, top), (x + SAMPLE, top)], edge, LINE);
                    }
                }
                Sample::Dot(look) => mark(canvas, (x + SAMPLE / 2.0, middle), look),
            }
            let text = (x + SAMPLE + TO_TEXT, middle + 0.35 * SIZE);
            canvas.text(name, text, SIZE, Anchor::Start, Ink::Text);
        }
    }
}

fn collect(layer: &Layer, dress: Dress, items: &mut Vec<(Sample, String)>) {
    match layer {
        Layer::Line(s) => items.push((
            Sample::Line(s.look, dress.ink(s.look), dress.marked),
            s.name.clone(),
        )),
        Layer::Step(s) => items.push((
            Sample::Line(s.look, Ink::line(s.look), false),
            s.name.clone(),
        )),
        // Dots without a name lie on the line of their look: one sample shows both.
        Layer::Dots(s) if s.name.is_empty() => {
            for (sample, _) in items {
                if let Sample::Line(look, _, marked) = sample {
                    *marked |= *look == s.look;
                }
            }
        }
        Layer::Dots(s) => items.push((Sample::Dot(s.look), s.name.clone())),
        Layer::Area(s) => {
            let sample = Sample::Surface(Ink::wash(s.look), 1, Some(Ink::edge(s.look)));
            items.push((sample, s.name.clone()));
        }
        Layer::Stack(all) => items.extend(all.iter().map(|s| {
            let sample = Sample::Surface(Ink::wash(s.look), 1, Some(Ink::edge(s.look)));
            (sample, s.name.clone())
        })),
        Layer::Columns(all) => items.extend(all.iter().map(|s| {
            let sample = Sample::Surface(Ink::solid(s.look), 1, None);
            (sample, s.name.clone())
        })),
        Layer::Fan(fan) => {
            items.push((
                Sample::Line(fan.look, Ink::line(fan.look), false),
                fan.name.clone(),
            ));
            // The narrower ranges lie on the wider ones.
            items.extend(fan.ranges.iter().enumerate().map(|(i, range)| {
                let wash = Sample::Surface(Ink::wash(fan.look), i + 1, None);
                (wash, range.name.clone())
            }));
        }
        Layer::Stretch(stretch) => {
            let item = (
                Sample::Surface(Ink::Zone(stretch.tone), 1, None),
                stretch.name.clone(),
            );
            if !item.1.is_empty() && !items.contains(&item) {
                items.push(item);
            }
        }
        Layer::Zone(_) | Layer::Rule(_) => {}
    }
}
