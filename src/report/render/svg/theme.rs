//! Colours, dashes and the style sheet of figures.
//!
//! The hues start from the eight of Okabe & Ito (2008), "Color Universal Design", which people with
//! the common kinds of colour blindness can tell apart. On white the pale ones are darkened and on
//! black the dark ones lightened until each stands out 3:1 from the paper (WCAG 2.1, 1.4.11). No hue
//! carries meaning alone: every look has its own dash and mark too.

use super::canvas::UNITS;
use super::ink::{Ink, LOOKS, SHADES};
use crate::report::figure::Tone;

/// How a figure is coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Theme {
    /// Dark on white, for files and paper.
    Light,
    /// Light on black.
    Dark,
    /// By the style sheet of the page around it.
    Page,
}

/// One colour on white and on black.
struct Shade {
    light: &'static str,
    dark: &'static str,
}

const fn shade(light: &'static str, dark: &'static str) -> Shade {
    Shade { light, dark }
}

/// Hues of the looks: blue, vermillion, green, purple, orange, grey, sky blue, yellow.
const HUES: [Shade; LOOKS] = [
    shade("#0072B2", "#56A8E6"),
    shade("#D55E00", "#F0843C"),
    shade("#00845F", "#2CC596"),
    shade("#B0528A", "#DE93BF"),
    shade("#A86F00", "#E6A626"),
    shade("#4A4F4C", "#C3C9C4"),
    shade("#2583BD", "#8CCBF2"),
    shade("#857A00", "#EDE15A"),
];
/// Dashes of the looks \[px\]; empty for an unbroken line.
const DASHES: [&[u32]; LOOKS] = [
    &[],
    &[8, 3],
    &[2, 2],
    &[9, 3, 2, 3],
    &[5, 3],
    &[12, 3],
    &[4, 2, 1, 2],
    &[1, 3],
];
const TEXT: Shade = shade("#1B221E", "#E7ECE8");
const MUTED: Shade = shade("#56615B", "#A3AFA8");
const GRID: Shade = shade("#E1E5E2", "#2D3531");
const AXIS: Shade = shade("#8B958F", "#6D7872");
const PAPER: Shade = shade("#FFFFFF", "#141916");
/// Good, watch, act, danger.
const TONES: [Shade; 4] = [
    shade("#009E73", "#2CC596"),
    shade("#F0E442", "#EDE15A"),
    shade("#E69F00", "#E6A626"),
    shade("#D55E00", "#F0643C"),
];
const SPAN: Shade = shade("#B03A2E", "#F08A7D");
/// Shades of a map from little to much: one hue whose lightness alone carries the order, so that it
/// reads the same with any colour vision and in grey; much stands out most from the paper.
const MAP: [Shade; SHADES] = [
    shade("#EDF4FA", "#1D2B38"),
    shade("#D3E5F3", "#223D54"),
    shade("#B2D1E9", "#285173"),
    shade("#8BB8DB", "#336993"),
    shade("#639CCA", "#4784B3"),
    shade("#3F7FB4", "#69A1CB"),
    shade("#235F94", "#97C1E0"),
    shade("#0E3F6B", "#CDE4F4"),
];
/// Opacity of the surfaces.
const ZONE_WASH: &str = "0.22";
const LOOK_WASH: &str = "0.30";
const LOOK_SOLID: &str = "0.85";

/// How an ink is put on.
enum Coat {
    Stroke,
    DashedStroke(&'static [u32]),
    Fill(&'static str),
    RimmedText,
    Hatch,
}

fn shade_of(ink: Ink) -> &'static Shade {
    match ink {
        Ink::Text | Ink::Rimmed | Ink::Border => &TEXT,
        Ink::Muted | Ink::Rule | Ink::Marker => &MUTED,
        Ink::Grid => &GRID,
        Ink::Axis => &AXIS,
        Ink::Paper | Ink::Rim => &PAPER,
        Ink::Shade(shade) => &MAP[shade % SHADES],
        Ink::Span => &SPAN,
        Ink::Zone(tone) => &TONES[tone_index(tone)],
        Ink::Line(look) | Ink::Edge(look) | Ink::Wash(look) | Ink::Solid(look) => {
            &HUES[look % LOOKS]
        }
    }
}

fn coat_of(ink: Ink) -> Coat {
    match ink {
        Ink::Text | Ink::Muted | Ink::Paper | Ink::Shade(_) => Coat::Fill("1"),
        Ink::Rimmed => Coat::RimmedText,
        Ink::Grid | Ink::Axis | Ink::Edge(_) => Coat::Stroke,
        Ink::Border | Ink::Rim => Coat::DashedStroke(&[]),
        Ink::Rule => Coat::DashedStroke(&[6, 3]),
        Ink::Marker => Coat::DashedStroke(&[1, 3]),
        Ink::Line(look) => Coat::DashedStroke(DASHES[look % LOOKS]),
        Ink::Zone(_) => Coat::Fill(ZONE_WASH),
        Ink::Wash(_) => Coat::Fill(LOOK_WASH),
        Ink::Solid(_) => Coat::Fill(LOOK_SOLID),
        Ink::Span => Coat::Hatch,
    }
}

fn tone_index(tone: Tone) -> usize {
    match tone {
        Tone::Good => 0,
        Tone::Watch => 1,
        Tone::Act => 2,
        Tone::Danger => 3,
    }
}

/// Class and variable name of an ink on a page.
fn name(ink: Ink) -> String {
    match ink {
        Ink::Text => "ft".into(),
        Ink::Rimmed => "fr".into(),
        Ink::Muted => "fm".into(),
        Ink::Grid => "fg".into(),
        Ink::Axis => "fx".into(),
        Ink::Paper => "fp".into(),
        Ink::Rule => "fl".into(),
        Ink::Span => "fs".into(),
        Ink::Marker => "fk".into(),
        Ink::Border => "fb".into(),
        Ink::Rim => "fi".into(),
        Ink::Shade(shade) => format!("h{shade}"),
        Ink::Zone(tone) => format!("z{}", tone_index(tone)),
        Ink::Line(look) => format!("l{look}"),
        Ink::Edge(look) => format!("e{look}"),
        Ink::Wash(look) => format!("w{look}"),
        Ink::Solid(look) => format!("s{look}"),
    }
}

/// The attributes that put `ink` on an element; `hatch` is the id of the figure's hatching.
pub(super) fn attributes(ink: Ink, theme: Theme, hatch: &str) -> String {
    let shade = shade_of(ink);
    let colour = match theme {
        Theme::Light => shade.light,
        Theme::Dark => shade.dark,
        Theme::Page if matches!(ink, Ink::Span) => {
            // A class cannot know the id of the hatching in its figure.
            return format!("class=\"{}\" fill=\"url(#{hatch})\"", name(ink));
        }
        Theme::Page => return format!("class=\"{}\"", name(ink)),
    };
    let paper = match theme {
        Theme::Dark => PAPER.dark,
        _ => PAPER.light,
    };
    match coat_of(ink) {
        Coat::Stroke => format!("fill=\"none\" stroke=\"{colour}\""),
        Coat::DashedStroke([]) => {
            format!("fill=\"none\" stroke=\"{colour}\" stroke-linejoin=\"round\"")
        }
        Coat::DashedStroke(dash) => format!(
            "fill=\"none\" stroke=\"{colour}\" stroke-linejoin=\"round\" stroke-dasharray=\"{}\"",
            dash_list(dash)
        ),
        Coat::Fill("1") => format!("fill=\"{colour}\""),
        Coat::Fill(opacity) => format!("fill=\"{colour}\" fill-opacity=\"{opacity}\""),
        Coat::RimmedText => format!(
            "fill=\"{colour}\" stroke=\"{paper}\" stroke-width=\"{}\" stroke-linejoin=\"round\" paint-order=\"stroke\"",
            3 * UNITS
        ),
        Coat::Hatch => format!("fill=\"url(#{hatch})\""),
    }
}

/// The hatching of shaded stretches: a pale ground under slanting lines.
pub(super) fn hatching(theme: Theme, hatch: &str) -> String {
    let colour = match theme {
        Theme::Light => SPAN.light,
        Theme::Dark => SPAN.dark,
        Theme::Page => "currentColor",
    };
    let class = if theme == Theme::Page {
        " class=\"fs\""
    } else {
        ""
    };
    let (size, line) = (7 * UNITS, UNITS);
    format!(
        "<defs><pattern id=\"{hatch}\" patternUnits=\"userSpaceOnUse\" width=\"{size}\" height=\"{size}\" \
         patternTransform=\"rotate(45)\"{class}><rect width=\"{size}\" height=\"{size}\" fill=\"{colour}\" \
         fill-opacity=\"0.08\"/><rect width=\"{line}\" height=\"{size}\" fill=\"{colour}\" \
         fill-opacity=\"0.30\"/></pattern></defs>"
    )
}

fn dash_list(dash: &[u32]) -> String {
    let parts: Vec<String> = dash.iter().map(|d| (d * UNITS).to_string()).collect();
    parts.join(" ")
}

/// Style rules for figures on a page: variables for light and dark, and one rule per ink.
pub(crate) fn page_rules() -> (String, String, String) {
    let inks = Ink::all();
    let variables = |pick: fn(&Shade) -> &'static str| -> String {
        let set = |ink: &Ink| format!("--{}:{};", name(*ink), pick(shade_of(*ink)));
        inks.iter()
            .filter(|i| owns_variable(**i))
            .map(set)
            .collect()
    };
    let rules = inks.iter().map(|ink| rule(*ink)).collect();
    (variables(|s| s.light), variables(|s| s.dark), rules)
}

/// Inks of one hue share the variable of its line.
fn owns_variable(ink: Ink) -> bool {
    !matches!(
        ink,
        Ink::Edge(_)
            | Ink::Wash(_)
            | Ink::Solid(_)
            | Ink::Rimmed
            | Ink::Rule
            | Ink::Marker
            | Ink::Border
            | Ink::Rim
    )
}

fn variable(ink: Ink) -> String {
    match ink {
        Ink::Edge(look) | Ink::Wash(look) | Ink::Solid(look) => name(Ink::Line(look)),
        Ink::Rimmed | Ink::Border => name(Ink::Text),
        Ink::Rim => name(Ink::Paper),
        Ink::Rule | Ink::Marker => name(Ink::Muted),
        other => name(other),
    }
}

fn rule(ink: Ink) -> String {
    let (class, var) = (name(ink), variable(ink));
    let body = match coat_of(ink) {
        Coat::Stroke => format!("fill:none;stroke:var(--{var})"),
        Coat::DashedStroke([]) => {
            format!("fill:none;stroke:var(--{var});stroke-linejoin:round")
        }
        Coat::DashedStroke(dash) => format!(
            "fill:none;stroke:var(--{var});stroke-linejoin:round;stroke-dasharray:{}",
            dash_list(dash)
        ),
        Coat::Fill("1") => format!("fill:var(--{var})"),
        Coat::Fill(opacity) => format!("fill:var(--{var});fill-opacity:{opacity}"),
        Coat::RimmedText => format!(
            "fill:var(--{var});stroke:var(--{});stroke-width:{};stroke-linejoin:round;paint-order:stroke",
            name(Ink::Paper),
            3 * UNITS
        ),
        Coat::Hatch => format!("color:var(--{var})"),
    };
    format!(".fig .{class}{{{body}}}\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of an sRGB colour, WCAG 2.1.
    fn luminance(hex: &str) -> f64 {
        let channel = |at: usize| {
            let v = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if v <= 0.04045 {
                v / 12.92
            } else {
                ((v + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// WCAG 2.1: text 4.5:1 (1.4.3), graphical objects 3:1 (1.4.11).
    #[test]
    fn inks_stand_out_from_the_paper() {
        for hue in &HUES {
            assert!(
                contrast(hue.light, PAPER.light) >= 3.0,
                "{} on white",
                hue.light
            );
            assert!(
                contrast(hue.dark, PAPER.dark) >= 3.0,
                "{} on black",
                hue.dark
            );
        }
        for text in [&TEXT, &MUTED] {
            assert!(contrast(text.light, PAPER.light) >= 4.5);
            assert!(contrast(text.dark, PAPER.dark) >= 4.5);
        }
        assert!(contrast("#000000", "#FFFFFF") > 20.9);
    }

    /// The order must survive any colour vision and a grey copy: luminance moves one way in clear steps.
    #[test]
    fn shades_of_a_map_differ_in_lightness() {
        for pair in MAP.windows(2) {
            let light = contrast(pair[0].light, pair[1].light);
            let dark = contrast(pair[0].dark, pair[1].dark);
            assert!(light > 1.12 && dark > 1.12, "{light} {dark}");
            assert!(luminance(pair[0].light) > luminance(pair[1].light));
            assert!(luminance(pair[0].dark) < luminance(pair[1].dark));
        }
        assert!(contrast(MAP[SHADES - 1].light, PAPER.light) > 7.0);
        assert!(contrast(MAP[SHADES - 1].dark, PAPER.dark) > 7.0);
    }

    #[test]
    fn no_two_looks_share_a_dash() {
        for (i, dash) in DASHES.iter().enumerate() {
            assert!(DASHES[..i].iter().all(|other| other != dash));
        }
    }
}
