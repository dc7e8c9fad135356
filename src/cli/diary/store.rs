//! Changing a record's file: one writer at a time, whole or not at all, with the last version kept.

use std::ffi::OsString;
use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fs4::{FileExt, TryLockError};
use tempfile::Builder;

use super::refused;
use crate::cli::failure::Failure;
use crate::diary::read;

/// How long a writer waits for another, and how often it looks.
const PATIENCE: Duration = Duration::from_secs(10);
const LOOK: Duration = Duration::from_millis(20);

/// A record that this process alone may change, until it is dropped.
pub(super) struct Store {
    /// The record, links followed.
    path: PathBuf,
    /// The text that stands there.
    pub(super) text: String,
    /// Taken away and unlocked when it is dropped; after a crash the system unlocks it.
    _lock: Lock,
}

/// A lock on a record, and the file that holds it.
struct Lock {
    path: PathBuf,
    file: File,
}

impl Lock {
    /// Whether the file that is locked still stands in its place, and no other writer has taken it away meanwhile.
    #[cfg(unix)]
    fn stands(&self) -> bool {
        use std::os::unix::fs::MetadataExt as _;
        let id = |m: std::fs::Metadata| (m.dev(), m.ino());
        let own = self.file.metadata().map(id).ok();
        own.is_some() && own == std::fs::metadata(&self.path).map(id).ok()
    }

    /// Elsewhere the file is never taken away.
    #[cfg(not(unix))]
    fn stands(&self) -> bool {
        true
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Still locked: whoever waits for this very file sees that it is gone and makes a new one.
        #[cfg(unix)]
        if self.stands() {
            let _ = std::fs::remove_file(&self.path);
        }
    }
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

impl Store {
    /// Waits for other writers, then reads the file.
    pub(super) fn open(file: &Path) -> Result<Self, Failure> {
        // Refuses what is missing or a folder before anything is made beside it.
        read::bytes(file).map_err(|e| refused(file, &e))?;
        let failed = |why: String| Failure::Write {
            path: file.to_owned(),
            why,
        };
        let path = file.canonicalize().map_err(|e| failed(e.to_string()))?;
        let lock = lock(&beside(&path, ".lock"), file)?;
        let bytes = read::bytes(&path).map_err(|e| refused(file, &e))?;
        // Only text passes, so the bytes can be kept as they are.
        read::from_bytes(&bytes, None).map_err(|e| refused(file, &e))?;
        let text = String::from_utf8(bytes).map_err(|e| failed(e.to_string()))?;
        Ok(Self {
            path,
            text,
            _lock: lock,
        })
    }

    /// Puts `text` in the file's place and the version before into the backup, whose path is returned.
    pub(super) fn replace(self, text: &str) -> Result<PathBuf, Failure> {
        let backup = beside(&self.path, ".bak");
        write(&backup, self.text.as_bytes())?;
        write(&self.path, text.as_bytes())?;
        Ok(backup)
    }
}

fn lock(path: &Path, file: &Path) -> Result<Lock, Failure> {
    let failed = |e: std::io::Error| Failure::Write {
        path: path.to_owned(),
        why: e.to_string(),
    };
    let begun = Instant::now();
    loop {
        let opened = OpenOptions::new()
            .create(true)
            .truncate(false)
            .write(true)
            .open(path)
            .map_err(failed)?;
        // Named in full: newer standard libraries have a method of the same name.
        match FileExt::try_lock(&opened) {
            Ok(()) => {
                let lock = Lock {
                    path: path.to_owned(),
                    file: opened,
                };
                if lock.stands() {
                    return Ok(lock);
                }
            }
            Err(TryLockError::Error(e)) => return Err(failed(e)),
            Err(TryLockError::WouldBlock) if begun.elapsed() >= PATIENCE => {
                return Err(Failure::Busy {
                    path: file.to_owned(),
                });
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(LOOK),
        }
    }
}

/// Writes a file beside its place first, so that it is there whole or not at all.
fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |e: std::io::Error| Failure::Write {
        path: path.to_owned(),
        why: e.to_string(),
    };
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut builder = Builder::new();
    builder.prefix(".marshgas-");
    #[cfg(unix)]
    {
        // Readable like any other file; the user's mask still applies.
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(failed)?;
    file.write_all(bytes).map_err(failed)?;
    if let Ok(old) = std::fs::metadata(path) {
        file.as_file()
            .set_permissions(old.permissions())
            .map_err(failed)?;
    }
    file.as_file().sync_all().map_err(failed)?;
    file.persist(path).map_err(|e| failed(e.error))?;
    Ok(())
}
