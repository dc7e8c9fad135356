//! Writing results: all files are made beside the old ones first, and only then take their names.

use super::error::ReportError;
use std::io::Write as _;
use std::path::Path;
use tempfile::{Builder, NamedTempFile};

/// Writes `files` (name, bytes) into `dir`, which is made when missing.
///
/// Every file is first written in full under a passing name in the same folder; older results are
/// replaced only after the last one is complete, so a full disk leaves them as they were. Each file
/// is replaced as a whole.
///
/// # Errors
/// [`ReportError::FileName`] for a name that is not a plain file name, [`ReportError::Folder`] and
/// [`ReportError::File`] with the path and the system's reason.
pub fn write_all(dir: &Path, files: &[(String, Vec<u8>)]) -> Result<(), ReportError> {
    for (name, _) in files {
        check_name(name)?;
    }
    std::fs::create_dir_all(dir).map_err(|source| ReportError::Folder {
        path: dir.into(),
        source,
    })?;
    let mut ready = Vec::with_capacity(files.len());
    for (name, bytes) in files {
        let path = dir.join(name);
        match complete(dir, bytes) {
            Ok(file) => ready.push((path, file)),
            Err(source) => return Err(ReportError::File { path, source }),
        }
    }
    for (path, file) in ready {
        file.persist(&path).map_err(|e| ReportError::File {
            path: path.clone(),
            source: e.error,
        })?;
    }
    Ok(())
}

fn check_name(name: &str) -> Result<(), ReportError> {
    let plain = Path::new(name).file_name().is_some_and(|f| f == name);
    if plain && !name.contains(['/', '\\', '\0']) {
        return Ok(());
    }
    Err(ReportError::FileName { name: name.into() })
}

/// A complete file under a passing name.
fn complete(dir: &Path, bytes: &[u8]) -> std::io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".marshgas-");
    #[cfg(unix)]
    {
        // Readable like any other file; the user's mask still applies.
        use std::os::unix::fs::PermissionsExt as _;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(dir)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(dir: &Path) -> Vec<String> {
        let entries = std::fs::read_dir(dir).unwrap();
        let mut names: Vec<String> = entries
            .map(|e| e.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn files_are_written_and_replaced_whole() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path().join("deep/er");
        write_all(&target, &[("a.csv".into(), b"old, and longer".to_vec())]).unwrap();
        let files = [
            ("a.csv".into(), b"new".to_vec()),
            ("b.csv".into(), Vec::new()),
        ];
        write_all(&target, &files).unwrap();
        assert_eq!(std::fs::read(target.join("a.csv")).unwrap(), b"new");
        assert_eq!(names(&target), ["a.csv", "b.csv"]);
    }

    #[test]
    fn older_results_survive_when_a_later_file_cannot_take_its_place() {
        let dir = tempfile::tempdir().unwrap();
        write_all(dir.path(), &[("a.csv".into(), b"old".to_vec())]).unwrap();
        let bad = [
            ("a.csv".into(), b"new".to_vec()),
            ("../b.csv".into(), Vec::new()),
        ];
        let error = write_all(dir.path(), &bad).unwrap_err();
        assert!(matches!(error, ReportError::FileName { .. }));
        assert_eq!(std::fs::read(dir.path().join("a.csv")).unwrap(), b"old");
        assert_eq!(names(dir.path()), ["a.csv"]);
    }

    #[test]
    fn the_message_names_path_and_reason() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("taken"), "a file").unwrap();
        let error = write_all(&dir.path().join("taken"), &[])
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("taken") && error.contains("could not be made"),
            "{error}"
        );
        std::fs::create_dir(dir.path().join("folder")).unwrap();
        let error = write_all(dir.path(), &[("folder".into(), Vec::new())]).unwrap_err();
        assert!(
            error.to_string().contains("folder could not be written"),
            "{error}"
        );
        assert_eq!(names(dir.path()), ["folder", "taken"]);
    }

    #[cfg(unix)]
    #[test]
    fn files_are_readable_by_others_as_the_mask_allows() {
        use std::os::unix::fs::PermissionsExt as _;
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("plain"), "x").unwrap();
        write_all(dir.path(), &[("ours".into(), b"x".to_vec())]).unwrap();
        let mode = |name: &str| {
            let file = std::fs::metadata(dir.path().join(name)).unwrap();
            file.permissions().mode()
        };
        assert_eq!(mode("ours"), mode("plain"));
    }
}
