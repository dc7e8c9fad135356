//! Everything that can end a command early, its exit status and its JSON.

use std::io;
use std::path::PathBuf;
use std::sync::Mutex;

use serde_json::{Value, json};

use crate::plant::PlantFault;
use crate::scenario::Problems;
use crate::simulate::RunFailure;
use crate::study::evidence::EvidenceFailure;
use crate::study::limit::LimitFailure;
use crate::study::season::SeasonFailure;
use crate::study::size::SizeFailure;
use crate::study::sweep::SweepError;

/// Why a command ended early.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    /// The command line cannot be understood.
    #[error("{0}")]
    Usage(String),
    /// A scenario cannot be used.
    #[error("{0}")]
    Scenario(Problems),
    /// A name that is not in a list.
    #[error("{given}: there is no {what} of this name.{} {list}", nearest.as_deref().map(|n| format!(" Did you mean {n}?")).unwrap_or_default())]
    Unknown {
        what: &'static str,
        given: String,
        nearest: Option<String>,
        /// How to see all names: a full sentence.
        list: &'static str,
    },
    /// A record that cannot be used.
    #[error("{}: {why}", path.display())]
    Diary {
        path: PathBuf,
        /// Why: full sentences.
        why: String,
    },
    /// A record that another process is writing to.
    #[error("{}: another marshgas is writing to it and does not finish. Nothing was written; try again.", path.display())]
    Busy { path: PathBuf },
    /// A path that cannot be written to.
    #[error("{}: {why}. {mend}", path.display())]
    Path {
        path: PathBuf,
        /// What is wrong with it, without a full stop.
        why: String,
        /// What to do: a full sentence.
        mend: &'static str,
    },
    /// The simulation did not come through.
    #[error("{file}: {failure}")]
    Run {
        /// The scenario, as the user named it.
        file: String,
        failure: RunFailure,
    },
    /// A study of many runs in which none came through.
    #[error("{0}")]
    NoResult(String),
    /// A scenario that this study cannot be made of.
    #[error("{file}: {why}.")]
    Study { file: String, why: String },
    /// A sweep that cannot begin.
    #[error("{0}")]
    Sweep(SweepError),
    /// Points of an earlier sweep that cannot be used.
    #[error("{}: {why} {mend}", path.display())]
    Resume {
        path: PathBuf,
        /// Why: full sentences.
        why: String,
        /// What to do: a full sentence.
        mend: &'static str,
    },
    /// Stopped by Ctrl-C; what became of what was done.
    #[error("{0}")]
    Stopped(String),
    /// The limit could not be looked for.
    #[error("{0}.")]
    Limit(LimitFailure),
    /// A plant could not be sized.
    #[error("{0}")]
    Size(SizeFailure),
    /// A part of the plant that cannot be computed with these settings.
    #[error("{0}")]
    Plant(PlantFault),
    /// A check value is not met.
    #[error(
        "{what}: published {published}, computed {computed}: this build disagrees with a published value."
    )]
    Disagrees {
        what: String,
        published: String,
        computed: f64,
    },
    /// The evidence could not be computed.
    #[error("{0}")]
    Evidence(EvidenceFailure),
    /// A result could not be made or stored.
    #[error("{}: writing failed: {why}. Check the space on the disk and the rights of the folder.", path.display())]
    Write { path: PathBuf, why: String },
    /// Standard output cannot be written to.
    #[error("standard output: {0}")]
    Output(io::Error),
    /// A fault of the program.
    #[error(
        "this is a fault of marshgas {version}, not of your input. Nothing can be said about the result. \
         Please report it with the scenario and this line: {0}",
        version = env!("CARGO_PKG_VERSION")
    )]
    Fault(String),
}

impl Failure {
    /// 1 the job failed, 2 bad input.
    pub(super) fn exit_status(&self) -> u8 {
        match self {
            Self::Usage(_)
            | Self::Scenario(_)
            | Self::Unknown { .. }
            | Self::Diary { .. }
            | Self::Path { .. }
            | Self::Study { .. }
            | Self::Sweep(_)
            | Self::Plant(_)
            | Self::Resume { .. } => 2,
            Self::Run { .. }
            | Self::NoResult(_)
            | Self::Busy { .. }
            | Self::Stopped(_)
            | Self::Limit(_)
            | Self::Size(_)
            | Self::Disagrees { .. }
            | Self::Evidence(_)
            | Self::Write { .. }
            | Self::Output(_)
            | Self::Fault(_) => 1,
        }
    }

    /// Whether the reader of standard output simply went away.
    pub(super) fn is_closed_pipe(&self) -> bool {
        matches!(self, Self::Output(e) if e.kind() == io::ErrorKind::BrokenPipe)
    }

    /// A stable word for programs.
    fn code(&self) -> &'static str {
        match self {
            Self::Usage(_) => "usage",
            Self::Scenario(_) => "scenario",
            Self::Unknown { .. } => "unknown-name",
            Self::Diary { .. } => "diary",
            Self::Busy { .. } => "busy",
            Self::Path { .. } => "path",
            Self::Run { .. } => "run",
            Self::NoResult(_) => "no-result",
            Self::Study { .. } => "study",
            Self::Sweep(_) => "sweep",
            Self::Resume { .. } => "resume",
            Self::Stopped(_) => "stopped",
            Self::Limit(LimitFailure::Stopped) => "stopped",
            Self::Limit(_) => "limit",
            Self::Size(SizeFailure::Stopped) => "stopped",
            Self::Size(_) => "size",
            Self::Plant(PlantFault::TooMuchPressure { .. }) => "too-much-pressure",
            Self::Plant(_) => "plant",
            Self::Disagrees { .. } => "disagrees",
            Self::Evidence(_) => "evidence",
            Self::Write { .. } => "write",
            Self::Output(_) => "output",
            Self::Fault(_) => "fault",
        }
    }

    /// `{"error": {"code", "exit_status", "message", ...}}`; a scenario adds its `problems`, one object each.
    pub(super) fn to_json(&self) -> Value {
        let mut error = json!({
            "code": self.code(),
            "exit_status": self.exit_status(),
            "message": self.to_string().trim_end(),
        });
        if let Self::Scenario(found) = self {
            error["problems"] = json!(found.problems);
            error["more_problems"] = json!(found.more);
            error["unread"] = json!(found.stopped);
        }
        json!({ "error": error })
    }
}

impl From<Problems> for Failure {
    fn from(problems: Problems) -> Self {
        Self::Scenario(problems)
    }
}

impl From<PlantFault> for Failure {
    fn from(fault: PlantFault) -> Self {
        Self::Plant(fault)
    }
}

impl Failure {
    /// The failure of a season of the scenario `file`.
    pub(super) fn of_season(file: &str, failure: SeasonFailure) -> Self {
        let file = file.to_owned();
        match failure {
            SeasonFailure::NoPlant | SeasonFailure::FlowsBack(_) => Self::Study {
                file,
                why: failure.to_string(),
            },
            SeasonFailure::Plant(fault) => Self::Plant(fault),
            SeasonFailure::Open(failure) => Self::Run { file, failure },
        }
    }
}

impl From<SweepError> for Failure {
    fn from(error: SweepError) -> Self {
        Self::Sweep(error)
    }
}

/// The message and place of the last panic, for the apology.
static LAST_PANIC: Mutex<String> = Mutex::new(String::new());

/// Keeps a panic's words instead of printing them: the apology prints them once.
pub(super) fn remember_panics() {
    std::panic::set_hook(Box::new(|info| {
        let payload = info.payload();
        let said = payload
            .downcast_ref::<&str>()
            .copied()
            .or_else(|| payload.downcast_ref::<String>().map(String::as_str))
            .unwrap_or("no message");
        let place = info.location().map(ToString::to_string).unwrap_or_default();
        if let Ok(mut last) = LAST_PANIC.lock() {
            *last = format!("{said} ({place})");
        }
    }));
}

/// What [`remember_panics`] kept.
pub(super) fn last_panic() -> String {
    LAST_PANIC
        .lock()
        .map(|last| last.clone())
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_closed_pipe_is_no_failure_but_a_full_disk_is() {
        let pipe = Failure::Output(io::ErrorKind::BrokenPipe.into());
        assert!(pipe.is_closed_pipe());
        let full = Failure::Output(io::ErrorKind::StorageFull.into());
        assert!(!full.is_closed_pipe());
        assert_eq!(full.exit_status(), 1);
    }

    #[test]
    fn json_of_an_unknown_name() {
        let failure = Failure::Unknown {
            what: "template",
            given: "tot".into(),
            nearest: Some("tote".into()),
            list: "See them all with `marshgas new --list`.",
        };
        let value = failure.to_json();
        assert_eq!(value["error"]["code"], "unknown-name");
        assert_eq!(value["error"]["exit_status"], 2);
        assert_eq!(
            value["error"]["message"],
            "tot: there is no template of this name. Did you mean tote? See them all with `marshgas new --list`."
        );
    }
}
