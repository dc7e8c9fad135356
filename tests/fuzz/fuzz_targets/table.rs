//! Any bytes in place of a table of temperatures: a course or named problems, never a panic.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use marshgas::case::TemperatureCourse;
use marshgas::scenario::from_text;

const SCENARIO: &str = r#"{
    "title": "A table",
    "start_date": "2026-03-01",
    "days": 40,
    "vessels": [{"liquid_l": 800, "headspace_l": 200, "temperature": {"table": {"file": "t.csv"}}}],
    "starter": {"water_l": 800}
}"#;

static FOLDER: LazyLock<tempfile::TempDir> = LazyLock::new(|| {
    // Memory, where there is any to write into.
    let memory = std::path::Path::new("/dev/shm");
    let made = if memory.is_dir() {
        tempfile::tempdir_in(memory)
    } else {
        tempfile::tempdir()
    };
    made.expect("a folder")
});

fuzz_target!(|bytes: &[u8]| {
    let folder = FOLDER.path();
    std::fs::write(folder.join("t.csv"), bytes).expect("a file");
    match from_text(SCENARIO, "f.json", Some(folder)) {
        Ok(loaded) => {
            let TemperatureCourse::Table(knots) = &loaded.case.vessels[0].temperature else {
                panic!("a table is no table");
            };
            assert!(knots.windows(2).all(|pair| pair[0].0 < pair[1].0));
            assert!(
                knots
                    .iter()
                    .all(|(_, celsius)| (-20.0..=60.0).contains(celsius))
            );
        }
        Err(problems) => {
            let told = problems.to_string();
            assert!(!problems.problems.is_empty() && !told.contains('\u{1b}'));
        }
    }
});
