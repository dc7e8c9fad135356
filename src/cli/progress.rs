//! The one progress bar.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Steps of the bar; finer than a terminal shows.
const STEPS: u64 = 1000;

/// A bar on standard error, or nothing where nobody looks.
pub(super) struct Progress(ProgressBar);

impl Progress {
    pub(super) fn new(what: &str, shown: bool) -> Self {
        let target = if shown {
            ProgressDrawTarget::stderr_with_hz(10)
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(Some(STEPS), target);
        if let Ok(style) =
            ProgressStyle::with_template("{msg} [{bar:40}] {percent:>3} %  {elapsed}, {eta} left")
        {
            bar.set_style(style.progress_chars("=> "));
        }
        bar.set_message(what.to_owned());
        Self(bar)
    }

    /// Moves the bar to a share of the work, 0..1.
    pub(super) fn set(&self, share: f64) {
        // A cast from a float saturates, and NaN becomes 0.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        self.0
            .set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
