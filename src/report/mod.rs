//! From an outcome to a document, and from a document to HTML, SVG, CSV, JSON, PNG and text (layer 8).
//!
//! `present` decides which numbers, figures and sentences a study has to show; `render` decides how
//! they look. A [`Document`] stands between the two and knows no colour.

mod calendar;
mod document;
mod error;
mod figure;
mod numbers;
mod present;
mod render;
mod write;

pub use document::{
    Caution, Closing, Column, Document, Facts, KeyNumber, Mark, Table, Trend, Trends, Weight,
};
pub use error::ReportError;
pub use figure::{
    Amount, Amounts, Fan, FanRange, Figure, Layer, Look, Map, MapAxis, MapCell, Marker, Panel,
    Panels, Plot, Rule, Scale, Series, Span, Stretch, Tone, XAxis, XKind, Zone,
};
pub use present::{
    SweepRecord, csv_diary, csv_startup, diary, diary_diagnosis, diary_fit, foam_table, limit,
    risk, run, season, size, startup, startup_wall, startup_wall_text, sweep,
};
pub use render::{
    FONT_NOTICE, Flavour, OUTCOME_SCHEMA, SEASON_SCHEMA, SWEEP_SCHEMA, Theme, csv_daily, csv_heat,
    csv_season, csv_sweep, csv_trace, html, ics, json, json_season, json_sweep, png, svg, text,
};
pub use write::write_all;
