//! Ctrl-C during a long study: the first asks it to stop and report, the second ends the program at once.

use std::sync::atomic::{AtomicBool, Ordering};

/// Exit status of a program ended by Ctrl-C, as shells count it.
const ENDED_BY_INTERRUPT: i32 = 130;

static STOP: AtomicBool = AtomicBool::new(false);

/// The flag that Ctrl-C sets. Where the system lets no handler be set, Ctrl-C ends the program as usual.
pub(super) fn stop_flag() -> &'static AtomicBool {
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(ENDED_BY_INTERRUPT);
        }
    });
    &STOP
}
