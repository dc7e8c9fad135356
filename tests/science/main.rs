//! Equations and data against published values.

// Helpers outside test functions fail loudly as well.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod feedstock_data;
mod feedstock_facts;
mod feedstock_library;
mod feedstock_measured;
mod feedstock_mixture;
mod feedstock_own;
mod feedstock_theory;
