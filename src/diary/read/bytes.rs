//! From a file to its text, with a plain sentence for what is no record at all.

use std::fs::File;
use std::io::{ErrorKind, Read as _};
use std::path::Path;

/// Largest record that is read \[bytes\]: a line of 200 letters three times a day through a century.
pub const LARGEST: u64 = 20_000_000;

/// Why a file is no record.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Nothing there.
    #[error("There is no such file. Make one with `marshgas diary new`.")]
    Missing,
    /// A folder.
    #[error("This is a folder, not a file. Name the file in it.")]
    Folder,
    /// Too large.
    #[error(
        "The file is too large: {megabytes:.1} MB, where 20 MB is the most. Check that this is the right file."
    )]
    TooLarge {
        /// Its size \[tenths of a megabyte\].
        megabytes: Megabytes,
    },
    /// The system does not let it be read.
    #[error("This file cannot be read: {0}.")]
    Unreadable(String),
    /// UTF-16.
    #[error(
        "The file is text in UTF-16. Save it again as \"CSV UTF-8\", or with the encoding UTF-8."
    )]
    Utf16,
    /// Neither UTF-8 nor anything else that can be told.
    #[error(
        "The file is not text in UTF-8: line {line} holds a letter of an older encoding, such as Latin-1. Save it again \
         as \"CSV UTF-8\", or with the encoding UTF-8."
    )]
    OlderEncoding {
        /// First line that cannot be read.
        line: usize,
    },
    /// Pictures, archives, workbooks.
    #[error(
        "This is no text: line {line} holds bytes that no text has. If it is a workbook, save its sheet as \"CSV UTF-8\"."
    )]
    Binary {
        /// First line with such a byte.
        line: usize,
    },
    /// Not one line that says anything.
    #[error(
        "The file is empty. Its first line must name the columns; `marshgas diary new` writes one."
    )]
    Empty,
    /// No column could be told.
    #[error(
        "The first line must name the columns, and none of its names is known: {found}. {mend}"
    )]
    NoHeading {
        /// What stands there.
        found: String,
        /// What to do.
        mend: String,
    },
    /// No column of dates.
    #[error("There is no column \"date\". {mend}")]
    NoDate {
        /// What to do.
        mend: String,
    },
    /// Two columns for one thing.
    #[error(
        "The columns \"{first}\" and \"{second}\" mean the same. Rename or remove one of them."
    )]
    Twice {
        /// The one.
        first: String,
        /// The other.
        second: String,
    },
}

/// A size that is equal when it reads equal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Megabytes(u64);

impl std::fmt::Display for Megabytes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        (self.0 as f64 / 1e6).fmt(f)
    }
}

/// The bytes of a file.
///
/// # Errors
/// [`Refusal`] when it is missing, a folder, too large or not readable.
pub fn bytes(path: &Path) -> Result<Vec<u8>, Refusal> {
    let told = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => Refusal::Missing,
        _ => Refusal::Unreadable(e.to_string()),
    };
    let about = std::fs::metadata(path).map_err(told)?;
    if about.is_dir() {
        return Err(Refusal::Folder);
    }
    if about.len() > LARGEST {
        return Err(too_large(about.len()));
    }
    let mut bytes = Vec::new();
    // One byte more than is allowed shows a pipe or a growing file that is too large.
    File::open(path)
        .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
        .map_err(told)?;
    match bytes.len() as u64 {
        size if size > LARGEST => Err(too_large(size)),
        _ => Ok(bytes),
    }
}

fn too_large(size: u64) -> Refusal {
    Refusal::TooLarge {
        megabytes: Megabytes(size),
    }
}

/// The text of a record's bytes, without the mark that some programs put in front.
///
/// # Errors
/// [`Refusal`] for what is no text in UTF-8.
pub(super) fn text(bytes: &[u8]) -> Result<&str, Refusal> {
    if bytes.len() as u64 > LARGEST {
        return Err(too_large(bytes.len() as u64));
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") || every_other_is_nul(bytes)
    {
        return Err(Refusal::Utf16);
    }
    let line_of = |at: usize| {
        let before = bytes.get(..at).unwrap_or(bytes);
        before.iter().filter(|b| **b == b'\n').count() + 1
    };
    let odd = |b: &u8| *b < b' ' && !matches!(*b, b'\t' | b'\n' | b'\r' | 0x0c);
    if let Some(at) = bytes.iter().position(odd) {
        return Err(Refusal::Binary { line: line_of(at) });
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|e| Refusal::OlderEncoding {
        line: line_of(e.valid_up_to()),
    })
}

/// UTF-16 without a mark: of the first letters every other byte is zero.
fn every_other_is_nul(bytes: &[u8]) -> bool {
    let head = bytes.get(..8).unwrap_or(&[]);
    let nul = |skip: usize| head.iter().skip(skip).step_by(2).all(|b| *b == 0);
    !head.is_empty() && nul(0) != nul(1)
}
