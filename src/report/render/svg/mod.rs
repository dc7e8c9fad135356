//! Figures as SVG.
//!
//! `plotters` draws; places, ticks and labels are decided here, because a drawing backend without a
//! font cannot measure text, draws a value that is not a number as if it were the axis's floor, and
//! has no end on an endless range.

mod amounts;
mod axis;
mod canvas;
mod dates;
mod finish;
mod ink;
mod labels;
mod layers;
mod legend;
mod map;
mod marks;
mod panels;
mod text_width;
mod theme;
mod thin;

pub(crate) use finish::escape;
pub use theme::Theme;
pub(crate) use theme::page_rules;

use crate::report::figure::{Figure, Plot};
use amounts::AmountDrawing;
use canvas::{Anchor, Canvas};
use ink::Ink;
use map::MapDrawing;
pub(crate) use panels::Margins;
use panels::PanelDrawing;
use text_width::wrap_bold;

/// Widths of a sheet \[px\]: on a page and in files, and on a telephone.
const WIDE: f64 = 760.0;
const NARROW: f64 = 372.0;
/// Size and line height of the title inside a file \[px\].
const HEADING: f64 = 16.0;
const HEADING_LINE: f64 = 22.0;
const UNDER_HEADING: f64 = 8.0;
const MARGIN: f64 = 10.0;

/// How wide the sheet is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sheet {
    /// For files, screens and paper.
    Wide,
    /// For telephones.
    Narrow,
}

/// A figure as a self-contained SVG file with its title drawn on top.
///
/// With [`Theme::Page`] the title is left to the page, colours come from the page's style sheet, and
/// there is no background.
#[must_use]
pub fn svg(figure: &Figure, theme: Theme) -> String {
    draw(figure, theme, (Sheet::Wide, ""), Margins::default())
}

/// A figure for a page, on a wide or a narrow sheet, with margins of at least `least`; `suffix` tells several drawings
/// of it apart.
pub(crate) fn page_svg(figure: &Figure, sheet: (Sheet, &str), least: Margins) -> String {
    draw(figure, Theme::Page, sheet, least)
}

/// Margins that all of these figures over the same x axis as `figure` fit into: one below the other on a page, their
/// days stand one below the other too.
pub(crate) fn shared_margins(figure: &Figure, all: &[Figure]) -> Margins {
    let panels = |figure: &Figure| match &figure.plot {
        Plot::Panels(panels) => Some((panels.x_range()?, panels.x.kind)),
        _ => None,
    };
    let Some(own) = panels(figure) else {
        return Margins::default();
    };
    let alike = all.iter().filter(|other| panels(other) == Some(own));
    alike
        .filter_map(|other| match &other.plot {
            Plot::Panels(panels) => Some(Margins::of(panels)),
            _ => None,
        })
        .fold(Margins::default(), Margins::max)
}

fn draw(figure: &Figure, theme: Theme, (sheet, suffix): (Sheet, &str), least: Margins) -> String {
    let width = match sheet {
        Sheet::Wide => WIDE,
        Sheet::Narrow => NARROW,
    };
    let heading = match theme {
        Theme::Page => Vec::new(),
        _ => wrap_bold(&figure.title, HEADING, width - 2.0 * MARGIN),
    };
    #[allow(clippy::cast_precision_loss)] // few lines
    let top = 4.0
        + heading.len() as f64 * HEADING_LINE
        + if heading.is_empty() {
            0.0
        } else {
            UNDER_HEADING
        };
    let mut raw = String::new();
    let height = match &figure.plot {
        Plot::Panels(panels) => {
            let drawing = PanelDrawing::new(panels, width, top, least);
            let canvas = start(&mut raw, &heading, theme, (width, drawing.height));
            drawing.draw(&canvas);
            drawing.height
        }
        Plot::Amounts(amounts) => {
            let drawing = AmountDrawing::new(amounts, width, top);
            let canvas = start(&mut raw, &heading, theme, (width, drawing.height));
            drawing.draw(&canvas);
            drawing.height
        }
        Plot::Map(map) => {
            let drawing = MapDrawing::new(map, width, top);
            let canvas = start(&mut raw, &heading, theme, (width, drawing.height));
            drawing.draw(&canvas);
            drawing.height
        }
    };
    finish::finish(&raw, figure, theme, (width, height), suffix)
}

/// A canvas with background and heading, where the theme asks for them.
fn start<'a>(
    raw: &'a mut String,
    heading: &[String],
    theme: Theme,
    size: (f64, f64),
) -> Canvas<'a> {
    let canvas = Canvas::new(raw, size.0, size.1);
    if theme != Theme::Page {
        canvas.rect((0.0, 0.0), size, Ink::Paper);
    }
    let mut baseline = 20.0;
    for line in heading {
        canvas.bold(line, (MARGIN, baseline), HEADING, Anchor::Start, Ink::Text);
        baseline += HEADING_LINE;
    }
    canvas
}
