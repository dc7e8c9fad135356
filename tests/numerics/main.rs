//! Integration methods against published values and closed forms.
#![allow(clippy::unwrap_used, reason = "a test may fail by panic")]

mod closed_forms;
mod explicit;
mod failures;
mod orders;
mod problems;
mod segments;
mod steady;
mod stiff;
mod tables;
