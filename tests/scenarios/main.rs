//! Scenarios: what is read, what is refused and in which words, what a case holds.

mod facts;
mod materials;
mod numbers;
mod plan;
mod random;
mod ranges;
mod reading;
mod support;
mod temperatures;
mod templates;
