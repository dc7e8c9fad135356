//! Many runs at once (layer 6): run them in parallel, draw their inputs, walk ranges, sum them up.
//!
//! | file | holds |
//! |---|---|
//! | [`batch`] | jobs in parallel, results in index order |
//! | [`generator`] | the named, versioned source of random numbers |
//! | [`sampling`] | Latin hypercube and plain random points |
//! | [`distribution`] | shapes of an uncertain input |
//! | [`normal`] | the normal distribution and its inverse |
//! | [`statistics`] | quantiles, chance intervals, running mean |
//! | [`correlation`] | rank correlation |
//! | [`bands`] | bands over time in memory that does not grow with the members |
//! | [`axis`] | ranges from short text |
//! | [`evidence`] | published check values beside what this build computes |

pub mod axis;
pub mod bands;
pub mod batch;
pub mod correlation;
pub mod distribution;
pub mod evidence;
pub mod generator;
pub mod normal;
pub mod sampling;
pub mod statistics;
