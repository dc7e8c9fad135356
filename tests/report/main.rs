//! From an invented outcome to documents, pages, pictures, tables and text.

// Helpers of tests may panic like the tests themselves.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod calendar;
mod document;
mod fixture;
mod heat;
mod maps;
mod page;
mod pictures;
mod tables;
mod terminal;
