//! Any bytes in place of a scenario: a checked case or named problems, never a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;
use marshgas::scenario::{from_text, list_numbers, set_number};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return;
    };
    match from_text(text, "f.json", None) {
        Ok(loaded) => {
            let case = &loaded.case;
            assert!(case.doses.windows(2).all(|pair| pair[0].day < pair[1].day));
            assert!(case.doses.iter().all(|d| d.day < f64::from(case.days)));
            assert!(
                case.vessels
                    .iter()
                    .all(|v| v.liquid_m3 > 0.0 && v.headspace_m3 > 0.0)
            );
            let mut json = loaded.json.clone();
            for (path, value) in list_numbers(&loaded.json) {
                assert!(set_number(&mut json, &path, value).is_ok());
            }
        }
        Err(problems) => {
            assert!(!problems.problems.is_empty());
            let told = problems.to_string();
            assert!(told.starts_with("f.json") && !told.contains('\u{1b}'));
        }
    }
});
