//! Numerical methods against closed forms, published values and each other.

// Helpers outside of test functions unwrap too.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod continuation;
