//! A document as one self-contained page: no outside script, style, font or picture.

use super::svg::{Margins, Sheet, escape, page_rules, page_svg, shared_margins};
use crate::report::document::{Document, Table, Weight};
use crate::report::error::ReportError;
use askama::Template;

/// A figure ready for the page, on two sheets of which the style sheet shows one.
struct FigureView<'a> {
    id: &'a str,
    number: usize,
    title: &'a str,
    caption: &'a str,
    wide: String,
    narrow: String,
}

#[derive(Template)]
#[template(path = "report.html", escape = "none")]
struct Page<'a> {
    doc: &'a Document,
    figures: Vec<FigureView<'a>>,
    story_tables: Vec<&'a Table>,
    folded_tables: Vec<&'a Table>,
    record_tables: Vec<&'a Table>,
    light: String,
    dark: String,
    rules: String,
}

impl Page<'_> {
    /// Text made safe for the page.
    #[allow(clippy::unused_self)] // templates call methods
    fn t(&self, text: &str) -> String {
        escape(text)
    }

    /// A name for an anchor.
    fn span(&self, name: &str, unit: &str) -> String {
        match unit {
            "" => self.t(name),
            unit => format!(
                "{} <span class=\"unit\">{}</span>",
                self.t(name),
                self.t(unit)
            ),
        }
    }
}

/// The document as a page that is readable on a screen, on a telephone, in the dark and on paper.
///
/// # Errors
/// [`ReportError::Page`] when the template cannot be filled in.
pub fn html(document: &Document) -> Result<String, ReportError> {
    let figures = document
        .figures
        .iter()
        .enumerate()
        .map(|(i, figure)| FigureView {
            id: &figure.id,
            number: i + 1,
            title: &figure.title,
            caption: &figure.caption,
            wide: page_svg(
                figure,
                (Sheet::Wide, ""),
                shared_margins(figure, &document.figures),
            ),
            // A telephone has no room to give away.
            narrow: page_svg(figure, (Sheet::Narrow, "-narrow"), Margins::default()),
        });
    let (light, dark, rules) = page_rules();
    let page = Page {
        doc: document,
        figures: figures.collect(),
        story_tables: document.tables_of(Weight::Story).collect(),
        folded_tables: document.tables_of(Weight::Folded).collect(),
        record_tables: document.tables_of(Weight::Record).collect(),
        light,
        dark,
        rules,
    };
    Ok(page.render()?)
}
