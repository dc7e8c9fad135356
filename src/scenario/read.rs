//! From bytes to the raw scenario: everything that can be said before its numbers are looked at.

use std::fs::File;
use std::io::{ErrorKind, Read as _};
use std::path::Path;

use serde_json::Value;

use super::near::did_you_mean;
use super::problem::{Problem, shown};
use super::scan;
use super::source::{SourceText, place};

/// Largest file that is read \[bytes\]: a thousand times an ordinary scenario.
pub(crate) const LARGEST: u64 = 8_000_000;
/// How many neighbours of a missing file are looked at.
const NEIGHBOURS: usize = 1000;

/// Reads a file of at most [`LARGEST`] bytes.
///
/// # Errors
/// A [`Problem`] when it is missing, a folder, too large, or cannot be read.
pub(crate) fn bytes(path: &Path, label: &str) -> Result<Vec<u8>, Box<Problem>> {
    let fail = |why: String, mend: String| {
        Box::new(Problem {
            file: label.to_owned(),
            why,
            mend,
            ..Problem::default()
        })
    };
    let io = |error: &std::io::Error| match error.kind() {
        ErrorKind::NotFound => fail(
            "There is no such file.".to_owned(),
            format!("Check the name and the folder. {}", neighbour(path))
                .trim_end()
                .to_owned(),
        ),
        ErrorKind::PermissionDenied => fail(
            "This file may not be read.".to_owned(),
            "Ask whoever owns it, or copy it.".to_owned(),
        ),
        _ => fail(format!("This file cannot be read: {error}."), String::new()),
    };
    let about = std::fs::metadata(path).map_err(|e| io(&e))?;
    if about.is_dir() {
        return Err(fail(
            "This is a folder, not a file.".to_owned(),
            "Name the file in it.".to_owned(),
        ));
    }
    let mut bytes = Vec::new();
    if about.len() <= LARGEST {
        // One byte more than is allowed shows a pipe or a growing file that is too large.
        File::open(path)
            .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
            .map_err(|e| io(&e))?;
    }
    let size = about.len().max(bytes.len() as u64);
    if size > LARGEST {
        return Err(too_large(label, size));
    }
    Ok(bytes)
}

fn too_large(label: &str, size: u64) -> Box<Problem> {
    Box::new(Problem {
        file: label.to_owned(),
        why: format!(
            "The file is too large: {:.1} MB, where {} MB is the most.",
            size as f64 / 1e6,
            LARGEST / 1_000_000
        ),
        mend: "Check that this is the right file.".to_owned(),
        ..Problem::default()
    })
}

/// The file in the same folder whose name is most like the missing one's.
fn neighbour(path: &Path) -> String {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let (Some(name), Ok(entries)) = (path.file_name().and_then(|n| n.to_str()), folder.read_dir())
    else {
        return String::new();
    };
    let names: Vec<String> = entries
        .take(NEIGHBOURS)
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    did_you_mean(name, names.iter().map(String::as_str))
}

/// Text of a file in UTF-8, without the byte order mark that some editors write.
///
/// # Errors
/// A [`Problem`] that names the line where it is no UTF-8.
pub(crate) fn text<'a>(bytes: &'a [u8], label: &str) -> Result<&'a str, Box<Problem>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map_err(|error| {
        let wide = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
        let good = bytes.get(..error.valid_up_to()).unwrap_or(&[]);
        let line = good.iter().filter(|b| **b == b'\n').count() + 1;
        let kind = if wide { "It looks like UTF-16. " } else { "" };
        Box::new(Problem {
            file: label.to_owned(),
            line: Some(line),
            why: format!("The file is not text in UTF-8. {kind}")
                .trim_end()
                .to_owned(),
            mend: "Save it again with the encoding UTF-8.".to_owned(),
            ..Problem::default()
        })
    })
}

/// Reads JSON strictly; returns the value and every key that stands twice.
///
/// # Errors
/// A [`Problem`] for the first slip that makes it no JSON.
pub(crate) fn json(source: SourceText<'_>) -> Result<(Value, Vec<Problem>), Box<Problem>> {
    if source.text.len() as u64 > LARGEST {
        return Err(too_large(source.file, source.text.len() as u64));
    }
    let doubles = scan::scan(source.text, &mut |_, _| {}).map_err(|slip| {
        let mut problem = Problem {
            why: slip.why,
            mend: slip.mend,
            ..Problem::default()
        };
        source.point(&mut problem, slip.at);
        Box::new(problem)
    })?;
    let doubles = doubles
        .into_iter()
        .map(|double| {
            let (first, _, _) = place(source.text, double.first);
            let mut problem = Problem {
                path: shown(&double.path),
                why: format!("This key stands twice in the same group, first on line {first}."),
                mend: "Keep one of the two.".to_owned(),
                ..Problem::default()
            };
            source.point(&mut problem, double.second);
            problem
        })
        .collect();
    // The scanner has let it pass, so this would be a disagreement between the two: tell it all the same.
    let value = serde_json::from_str(source.text).map_err(|error| {
        Box::new(Problem {
            file: source.file.to_owned(),
            line: Some(error.line()),
            column: Some(error.column()),
            why: format!("This is not JSON: {error}."),
            mend: "Check the brackets, quotes and commas there.".to_owned(),
            ..Problem::default()
        })
    })?;
    Ok((value, doubles))
}
