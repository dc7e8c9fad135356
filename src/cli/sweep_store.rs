//! The points of a sweep as they come in: a file that a later call can go on from.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use crate::report;
use crate::study::sweep::SweepPoint;

use super::failure::Failure;

/// Name of the file.
const NAME: &str = "sweep-points.jsonl";
/// Name and version of its layout.
const SCHEMA: (&str, u32) = ("marshgas-sweep-points", 2);
/// Least time between two writings: the file is written whole each time.
const PAUSE: Duration = Duration::from_secs(2);

/// What the points belong to: the first line of the file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Sweep {
    pub(super) schema: String,
    pub(super) schema_version: u32,
    pub(super) marshgas: String,
    /// Of the scenario's bytes.
    pub(super) scenario_sha256: String,
    /// [`fingerprint`] of what the scenario's tables hold.
    pub(super) tables: String,
    /// What is varied, as typed.
    pub(super) vary: Vec<String>,
    /// Length asked for \[d\].
    pub(super) days: Option<u32>,
    /// How many points there are when it is done.
    pub(super) planned: usize,
}

impl Default for Sweep {
    fn default() -> Self {
        Self {
            schema: SCHEMA.0.to_owned(),
            schema_version: SCHEMA.1,
            marshgas: env!("CARGO_PKG_VERSION").to_owned(),
            scenario_sha256: String::new(),
            tables: String::new(),
            vary: Vec::new(),
            days: None,
            planned: 0,
        }
    }
}

/// FNV-1a over the bytes of a text, hexadecimal: tells a changed table from an unchanged one. Source: G. Fowler,
/// L. C. Noll, K.-P. Vo, D. Eastlake, IETF draft "The FNV Non-Cryptographic Hash Algorithm".
pub(super) fn fingerprint(text: &str) -> String {
    const OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    let hash = text.bytes().fold(OFFSET, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(PRIME)
    });
    format!("{hash:016x}")
}

impl Sweep {
    /// What keeps the points of `other` from being those of this sweep.
    fn differs(&self, other: &Self) -> Option<String> {
        let shown = |days: Option<u32>| days.map_or("no --days".into(), |d| format!("--days {d}"));
        if self.scenario_sha256 != other.scenario_sha256 {
            return Some("The scenario has changed since these points were computed.".into());
        }
        if self.tables != other.tables {
            return Some(
                "A table that the scenario reads has changed since these points were computed."
                    .into(),
            );
        }
        if self.vary != other.vary {
            return Some(format!(
                "These points vary {}, and you ask for {}.",
                other.vary.join(" and "),
                self.vary.join(" and ")
            ));
        }
        if self.days != other.days {
            return Some(format!(
                "These points were computed with {}, and you ask for {}.",
                shown(other.days),
                shown(self.days)
            ));
        }
        (self != other).then(|| {
            format!(
                "These points were computed by marshgas {}, and this is {}.",
                other.marshgas, self.marshgas
            )
        })
    }
}

/// Points on disk and in hand.
pub(super) struct Store {
    folder: PathBuf,
    sweep: Sweep,
    inner: Mutex<Inner>,
}

struct Inner {
    points: Vec<SweepPoint>,
    written: Instant,
}

impl Store {
    /// A store in `folder`; with `resume` it holds the points that are there. Without, points of a sweep that did not
    /// come to its end are never written over.
    pub(super) fn open(folder: &Path, sweep: Sweep, resume: bool) -> Result<Self, Failure> {
        let path = folder.join(NAME);
        let points = if resume && path.exists() {
            read(&path, &sweep).map_err(|why| Failure::Resume {
                path,
                why,
                mend: OTHER_FOLDER,
            })?
        } else {
            if let Some((head, kept)) = unfinished(&path) {
                let why = format!(
                    "This file keeps {kept} of {} points of a sweep that was stopped; a new one here would lose them.",
                    head.planned
                );
                let mend = if sweep.differs(&head).is_none() {
                    "Go on from them with --resume, or give another folder with --out."
                } else {
                    OTHER_FOLDER
                };
                return Err(Failure::Resume { path, why, mend });
            }
            Vec::new()
        };
        Ok(Self {
            folder: folder.to_owned(),
            sweep,
            inner: Mutex::new(Inner {
                points,
                written: Instant::now(),
            }),
        })
    }

    /// Path of the file.
    pub(super) fn path(&self) -> PathBuf {
        self.folder.join(NAME)
    }

    /// The points so far.
    pub(super) fn points(&self) -> Vec<SweepPoint> {
        self.inner
            .lock()
            .map(|inner| inner.points.clone())
            .unwrap_or_default()
    }

    /// Takes a point in, and writes now and then.
    pub(super) fn add(&self, point: &SweepPoint) {
        let Ok(mut inner) = self.inner.lock() else {
            return;
        };
        inner.points.push(point.clone());
        if inner.written.elapsed() >= PAUSE {
            // What cannot be written now is tried again, and told, at the end.
            let _ = self.write(&inner.points);
            inner.written = Instant::now();
        }
    }

    /// Writes everything.
    pub(super) fn finish(&self) -> Result<(), Failure> {
        self.write(&self.points())
    }

    fn write(&self, points: &[SweepPoint]) -> Result<(), Failure> {
        let failed = |why: String| Failure::Write {
            path: self.path(),
            why,
        };
        let text = self.text(points).map_err(|e| failed(e.to_string()))?;
        report::write_all(&self.folder, &[(NAME.to_owned(), text.into_bytes())])
            .map_err(|e| failed(e.to_string()))
    }

    fn text(&self, points: &[SweepPoint]) -> Result<String, serde_json::Error> {
        let mut sorted: Vec<&SweepPoint> = points.iter().collect();
        sorted.sort_by_key(|p| p.index);
        let mut text = serde_json::to_string(&self.sweep)?;
        text.push('\n');
        for point in sorted {
            text.push_str(&serde_json::to_string(point)?);
            text.push('\n');
        }
        Ok(text)
    }
}

/// What helps where kept points are of no use here.
const OTHER_FOLDER: &str = "Give another folder with --out, or remove the file to begin anew.";

/// The sweep whose points a file keeps and how many they are, if there should be more of them.
fn unfinished(path: &Path) -> Option<(Sweep, usize)> {
    let text = fs::read_to_string(path).ok()?;
    let head: Sweep = serde_json::from_str(text.lines().next()?).ok()?;
    let kept = text.lines().count() - 1;
    (kept > 0 && kept < head.planned).then_some((head, kept))
}

/// Points of the same sweep, or why there are none.
fn read(path: &Path, wanted: &Sweep) -> Result<Vec<SweepPoint>, String> {
    let text = fs::read_to_string(path).map_err(|e| format!("The file cannot be read: {e}."))?;
    let mut lines = text.lines();
    let head = lines.next().unwrap_or_default();
    let head: Sweep = serde_json::from_str(head)
        .map_err(|e| format!("The first line does not say which sweep this is ({e})."))?;
    if let Some(why) = wanted.differs(&head) {
        return Err(why);
    }
    let point = |(i, line): (usize, &str)| {
        serde_json::from_str(line).map_err(|e| format!("Line {} is no point ({e}).", i + 2))
    };
    lines.enumerate().map(point).collect()
}
