//! Integration facade (layer 1): one trait for a system, one entry for an integration, several methods behind it.

pub mod continuation;
mod system;

pub use system::{Pattern, RhsFailure, System};
