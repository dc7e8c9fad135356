//! Continuation of steady states.

mod behaviour;
mod chemostats;
mod closed_forms;
mod family;
mod two_step;
