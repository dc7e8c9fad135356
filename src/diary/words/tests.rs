//! Sentences and what is heard in them.

use super::*;
use jiff::civil::date;

const TODAY: Date = date(2026, 5, 2);

fn heard(sentence: &str) -> Entry {
    match understand(sentence, TODAY) {
        Ok(found) => found.entry,
        Err(error) => panic!("{sentence}: {error}"),
    }
}

fn fed(entry: &Entry) -> Vec<(&str, f64)> {
    entry
        .fed
        .iter()
        .map(|f| (f.material.as_str(), f.kg))
        .collect()
}

#[test]
fn the_line_of_the_manual() {
    let entry = heard("fed 2 kg kitchen-scraps water 2 gas 310 temp 24 ph 7.1 burns");
    assert_eq!(fed(&entry), [("kitchen-scraps", 2.0)]);
    assert_eq!(entry.date, TODAY);
    assert_eq!(entry.water_l, Some(2.0));
    assert_eq!(entry.gas.unwrap().litres, 310.0);
    assert_eq!(entry.temperature_c, Some(24.0));
    assert_eq!(entry.ph, Some(7.1));
    assert_eq!(entry.burns, Some(true));
}

#[test]
fn many_ways_to_say_it() {
    let entry = heard("Fed 2kg Kitchen Scraps, 1 kg cattle dung; Water: 2 l, pH7,1 temp 75F");
    assert_eq!(fed(&entry), [("kitchen-scraps", 2.0), ("cattle-dung", 1.0)]);
    assert_eq!(entry.ph, Some(7.1));
    // 75 F is 23.888... C.
    assert_eq!(entry.temperature_c, Some(23.89));
    let entry = heard("2 kitchen-scraps 1.5 cattle-dung water was 3");
    assert_eq!(fed(&entry), [("kitchen-scraps", 2.0), ("cattle-dung", 1.5)]);
    let entry = heard("gas 0.31 m3 at 22 C 8 mbar wet after lime, no flame");
    let gas = entry.gas.unwrap();
    assert_eq!(gas.litres, 310.0);
    assert_eq!(gas.temperature_c, Some(22.0));
    assert_eq!(gas.pressure_mbar, Some(8.0));
    assert_eq!((gas.wet, gas.lime), (Some(true), Some(true)));
    assert_eq!(entry.burns, Some(false));
    assert_eq!(
        heard("gas 3 before the lime").gas.unwrap().lime,
        Some(false)
    );
    for no in ["does not burn", "doesn't burn", "burns not", "flame no"] {
        assert_eq!(heard(no).burns, Some(false), "{no}");
    }
    assert_eq!(heard("fed nothing ph 6.9").fed, []);
    assert_eq!(heard("temp -1").temperature_c, Some(-1.0));
}

#[test]
fn days_hours_and_remarks() {
    let entry = heard("on 30.4.2026 at 8:30 ph 7 note smells of fed water, all well");
    assert_eq!(entry.date, date(2026, 4, 30));
    assert_eq!(entry.time_h, Some(8.5));
    assert_eq!(entry.remark, "smells of fed water, all well");
    let entry = heard("yesterday at 7 pm ph 7");
    assert_eq!(entry.date, date(2026, 5, 1));
    assert_eq!(entry.time_h, Some(19.0));
    assert_eq!(heard("on yesterday ph 7").date, date(2026, 5, 1));
    assert_eq!(heard("today ph 7").date, TODAY);
    for later in ["tomorrow ph 7", "on tomorrow ph 7", "2026-05-03 ph 7"] {
        let told = understand(later, TODAY).unwrap_err().to_string();
        assert!(told.contains("2026-05-03 lies in the future"), "{told}");
    }
    assert!(understand("yesterday 2026-05-01 ph 7", TODAY).is_err());
}

#[test]
fn slips_are_taken_only_when_they_are_clear() {
    let found = understand("temperatur 24", TODAY).unwrap();
    assert_eq!(found.entry.temperature_c, Some(24.0));
    assert!(found.notes[0].contains("taken for \"temperature\""));
    let told = understand("alka 24", TODAY).unwrap_err().to_string();
    assert!(told.contains("Did you mean \"alkalinity\"?"), "{told}");
    for (slip, wanted) in [
        ("flmae", Some("flame")),
        ("metahne", Some("methane")),
        ("yestreday", Some("yesterday")),
        ("hello", None),
        ("weather", None),
    ] {
        assert_eq!(meant(slip), wanted, "{slip}");
    }
    let told = understand("hello", TODAY).unwrap_err().to_string();
    assert!(!told.contains("Did you mean"), "{told}");
    let found = understand("fed 2 kitchen-scarps", TODAY).unwrap();
    assert_eq!(found.unknown[0].nearest, Some("kitchen-scraps"));
    assert!(
        understand("fed 2 kitchen-scraps", TODAY)
            .unwrap()
            .unknown
            .is_empty()
    );
}

#[test]
fn what_cannot_be_is_not_taken() {
    for (sentence, part) in [
        ("", "nothing to write"),
        ("today", "nothing to write"),
        ("ph", "a number is missing"),
        ("ph 17", "cannot be"),
        (
            "temp -14",
            "cannot be: possible is -2 to 60 C (colder, liquor is ice",
        ),
        ("temp 76", "cannot be: possible is -2 to 60 C"),
        ("ph 7 ph 8", "twice"),
        ("fed 2", "of what"),
        ("fed kitchen-scraps", "how many kg"),
        ("wet", "behind a reading of gas"),
        ("on soon", "comes a day"),
        ("hello", "not understood"),
        ("ph 7 no", "not understood"),
        ("7.1", "not understood"),
        ("gas 3 kg", "not understood"),
    ] {
        let told = match understand(sentence, TODAY) {
            Err(error) => error.to_string(),
            Ok(found) => panic!("{sentence}: {found:?}"),
        };
        assert!(told.contains(part), "{sentence}: {told}");
        // One mark ends a sentence.
        assert!(!told.contains("?."), "{sentence}: {told}");
    }
    let found = understand("fed 2000 kg cattle-dung", TODAY).unwrap();
    assert!(found.notes[0].contains("unlikely"), "{:?}", found.notes);
}

#[test]
fn nothing_is_a_reading_too() {
    for no in [
        "no gas",
        "gas none",
        "gas was nothing",
        "no gas today",
        "gas 0",
    ] {
        let entry = heard(no);
        assert_eq!(entry.gas.map(|g| g.litres), Some(0.0), "{no}");
    }
    let entry = heard("fed nothing");
    assert_eq!((entry.fed.len(), entry.remark.as_str()), (0, "fed nothing"));
    let entry = heard("fed nothing note away");
    assert_eq!((entry.fed.len(), entry.remark.as_str()), (0, "away"));
    let entry = heard("the gas does not burn");
    assert_eq!((entry.gas, entry.burns), (None, Some(false)));
    assert!(understand("no gas 310", TODAY).is_err());
}

#[test]
fn a_mark_before_three_digits_is_asked_about() {
    for two in [
        "gas 1,234",
        "gas 1.234",
        "gas 1.450 l",
        "fed 1,500 kitchen-scraps",
        "water 2,500 l",
    ] {
        let why = understand(two, TODAY).unwrap_err().to_string();
        assert!(why.contains("may be"), "{why}");
    }
    assert_eq!(heard("gas 0,125 m3").gas.unwrap().litres, 125.0);
    assert_eq!(heard("gas 1.234 m3").gas.unwrap().litres, 1234.0);
    assert_eq!(heard("gas 1.2").gas.unwrap().litres, 1.2);
    assert!(
        understand("methane 0.6", TODAY)
            .unwrap()
            .notes
            .iter()
            .any(|n| n.contains("per cent"))
    );
}
