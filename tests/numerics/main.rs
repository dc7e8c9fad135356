//! Integration methods against published values and closed forms.
#![allow(clippy::unwrap_used, reason = "a test may fail by panic")]

mod orders;
mod problems;
mod stiff;
mod tables;
