//! How this very digester is: a few unknowns fitted to its owner's record.
//!
//! | file | holds |
//! |---|---|
//! | [`coordinate`] | from an unbounded coordinate to a value with bounds and a prior |
//! | [`robust`] | a loss that a stray reading cannot rule |
//! | [`least_squares`] | Levenberg and Marquardt's method, several starts, why it stopped |
//! | [`information`] | what the readings fix and what they leave open |
//! | [`emulator`] | a quick stand-in for the model, learnt from its runs |
//! | [`chain`] | Metropolis' walk over the stand-in |
//! | [`posterior`] | weighted draws from what is left open |
//! | [`unknown`] | what a record can teach, as data, and how it changes a case |
//! | [`readings`] | the numbers of a record with their errors |
//! | [`model`] | a case held against its readings |
//! | [`ahead`] | a case continued beyond its record |
//! | [`digester`] | the fit of a digester |
//! | [`jump`] | a day on which the readings leave the fit |
//! | [`result`] | what it gives |
//! | [`fitted`] | the scenario as fitted |

pub mod ahead;
pub mod chain;
pub mod coordinate;
pub mod digester;
pub mod emulator;
pub mod fitted;
pub mod information;
pub mod jump;
pub mod least_squares;
pub mod model;
pub mod posterior;
pub mod readings;
pub mod result;
pub mod robust;
pub mod unknown;
