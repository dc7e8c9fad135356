//! Scenarios: what is read, what is refused and in which words, what a case holds.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test stops where something is missing"
)]

mod abreast;
mod bounds;
mod diary;
mod diary_cells;
mod edges;
mod facts;
mod heat;
mod heavy;
mod limit;
mod materials;
mod numbers;
mod plan;
mod plant;
mod quay;
mod random;
mod ranges;
mod reading;
mod risk;
mod support;
mod temperatures;
mod templates;
mod uncertain;
