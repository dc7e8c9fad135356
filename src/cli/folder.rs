//! The output folder, made and tried before a long run.

use std::fs;
use std::path::{Path, PathBuf};

use super::failure::Failure;

/// A folder that can be written to; if this program made it and the job fails, it goes again.
#[derive(Debug)]
pub(super) struct Folder {
    path: PathBuf,
    /// The first folder on the way that was not there before.
    made: Option<PathBuf>,
    keep: bool,
}

const MEND: &str = "Give another folder with --out.";

impl Folder {
    /// Makes the folder where needed and tries to write into it.
    pub(super) fn prepare(path: &Path) -> Result<Self, Failure> {
        let refuse = |why: String| Failure::Path {
            path: path.to_owned(),
            why,
            mend: MEND,
        };
        if path.exists() && !path.is_dir() {
            return Err(refuse(
                "this is a file, and the output needs a folder".into(),
            ));
        }
        let made = path
            .ancestors()
            .filter(|p| !p.as_os_str().is_empty() && !p.exists())
            .last()
            .map(Path::to_owned);
        let folder = Self {
            path: path.to_owned(),
            made,
            keep: false,
        };
        fs::create_dir_all(path).map_err(|e| refuse(format!("the folder cannot be made: {e}")))?;
        tempfile::tempfile_in(path)
            .map_err(|e| refuse(format!("the folder cannot be written to: {e}")))?;
        Ok(folder)
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// The job is done: the folder stays.
    pub(super) fn keep(mut self) {
        self.keep = true;
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let (false, Some(first)) = (self.keep, &self.made) else {
            return;
        };
        // Only empty folders go, from the inside out; a folder with something in it stays and stops the walk.
        for folder in self.path.ancestors() {
            if fs::remove_dir(folder).is_err() || folder == first {
                break;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_made_for_a_failed_job_goes_again_and_the_old_ones_stay() {
        let root = tempfile::tempdir().unwrap();
        let inner = root.path().join("a/b/c");
        drop(Folder::prepare(&inner).unwrap());
        assert!(!root.path().join("a").exists());
        assert!(root.path().exists());
        Folder::prepare(&inner).unwrap().keep();
        drop(Folder::prepare(&inner).unwrap());
        assert!(inner.is_dir());
    }

    #[test]
    fn nothing_that_was_written_is_removed() {
        let root = tempfile::tempdir().unwrap();
        let inner = root.path().join("a/b");
        let folder = Folder::prepare(&inner).unwrap();
        fs::write(root.path().join("a/b/half.csv"), "day\n").unwrap();
        drop(folder);
        assert!(root.path().join("a/b/half.csv").exists());
    }

    #[test]
    fn a_file_in_the_way_is_told() {
        let root = tempfile::tempdir().unwrap();
        let file = root.path().join("file");
        fs::write(&file, "").unwrap();
        let told = Folder::prepare(&file).unwrap_err().to_string();
        assert!(told.contains("this is a file"), "{told}");
        let told = Folder::prepare(&file.join("deeper"))
            .unwrap_err()
            .to_string();
        assert!(told.contains("cannot be made"), "{told}");
    }
}
