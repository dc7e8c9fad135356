//! From the backend's output to the finished SVG: inks become colours or classes, and the figure
//! gets its title and description.

use super::canvas::UNITS;
use super::ink::Ink;
use super::theme::{Theme, attributes, hatching};
use crate::report::figure::Figure;
use std::fmt::Write as _;

/// Attributes that say nothing at these values.
const SILENT: [(&str, &str); 3] = [("opacity", "1"), ("stroke", "none"), ("fill", "none")];

/// Finishes what the backend wrote for `figure`. `suffix` keeps ids of several drawings of one
/// figure apart.
pub(super) fn finish(
    raw: &str,
    figure: &Figure,
    theme: Theme,
    size: (f64, f64),
    suffix: &str,
) -> String {
    let id = format!("{}{suffix}", figure.id);
    let hatch = format!("{id}-hatch");
    let mut body = String::with_capacity(raw.len());
    // The backend writes one tag a line; the first and the last are the svg element itself.
    let lines: Vec<&str> = raw
        .lines()
        .filter(|l| !l.starts_with("<svg") && *l != "</svg>")
        .collect();
    for line in lines {
        match line.strip_prefix('<') {
            Some(tag) if !tag.starts_with('/') => push_tag(&mut body, tag, theme, &hatch),
            _ => body.push_str(line),
        }
    }
    let mut out = head(&id, figure, theme, size);
    if body.contains(&hatch) {
        out.push_str(&hatching(theme, &hatch));
    }
    out.push_str(&body);
    out.push_str("</svg>\n");
    out
}

fn head(id: &str, figure: &Figure, theme: Theme, size: (f64, f64)) -> String {
    let (width, height) = (size.0.round(), size.1.round());
    let unit = f64::from(UNITS);
    let place = match theme {
        Theme::Page => "class=\"fig\"".to_owned(),
        _ => format!("xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\""),
    };
    format!(
        "<svg {place} viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\">\
         <title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
        width * unit,
        height * unit,
        escape(&figure.title),
        escape(&figure.alt)
    )
}

/// Rewrites one opening tag, given without its `<`.
fn push_tag(out: &mut String, tag: &str, theme: Theme, hatch: &str) {
    let (inside, end) = match tag.strip_suffix("/>") {
        Some(inside) => (inside, "/>"),
        None => (tag.strip_suffix('>').unwrap_or(tag), ">"),
    };
    let (name, mut rest) = inside.split_once(' ').unwrap_or((inside, ""));
    let _ = write!(out, "<{name}");
    while let Some((key, value, after)) = next_attribute(rest) {
        rest = after;
        let ink = if matches!(key, "fill" | "stroke") {
            Ink::from_hex(value)
        } else {
            None
        };
        match ink {
            Some(ink) => {
                let _ = write!(out, " {}", attributes(ink, theme, hatch));
            }
            None if SILENT.contains(&(key, value)) => {}
            None if key == "stroke-width" && value == "0" => {}
            None if key == "font-family" && theme == Theme::Page => {}
            None => {
                let _ = write!(out, " {key}=\"{}\"", value.trim_end());
            }
        }
    }
    out.push_str(end);
}

/// Splits `key="value" rest`.
fn next_attribute(text: &str) -> Option<(&str, &str, &str)> {
    let (key, after) = text.trim_start().split_once("=\"")?;
    let (value, rest) = after.split_once('"')?;
    Some((key, value, rest))
}

/// Text made safe between tags and in attributes; characters that XML forbids are dropped.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' | '\r' => out.push(' '),
            c if c.is_control() || ('\u{FFFE}'..='\u{FFFF}').contains(&c) => {}
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attributes_are_split_and_rewritten() {
        let mut out = String::new();
        push_tag(
            &mut out,
            "polyline fill=\"none\" opacity=\"1\" stroke=\"#0A015A\" points=\"1,2 3,4 \"/>",
            Theme::Light,
            "h",
        );
        assert!(
            out.starts_with("<polyline fill=\"none\" stroke=\"#D55E00\""),
            "{out}"
        );
        assert!(out.ends_with("points=\"1,2 3,4\"/>"), "{out}");
        let mut out = String::new();
        push_tag(
            &mut out,
            "polyline fill=\"none\" stroke=\"#0A015A\" points=\"1,2\"/>",
            Theme::Page,
            "h",
        );
        assert_eq!(out, "<polyline class=\"l1\" points=\"1,2\"/>");
    }

    #[test]
    fn text_is_made_safe() {
        assert_eq!(escape("a<b>&\"'\u{0}\n"), "a&lt;b&gt;&amp;&quot;&#39; ");
    }
}
