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
//! | 8 | [`report`] | outcome to document; document to HTML, SVG, PNG, CSV, JSON, text |
//! | 10 | [`cli`] | arguments, exit status, terminal |
//!
//! A digester from the code: check a scenario, run it, read the gas.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let scenario = r#"{
//!   "title": "A drum of slurry", "days": 60,
//!   "vessels": [{ "liquid_l": 160, "headspace_l": 40, "temperature": { "constant_c": 30 } }],
//!   "starter": { "materials": [{ "material": "cattle-slurry", "kg": 80 }], "water_l": 80 },
//!   "recipes": { "scraps": { "materials": [{ "material": "kitchen-scraps", "kg": 0.3 }], "water_l": 0.6 } },
//!   "feeding": [{ "daily": { "recipe": "scraps", "from_day": 21 } }]
//! }"#;
//! let case = marshgas::scenario::from_text(scenario, "drum.json", None)?.case;
//! let outcome = marshgas::simulate::run(&case, &mut |_share_done| {})?;
//! let last = &outcome.plant[59];
//! assert!(last.burns && !last.sour && last.gas_nl > 10.0, "{last:?}");
//! println!("{:.0} norm litres of gas on the last day, {:.0} % methane", last.gas_nl, 100.0 * last.ch4_share);
//! # Ok(())
//! # }
//! ```

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
