//! Numerics against published values and closed forms.

mod orders;
mod problems;
mod stiff;
mod study_axis;
mod study_bands;
mod study_batch;
mod study_distribution;
mod study_sampling;
mod study_statistics;
mod tables;
