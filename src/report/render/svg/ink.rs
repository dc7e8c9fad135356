//! What a stroke or a surface is for. Drawing knows inks; only the theme knows colours.

use crate::report::figure::{Look, Tone};
use plotters::style::RGBColor;

/// Number of looks that can be told apart.
pub(super) const LOOKS: usize = 8;
/// Number of shades of a map, from little to much.
pub(super) const SHADES: usize = 8;
/// Marks an encoded ink among colours.
const KEY: u8 = 0x5A;
const TONES: [Tone; 4] = [Tone::Good, Tone::Watch, Tone::Act, Tone::Danger];

/// The purpose of a stroke or a surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Ink {
    /// Titles and labels to be read first.
    Text,
    /// Text over the drawing, with a rim of paper around it.
    Rimmed,
    /// Tick labels and other text to be read second.
    Muted,
    /// Grid lines.
    Grid,
    /// Axis lines and tick marks.
    Axis,
    /// The background.
    Paper,
    /// A line in a look's hue and dash.
    Line(usize),
    /// An edge in a look's hue, not dashed.
    Edge(usize),
    /// A pale surface in a look's hue.
    Wash(usize),
    /// A full surface in a look's hue.
    Solid(usize),
    /// A zone.
    Zone(Tone),
    /// A limit.
    Rule,
    /// A shaded stretch of x.
    Span,
    /// The line of a named instant.
    Marker,
    /// A shade of a map, 0 for little.
    Shade(usize),
    /// The border on a map, and the paper on both of its sides.
    Border,
    /// Paper around the border.
    Rim,
}

impl Ink {
    /// The ink of a look's line; looks beyond the stock start again.
    pub(super) fn line(look: Look) -> Self {
        Self::Line(look.0 % LOOKS)
    }

    /// The ink of a look's solid edge.
    pub(super) fn edge(look: Look) -> Self {
        Self::Edge(look.0 % LOOKS)
    }

    /// The ink of a look's pale surface.
    pub(super) fn wash(look: Look) -> Self {
        Self::Wash(look.0 % LOOKS)
    }

    /// The ink of a look's full surface.
    pub(super) fn solid(look: Look) -> Self {
        Self::Solid(look.0 % LOOKS)
    }

    /// The stand-in colour under which the drawing backend carries this ink.
    pub(super) fn stand_in(self) -> RGBColor {
        let (class, index) = match self {
            Self::Text => (0, 0),
            Self::Rimmed => (1, 0),
            Self::Muted => (2, 0),
            Self::Grid => (3, 0),
            Self::Axis => (4, 0),
            Self::Paper => (5, 0),
            Self::Rule => (6, 0),
            Self::Span => (7, 0),
            Self::Marker => (8, 0),
            Self::Zone(tone) => (9, TONES.iter().position(|t| *t == tone).unwrap_or(0)),
            Self::Line(look) => (10, look),
            Self::Edge(look) => (11, look),
            Self::Wash(look) => (12, look),
            Self::Solid(look) => (13, look),
            Self::Shade(shade) => (14, shade),
            Self::Border => (15, 0),
            Self::Rim => (16, 0),
        };
        RGBColor(class, u8::try_from(index).unwrap_or(0), KEY)
    }

    /// The ink behind a stand-in colour as the backend writes it (`#RRGGBB`).
    pub(super) fn from_hex(hex: &str) -> Option<Self> {
        let digits = hex.strip_prefix('#').filter(|d| d.len() == 6)?;
        let byte = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
        let (class, index, key) = (byte(0)?, usize::from(byte(2)?), byte(4)?);
        if key != KEY {
            return None;
        }
        Some(match class {
            0 => Self::Text,
            1 => Self::Rimmed,
            2 => Self::Muted,
            3 => Self::Grid,
            4 => Self::Axis,
            5 => Self::Paper,
            6 => Self::Rule,
            7 => Self::Span,
            8 => Self::Marker,
            9 => Self::Zone(*TONES.get(index)?),
            10 => Self::Line(index),
            11 => Self::Edge(index),
            12 => Self::Wash(index),
            13 => Self::Solid(index),
            14 => Self::Shade(index),
            15 => Self::Border,
            16 => Self::Rim,
            _ => return None,
        })
    }

    /// Every ink there is.
    pub(super) fn all() -> Vec<Self> {
        let mut all = vec![
            Self::Text,
            Self::Rimmed,
            Self::Muted,
            Self::Grid,
            Self::Axis,
            Self::Paper,
            Self::Rule,
            Self::Span,
            Self::Marker,
            Self::Border,
            Self::Rim,
        ];
        all.extend((0..SHADES).map(Self::Shade));
        all.extend(TONES.map(Self::Zone));
        for look in 0..LOOKS {
            all.extend([
                Self::Line(look),
                Self::Edge(look),
                Self::Wash(look),
                Self::Solid(look),
            ]);
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_ink_survives_the_way_through_the_backend() {
        for ink in Ink::all() {
            let RGBColor(r, g, b) = ink.stand_in();
            assert_eq!(Ink::from_hex(&format!("#{r:02X}{g:02X}{b:02X}")), Some(ink));
        }
        assert_eq!(Ink::from_hex("#FFFFFF"), None);
        assert_eq!(Ink::from_hex("none"), None);
    }
}
