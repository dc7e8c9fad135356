//! Pixels with tenths on the drawing backend, which knows whole numbers only.

use super::ink::Ink;
use plotters::backend::SVGBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle, Text};
use plotters::prelude::{Color, IntoFont};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontStyle, ShapeStyle, TextStyle};

/// Backend units per pixel.
pub(super) const UNITS: u32 = 10;
/// The backend divides a font's size by this number.
const FONT_FACTOR: f64 = 1.24;
/// The backend hangs a text this part of its size below the given point.
const HANG: f64 = 0.76;

/// Where a text stands against its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// A surface to draw on, in pixels.
pub(super) struct Canvas<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
}

impl<'a> Canvas<'a> {
    /// A surface of `width` by `height` px whose drawing is written to `out`.
    pub(super) fn new(out: &'a mut String, width: f64, height: f64) -> Self {
        let size = (positive(width), positive(height));
        Self {
            area: SVGBackend::with_string(out, size).into_drawing_area(),
        }
    }

    /// A line through two points or more.
    pub(super) fn line(&self, points: &[(f64, f64)], ink: Ink, width: f64) {
        if points.len() > 1 {
            self.draw(&PathElement::new(units(points), stroke(ink, width)));
        }
    }

    /// A filled polygon.
    pub(super) fn polygon(&self, points: &[(f64, f64)], ink: Ink) {
        if points.len() > 2 {
            self.draw(&Polygon::new(units(points), fill(ink)));
        }
    }

    /// A filled rectangle between two corners.
    pub(super) fn rect(&self, a: (f64, f64), b: (f64, f64), ink: Ink) {
        let low = unit((a.0.min(b.0), a.1.min(b.1)));
        let high = unit((a.0.max(b.0), a.1.max(b.1)));
        self.draw(&Rectangle::new([low, high], fill(ink)));
    }

    /// A filled circle.
    pub(super) fn circle(&self, centre: (f64, f64), radius: f64, ink: Ink) {
        self.draw(&Circle::new(unit(centre), positive(radius), fill(ink)));
    }

    /// A line of text whose baseline passes through `at`.
    pub(super) fn text(&self, text: &str, at: (f64, f64), size: f64, anchor: Anchor, ink: Ink) {
        self.write(text, at, size, anchor, ink, FontStyle::Normal);
    }

    /// The same in bold.
    pub(super) fn bold(&self, text: &str, at: (f64, f64), size: f64, anchor: Anchor, ink: Ink) {
        self.write(text, at, size, anchor, ink, FontStyle::Bold);
    }

    fn write(
        &self,
        text: &str,
        at: (f64, f64),
        size: f64,
        anchor: Anchor,
        ink: Ink,
        cut: FontStyle,
    ) {
        let side = match anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let font = ("sans-serif", size * f64::from(UNITS) * FONT_FACTOR).into_font();
        let colour = ink.stand_in();
        let style = TextStyle::from(font.style(cut)).color(&colour);
        let style = style.pos(Pos::new(side, VPos::Top));
        let at = unit((at.0, at.1 - HANG * size));
        // A line break inside a text would break the backend's one tag a line.
        let text: String = text
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        self.draw(&Text::new(text, at, style));
    }

    fn draw<'e, E>(&self, element: &'e E)
    where
        for<'b> &'b E: plotters::element::PointCollection<'b, (i32, i32)>,
        E: plotters::element::Drawable<SVGBackend<'a>> + 'e,
    {
        // Writing to a string cannot fail, so there is no error to pass on.
        let _ = self.area.draw(element);
    }
}

fn stroke(ink: Ink, width: f64) -> ShapeStyle {
    ShapeStyle {
        color: ink.stand_in().to_rgba(),
        filled: false,
        stroke_width: positive(width),
    }
}

fn fill(ink: Ink) -> ShapeStyle {
    ShapeStyle {
        color: ink.stand_in().to_rgba(),
        filled: true,
        stroke_width: 0,
    }
}

fn units(points: &[(f64, f64)]) -> Vec<(i32, i32)> {
    points.iter().map(|p| unit(*p)).collect()
}

fn unit(point: (f64, f64)) -> (i32, i32) {
    #[allow(clippy::cast_possible_truncation)] // saturates; NaN becomes 0 and is filtered before
    let whole = |v: f64| (v * f64::from(UNITS)).round() as i32;
    (whole(point.0), whole(point.1))
}

fn positive(length: f64) -> u32 {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // saturates
    let whole = (length * f64::from(UNITS)).round().max(1.0) as u32;
    whole
}
