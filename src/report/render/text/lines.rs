//! Lines that stay within a width, in Unicode or ASCII, with or without colour.

use anstyle::Style;
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// What stands for characters beyond ASCII.
const ASCII: [(char, &str); 15] = [
    ('\u{2212}', "-"),
    ('\u{2013}', "-"),
    ('\u{2026}', "..."),
    ('\u{202F}', ""),
    ('\u{00A0}', " "),
    ('\u{00B2}', "2"),
    ('\u{00B3}', "3"),
    ('\u{2082}', "2"),
    ('\u{2083}', "3"),
    ('\u{2084}', "4"),
    ('\u{00D7}', "x"),
    ('\u{00B5}', "u"),
    ('\u{2018}', "'"),
    ('\u{2019}', "'"),
    ('\u{00DF}', "ss"),
];

/// The space that keeps a number and its unit on one line.
const BOUND: char = '\u{00A0}';

/// A growing page.
pub(super) struct Page {
    out: String,
    columns: usize,
    colour: bool,
    unicode: bool,
}

impl Page {
    pub(super) fn new(columns: usize, colour: bool, unicode: bool) -> Self {
        Self {
            out: String::new(),
            columns,
            colour,
            unicode,
        }
    }

    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    pub(super) fn unicode(&self) -> bool {
        self.unicode
    }

    /// The text without control characters (a title must not steer the terminal), in ASCII if asked.
    pub(super) fn plain(&self, text: &str) -> String {
        let text = if self.unicode {
            text.into()
        } else {
            text.replace("\u{b0}C", "deg C")
        };
        let mut out = String::with_capacity(text.len());
        for c in text.chars() {
            match c {
                '\n' | '\t' | '\r' => out.push(' '),
                c if c.is_control() => {}
                c if self.unicode || c.is_ascii() => out.push(c),
                c => out.push_str(
                    ASCII
                        .iter()
                        .find(|(from, _)| *from == c)
                        .map_or("?", |(_, to)| to),
                ),
            }
        }
        out
    }

    /// Columns that the text takes once made plain.
    pub(super) fn width(&self, text: &str) -> usize {
        width_of(&self.plain(text))
    }

    /// Plain text cut to `room` columns.
    pub(super) fn cut(&self, plain: &str, room: usize) -> String {
        if width_of(plain) <= room {
            return plain.into();
        }
        let dots = if self.unicode { "\u{2026}" } else { "..." };
        let mut out = take(plain, room.saturating_sub(width_of(dots))).to_owned();
        out.push_str(dots);
        out
    }

    /// Words broken over lines, the first after `first`, the others after `rest`. Nothing for an empty text.
    pub(super) fn wrapped(&mut self, text: &str, first: &str, rest: &str, style: Style) {
        let room = |lead: &str| self.columns.saturating_sub(width_of(lead)).max(1);
        let rooms = (room(first), room(rest));
        let mut lead = first;
        for line in broken(&self.plain(text), rooms) {
            self.push(lead, &line, style);
            lead = rest;
        }
    }

    /// A plain left part and a plain styled right part on one line; cut at the page's width.
    pub(super) fn pair(&mut self, left: &str, right: &str, style: Style) {
        let left = self.cut(left, self.columns);
        let right = self.cut(right, self.columns.saturating_sub(width_of(&left)));
        self.push(&left, &right, style);
    }

    /// An empty line, unless the page is empty or ends with one.
    pub(super) fn blank(&mut self) {
        if !self.out.is_empty() && !self.out.ends_with("\n\n") {
            self.out.push('\n');
        }
    }

    pub(super) fn finish(self) -> String {
        self.out
    }

    /// One line as it is.
    pub(super) fn line(&mut self, text: &str) {
        self.push("", text, Style::new());
    }

    fn push(&mut self, lead: &str, text: &str, style: Style) {
        // What held number and unit together has done its work.
        let text = text.replace(BOUND, " ");
        if self.colour && !text.trim().is_empty() && style != Style::new() {
            self.out.push_str(lead);
            self.out.push_str(&format!("{style}{text}{style:#}"));
        } else {
            self.out.push_str(format!("{lead}{text}").trim_end());
        }
        self.out.push('\n');
    }
}

/// Plain text broken into lines of at most so many columns, the first and the others. Lines are broken at plain spaces
/// alone, so numbers keep their units; a word that no line holds is cut.
pub(super) fn broken(plain: &str, (first, rest): (usize, usize)) -> Vec<String> {
    let room = first.min(rest).max(1);
    let mut words = Vec::new();
    for mut word in plain.split(' ').filter(|word| !word.is_empty()) {
        while width_of(word) > room {
            let head = take(word, room);
            words.push(head);
            word = &word[head.len()..];
        }
        words.push(word);
    }
    let mut lines: Vec<String> = Vec::new();
    for word in words.into_iter().filter(|word| !word.is_empty()) {
        let room = if lines.len() > 1 { rest } else { first };
        match lines.last_mut() {
            Some(line) if width_of(line) + 1 + width_of(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Columns that plain text takes in a terminal.
pub(super) fn width_of(plain: &str) -> usize {
    plain.width()
}

/// Plain text filled up with blanks to `width` columns.
pub(super) fn pad(plain: &str, width: usize) -> String {
    let missing = width.saturating_sub(width_of(plain));
    format!("{plain}{}", " ".repeat(missing))
}

/// The longest beginning that fits `room` columns, at least one character.
fn take(plain: &str, room: usize) -> &str {
    let mut used = 0;
    for (at, c) in plain.char_indices() {
        used += c.width().unwrap_or(0);
        if used > room && at > 0 {
            return &plain[..at];
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_words_are_broken_and_lines_stay_within_the_width() {
        let mut page = Page::new(10, false, true);
        page.wrapped(
            "a Donaudampfschifffahrt on the river",
            "- ",
            "  ",
            Style::new(),
        );
        let text = page.finish();
        assert!(text.lines().all(|l| width_of(l) <= 10), "{text}");
        let joined: String = text.chars().filter(|c| c.is_alphabetic()).collect();
        assert_eq!(joined, "aDonaudampfschifffahrtontheriver");
    }

    #[test]
    fn a_number_keeps_its_unit_on_its_line() {
        let mut page = Page::new(12, false, true);
        page.wrapped("about half of 20\u{a0}kg", "", "", Style::new());
        assert_eq!(page.finish(), "about half\nof 20 kg\n");
        assert_eq!(broken("a bc def", (4, 3)), ["a bc", "def"]);
        assert_eq!(broken("", (4, 3)), Vec::<String>::new());
    }

    #[test]
    fn ascii_and_control_characters() {
        let page = Page::new(80, false, false);
        assert_eq!(
            page.plain("20 \u{b0}C \u{2212}3 m\u{b3}\u{1b}[31m"),
            "20 deg C -3 m3[31m"
        );
        assert!(page.plain("\u{6cbc}").is_ascii());
    }
}
