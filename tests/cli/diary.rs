//! `marshgas diary`.
