//! An owner's record: reading, writing, joining with a scenario, comparing with the run.

use std::fs;
use std::path::Path;

use jiff::civil::{Date, date};
use marshgas::case::{Case, TemperatureCourse};
use marshgas::diary::read::{self, Refusal};
use marshgas::diary::{self, Entry, Fed, GasReading, Habits, JoinError, Joined, Record};
use marshgas::simulate;
use proptest::prelude::*;
use serde_json::{Value, json};

pub(crate) fn record(text: &str) -> Record {
    read::from_text(text, None).unwrap()
}

pub(crate) fn reasons(record: &Record) -> Vec<(u64, &str)> {
    let doubts = record.doubts.iter();
    doubts.map(|d| (d.line, d.reason.as_str())).collect()
}

#[test]
fn what_a_spreadsheet_writes_is_read_whatever_its_habits() {
    let plain = record(
        "date,feed,kg,water (L),tank (C),gas (L),pH,burns,remarks\n\
         2026-04-29,kitchen-scraps,2.5,3,24.5,310,7.1,yes,all well\n\
         2026-04-30,,,,25,1234.5,,no,\n",
    );
    assert_eq!(reasons(&plain), []);
    assert_eq!(plain.entries.len(), 2);
    let first = &plain.entries[0];
    assert_eq!(first.fed[0].material, "kitchen-scraps");
    assert_eq!(first.fed[0].kg, 2.5);
    assert_eq!((first.line, first.ph), (2, Some(7.1)));
    for (text, separator, decimal, dates) in [
        (
            "\u{feff}Date;Feed;kg;Water [L];Tank in \u{b0}C;Gas / L;PH;Burns;Remarks\r\n\
             29.4.2026;Kitchen Scraps;2,5;3;24,5;310;7,1;y;all well\r\n\
             30.04.2026;;;;25;1.234,5;;n;\r\n",
            "semicolon",
            "comma",
            "day.month.year",
        ),
        (
            "date\tfeed\tamount (g)\twater\ttemperature (F)\tgas (m3)\tph value\tflame\tnotes\n\
             29/04/2026\tkitchen scraps\t2500\t3\t76.1\t0.31\t7.1\tburns\tall well\n\
             30/04/2026\t\t\t\t77\t1.2345\t\tdoesn't burn\t\n",
            "tab",
            "point",
            "day/month/year",
        ),
    ] {
        // "Gas / L" is a unit behind a slash: written so by some, and the slash is no part of the name.
        let found = record(&text.replace("Gas / L", "Gas (L)"));
        assert_eq!(reasons(&found), [], "{text}");
        assert_eq!(found.taken.separator, separator);
        assert_eq!(found.taken.decimal, decimal);
        assert_eq!(found.taken.dates, dates);
        assert_eq!(found.entries.len(), 2);
        for (a, b) in found.entries.iter().zip(&plain.entries) {
            assert_eq!(
                (a.line, a.date, &a.fed, a.burns),
                (b.line, b.date, &b.fed, b.burns)
            );
            assert_eq!((a.ph, &a.remark), (b.ph, &b.remark));
            let gas = |e: &Entry| e.gas.unwrap().litres;
            assert!((gas(a) - gas(b)).abs() < 1e-9);
            assert!((a.temperature_c.unwrap() - b.temperature_c.unwrap()).abs() < 1e-9);
        }
    }
}

#[test]
fn doubtful_lines_are_told_with_number_and_reason() {
    let text = "date,fed,gas_l,ph,tank_c,colour\n\
                2026-04-02,2 kitchen-scraps,300,7.1,24,brown\n\
                2026-04-01,2 kitchen-scraps,300,17,24,\n\
                2026-04-03,2000 cattle-dung,-20,7,abc,\n\
                2026-04-04,kitchen-scraps,,,,\n\
                2026-04-04,1 oats,5,,,\n\
                2026-04-04,1 oats,5,,,\n\
                \n\
                31.2.2026,1 oats,,,,\n\
                46142,1 oats,,,,\n\
                ,1 oats,,,,\n\
                2027-04-05,1 oats,,,,\n\
                2026-04-06,,,,,,7.3\n\
                Yesterday,1 oats,,,,\n";
    let found = read::from_text(text, Some(date(2026, 4, 10))).unwrap();
    for (line, part) in [
        (
            1,
            "the column whose name is not known is not read: \"colour\"",
        ),
        (3, "stands after 2026-04-02 of line 2"),
        (3, "\"17\" cannot be: possible is 0 to 14"),
        (4, "is unlikely: usual is 0 to 500 kg; kept"),
        (4, "\"-20\" is less than nothing"),
        (4, "\"abc\" is no number"),
        (5, "has no amount"),
        (7, "the same as line 6"),
        (9, "is no day of the calendar; the whole line is left out"),
        (10, "spreadsheet's count of days"),
        (11, "taken for 2026-04-04, the day of line 7"),
        (12, "lies in the future"),
        (13, "it has 7 cells and the heading 6"),
        (
            14,
            "which the file does not tell: write 2026-04-30; the whole line is left out",
        ),
    ] {
        assert!(
            found
                .doubts
                .iter()
                .any(|d| d.line == line && d.reason.contains(part)),
            "line {line}: {part}: {:#?}",
            found.doubts
        );
    }
    // Everything that could be kept is, in the order of the days.
    let lines: Vec<u64> = found.entries.iter().map(|e| e.line).collect();
    assert_eq!(lines, [3, 2, 4, 6, 7, 11, 12]);
    assert_eq!(found.entries[2].fed[0].kg, 2000.0);
}

#[test]
fn a_running_count_becomes_the_gas_since_the_reading_before() {
    let found =
        record("date,meter_l\n2026-04-01,100\n2026-04-02,150\n2026-04-03,20\n2026-04-04,65\n");
    let gas: Vec<f64> = found
        .entries
        .iter()
        .filter_map(|e| e.gas.map(|g| g.litres))
        .collect();
    assert_eq!(gas, [50.0, 45.0]);
    // The first count and the one set back tell no amount, but the next counts from them.
    let seen: Vec<bool> = found.entries.iter().map(|e| e.gas_seen).collect();
    assert_eq!(seen, [true, false, true, false]);
    assert_eq!(found.doubts.len(), 1);
    assert!(found.doubts[0].reason.contains("runs back"));
    // Written and read again the looks are still there, and nothing of them is doubted.
    let again = record(&marshgas::diary::text(&found).unwrap());
    let looks = |r: &Record| {
        r.entries
            .iter()
            .map(|e| (e.gas, e.gas_seen))
            .collect::<Vec<_>>()
    };
    assert_eq!(looks(&again), looks(&found));
    assert_eq!(again.doubts, []);
}

#[test]
fn ambiguous_days_are_resolved_by_the_column_and_told() {
    let found = record("date,ph\n3/4/2026,7\n3/5/2026,7\n3/6/2026,7\n");
    assert_eq!(found.entries[2].date, date(2026, 3, 6));
    assert_eq!(found.taken.dates, "month/day/year");
    assert!(found.taken.notes[0].contains("either way round"));
    let found = record("date,ph\n3/4/2026,7\n4/4/2026,7\n13/4/2026,7\n");
    assert_eq!(found.entries[0].date, date(2026, 4, 3));
    assert!(found.taken.notes.is_empty());
}

#[test]
fn what_is_no_record_is_refused_plainly() {
    let refuse = |bytes: &[u8]| read::from_bytes(bytes, None).unwrap_err();
    assert_eq!(refuse(b""), Refusal::Empty);
    assert_eq!(refuse(b"\n\n"), Refusal::Empty);
    assert_eq!(refuse(b"PK\x03\x04\n\x00\x00"), Refusal::Binary { line: 1 });
    assert_eq!(
        refuse(b"date,ph\n2026-01-01,7\x00\n"),
        Refusal::Binary { line: 2 }
    );
    assert_eq!(refuse(b"\xff\xfed\x00a\x00"), Refusal::Utf16);
    assert_eq!(refuse(b"d\x00a\x00t\x00e\x00"), Refusal::Utf16);
    assert_eq!(
        refuse(b"date,note\n2026-01-01,gr\xfcn\n"),
        Refusal::OlderEncoding { line: 2 }
    );
    assert!(matches!(refuse(b"a,b\n1,2\n"), Refusal::NoHeading { .. }));
    assert!(matches!(refuse(b"ph,gas\n1,2\n"), Refusal::NoDate { .. }));
    let folder = read::load(Path::new("."), None);
    assert_eq!(folder, Err(Refusal::Folder));
    assert_eq!(
        read::load(Path::new("no-such.csv"), None),
        Err(Refusal::Missing)
    );
}

#[test]
fn gas_becomes_norm_litres() {
    let gas = |wet| GasReading {
        litres: 1000.0,
        temperature_c: Some(30.0),
        pressure_mbar: Some(0.0),
        wet: Some(wet),
        lime: None,
    };
    // Ideal gas by hand: 273.15 / 303.15; wet less 42.46 mbar of vapour at 30 C (steam tables, from memory).
    let dry = 1000.0 * 273.15 / 303.15;
    assert!((gas(false).norm_l(&Habits::default()) - dry).abs() < 1e-6);
    let wet = dry * (1013.25 - 42.46) / 1013.25;
    assert!((gas(true).norm_l(&Habits::default()) - wet).abs() < 0.5);
}

fn some_number(low: f64, high: f64) -> impl Strategy<Value = Option<f64>> {
    proptest::option::of(low..high)
}

fn some_entry() -> impl Strategy<Value = Entry> {
    let fed = proptest::collection::vec(
        (
            prop_oneof![
                Just("kitchen-scraps".to_owned()),
                Just("cattle-dung".to_owned()),
                "[a-z]{3,8}( [a-z]{3,8})?",
            ],
            0.001..500.0f64,
        ),
        0..3,
    );
    let gas = proptest::option::of((
        0.0..2e4f64,
        some_number(-20.0, 60.0),
        some_number(0.0, 50.0),
        proptest::option::of(any::<bool>()),
        proptest::option::of(any::<bool>()),
    ));
    let liquor = (
        some_number(4.0, 9.5),
        some_number(0.0, 90.0),
        some_number(0.0, 3e4),
        some_number(0.0, 3e4),
        some_number(0.0, 1000.0),
        some_number(0.0, 55.0),
    );
    let rest = (
        0..3000i32,
        some_number(0.0, 23.9),
        proptest::option::of(any::<bool>()),
        "[ -~\u{e4}\u{4e2d}\n]{0,20}x",
    );
    (fed, gas, liquor, rest).prop_map(|(fed, gas, liquor, (days, time_h, burns, remark))| {
        let date: Date = date(2018, 1, 1)
            .checked_add(jiff::Span::new().days(days))
            .unwrap();
        Entry {
            time_h,
            fed: fed
                .into_iter()
                // "and" parts two feeds.
                .filter(|(name, _)| !name.split(' ').any(|w| w == "and"))
                .map(|(material, kg)| Fed { material, kg })
                .collect(),
            // A look that told no amount.
            gas_seen: gas.is_none() && days % 2 == 0,
            gas: gas.map(
                |(litres, temperature_c, pressure_mbar, wet, lime)| GasReading {
                    litres,
                    temperature_c,
                    pressure_mbar,
                    wet,
                    lime,
                },
            ),
            ph: liquor.0,
            methane_pct: liquor.1,
            acids_mg_l: liquor.2,
            alkalinity_mg_l: liquor.3,
            water_l: liquor.4,
            temperature_c: liquor.5,
            burns,
            remark: remark.trim().to_owned(),
            ..Entry::blank(date)
        }
    })
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let _ = read::from_bytes(&bytes, None);
    }

    #[test]
    fn no_cells_make_the_reader_panic(
        cells in proptest::collection::vec("[-0-9.,:;/ +eTkgand\"\n\r\t\u{e9}\u{2212}]{0,14}", 0..60),
        heading in prop_oneof![
            Just("date,time,fed,kg,gas,meter,ph\n"),
            Just("date;fed;water (F);gas (m3);burns;kitchen-scraps (g)\n"),
        ],
    ) {
        let text = format!("{heading}{}", cells.join(","));
        if let Ok(found) = read::from_text(&text, Some(date(2026, 1, 1))) {
            let lines = text.lines().count() as u64 + text.matches('\r').count() as u64;
            prop_assert!(found.entries.iter().all(|e| e.line >= 2 && e.line <= lines));
            prop_assert!(found.entries.windows(2).all(|p| p[0].date <= p[1].date));
        }
    }

    #[test]
    fn no_words_make_the_listener_panic(words in "[-0-9.,:/a-z +\u{e9}]{0,60}") {
        let _ = diary::understand(&words, date(2026, 5, 2));
        let known = ["fed", "gas", "at", "ph", "no", "on", "note", "lime", "burns", "2kg", "8:30", "1.2.2026", "C"];
        let mixed: Vec<&str> = words.bytes().map(|b| known[usize::from(b) % known.len()]).collect();
        let _ = diary::understand(&mixed.join(" "), date(2026, 5, 2));
    }

    #[test]
    fn what_is_written_reads_back_the_same(entries in proptest::collection::vec(some_entry(), 0..12)) {
        let mut entries = entries;
        entries.sort_by_key(|e| e.date);
        for day in entries.chunk_by_mut(|a, b| a.date == b.date) {
            if day.iter().all(|e| e.time_h.is_some()) {
                day.sort_by(|a, b| a.time_h.partial_cmp(&b.time_h).unwrap());
            }
        }
        let text = diary::text(&Record { entries: entries.clone(), ..Record::default() }).unwrap();
        let found = read::from_text(&text, None).unwrap();
        let bare: Vec<Entry> = found.entries.into_iter().map(|e| Entry { line: 0, ..e }).collect();
        prop_assert_eq!(bare, entries);
    }

    #[test]
    fn a_line_added_is_the_line_read(entry in some_entry(), semicolon in any::<bool>()) {
        let old = if semicolon {
            "date;tank (F);water (ml);kg\r\n1.2.2018;75,5;2000;\r\n"
        } else {
            "date,notes\n2018-02-01,\"a, b\"\n"
        };
        let new = diary::append(old, &entry).unwrap();
        let found = read::from_text(&new.text, None).unwrap();
        let line = found.entries.iter().find(|e| e.line == new.number).unwrap();
        prop_assert_eq!(&line.fed, &entry.fed);
        prop_assert_eq!(&line.remark, &entry.remark);
        prop_assert_eq!((line.date, line.gas, line.ph), (entry.date, entry.gas, entry.ph));
    }
}

fn tank() -> Value {
    json!({
        "title": "A small tank", "about": "Invented for this test.", "start_date": "2026-04-01", "days": 10,
        "vessels": [{ "liquid_l": 100, "headspace_l": 30, "temperature": { "constant_c": 30 } }],
        "starter": { "materials": [{ "material": "digestate-cattle", "kg": 100 }] },
        "recipes": { "bucket": {
            "materials": [
                { "material": "kitchen-scraps", "kg": 1, "pieces": "pulp" }, { "material": "cattle-dung", "kg": 3 }
            ],
            "water_l": 1
        } },
        "feeding": [
            { "daily": { "recipe": "bucket", "from_day": 0, "amount": 0.1 } },
            { "on": { "recipe": "bucket", "dates": ["2026-04-03", "2026-04-09"], "hour": 12, "amount": 0.2 } },
            { "pause": { "from_day": 5, "to_day": 8 } }
        ],
        "materials": { "My Mash": { "like": { "material": "bread" } } }
    })
}

fn joined(record: &Record, tank: &Value) -> Result<Joined, JoinError> {
    diary::join(record, tank, "tank.json", None)
}

fn doses(case: &Case) -> Vec<(f64, f64, f64)> {
    let kg = |d: &marshgas::case::Dose| d.parts.iter().map(|p| p.1).sum();
    case.doses
        .iter()
        .map(|d| (d.day, kg(d), d.water_kg))
        .collect()
}

const DAYS: &str = "date,time,fed,water_l,tank_c,gas_l\n\
                    2026-04-05,8,1 kitchen-scraps,2,28,20\n\
                    2026-04-05,8,1 kitchen-scraps,,,\n\
                    2026-04-07,20,2 bucket,,31,30\n\
                    2026-04-08,,500 cattle-dung,,,25\n";

#[test]
fn the_case_is_fed_and_warmed_as_the_record_says() {
    let record = record(DAYS);
    let joined = joined(&record, &tank()).unwrap();
    let case = &joined.loaded.case;
    assert_eq!(joined.start, date(2026, 4, 1));
    assert_eq!(case.days, 8);
    let third = 1.0 / 3.0;
    let wanted = [
        // The scenario's own plan up to the record's first day: daily 0.4 kg, and 0.8 kg on 3 April.
        (third, 0.4, 0.1),
        (1.0 + third, 0.4, 0.1),
        (2.0 + third, 0.4, 0.1),
        (2.5, 0.8, 0.2),
        (3.0 + third, 0.4, 0.1),
        // The record: twice the same feed on one day, then a recipe by its name; 500 kg do not fit in.
        (4.0 + third, 2.0, 2.0),
        (6.0 + 20.0 / 24.0, 2.0, 0.0),
    ];
    let found = doses(case);
    assert_eq!(found.len(), wanted.len(), "{found:?}");
    for (a, b) in found.iter().zip(&wanted) {
        let near = |x: f64, y: f64| (x - y).abs() < 1e-9;
        assert!(
            near(a.0, b.0) && near(a.1, b.1) && near(a.2, b.2),
            "{a:?} {b:?}"
        );
    }
    assert_eq!(joined.doubts.len(), 1);
    assert!(joined.doubts[0].reason.contains("more than the 100 L"));
    let TemperatureCourse::Table(knots) = &case.vessels[0].temperature else {
        panic!("{:?}", case.vessels[0].temperature);
    };
    // The scenario's 30 C up to the record's first day.
    assert_eq!(
        knots.as_slice(),
        [
            (0.0, 30.0),
            (4.0 - 1.0 / 24.0, 30.0),
            (4.0, 28.0),
            (4.0 + third, 28.0),
            (6.0 + 20.0 / 24.0, 31.0)
        ]
    );
    assert!(
        joined
            .notes
            .iter()
            .any(|n| n.contains("fed as the scenario says"))
    );
}

#[test]
fn before_the_record_a_wave_goes_on_as_a_wave() {
    let mut tank = tank();
    tank["vessels"][0]["temperature"] = json!({ "wave": {
        "mean_c": 25, "yearly_swing_k": 8, "hottest_day_of_year": 200, "daily_swing_k": 2
    } });
    let own = marshgas::scenario::from_value(&tank, "tank.json", None).unwrap();
    let joined = joined(&record(DAYS), &tank).unwrap();
    let of = |case: &Case, day: f64| case.vessels[0].temperature.at(day).0;
    for day in [0.0, 0.6, 2.3, 3.9] {
        let (found, wanted) = (of(&joined.loaded.case, day), of(&own.case, day));
        // An eighth of a day between the points: a daily wave of 2 K bends by 0.16 K there.
        assert!((found - wanted).abs() < 0.16, "day {day}: {found} {wanted}");
    }
    assert_eq!(of(&joined.loaded.case, 4.1), 28.0);
}

#[test]
fn a_scenario_far_from_the_record_in_warmth_lends_its_feed_and_not_its_warmth() {
    let cold = record("date,tank_c\n2026-04-05,14\n2026-04-07,15\n");
    let joined = joined(&cold, &tank()).unwrap();
    let leap = joined.leap.unwrap();
    assert_eq!(
        (leap.day, leap.scenario_c, leap.record_c),
        (4.0, 30.0, 14.0)
    );
    assert!(joined.notes.contains(&leap.told()));
    let case = &joined.loaded.case;
    let of = |day: f64| case.vessels[0].temperature.at(day).0;
    assert_eq!([of(0.0), of(3.9), of(4.1)], [14.0; 3]);
    assert_eq!(doses(case).len(), 5);
    // 5 K apart is within what a tank does in a night.
    let near = record("date,tank_c\n2026-04-05,25\n");
    assert_eq!(self::joined(&near, &tank()).unwrap().leap, None);
}

#[test]
fn a_share_in_a_column_of_per_cent_is_doubted() {
    let found = record("date,ch4_pct\n2026-05-01,0.6\n2026-05-02,60\n2026-05-03,0\n");
    let reasons = reasons(&found);
    assert_eq!(reasons.len(), 1, "{reasons:?}");
    assert!(
        reasons[0].0 == 2 && reasons[0].1.contains("written 60"),
        "{reasons:?}"
    );
}

#[test]
fn a_meter_is_shown_and_fitted_by_the_same_stretches() {
    use marshgas::diary::fit::readings::Readings;
    let text =
        "date,meter_l,ph\n2026-04-03,,7\n2026-04-04,500,\n2026-04-05,540,\n2026-04-06,570,\n";
    let record = record(text);
    let joined = joined(&record, &tank()).unwrap();
    let case = &joined.loaded.case;
    let outcome = simulate::run(case, &mut |_| ()).unwrap();
    let habits = diary::habits(case);
    let shown = diary::compare(&record, joined.start, &outcome, &habits);
    let fitted = Readings::of(&record, joined.start, &habits, 50.0);
    let shown: Vec<(f64, f64, f64)> = shown
        .intervals
        .iter()
        .map(|i| (i.from_day, i.to_day, i.measured_nl))
        .collect();
    let fitted: Vec<(f64, f64, f64)> = fitted
        .readings
        .iter()
        .filter(|r| r.what.is_gas())
        .map(|r| (r.from_day, r.day, r.value))
        .collect();
    assert_eq!(shown, fitted);
    let third = 1.0 / 3.0;
    assert_eq!(shown.len(), 2);
    assert_eq!((shown[0].0, shown[0].1), (3.0 + third, 4.0 + third));
}

#[test]
fn what_does_not_go_together_is_told() {
    let unknown = record("date,fed\n2026-04-05,1 kichen-scraps\n2026-04-06,1 mymash\n");
    let without = joined(&unknown, &tank()).unwrap();
    let doubts: Vec<(u64, &str)> = without
        .doubts
        .iter()
        .map(|d| (d.line, d.reason.as_str()))
        .collect();
    for ((line, meant), (found, reason)) in
        [(2, "kitchen-scraps?"), (3, "My Mash?")].iter().zip(doubts)
    {
        assert_eq!(found, *line);
        assert!(
            reason.contains(meant) && reason.contains("goes without these 1 kg"),
            "{reason}"
        );
    }
    let left_out = without.left_out.unwrap();
    assert_eq!((left_out.kg, left_out.of_kg), (2.0, 2.0));
    assert!(without.notes.contains(&left_out.told()));
    // Of a feed that is known in part the rest is fed.
    let half = record("date,fed\n2026-04-05,1 kitchen-scraps + 3 mymash\n");
    let half = joined(&half, &tank()).unwrap();
    assert_eq!(doses(&half.loaded.case).last().map(|d| d.1), Some(1.0));
    assert!(half.left_out.unwrap().told().contains("75 % by weight"));
    assert!(joined(&record("date,fed\n2026-04-05,1 my mash\n"), &tank()).is_ok());
    assert!(matches!(
        joined(&Record::default(), &tank()),
        Err(JoinError::Nothing)
    ));
    let far = joined(&record("date,ph\n2026-04-05,7\n2062-04-05,7\n"), &tank());
    assert!(matches!(far, Err(JoinError::TooLong { .. })), "{far:?}");
    // A filling after the record's first day cannot be.
    let early = joined(&record("date,ph\n2026-03-05,7\n"), &tank()).unwrap();
    assert_eq!(early.start, date(2026, 3, 5));
    assert!(
        early.notes[0].contains("after the record's first day"),
        "{:?}",
        early.notes
    );
    let whole = early.before_filling.unwrap();
    assert!(
        whole.contains("lies before the scenario's filling on 2026-04-01"),
        "{whole}"
    );
    // Of one that lies there in part the lines are doubted.
    let partly = joined(&record("date,ph\n2026-03-05,7\n2026-04-05,7\n"), &tank()).unwrap();
    assert_eq!((partly.before_filling, partly.doubts[0].line), (None, 2));
    assert!(
        partly.doubts[0].reason.contains("before the filling"),
        "{:?}",
        partly.doubts
    );
}

#[test]
fn the_comparison_adds_up() {
    let record = record(DAYS);
    let joined = joined(&record, &tank()).unwrap();
    let case = &joined.loaded.case;
    let outcome = simulate::run(case, &mut |_| ()).unwrap();
    let found = diary::compare(&record, joined.start, &outcome, &diary::habits(case));
    let spans: Vec<(f64, f64)> = found
        .intervals
        .iter()
        .map(|i| (i.from_day, i.to_day))
        .collect();
    let third = 1.0 / 3.0;
    // The first line already reads gas: a day of it.
    let wanted = [
        (3.0 + third, 4.0 + third),
        (4.0 + third, 6.0 + 20.0 / 24.0),
        (6.0 + 20.0 / 24.0, 7.0 + third),
    ];
    for (a, b) in spans.iter().zip(&wanted) {
        assert!(
            (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9,
            "{spans:?}"
        );
    }
    assert_eq!(spans.len(), 3);
    // The stretches' gas is that of the run: all of days 4 to 6, and parts of days 3 and 7.
    let daily: Vec<f64> = outcome.plant.iter().map(|r| r.gas_nl).collect();
    let whole: f64 = daily[4..7].iter().sum();
    let computed = found.totals.computed_nl;
    assert!(
        computed > whole && computed < whole + daily[3] + daily[7],
        "{computed} {daily:?}"
    );
    let last = found.intervals.last().unwrap();
    assert_eq!(last.computed_so_far_nl, computed);
    for i in &found.intervals {
        assert!((i.measured_nl - i.computed_nl - i.residual_nl).abs() < 1e-12);
    }
    // 20 C, 8 mbar above the air, wet, as the scenario says: 75 L as read.
    let norm = 75.0 * 273.15 / 293.15 * (1013.25 + 8.0 - 23.39) / 1013.25;
    assert!(
        (found.totals.measured_nl - norm).abs() < 0.05,
        "{}",
        found.totals.measured_nl
    );
    assert_eq!(found.first_day, 4.0);
    assert!(found.gaps.is_empty());
}

#[test]
fn the_ready_diary_reads_runs_and_says_that_it_is_invented() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let record = read::load(&root.join("diary-tote.csv"), None).unwrap();
    assert!(record.entries[0].remark.contains("Invented"));
    assert_eq!(reasons(&record).len(), 1, "{:?}", record.doubts);
    let text = fs::read_to_string(root.join("warm-tote.json")).unwrap();
    let tank: Value = serde_json::from_str(&text).unwrap();
    let joined = joined(&record, &tank).unwrap();
    let case = &joined.loaded.case;
    let outcome = simulate::run(case, &mut |_| ()).unwrap();
    let found = diary::compare(&record, joined.start, &outcome, &diary::habits(case));
    assert_eq!(found.intervals.len(), 39);
    assert_eq!(found.gaps.len(), 1);
    // It was made with 84 % of the run's gas, one slip of a reading and some noise.
    let ratio = found.totals.ratio.unwrap();
    assert!((ratio - 0.84).abs() < 0.03, "{ratio}");
}
