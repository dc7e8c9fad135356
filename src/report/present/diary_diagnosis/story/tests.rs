//! A diagnosis as it is worded.

use super::super::figures::figures;
use super::super::{key_numbers, tests as tests_table};
use super::*;
use crate::diary::diagnose::result::{Alarm, Changed, Since, WeekDay};
use crate::diary::fit::readings::What;

fn ranked(name: &str, before: f64, chance: f64, log: f64, gain: f64) -> Ranked {
    Ranked {
        name: name.into(),
        title: name.into(),
        words: String::new(),
        looks: "gas stays low".into(),
        act: String::new(),
        why: String::new(),
        before,
        chance,
        log_evidence: Some(log),
        since: None,
        evidence: vec![Evidence {
            what: What::Gas,
            readings: 5,
            against: "rival".into(),
            gain,
        }],
        changed: Vec::new(),
        week: Vec::new(),
        failed: None,
    }
}

fn diagnosis(bits: f64) -> Diagnosis {
    let names = ["leak", "meter", "cold", "held"];
    Diagnosis {
        title: String::new(),
        start_date: String::new(),
        last_day: 9.0,
        readings: 5,
        expected: None,
        alarm: None,
        stories: names.map(|n| ranked(n, 0.25, 0.1, -12.0, 0.0)).into(),
        tests: vec![TestWorth {
            name: "soap".into(),
            title: "Soap-water leak test".into(),
            how: "Brush.".into(),
            effort_min: 20.0,
            between_best_two_bits: bits,
            among_all_bits: 0.3,
            outcomes: Vec::new(),
            chances: Vec::new(),
        }],
        gas: Vec::new(),
        course: Vec::new(),
        noise: 1.0,
        usual_gas_nl: 100.0,
        runs: 0,
        failed: 0,
        seed: 1,
        notes: Vec::new(),
        source: String::new(),
        version: "",
        file: String::new(),
        sha256: String::new(),
    }
}

#[test]
fn a_test_that_tells_nothing_is_not_called_the_best() {
    let of = |bits: f64| {
        let d = diagnosis(bits);
        let best = key_numbers(&d).pop().unwrap();
        (best.label, best.value, advice(&d).join(" "))
    };
    let (label, value, words) = of(0.0016);
    assert_eq!((label.as_str(), value.as_str()), ("Best test", "none"));
    assert!(
        words.contains("No cheap test tells \"leak\" from \"meter\""),
        "{words}"
    );
    assert!(
        words.contains("Among all stories the soap-water leak test tells most"),
        "{words}"
    );
    let (label, _, words) = of(0.4);
    assert_eq!(label, "Best test: soap-water leak test");
    assert!(words.contains("The one test to do now"), "{words}");
}

#[test]
fn a_sound_record_is_told_so_and_nobody_acts_on_a_small_chance() {
    let mut d = diagnosis(0.4);
    d.stories = vec![
        ranked(SOUND, 0.4, 0.6, -10.0, 0.0),
        ranked("sour", 0.1, 0.13, -10.0, 0.0),
        ranked("leak", 0.1, 0.03, -10.0, 0.0),
    ];
    for story in &mut d.stories {
        story.words = format!("it is {}", story.name);
        story.act = "Go on.".into();
    }
    d.expected = Some(Expected {
        from_day: 1.0,
        tank_c: 35.0,
        gas_nl_d: [330.0, 510.0, 570.0],
        read_nl_d: Some(480.0),
    });
    let told = |d: &Diagnosis| (story(d, None).join(" "), advice(d).join(" "));
    let (words, acts) = told(&d);
    assert!(
        words.starts_with(
            "The tank looks well: nothing speaks of a fault. With 60 % it is nothing. What else it could be: that it is sour \
             (13 %)."
        ),
        "{words}"
    );
    assert!(
        acts.starts_with("Go on. Watch for gas that falls by a quarter")
            && !acts.contains("(sour)"),
        "{acts}"
    );
    assert!(acts.contains("Nothing has to be tested now"), "{acts}");
    // What is below a few per cent is listed nowhere, and no test is missed where none tells much.
    let rows = |d: &Diagnosis| super::super::chances(d).rows.len();
    assert_eq!(rows(&d), 2);
    d.tests[0].between_best_two_bits = 0.001;
    assert!(!told(&d).1.contains("test"), "{}", told(&d).1);
    // Each of these takes the word back.
    let open = |change: fn(&mut Diagnosis)| {
        let mut other = d.clone();
        change(&mut other);
        assert!(
            told(&other).0.contains("The record leaves it open"),
            "{other:?}"
        );
        assert_eq!(rows(&other), 3);
    };
    open(|d| d.stories[1].chance = 0.31);
    open(|d| d.noise = 1.3);
    open(|d| d.stories[0].evidence[0].gain = -1.5);
    open(|d| d.expected.as_mut().unwrap().read_nl_d = Some(300.0));
    open(|d| d.expected.as_mut().unwrap().tank_c = 14.0);
}

#[test]
fn what_began_on_the_way_is_not_each_time_the_same() {
    let mut own = ranked("meter", 0.2, 0.4, -7.0, 0.2);
    own.words = "the reading shows a wrong share of the gas, each time the same".into();
    assert!(wording(&own).ends_with(ALWAYS));
    let mut since = |chance: f64| {
        own.since = Some(Since {
            chance,
            from_day: 30.0,
            day: 31.0,
            to_day: 33.0,
        });
        wording(&own).to_owned()
    };
    assert!(since(0.3).ends_with(ALWAYS));
    assert_eq!(since(0.99), "the reading shows a wrong share of the gas");
    // The story as it is told ends like this.
    let stories = include_str!("../../../../diary/diagnose/data/stories.json");
    assert!(stories.contains(ALWAYS));
}

#[test]
fn what_speaks_is_said_once() {
    let table = super::super::chances(&diagnosis(0.4));
    let said: Vec<&str> = table.rows.iter().map(|row| row[3].as_str()).collect();
    assert!(said[0].starts_with("its chance fell"), "{said:?}");
    assert_eq!(said[1..], ["the same"; 3]);
}

#[test]
fn what_was_read_stands_beside_what_a_sound_tank_gives() {
    let told = |tank_c: f64, read_nl_d: Option<f64>| {
        let expected = Expected {
            from_day: 3.0,
            tank_c,
            gas_nl_d: [12.0, 60.0, 150.0],
            read_nl_d,
        };
        measure(&expected, 9.0, None)
    };
    let cold = told(14.2, Some(0.0));
    assert!(
        cold.contains("Over the whole record, day 3 to day 9, at 14 C on average")
            && cold.contains("about 60 norm"),
        "{cold}"
    );
    assert!(
        cold.contains("(12 to 150 in nine cases of ten); none was read. So cold"),
        "{cold}"
    );
    let warm = told(34.8, Some(41.0));
    assert!(warm.ends_with("; 41 were read on average."), "{warm}");
    assert!(told(34.8, None).ends_with("cases of ten)."));
}

#[test]
fn a_chance_that_fell_tells_the_value_that_it_needs() {
    let mut own = ranked("own", 0.2, 0.05, -14.0, 0.2);
    own.changed.push(Changed {
        name: "hydrolysis".into(),
        words: String::new(),
        value: 0.31,
        unit: "times".into(),
        place: -2.576,
        since: None,
    });
    let rival = ranked("rival", 0.2, 0.3, -10.0, 0.0);
    let words = speaks(&own, &[own.clone(), rival.clone()]);
    // 1 in 100 lies beyond 2.576 standard deviations.
    assert!(
        words.contains("(it needs hydrolysis 0.31 times, as 1 tank in 100)"),
        "{words}"
    );
    own.changed[0].place = 1.0;
    assert!(!speaks(&own, &[own.clone(), rival]).contains("it needs hydrolysis"));
}

#[test]
fn a_day_is_worded_as_surely_as_it_is_known() {
    let mut own = ranked("own", 0.2, 0.4, -7.0, 0.2);
    assert_eq!(began(&own, None), None);
    let mut told = |chance: f64, span: [f64; 3]| {
        let [from_day, day, to_day] = span;
        own.since = Some(Since {
            chance,
            from_day,
            day,
            to_day,
        });
        began(&own, None).unwrap()
    };
    assert_eq!(
        told(0.99, [30.0, 31.0, 33.0]),
        "it began on the way, about day 31, between day 30 and day 33 if it came at once, sooner if slowly"
    );
    assert_eq!(
        told(0.99, [31.0; 3]),
        "it began on the way, about day 31, give or take a day"
    );
    assert!(told(0.7, [30.0, 31.0, 33.0]).contains("rather began on the way (70 %)"));
    assert!(told(0.3, [30.0, 31.0, 33.0]).contains("from the first day on (70 %)"));
    assert_eq!(
        told(0.01, [30.0, 31.0, 33.0]),
        "it was so from the first day on"
    );
}

#[test]
fn a_chance_is_worded_by_what_moved_it() {
    let rival = ranked("rival", 0.2, 0.3, -10.0, 0.0);
    let told = |before: f64, chance: f64, log: f64| {
        let own = ranked("own", before, chance, log, 0.2);
        speaks(&own, &[own.clone(), rival.clone()])
    };
    assert!(told(0.2, 0.21, -10.0).contains("rests on what was thought before"));
    for (before, chance, log, because) in [
        (
            0.2,
            0.4,
            -7.0,
            "rose because it tells the readings with ordinary values",
        ),
        (
            0.2,
            0.4,
            -10.0,
            "rose because the record speaks against other stories",
        ),
        (
            0.2,
            0.05,
            -14.0,
            "fell because it tells the readings only with rare or finely tuned values",
        ),
        (
            0.2,
            0.1,
            -10.0,
            "fell because the record speaks more for other stories",
        ),
    ] {
        let words = told(before, chance, log);
        assert!(words.contains(because), "{words}");
        assert!(!words.contains("rests on"), "{words}");
        // What rises is told with its own look.
        let own_look = words.contains("; it would look like this: gas stays low");
        assert_eq!(own_look, chance > before, "{words}");
    }
    // The readings point against it, and still it gained.
    let own = ranked("own", 0.2, 0.4, -7.0, -1.5);
    let words = speaks(&own, &[own.clone(), rival]);
    assert!(
        words.contains("speak against it") && words.contains("; yet its chance rose because"),
        "{words}"
    );
}

#[test]
fn a_test_is_worth_a_share_of_the_doubt() {
    // Two stories as likely: 1 bit is open between them.
    let d = diagnosis(0.4);
    let best = key_numbers(&d).pop().unwrap();
    assert_eq!((best.value.as_str(), best.unit.as_str()), ("40", "%"));
    let words = advice(&d).join(" ");
    assert!(
        words.contains("settle 40 % of the doubt between \"leak\" and \"meter\""),
        "{words}"
    );
    // Of four even stories two bits are open: 0.3 is 15 %.
    assert_eq!(tests_table(&d).rows[0][1..], ["20", "40", "15"]);
}

#[test]
fn the_record_stands_beside_the_likeliest_story_with_the_day_on_which_it_began() {
    use crate::diary::diagnose::result::{CourseDay, GasRead};
    use crate::report::figure::{Layer, Plot};
    let mut d = diagnosis(0.4);
    assert!(figures(&d, None).iter().all(|f| f.id != "record"));
    d.gas = [(2.0, 4.0, 60.0), (4.0, 5.0, 10.0)]
        .map(|(from_day, day, gas_nl)| GasRead {
            from_day,
            day,
            gas_nl,
            after_lime: false,
        })
        .into();
    d.course = [2.0, 3.0, 4.0]
        .map(|day| CourseDay { day, gas_nl: 30.0 })
        .into();
    let shown = |d: &Diagnosis| {
        let mut all = figures(d, None);
        all.retain(|f| f.id == "record");
        let figure = all.pop().unwrap();
        match figure.plot {
            Plot::Panels(panels) => (figure.caption, panels),
            other => panic!("{other:?}"),
        }
    };
    let (_, panels) = shown(&d);
    assert!(panels.markers.is_empty() && panels.spans.is_empty());
    let dots = panels.panels[0].layers.iter().find_map(|l| match l {
        Layer::Dots(dots) => Some(dots.points.clone()),
        _ => None,
    });
    // 60 L over two days are 30 a day, in their middle.
    assert_eq!(dots.unwrap(), [(3.0, 30.0), (4.5, 10.0)]);
    let mut began = |chance: f64| {
        d.stories[0].since = Some(Since {
            chance,
            from_day: 3.0,
            day: 4.0,
            to_day: 5.0,
        });
        shown(&d)
    };
    let (caption, panels) = began(0.9);
    assert_eq!((panels.markers[0].x, panels.spans[0].from), (4.0, 3.0));
    assert!(caption.contains("The line marks day 4"), "{caption}");
    assert!(began(0.4).1.markers.is_empty());
}

#[test]
fn a_sour_reading_asks_to_stop_feeding_whatever_leads() {
    let calm = diagnosis(0.5);
    assert!(!advice(&calm).join(" ").contains("stop feeding"));
    for (alarm, words) in [
        (
            Alarm {
                day: 8.0,
                ph: Some(5.7),
            },
            "The pH was 5.7 on day 8",
        ),
        (Alarm { day: 8.0, ph: None }, "did not on day 8"),
    ] {
        let mut d = diagnosis(0.5);
        d.alarm = Some(alarm);
        assert!(story(&d, None)[0].contains(words), "{:?}", story(&d, None));
        assert!(
            advice(&d)[0].starts_with("First of all stop feeding"),
            "{:?}",
            advice(&d)
        );
    }
    // A run that is sour itself asks for it too.
    let mut d = diagnosis(0.5);
    d.stories[0].week = vec![WeekDay {
        ahead: 1,
        gas_nl: [0.0; 3],
        ph: [4.1, 4.3, 4.5],
        methane: [0.0; 3],
    }];
    let told = advice(&d).join(" ");
    assert!(
        told.contains("pH 4.3") && told.contains("feed nothing"),
        "{told}"
    );
}
