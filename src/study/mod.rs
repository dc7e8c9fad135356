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
//! | [`risk`] | one scenario under uncertainty |
//! | [`uncertain`] | what a forecast does not know, and what a draw makes of a case |
//! | [`startup`] | from the filling to a steady flame, and a feeding plan |
//! | [`season`] | the plant behind the digester through a run |
//! | [`sweep`] | one or two things varied over a scenario |
//! | [`foam`] | what each thickness of insulation is worth |
//! | [`size`] | from a wish to the smallest plant that reaches it |
//! | [`limit`] | where a digester turns sour |
//! | [`evidence`] | published check values beside what this build computes |

pub mod axis;
pub mod bands;
pub mod batch;
pub mod correlation;
pub mod distribution;
pub mod evidence;
pub mod foam;
pub mod generator;
pub mod limit;
pub mod normal;
pub mod risk;
pub mod sampling;
pub mod season;
pub mod size;
pub mod startup;
pub mod statistics;
pub mod sweep;
pub mod uncertain;
