//! Integration methods against published values and closed forms.

mod orders;
mod problems;
mod stiff;
mod tables;
