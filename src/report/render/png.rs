//! Figures as PNG, drawn from their SVG with a font that comes along, so that no font and no library
//! of the system is needed.

use super::svg::{Theme, svg};
use crate::report::error::ReportError;
use crate::report::figure::Figure;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};
use std::sync::Arc;

/// Pixels of the picture per pixel of the SVG; 2 stays sharp on paper and on dense screens.
const SCALE: f32 = 2.0;
/// Name of the font that comes along.
const FACE: &str = "DejaVu Sans";

/// Licence of the font inside the program, which its terms ask to keep with every copy.
pub const FONT_NOTICE: &str = include_str!("../data/dejavu-license.txt");

/// A figure as PNG on white, twice the size of its SVG.
///
/// # Errors
/// [`ReportError::Picture`] when the drawing cannot be read or is too large for memory.
pub fn png(figure: &Figure) -> Result<Vec<u8>, ReportError> {
    let drawing = svg(figure, Theme::Light);
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(dejavu::sans::regular().to_vec());
    fonts.load_font_data(dejavu::sans::bold().to_vec());
    fonts.set_sans_serif_family(FACE);
    let options = Options {
        font_family: FACE.into(),
        fontdb: Arc::new(fonts),
        ..Options::default()
    };
    let tree = Tree::from_str(&drawing, &options).map_err(picture)?;
    let size = tree.size().to_int_size().scale_by(SCALE);
    let size = size.ok_or_else(|| ReportError::Picture("it has no size".into()))?;
    let mut pixels = Pixmap::new(size.width(), size.height())
        .ok_or_else(|| ReportError::Picture("it is too large".into()))?;
    resvg::render(
        &tree,
        Transform::from_scale(SCALE, SCALE),
        &mut pixels.as_mut(),
    );
    pixels.encode_png().map_err(picture)
}

fn picture(error: impl std::fmt::Display) -> ReportError {
    ReportError::Picture(error.to_string())
}
