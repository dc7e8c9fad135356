//! How a document looks, one file per format.

mod columns;
mod csv;
mod html;
mod ics;
mod json;
mod png;
mod svg;
mod sweep;
mod text;

pub use self::csv::{Flavour, csv_daily, csv_heat, csv_season, csv_trace};
pub use self::html::html;
pub use self::ics::ics;
pub use self::json::{OUTCOME_SCHEMA, SEASON_SCHEMA, json, json_season};
pub use self::png::{FONT_NOTICE, png};
pub use self::svg::{Theme, svg};
pub use self::sweep::{SWEEP_SCHEMA, csv_sweep, json_sweep};
pub use self::text::text;
