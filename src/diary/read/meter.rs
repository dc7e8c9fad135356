//! From the counts of a gas meter to what came between them, in the order of the days.

use std::collections::HashSet;

use crate::diary::record::{Doubt, Entry};

/// Turns counts into steps. `counts` are the lines whose gas is a count; `entries` are in order.
pub(super) fn steps(entries: &mut [Entry], counts: &HashSet<u64>, doubts: &mut Vec<Doubt>) {
    let mut before: Option<(u64, f64)> = None;
    for entry in entries.iter_mut().filter(|e| counts.contains(&e.line)) {
        let Some(gas) = &mut entry.gas else {
            continue;
        };
        let count = gas.litres;
        let step = before.map(|(above, before)| (above, before, count - before));
        before = Some((entry.line, count));
        match step {
            Some((_, _, step)) if step >= 0.0 => gas.litres = step,
            None => {
                entry.gas = None;
                entry.gas_seen = true;
            }
            Some((above, before, _)) => {
                doubts.push(Doubt {
                    line: entry.line,
                    reason: format!(
                        "the gas meter runs back, from {before} on line {above} to {count}: a slip, or it was set back; no \
                         gas is taken from it"
                    ),
                });
                entry.gas = None;
                entry.gas_seen = true;
            }
        }
    }
}
