//! Cells and headings of an owner's record: what is taken, what is doubted.

use marshgas::diary::{Record, read};

use super::diary::{reasons, record};

#[test]
fn a_liquor_of_ice_or_boiling_is_no_reading() {
    let found =
        record("date,tank_c\n2026-04-01,-14\n2026-04-02,-1\n2026-04-03,76\n2026-04-04,24\n");
    let kept: Vec<Option<f64>> = found.entries.iter().map(|e| e.temperature_c).collect();
    assert_eq!(kept, [Some(-1.0), Some(24.0)]);
    for (line, part) in [
        (
            2,
            "\"-14\" cannot be: possible is -2 to 60 C (colder, liquor is ice",
        ),
        (3, "\"-1\" is unlikely"),
        (4, "\"76\" cannot be"),
    ] {
        let told = reasons(&found);
        assert!(
            told.iter().any(|(l, r)| *l == line && r.contains(part)),
            "{told:?}"
        );
    }
}

#[test]
fn points_of_thousands_are_read_by_the_whole_column() {
    let steps = |found: &Record| -> Vec<f64> {
        let gas = found.entries.iter().filter_map(|e| e.gas);
        gas.map(|g| g.litres).collect()
    };
    // The comma stands in a feed alone.
    let text = "date;fed;meter_l\n1.4.2026;2,5 kg cattle-dung;900\n2.4.2026;2,5 kg cattle-dung;1.000\n3.4.2026;;1.450\n";
    let found = record(text);
    assert_eq!(steps(&found), [100.0, 450.0]);
    assert_eq!(reasons(&found), []);
    let note = "count of the gas meter: every point stands before three digits and is taken for one of thousands, so 1.000 is 1000.";
    assert!(
        found.taken.notes.iter().any(|n| n == note),
        "{:?}",
        found.taken.notes
    );
    // Nothing but the semicolons speaks for it, or a point elsewhere against it.
    for (text, gas) in [
        (text.replace("2,5", "2"), [100.0, 450.0]),
        (
            text.replace("2,5", "2.5").replace(";900", ";0"),
            [1.0, 0.45],
        ),
    ] {
        let found = record(&text);
        for (a, b) in steps(&found).iter().zip(gas) {
            assert!((a - b).abs() < 1e-9, "{a} {b}");
        }
        let told = reasons(&found);
        let doubt = told
            .iter()
            .find(|(_, r)| r.contains("\"1.000\" may be 1000 or 1;"));
        assert_eq!(doubt.unwrap().0, 3, "{told:?}");
    }
}

#[test]
fn all_unknown_headings_are_told_at_once() {
    let refused = read::from_text("Datum;Futter;ph\n1.4.2026;2;7\n", None)
        .unwrap_err()
        .to_string();
    for part in ["\"Datum\"", "\"Futter\"", "Known names: date, time, fed"] {
        assert!(refused.contains(part), "{part}: {refused}");
    }
    let found = record("date,colour,remrak,smell,ph\n2026-04-01,brown,well,sour,7\n");
    let told = reasons(&found);
    assert_eq!(told.len(), 1, "{told:?}");
    for part in [
        "\"colour\", \"remrak\" (did you mean \"remark\"?), \"smell\"",
        "Known names: date,",
    ] {
        assert!(told[0].1.contains(part), "{part}: {told:?}");
    }
}
