//! Numerics against published values, closed forms and each other.

// Helpers outside test functions fail loudly as well.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod closed_forms;
mod continuation;
mod diary_least_squares;
mod diary_posterior;
mod explicit;
mod failures;
mod orders;
mod pieces;
mod problems;
mod segments;
mod steady;
mod stiff;
mod study_axis;
mod study_bands;
mod study_batch;
mod study_distribution;
mod study_sampling;
mod study_statistics;
mod tables;
