//! How this very digester is: a few unknowns fitted to its owner's record.
//!
//! | file | holds |
//! |---|---|
//! | [`coordinate`] | from an unbounded coordinate to a value with bounds and a prior |
//! | [`robust`] | a loss that a stray reading cannot rule |
//! | [`least_squares`] | Levenberg and Marquardt's method, several starts, why it stopped |
//! | [`information`] | what the readings fix and what they leave open |
//! | [`posterior`] | weighted draws from what is left open |

pub mod coordinate;
pub mod information;
pub mod least_squares;
pub mod posterior;
pub mod robust;
