//! From an invented outcome to documents, pages, pictures, tables and text.

mod document;
mod fixture;
mod page;
mod pictures;
mod tables;
mod terminal;
