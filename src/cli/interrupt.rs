//! Ctrl-C as a flag: a long study ends with what is done instead of nothing.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A flag that the first Ctrl-C sets; the second ends the program at once. Where the system takes no handler, Ctrl-C
/// ends the program as usual.
pub(super) fn flag() -> Arc<AtomicBool> {
    /// Exit status of a program ended by Ctrl-C, as shells have it: 128 and the number of the signal.
    const ENDED: i32 = 130;
    let flag = Arc::new(AtomicBool::new(false));
    let set = Arc::clone(&flag);
    let taken = ctrlc::set_handler(move || {
        if set.swap(true, Ordering::Relaxed) {
            std::process::exit(ENDED);
        }
    });
    // Without a handler nothing is lost but the kept part.
    drop(taken);
    flag
}
