//! Integration facade (layer 1): one trait for a system, one entry for an integration, several methods behind it.

mod system;

pub use system::{Pattern, RhsFailure, System};
