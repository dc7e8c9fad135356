//! From bytes to JSON to keys: slips of the pen and of the keyboard.

use std::fs;

use marshgas::scenario::{from_text, load};
use serde_json::json;

use crate::support::{complaint, complaints, good, problems, refusal, sentence};

/// The sentence about a text that is no JSON, with line and column.
fn slip(text: &str) -> String {
    let problems = refusal(text);
    assert_eq!(problems.problems.len(), 1, "{problems}");
    let problem = &problems.problems[0];
    format!(
        "{}:{} {}",
        problem.line.unwrap_or(0),
        problem.column.unwrap_or(0),
        sentence(problem)
    )
}

#[test]
fn slips_in_json_are_named_in_plain_words() {
    let cases = [
        (
            "{\n \"days\": 2,5\n}",
            "2:10 2,5 looks like a number with a decimal comma. JSON wants a point: write 2.5.",
        ),
        (
            "{\"days\": 1,000}",
            "1:10 1,000 looks like a number with a decimal comma. JSON wants a point: write 1.000, or 1000 if the \
             comma parts thousands.",
        ),
        (
            "{\"a\": 1,}",
            "1:9 There is a comma before the closing }. Remove that comma: the last entry has none after it.",
        ),
        (
            "{\"a\": [1, 2,]}",
            "1:13 There is a comma before the closing ]. Remove that comma: the last entry has none after it.",
        ),
        (
            "{\"a\": 1 \"b\": 2}",
            "1:9 A comma is missing before this entry. Put a comma between two entries.",
        ),
        (
            "{\"a\": 1,, \"b\": 2}",
            "1:9 There is a comma where a value or key should stand. Remove one comma.",
        ),
        (
            "{\"a\" 1}",
            "1:6 After a key there must be a colon, but there is 1. Write \"key\": value.",
        ),
        (
            "{\"a\": NaN}",
            "1:7 NaN is no number that a digester can have. Write a finite number, or leave the key out if it is \
             optional.",
        ),
        (
            "{\"a\": -Infinity}",
            "1:7 -Infinity is no number that a digester can have. Write a finite number, or leave the key out if it \
             is optional.",
        ),
        (
            "{\"a\": 1e999}",
            "1:7 The number 1e999 is too large to be computed with. Write a number of ordinary size.",
        ),
        (
            "{\"a\": .5}",
            "1:7 .5 is not written as a JSON number. Write 0.5.",
        ),
        (
            "{\"a\": 5.}",
            "1:7 5. is not written as a JSON number. Write 5.0.",
        ),
        (
            "{\"a\": -007}",
            "1:7 -007 is not written as a JSON number. Write -7.",
        ),
        (
            "{\"a\": +5}",
            "1:7 +5 is not written as a JSON number. Write 5, without the plus sign.",
        ),
        (
            "{\"a\": 800L}",
            "1:7 800L is not written as a JSON number. Write 800 alone: the unit stands in the name of the key.",
        ),
        (
            "{\"a\": 2026-03-01}",
            "1:7 2026-03-01 is not written as a JSON number. A date stands in quotes: \"2026-03-01\".",
        ),
        (
            "{\"a\": 1_000}",
            "1:7 1_000 is not written as a JSON number. Write digits with at most one decimal point, such as 2.5, or \
             put text in quotes.",
        ),
        (
            "{\"a\": tote}",
            "1:7 The text tote stands without quotes. Put text in double quotes.",
        ),
        (
            "{\"a\": True}",
            "1:7 JSON does not know the word True. Write true.",
        ),
        (
            "{days: 5}",
            "1:2 The key days stands without quotes. Put every key in double quotes.",
        ),
        (
            "{'days': 5}",
            "1:2 ' is not the quote that JSON knows. Use the plain double quote \" at both ends; a word processor may \
             have replaced it.",
        ),
        (
            "{\"a\": \u{201c}x\u{201d}}",
            "1:7 \u{201c} is not the quote that JSON knows. Use the plain double quote \" at both ends; a word \
             processor may have replaced it.",
        ),
        (
            "{\"a\": 1} // done",
            "1:10 A comment begins with / here, but JSON has no comments. Write remarks as text under the key \
             \"about\".",
        ),
        (
            "# a tote\n{}",
            "1:1 A comment begins with # here, but JSON has no comments. Write remarks as text under the key \
             \"about\".",
        ),
        (
            "{\"a\": [1, 2}",
            "1:12 A [ is closed by } here. Close it with ] first.",
        ),
        (
            "{\"a\": {\"b\": 1}",
            "1:1 The file ends, but this { is not closed. Add the missing bracket; perhaps the end of the file was \
             lost.",
        ),
        (
            "{\"a\": 1}}",
            "1:9 The scenario has ended, but } follows. Check the brackets above, or remove what follows the last one.",
        ),
        (
            "{\"a\": \"x\n\"}",
            "1:7 This text is not closed on its line. End it with a double quote; a line break within text is written \
             \\n.",
        ),
        (
            "{\"a\": \"C:\\temps\\day.csv\"}",
            "1:17 A backslash stands before d here. In file names write / instead; a real backslash is written \\\\.",
        ),
        (
            "{\"a\": \"\\ud800\"}",
            "1:7 This text holds a \\u that names no character. Write the character itself.",
        ),
        (
            "",
            "1:1 The file is empty. `marshgas new mine.json` makes a scenario to start from.",
        ),
        (
            "{\"a\": }",
            "1:7 A value is missing before this bracket. Write the value, or remove its key.",
        ),
    ];
    for (text, expected) in cases {
        assert_eq!(slip(text), expected, "{text}");
    }
}

#[test]
fn the_line_is_shown_with_a_marker() {
    let text = refusal("{\n  \"title\": \"x\",\n  \"days\": 2,5\n}").to_string();
    assert_eq!(
        text,
        "s.json, line 3, column 11: 2,5 looks like a number with a decimal comma. JSON wants a point: write 2.5.\n  \
         3 |   \"days\": 2,5\n    |           ^\nThe rest is checked once this is mended; more may come.\n"
    );
}

#[test]
fn nesting_bombs_are_refused() {
    for bomb in ["[".repeat(3_000_000), "{\"a\":".repeat(1_000_000)] {
        let text = refusal(&bomb).to_string();
        assert!(
            text.contains("Brackets are nested more than 64 deep"),
            "{}",
            &text[..200]
        );
    }
}

#[test]
fn a_byte_order_mark_does_no_harm() {
    let text = format!("\u{feff}{}", good());
    assert!(from_text(&text, "s.json", None).is_ok());
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bom.json");
    fs::write(&path, &text).unwrap();
    let loaded = load(&path).unwrap();
    assert_eq!(loaded.case.source.file, path.display().to_string());
    // The hash is that of the bytes as they stand in the file, mark included.
    assert_eq!(
        loaded.case.source.sha256,
        from_text(&text, "s.json", None).unwrap().case.source.sha256
    );
}

#[test]
fn the_hash_is_sha_256() {
    // FIPS 180-4 example values are for "abc"; here the point is which bytes are hashed, so a known digest of this
    // very text, computed with sha256sum.
    let text = include_str!("../data/scenarios/hashed.json");
    let loaded = from_text(text, "s.json", None).unwrap();
    let expected = include_str!("../data/scenarios/hashed.json.sha256");
    assert_eq!(
        loaded.case.source.sha256,
        expected.split_whitespace().next().unwrap()
    );
}

#[test]
fn keys_given_twice_are_refused_everywhere() {
    let text =
        r#"{"title": "a", "title": "b", "recipes": {"x": {"water_l": 1}, "x": {"water_l": 2}}}"#;
    let mut found: Vec<_> = refusal(text).problems.iter().map(sentence).collect();
    found.retain(|sentence| sentence.contains("twice"));
    assert_eq!(
        found,
        [
            "title: This key stands twice in the same group, first on line 1. Keep one of the two.",
            "recipes.x: This key stands twice in the same group, first on line 1. Keep one of the two.",
        ]
    );
}

#[test]
fn files_that_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    let said = |name: &str| sentence(&load(&path(name)).unwrap_err().problems[0]);
    fs::write(path("tote.json"), good().to_string()).unwrap();
    assert_eq!(
        said("tote.jsn"),
        "There is no such file. Check the name and the folder. Did you mean \"tote.json\"?"
    );
    assert_eq!(
        said("no/where.json"),
        "There is no such file. Check the name and the folder."
    );
    fs::create_dir(path("folder")).unwrap();
    assert_eq!(
        said("folder"),
        "This is a folder, not a file. Name the file in it."
    );
    // Sparse: takes no room on the disk.
    fs::File::create(path("big.json"))
        .unwrap()
        .set_len(200_000_000)
        .unwrap();
    assert_eq!(
        said("big.json"),
        "The file is too large: 200.0 MB, where 8 MB is the most. Check that this is the right file."
    );
    fs::write(path("latin.json"), b"{\n\"title\": \"K\xfcche\"}").unwrap();
    let problem = load(&path("latin.json")).unwrap_err().problems.remove(0);
    assert_eq!(problem.line, Some(2));
    assert_eq!(
        sentence(&problem),
        "The file is not text in UTF-8. Save it again with the encoding UTF-8."
    );
    fs::write(path("wide.json"), b"\xff\xfe{\0}\0").unwrap();
    assert_eq!(
        said("wide.json"),
        "The file is not text in UTF-8. It looks like UTF-16. Save it again with the encoding UTF-8."
    );
}

#[test]
fn a_text_that_is_too_large_is_refused() {
    let text = refusal(&" ".repeat(8_000_001)).to_string();
    assert!(
        text.starts_with("s.json: The file is too large: 8.0 MB"),
        "{text}"
    );
}

#[test]
fn the_file_stands_first() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.json");
    fs::write(&path, "{}").unwrap();
    for line in load(&path)
        .unwrap_err()
        .to_string()
        .lines()
        .filter(|l| l.contains("missing"))
    {
        assert!(line.starts_with(&path.display().to_string()), "{line}");
    }
}

#[test]
fn unknown_keys_are_told_all_at_once_with_what_was_meant() {
    let found = complaints(&[
        ("vessels[0].liquid_litres", json!(5)),
        ("feeding[0].daily.evry_days", json!(2)),
        ("colour", json!("red")),
        ("days", json!(0)),
    ]);
    assert_eq!(
        found,
        [
            "days is 0. A run lasts between one day and twenty years. Allowed: whole numbers from 1 to 7300 days.",
            "vessels[0].liquid_litres: Nobody knows this key. Allowed: name, about, liquid_l, headspace_l, \
             temperature, stirring, gas_transfer_per_d, solids_held_back_pct, short_circuit_pct, leak_l_per_d. \
             Did you mean \"liquid_l\"?",
            "feeding[0].daily.evry_days: Nobody knows this key. Allowed: about, recipe, from_day, to_day, every_days, \
             hour, amount, ramp. Did you mean \"every_days\"?",
            "colour: Nobody knows this key. Allowed: $schema, title, about, start_date, days, climate, vessels, gas, \
             starter, recipes, feeding, plant, materials, model, inflow, solver.",
        ]
    );
}

#[test]
fn a_misspelt_key_is_not_missing_as_well() {
    let found = complaints(&[
        ("vessels[0].liquid_l", json!(null)),
        ("vessels[0].liquid", json!(800)),
    ]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].ends_with("Did you mean \"liquid_l\"?"));
}

#[test]
fn wrong_kinds_are_told_all_at_once() {
    let found = complaints(&[
        ("days", json!("100")),
        ("vessels[0].liquid_l", json!("2,5")),
        ("vessels[0].headspace_l", json!("200 L")),
        ("vessels[0].temperature", json!({"constant_c": "warm"})),
        ("gas.flows_back", json!("no")),
        ("title", json!(5)),
        ("feeding[0].daily.hour", json!([8, 18])),
        ("recipes.bucket.materials[1]", json!("cattle-dung")),
    ]);
    assert_eq!(
        found,
        [
            "title is 5. It must be text in double quotes. Write \"5\".",
            "days is \"100\". It must be a number. Write 100 without quotes.",
            "vessels[0].liquid_l is \"2,5\". It must be a number. Write 2.5: a point instead of the comma, and no \
             quotes.",
            "vessels[0].headspace_l is \"200 L\". It must be a number. Write 200 without quotes: the unit stands in \
             the name of the key.",
            "vessels[0].temperature.constant_c is \"warm\". It must be a number. Write digits without quotes.",
            "gas.flows_back is \"no\". It must be true or false.",
            "recipes.bucket.materials[1] is \"cattle-dung\". It must be a group in { }.",
            "feeding[0].daily.hour is [8,18]. It must be a number. Write a single number; a decimal comma must be a \
             point.",
        ]
    );
}

#[test]
fn choices_that_nobody_knows() {
    assert_eq!(
        complaint(&[("vessels[0].stirring", json!("dayly"))]),
        "vessels[0].stirring is \"dayly\". Nobody knows the choice \"dayly\". Allowed: none, daily, steady. \
         Did you mean \"daily\"?"
    );
    assert_eq!(
        complaint(&[(
            "feeding[0]",
            json!({"dialy": {"recipe": "bucket", "from_day": 14}})
        )]),
        "feeding[0] is {\"dialy\":{\"recipe\":\"bucket\",\"from_day\":14}}. Nobody knows the choice \"dialy\". \
         Allowed: daily, on, pause, dose. Did you mean \"daily\"?"
    );
    assert_eq!(
        complaint(&[(
            "feeding[0]",
            json!({"pause": {"from_day": 1, "to_day": 2}, "daily": {"recipe": "bucket", "from_day": 14}})
        )]),
        "feeding[0] is {\"pause\":{\"from_day\":1,\"to_day\":2},\"daily\":{\"recipe\":\"bucket.... A choice is a group \
         with exactly one key. Write one key and its value in { }; for several, write several entries."
    );
    assert_eq!(
        complaint(&[("vessels[0].temperature", json!("wave"))]),
        "vessels[0].temperature is \"wave\". This choice needs more than its name. Write it as a group: \
         { \"choice\": ... }."
    );
    assert_eq!(
        complaint(&[("vessels[0].temperature", json!(35))]),
        "vessels[0].temperature is 35. A choice is a group with exactly one key. Write one key and its value in { }; \
         for several, write several entries."
    );
    assert_eq!(
        complaint(&[("vessels", json!({"liquid_l": 5}))]),
        "vessels is {\"liquid_l\":5}. It must be a list in [ ]. Put it in [ ], even if there is only one."
    );
}

#[test]
fn deep_paths_survive_the_choices() {
    assert_eq!(
        complaint(&[(
            "feeding[0].daily.ramp",
            json!({"from": 0, "to": 1, "over_dayz": 3})
        )])
        .split(':')
        .next(),
        Some("feeding[0].daily.ramp.over_dayz")
    );
}

#[test]
fn missing_keys_are_told_all_at_once() {
    let found: Vec<_> = refusal("{}").problems.iter().map(sentence).collect();
    assert_eq!(
        found,
        [
            "title: This key is missing. Give a short text in double quotes.",
            "days: This key is missing. Give a number: whole numbers from 1 to 7300 days.",
            "vessels: This key is missing. Describe at least one vessel in [ ].",
            "starter: This key is missing. Say what the vessels are filled with on day 0, such as \
             { \"materials\": [ ... ], \"water_l\": 300 }.",
        ]
    );
}

#[test]
fn something_else_than_a_group() {
    for text in ["[]", "5", "null", "\"x\""] {
        let problems = refusal(text);
        assert_eq!(
            sentence(&problems.problems[0]),
            "A scenario is one group in { }.",
            "{text}"
        );
    }
}

#[test]
fn problems_know_their_line() {
    let text = "{\n  \"title\": \"x\",\n  \"days\": 10,\n  \"vessels\": [\n    {\n      \"liquid_l\": -5,\n      \
                \"temperature\": {\"constant_c\": 99}\n    }\n  ],\n  \"starter\": {\"water_l\": 1}\n}";
    let places: Vec<_> = refusal(text)
        .problems
        .iter()
        .map(|p| (p.path.clone(), p.line, p.column))
        .collect();
    assert_eq!(
        places,
        [
            ("vessels[0].headspace_l".to_owned(), Some(5), Some(5)),
            ("vessels[0].liquid_l".to_owned(), Some(6), Some(19)),
            (
                "vessels[0].temperature.constant_c".to_owned(),
                Some(7),
                Some(37)
            ),
        ]
    );
}

#[test]
fn problems_are_also_data() {
    let problems =
        refusal("{\"title\": \"x\", \"days\": 0, \"vessels\": [], \"starter\": {\"water_l\": 1}}");
    let json = serde_json::to_value(&problems).unwrap();
    assert_eq!(json["more"], 0);
    let first = &json["problems"][0];
    assert_eq!(first["file"], "s.json");
    assert_eq!(first["path"], "days");
    assert_eq!(first["value"], "0");
    assert_eq!(first["line"], 1);
    assert_eq!(first["allowed"], "whole numbers from 1 to 7300 days");
}

#[test]
fn thousands_of_problems_stay_readable() {
    let days: Vec<i32> = vec![-1; 5000];
    let found = problems(&[(
        "feeding[1]",
        json!({"on": {"recipe": "bucket", "days": days}}),
    )]);
    assert_eq!(found.len(), 200);
    let text = refusal(
        &crate::support::with(&[(
            "feeding[1]",
            json!({"on": {"recipe": "bucket", "days": vec![-1; 5000]}}),
        )])
        .to_string(),
    )
    .to_string();
    assert!(text.starts_with("s.json: 5000 problems, so nothing was computed."));
    assert!(text.ends_with("... and 4970 more.\n"), "{text}");
}

#[test]
fn a_hostile_name_cannot_steer_the_terminal() {
    let text = refusal("{\"\\u001b[2Jx\": 1, \"title\": \"\u{1b}[2J\"}").to_string();
    assert!(!text.contains('\u{1b}'), "{text:?}");
    let text = refusal("{\"\\u001b[2Jx\": 1}").to_string();
    assert!(!text.contains('\u{1b}'), "{text:?}");
}

#[test]
fn an_unknown_key_is_pointed_at_itself() {
    let text = refusal("{\n  \"titel\": \"x\"\n}").to_string();
    assert!(
        text.contains("  2 |   \"titel\": \"x\"\n    |   ^\n"),
        "{text}"
    );
}

#[test]
fn wrong_kinds_do_not_hide_what_is_wrong_elsewhere() {
    let found = complaints(&[
        ("days", json!("100")),
        ("vessels[0].headspace_l", json!(-5)),
        ("starter.materials", json!("dung")),
        ("recipes.bucket", json!(7)),
        ("gas.store_pressure_mbar", json!(200)),
        ("feeding[0].daily.from_day", json!("2026-07-01")),
        ("solver", json!({"relative_tolerance": 1})),
    ]);
    let places: Vec<&str> = found
        .iter()
        .map(|said| said.split(' ').next().unwrap_or(""))
        .collect();
    assert_eq!(
        places,
        [
            "days",
            "vessels[0].headspace_l",
            "gas.store_pressure_mbar",
            "starter.materials",
            "recipes.bucket",
            "feeding[0].daily.from_day",
            "solver.relative_tolerance"
        ],
        "{found:#?}"
    );
    assert!(
        found[5].ends_with("Days are counted from 0, the start: 2026-07-01 is day 122."),
        "{}",
        found[5]
    );
}

#[test]
fn a_slip_says_that_more_may_come() {
    let told = refusal("{\"days\": 2,5}");
    assert!(told.stopped);
    assert!(told.to_string().ends_with("more may come.\n"), "{told}");
    assert!(!refusal("{\"days\": 0}").stopped);
}
