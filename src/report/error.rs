//! What can go wrong between a document and a file.

use std::path::PathBuf;

/// A rendering or writing that failed.
#[derive(Debug, thiserror::Error)]
pub enum ReportError {
    /// A number of the result is not finite, so it has no place in a file.
    #[error("the result is not finite at {place} ({value})")]
    NotFinite {
        /// Where, for example `plant, day 12, ph`.
        place: String,
        /// The number.
        value: f64,
    },
    /// The page could not be filled in.
    #[error("the page could not be written: {0}")]
    Page(#[from] askama::Error),
    /// The JSON could not be written.
    #[error("the JSON could not be written: {0}")]
    Json(#[from] serde_json::Error),
    /// The table could not be written.
    #[error("the table could not be written: {0}")]
    Table(String),
    /// The picture could not be drawn.
    #[error("the picture could not be drawn: {0}")]
    Picture(String),
    /// A file name holds a separator or nothing at all.
    #[error("{name:?} is no plain file name")]
    FileName {
        /// The name.
        name: String,
    },
    /// A folder could not be made.
    #[error("the folder {} could not be made: {source}", path.display())]
    Folder {
        /// The folder.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file could not be written.
    #[error("{} could not be written: {source}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
}
