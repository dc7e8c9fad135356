//! Science: every equation against values from outside the project, then its invariants.

// A test that cannot read its table must stop.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod acid_base;
mod adm1_benchmark;
mod cases;
mod chemistry_constants;
mod chemistry_gas_mixture;
mod chemistry_gas_volume;
mod chemistry_henry;
mod chemistry_inhibition;
mod chemistry_temperature;
mod chemistry_vapour;
mod diary_diagnose;
mod diary_fit;
mod diary_made_up;
mod diary_sampler;
mod diary_walk;
mod engine_jacobian;
mod evidence;
mod feedstock_data;
mod feedstock_facts;
mod feedstock_library;
mod feedstock_measured;
mod feedstock_mixture;
mod feedstock_own;
mod feedstock_theory;
mod gas_side;
mod golden;
mod heat;
mod heat_runs;
mod integrators;
mod invariants;
mod limit_family;
mod plant_cleaning;
mod plant_hourly;
mod plant_leak;
mod plant_residue;
mod plant_safety;
mod plant_store;
mod plant_uses;
mod season;
mod slope;
mod startup;
mod sweep_retention;
mod table;
