//! marshgas: a simulation engine for small hand-fed biogas digesters.
//!
//! Imports go strictly downwards through these layers; `tests/architecture.rs` holds them to it.
//!
//! | layer | module | holds |
//! |---|---|---|
//! | 0 | [`units`], [`lanes`], `embedded` | constants, conversions; numbers side by side; data files in the program |
//! | 1 | [`solver`], [`chemistry`], [`feedstock`] | integrators; liquor and gas chemistry; materials |
//! | 2 | [`kinetics`], [`thermal`] | components, processes, rates, networks, feed to components; weather, soil, walls, sun |
//! | 3 | [`digester`], [`plant`] | vessel, dosing, headspace, right-hand side, what the eye can see; gas cleaning, store, use, residue |
//! | 4 | [`case`] | the checked input of one run |
//! | 5 | [`scenario`], [`simulate`] | text to case; case to outcome |
//! | 6 | [`study`] | many runs: in parallel, drawn at random, along ranges; their statistics |
//! | 7 | [`diary`] | an owner's record: reading, fit, causes ranked |
//! | 8 | [`report`] | outcome to document; document to HTML, SVG, CSV, JSON, text |
//! | 10 | [`cli`] | arguments, exit status, terminal |

pub mod case;
pub mod chemistry;
pub mod cli;
pub mod diary;
pub mod digester;
mod embedded;
pub mod feedstock;
pub mod kinetics;
pub mod lanes;
pub mod plant;
pub mod report;
pub mod scenario;
pub mod simulate;
pub mod solver;
pub mod study;
pub mod thermal;
pub mod units;
