//! What can go wrong around the program: full disks, locked folders, a sudden end, readers that leave.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command as Process, Stdio};
use std::time::Instant;

use super::streams::with_closed_pipe;
use super::{SHORT, marshgas, outcome, run_in};

/// A folder with the short scenario, and the same warmer under another name.
fn room() -> tempfile::TempDir {
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("short.json"), SHORT).unwrap();
    fs::write(room.path().join("warmer.json"), SHORT.replace("30", "33")).unwrap();
    room
}

/// All files of a folder with their bytes.
fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries
        .filter(|entry| entry.path().is_file())
        .map(|entry| {
            let name = entry.file_name().into_string().unwrap();
            (name, fs::read(entry.path()).unwrap())
        })
        .collect()
}

/// A small file system of its own that goes when it is dropped.
#[cfg(target_os = "linux")]
struct Mounted(std::path::PathBuf);

#[cfg(target_os = "linux")]
impl Mounted {
    /// `None`, with a word on why, where this user may not mount.
    fn new(place: &Path, kilobytes: u32) -> Option<Self> {
        fs::create_dir(place).unwrap();
        let mount = Process::new("mount")
            .args(["-t", "tmpfs", "-o", &format!("size={kilobytes}k"), "tmpfs"])
            .arg(place)
            .output();
        let done = mount.is_ok_and(|output| output.status.success());
        if !done {
            println!("skipped: a file system can only be mounted by root");
        }
        done.then(|| Self(place.to_owned()))
    }

    fn lock(&self) {
        let done = Process::new("mount")
            .args(["-o", "remount,ro"])
            .arg(&self.0)
            .status();
        assert!(done.unwrap().success());
    }
}

#[cfg(target_os = "linux")]
impl Drop for Mounted {
    fn drop(&mut self) {
        let gone = Process::new("umount").arg(&self.0).status();
        // A folder that stays mounted would keep the room from being cleared away.
        assert!(gone.is_ok_and(|status| status.success()) || std::thread::panicking());
    }
}

/// What a failed job says: one plain error, no half file, no panic.
fn plain(err: &str, says: &str) {
    assert!(err.contains("error: ") && err.contains(says), "{err}");
    assert!(
        !err.contains("panicked") && !err.contains("backtrace"),
        "{err}"
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_the_old_result_as_it_was() {
    let room = room();
    let disk = room.path().join("disk");
    let Some(_mounted) = Mounted::new(&disk, 4096) else {
        return;
    };
    let (status, _, err) = run_in(room.path(), &["run", "short.json", "--out", "disk/out"]);
    assert_eq!(status, 0, "{err}");
    let before = contents(&disk.join("out"));
    // Room for a part of the next result, not for all of it.
    let mut filler = fs::File::create(disk.join("filler")).unwrap();
    while std::io::Write::write_all(&mut filler, &[0; 4096]).is_ok() {}
    filler
        .set_len(filler.metadata().unwrap().len() - 40_000)
        .unwrap();
    drop(filler);
    let (status, out, err) = run_in(room.path(), &["run", "warmer.json", "--out", "disk/out"]);
    assert_eq!((status, out.as_str()), (1, ""));
    plain(&err, "disk/out");
    assert!(err.to_lowercase().contains("space"), "{err}");
    assert_eq!(contents(&disk.join("out")), before);
    // A folder that was made for the job goes again.
    let (status, _, _) = run_in(room.path(), &["run", "warmer.json", "--out", "disk/new"]);
    assert_eq!(status, 1);
    assert!(!disk.join("new").exists());
}

#[cfg(target_os = "linux")]
#[test]
fn a_read_only_disk_is_told_before_the_run() {
    let room = room();
    let disk = room.path().join("disk");
    let Some(mounted) = Mounted::new(&disk, 4096) else {
        return;
    };
    assert_eq!(
        run_in(room.path(), &["run", "short.json", "--out", "disk/out"]).0,
        0
    );
    let before = contents(&disk.join("out"));
    mounted.lock();
    for folder in ["disk/out", "disk/new"] {
        let (status, out, err) = run_in(room.path(), &["run", "warmer.json", "--out", folder]);
        assert_eq!((status, out.as_str()), (2, ""), "{folder}");
        plain(&err, folder);
    }
    assert_eq!(contents(&disk.join("out")), before);
}

#[test]
fn a_file_in_place_of_the_folder_is_told_by_every_command_and_kept() {
    let room = room();
    fs::write(room.path().join("taken"), "mine").unwrap();
    for command in [
        &["run", "short.json"][..],
        &["risk", "short.json", "--draws", "20"][..],
        &["startup", "short.json", "--draws", "20"][..],
        &["sweep", "short.json", "--vary", "feed=0.5,1"][..],
        &["limit", "short.json"][..],
    ] {
        let words = [command, &["--out", "taken"]].concat();
        let (status, out, err) = run_in(room.path(), &words);
        assert_eq!((status, out.as_str()), (2, ""), "{words:?}: {err}");
        plain(&err, "taken");
        assert_eq!(fs::read(room.path().join("taken")).unwrap(), b"mine");
    }
}

/// Ends the program at many moments of its work, those of writing among them. Each file is then the old or the new one.
#[test]
fn an_end_at_any_moment_leaves_whole_files() {
    const MOMENTS: u32 = 40;
    let room = room();
    let into = |name: &str, folder: &str| {
        let (status, _, err) = run_in(room.path(), &["run", name, "--out", folder]);
        assert_eq!(status, 0, "{err}");
        contents(&room.path().join(folder))
    };
    let old = into("short.json", "out");
    let started = Instant::now();
    let new = into("warmer.json", "new");
    let whole = started.elapsed();
    assert_ne!(old, new);
    for moment in 0..MOMENTS {
        let mut child = Process::new(env!("CARGO_BIN_EXE_marshgas"))
            .args(["run", "warmer.json", "--out", "out"])
            .current_dir(room.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(whole * moment / MOMENTS);
        child.kill().unwrap();
        child.wait().unwrap();
        let found = contents(&room.path().join("out"));
        for (name, bytes) in &found {
            let passing = name.starts_with('.');
            let is = |all: &BTreeMap<String, Vec<u8>>| all.get(name) == Some(bytes);
            assert!(passing || is(&old) || is(&new), "{name} is half written");
        }
        assert!(old.keys().all(|name| found.contains_key(name)));
    }
    // Whatever was left behind does not disturb the next run.
    assert_eq!(
        run_in(room.path(), &["run", "warmer.json", "--out", "out"]).0,
        0
    );
    let mut found = contents(&room.path().join("out"));
    found.retain(|name, _| !name.starts_with('.'));
    assert_eq!(found, new);
}

#[test]
fn a_reader_that_leaves_does_not_cost_the_files() {
    for words in [
        &["run", "short.json"][..],
        &["run", "short.json", "--json"][..],
        &["risk", "short.json", "--draws", "20"][..],
    ] {
        let room = room();
        let words = [words, &["--out", "out"]].concat();
        let (status, err) = with_closed_pipe(&words, room.path());
        assert_eq!(status, Some(0), "{words:?}: {err}");
        assert!(!err.contains("panicked"), "{err}");
        let files = contents(&room.path().join("out"));
        assert!(files.contains_key("report.html"), "{words:?}");
    }
}

#[test]
fn without_terminal_and_environment_the_result_is_the_same() {
    let room = room();
    let words = ["run", "short.json", "--no-files", "--json"];
    let (_, usual, _) = run_in(room.path(), &words);
    let mut bare = marshgas(&words);
    let (status, out, _) = outcome(bare.current_dir(room.path()).env_clear());
    assert_eq!((status, out), (0, usual));
    let closed = Process::new(env!("CARGO_BIN_EXE_marshgas"))
        .args(words)
        .current_dir(room.path())
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .env("TERM", "dumb")
        .output()
        .unwrap();
    assert_eq!(closed.status.code(), Some(0));
}

/// Everything said under the plainest locale is plain ASCII; what is written into files is not touched by it.
#[test]
fn the_plainest_locale_gets_ascii_from_every_command() {
    let room = room();
    for words in [
        &["--help"][..],
        &["run", "short.json", "--out", "plain"][..],
        &["check", "short.json"][..],
        &["feedstocks"][..],
        &["feedstocks", "bread"][..],
        &["scenarios"][..],
        &["schema"][..],
        &["manual"][..],
        &["risk", "short.json", "--draws", "20", "--no-files"][..],
        &["limit", "short.json", "--no-files"][..],
        &["sweep", "short.json", "--vary", "feed=0.5,1", "--no-files"][..],
        &["run", "no-such-file.json"][..],
    ] {
        let mut command = marshgas(words);
        command
            .current_dir(room.path())
            .env("LC_ALL", "C")
            .env("LANG", "C");
        let (_, out, err) = outcome(&mut command);
        for text in [out, err] {
            let odd = text.lines().find(|line| !line.is_ascii());
            assert_eq!(odd, None, "{words:?}");
        }
    }
    let (status, _, _) = run_in(room.path(), &["run", "short.json", "--out", "usual"]);
    assert_eq!(status, 0);
    assert_eq!(
        contents(&room.path().join("plain")),
        contents(&room.path().join("usual"))
    );
}

#[test]
fn one_thread_and_sixty_four_write_the_same_bytes() {
    let room = room();
    for (command, more) in [
        ("risk", &["--draws", "20"][..]),
        ("sweep", &["--vary", "feed=0.5,1,1.5,2"][..]),
    ] {
        let with = |threads: &str| {
            let words = ["short.json", "--threads", threads, "--out", command];
            let words = [&[command], &words[..], more].concat();
            let (status, _, err) = run_in(room.path(), &words);
            assert_eq!(status, 0, "{words:?}: {err}");
            // The same folder for both: results name the files that were written.
            let folder = room.path().join(command);
            let found = contents(&folder);
            std::fs::remove_dir_all(folder).unwrap();
            found
        };
        let (one, many) = (with("1"), with("64"));
        assert_eq!(
            one.keys().collect::<Vec<_>>(),
            many.keys().collect::<Vec<_>>()
        );
        for (name, bytes) in &one {
            // Points are noted down as they get done; their order is that of the work.
            if name.ends_with(".jsonl") {
                assert_eq!(sorted_lines(bytes), sorted_lines(&many[name]), "{name}");
            } else {
                assert!(many[name] == *bytes, "{command}: {name} differs");
            }
        }
    }
}

fn sorted_lines(bytes: &[u8]) -> Vec<&[u8]> {
    let mut lines: Vec<&[u8]> = bytes.split(|b| *b == b'\n').collect();
    lines.sort_unstable();
    lines
}

#[test]
fn a_table_of_temperatures_that_ends_early_or_in_the_middle_of_a_line() {
    let room = room();
    let with_table = SHORT.replace(
        r#"{ "constant_c": 30 }"#,
        r#"{ "table": { "file": "t.csv" } }"#,
    );
    fs::write(room.path().join("tabled.json"), with_table).unwrap();
    let table = "day,temperature_c\n0,28\n1,29\n2,30\n3,31\n4,31\n5,30\n6,29\n";
    let run_with = |text: &str| {
        fs::write(room.path().join("t.csv"), text).unwrap();
        run_in(room.path(), &["run", "tabled.json", "--no-files", "--json"])
    };
    let (status, _, err) = run_with(table);
    assert_eq!(status, 0, "{err}");
    let (status, _, err) = run_with("day,temperature_c\n0,28\n1,29\n2,30\n");
    assert_eq!(status, 0, "{err}");
    assert!(err.contains("day 0 to day 2") || err.is_empty(), "{err}");
    let (_, told, _) = run_with("day,temperature_c\n0,28\n1,29\n2,30\n");
    assert!(told.contains("the last temperature are held"), "{told}");
    // Cut anywhere at all: a result or a named problem, never a panic.
    for cut in 0..table.len() {
        let (status, _, err) = run_with(&table[..cut]);
        assert!(status == 0 || status == 2, "{cut}: {err}");
        if status == 2 {
            assert!(err.contains("t.csv"), "{cut}: {err}");
        }
    }
}

#[test]
fn a_table_of_the_weather_that_ends_early_or_in_the_middle_of_a_line() {
    let room = room();
    let in_weather = SHORT
        .replace(
            r#""vessels""#,
            r#""climate": { "air": { "table": { "file": "w.csv" } } }, "vessels""#,
        )
        .replace(
            r#"{ "constant_c": 30 }"#,
            r#"{ "heat": { "start_c": 30, "shape": { "drum": { "diameter_cm": 100, "height_cm": 127 } } } }"#,
        );
    fs::write(room.path().join("outside.json"), in_weather).unwrap();
    let table = "day,hour,air_c,sun_w_per_m2\n0,0,12,0\n0,12,24,500\n1,0,13,0\n1,12,25,600\n5,12,23,400\n6,0,11,0\n";
    let run_with = |text: &str| {
        fs::write(room.path().join("w.csv"), text).unwrap();
        run_in(
            room.path(),
            &["run", "outside.json", "--no-files", "--json"],
        )
    };
    let (status, _, err) = run_with(table);
    assert_eq!(status, 0, "{err}");
    // Cut anywhere at all: a result or a named problem, never a panic. A row on the last day is enough, as daily values
    // give no more.
    let last_day = table.find("5,12").unwrap();
    for cut in 0..table.len() {
        let (status, told, err) = run_with(&table[..cut]);
        assert!(status == 0 || status == 2, "{cut}: {err}");
        if status == 2 {
            assert!(err.contains("w.csv"), "{cut}: {err}");
        } else if cut <= last_day {
            assert!(
                told.contains("the last temperature are held"),
                "{cut}: {told}"
            );
        }
    }
}

/// Files of the past and of the future: nothing asks how old they are.
#[test]
fn a_clock_that_jumps_changes_no_result() {
    let room = room();
    let words = ["run", "short.json", "--out", "out"];
    let (status, _, err) = run_in(room.path(), &words);
    assert_eq!(status, 0, "{err}");
    let before = contents(&room.path().join("out"));
    let (distant, day) = (1 << 32, std::time::Duration::from_secs(86_400));
    let future = std::time::SystemTime::now() + std::time::Duration::from_secs(distant);
    for time in [std::time::UNIX_EPOCH + day, future] {
        for file in before.keys().map(|name| room.path().join("out").join(name)) {
            let open = fs::File::options().write(true).open(&file).unwrap();
            open.set_modified(time).unwrap();
        }
        let scenario = fs::File::options()
            .append(true)
            .open(room.path().join("short.json"));
        scenario.unwrap().set_modified(time).unwrap();
        let (status, _, err) = run_in(room.path(), &words);
        assert_eq!(status, 0, "{err}");
        assert_eq!(contents(&room.path().join("out")), before);
    }
    // The clock on the wall is read for today's date in a diary alone; all else counts from a steady one.
    let mut readers = Vec::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|kind| kind == "rs") {
                let text = fs::read_to_string(&path).unwrap();
                if ["SystemTime", "Zoned::now", "Timestamp::now"]
                    .iter()
                    .any(|w| text.contains(w))
                {
                    readers.push(path);
                }
            }
        }
    }
    assert_eq!(readers.len(), 1, "{readers:?}");
    assert!(readers[0].ends_with("cli/diary/mod.rs"), "{readers:?}");
}
