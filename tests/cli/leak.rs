//! `marshgas leak`.

use serde_json::Value;

use super::{stderr, stdout};

const BELL: [&str; 11] = [
    "leak",
    "--height",
    "40",
    "38.5",
    "--diameter",
    "57",
    "--temperature",
    "20",
    "20",
    "--hours",
    "24",
];
const RIGID: [&str; 11] = [
    "leak",
    "--pressure",
    "40",
    "30",
    "--volume",
    "300",
    "--temperature",
    "20",
    "20",
    "--hours",
    "24",
];

fn json(words: &[&str]) -> Value {
    serde_json::from_str(&stdout(&[words, &["--json"]].concat())).unwrap()
}

/// Words with one of them changed.
fn with(words: &[&'static str], at: usize, word: &'static str) -> Vec<&'static str> {
    let mut words = words.to_vec();
    words[at] = word;
    words
}

#[test]
fn a_fallen_bell_leaks_and_says_so_with_cautions() {
    let told = stdout(&BELL);
    for words in [
        "It leaks",
        "NL/d",
        "--barometer",
        "Cautions",
        "soapy water",
        "local rules",
        "licensed",
    ] {
        assert!(told.contains(words), "no {words} in {told}");
    }
    let value = json(&BELL);
    assert_eq!(value["verdict"], "leaks");
    // 1.5 cm of 57 cm: 3.828 L wet at 20 C, 8 cm of water over 1013.25 hPa: 3.51 norm litres dry, by hand.
    let lost = value["leak"]["lost_nl_d"].as_f64().unwrap();
    assert!((lost - 3.51).abs() < 0.01, "{lost}");
    assert!(!value["cautions"].as_array().unwrap().is_empty());
}

#[test]
fn one_night_of_cooling_is_no_leak() {
    // 0.34 and 0.15 % a kelvin of a bell of 102 L: 2 K look like a litre. At the same content the bell falls from 40 to 39.6.
    let cooled = with(&with(&with(&BELL, 3, "39.61"), 8, "18"), 7, "20");
    let value = json(&cooled);
    assert_eq!(value["verdict"], "not-seen", "{value}");
    assert!(value["leak"]["uncorrected_nl_d"].as_f64().unwrap() > 0.9);
    // The same bell read without looking at the thermometer.
    assert_eq!(
        json(&with(&BELL, 3, "39.61"))["leak"]["uncorrected_nl_d"],
        value["leak"]["uncorrected_nl_d"]
    );
}

#[test]
fn gas_that_is_gained_is_no_proof_of_tightness() {
    let told = stdout(&with(&BELL, 3, "45"));
    assert!(told.contains("still being made"), "{told}");
}

#[test]
fn the_share_of_the_days_gas_is_told() {
    let value = json(&[&BELL[..], &["--daily", "100"]].concat());
    let share = value["share_of_daily_gas"].as_f64().unwrap();
    // 3.828 L of 100 L, both wet at the same state.
    assert!((share - 0.03828).abs() < 1e-4, "{share}");
}

#[test]
fn a_closed_space_brings_the_building_check() {
    let value = json(&RIGID);
    assert_eq!(value["building_check"]["complete"], false);
    // An unknown barometer hides a kilopascal; a known one does not.
    assert_eq!(value["building_check"]["verdict"], "cannot-be-told");
    let known = json(&[&RIGID[..], &["--barometer", "1013.25", "1013.25"]].concat());
    assert_eq!(known["building_check"]["verdict"], "fails");
    let share = value["building_check"]["fall_share"].as_f64().unwrap();
    assert!((share - 0.25).abs() < 1e-9, "{share}");
    // 8 kPa are 81.6 cm.
    let dome = with(&with(&RIGID, 2, "81.6"), 3, "80");
    let value = json(&dome);
    assert_eq!(value["building_check"]["complete"], true);
    // It fell by 2 %, but half a kelvin and an unknown barometer hide far more.
    assert_eq!(value["building_check"]["verdict"], "cannot-be-told");
    let still = with(&dome, 3, "81.5");
    let fine = [
        &still[..],
        &["--barometer", "1013", "1013", "--temperature-error", "0.1"],
    ]
    .concat();
    let value = json(&fine);
    assert_eq!(value["building_check"]["verdict"], "passes", "{value}");
    assert!(
        stdout(&dome).contains("never put a drum") || stdout(&dome).contains("Never put a drum")
    );
}

#[test]
fn more_pressure_than_a_dome_bears_is_refused_with_the_reason() {
    let told = stderr(2, &with(&RIGID, 2, "200"));
    assert!(
        told.contains("pressure vessel") && told.contains("licensed"),
        "{told}"
    );
    let told = stderr(2, &[&BELL[..], &["--bell-pressure", "60"]].concat());
    assert!(told.contains("5000 Pa"), "{told}");
    let words = [&BELL[..], &["--bell-pressure", "60", "--json"]].concat();
    let value: Value = serde_json::from_str(&stderr(2, &words)).unwrap();
    assert_eq!(value["error"]["code"], "too-much-pressure");
    assert_eq!(value["error"]["exit_status"], 2);
}

#[test]
fn bad_numbers_are_bad_input() {
    for word in ["NaN", "inf", "38,5", "much"] {
        let told = stderr(2, &with(&BELL, 3, word));
        assert!(told.contains("finite number"), "{word}: {told}");
    }
    let told = stderr(2, &with(&BELL, 3, "-1"));
    assert!(
        told.contains("height is -1") && told.contains("0 to 1000"),
        "{told}"
    );
    assert!(stderr(2, &with(&BELL, 10, "0")).contains("hours is 0"));
    assert!(stderr(2, &with(&BELL, 7, "200")).contains("--temperature is 200"));
    assert!(stderr(2, &with(&RIGID, 5, "0")).contains("volume is 0"));
    let told = stderr(2, &[&BELL[..], &["--bell-pressure", "-3"]].concat());
    assert!(told.contains("--bell-pressure is -3"), "{told}");
    assert!(stderr(2, &[&BELL[..], &["--daily", "0"]].concat()).contains("--daily"));
    assert!(
        stderr(2, &[&BELL[..], &["--barometer", "1013", "30"]].concat())
            .contains("--barometer is 30")
    );
}

#[test]
fn bell_and_closed_space_do_not_mix_and_each_wants_its_size() {
    assert!(
        stderr(2, &["leak", "--temperature", "20", "20", "--hours", "24"]).contains("--height")
    );
    // Everything that is missing at once, with what it is, its range and how to write it.
    let told = stderr(2, &["leak"]);
    for words in [
        "--height or --pressure is missing",
        "0 to 1000",
        "--temperature is missing",
        "such as --temperature 20 18",
        "--hours is missing",
        "up to 10000",
    ] {
        assert!(told.contains(words), "no {words} in {told}");
    }
    assert!(!told.contains("Usage"), "{told}");
    let closed = [
        "leak",
        "--pressure",
        "40",
        "36",
        "--temperature",
        "20",
        "20",
        "--hours",
        "2",
    ];
    assert!(stderr(2, &closed).contains("--volume is missing"));
    let no_diameter = [
        "leak",
        "--height",
        "4",
        "3",
        "--temperature",
        "2",
        "2",
        "--hours",
        "2",
    ];
    assert!(stderr(2, &no_diameter).contains("--diameter"));
    let both = [&BELL[..], &["--pressure", "4", "3", "--volume", "2"]].concat();
    assert!(stderr(2, &both).contains("cannot be used with"));
    assert!(stderr(2, &with(&BELL, 9, "--hour")).contains("--hours"));
}

#[test]
fn what_the_readings_make_doubtful_is_told() {
    let flat = |words: &[&str]| {
        stdout(words)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    };
    let usual = flat(&BELL);
    assert!(
        !usual.contains("short wait") && !usual.contains("The bell is down"),
        "{usual}"
    );
    // Six minutes, and a bell that has sunk.
    let empty = flat(&with(&with(&BELL, 3, "0"), 10, "0.1"));
    for words in [
        "0.10 h is a short wait",
        "240 times as much",
        "The bell is down",
        "the least that is lost",
    ] {
        assert!(empty.contains(words), "no {words} in {empty}");
    }
    let gone = flat(&with(&RIGID, 3, "1"));
    assert!(gone.contains("The pressure is gone"), "{gone}");
}

#[test]
fn one_reading_of_two_says_what_is_missing() {
    let one = [&BELL[..3], &BELL[4..]].concat();
    let told = stderr(2, &one);
    assert!(
        told.contains("--height has one reading, 40") && told.contains("--height 40 38.5"),
        "{told}"
    );
    assert!(!told.contains("Usage"), "{told}");
    let told = stderr(
        2,
        &[
            &BELL[..6],
            &[
                "--temperature",
                "20",
                "--hours",
                "24",
                "--barometer",
                "1013",
            ],
        ]
        .concat(),
    );
    assert!(
        told.contains("--temperature has one reading")
            && told.contains("--barometer has one reading"),
        "{told}"
    );
}

#[test]
fn a_number_out_of_range_is_named_by_its_option() {
    for (words, option) in [
        (with(&BELL, 2, "4000"), "--height is 4000"),
        (with(&BELL, 5, "1"), "--diameter is 1"),
        (with(&BELL, 10, "0"), "--hours is 0"),
        (with(&RIGID, 5, "3e9"), "--volume is 3000000000"),
        (with(&RIGID, 7, "90"), "--temperature is 90"),
        (with(&RIGID, 2, "400"), "--pressure is 39227 Pa"),
    ] {
        let told = stderr(2, &words);
        assert!(told.contains(option), "no {option} in {told}");
    }
}

#[test]
fn where_there_is_nothing_to_lose_no_comfort_is_given() {
    let empty = |words: &[&'static str], first, second| with(&with(words, 2, first), 3, second);
    for words in [
        empty(&BELL, "0", "0"),
        empty(&RIGID, "0", "0"),
        empty(&RIGID, "10", "0"),
        empty(&RIGID, "10", "-5"),
    ] {
        let told = stdout(&words);
        assert!(told.contains("Nothing can be told"), "{told}");
        assert!(!told.contains("No leak is seen"), "{told}");
        assert!(!told.contains("the least that"), "{told}");
        assert_eq!(json(&words)["verdict"], "cannot-be-told");
    }
    let sucks = stdout(&empty(&RIGID, "10", "-5"));
    assert!(sucks.contains("The space sucks"), "{sucks}");
    // A bell that came down from a good height lost what it lost.
    assert_eq!(json(&empty(&BELL, "40", "0"))["verdict"], "leaks");
}

#[test]
fn frost_and_heat_are_told() {
    assert!(!stdout(&BELL).contains("freezes"));
    assert!(stdout(&with(&BELL, 8, "-2")).contains("freezes"));
    assert!(stdout(&with(&RIGID, 7, "65")).contains("thermometer"));
}

#[test]
fn the_cautions_are_those_of_a_leak_test() {
    let cautions = json(&BELL)["cautions"].as_array().unwrap().clone();
    // Explosion, poison, how to look, local rules.
    assert_eq!(cautions.len(), 4, "{cautions:?}");
    for word in ["explodes", "sulphide", "soapy", "licensed"] {
        assert!(
            cautions.iter().any(|c| c.as_str().unwrap().contains(word)),
            "{word}"
        );
    }
    let told = stdout(&BELL);
    let at = told.lines().position(|l| l == "Cautions").unwrap();
    assert!(told.lines().count() - at <= 13, "{told}");
}

#[test]
fn lines_fit_an_ordinary_terminal() {
    for words in [&BELL[..], &RIGID, &with(&RIGID, 2, "90")] {
        for line in stdout(words).lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }
}
