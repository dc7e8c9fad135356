//! The plant through a run: balances, hours, monotony, the heater's share, the calendar.

use std::path::Path;

use marshgas::case::Case;
use marshgas::plant::store::StoreSettings;
use marshgas::report::ics;
use marshgas::scenario;
use marshgas::simulate::{Outcome, run};
use marshgas::study::season::{SeasonDay, SeasonFailure, SeasonOutcome, season};
use serde_json::{Value, json};

/// The heated tote with its engine over so many days.
fn case(days: u32, change: impl FnOnce(&mut Value)) -> Case {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/winter-engine.json");
    let mut scenario: Value =
        serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    scenario["days"] = json!(days);
    change(&mut scenario);
    scenario::from_value(&scenario, "season.json", None)
        .unwrap()
        .case
}

fn outcome(case: &Case) -> Outcome {
    run(case, &mut |_| {}).unwrap()
}

fn served(season: &SeasonOutcome) -> f64 {
    season.days.iter().map(|d| d.served_h).sum()
}

#[test]
fn every_balance_closes_and_every_wanted_hour_has_its_fate() {
    let case = case(150, |_| {});
    let run = outcome(&case);
    let season = season(&case, &run).unwrap();
    let names: Vec<&str> = season
        .closures
        .iter()
        .map(|c| c.quantity.as_str())
        .collect();
    for part in [
        "gas", "methane", "mass", "carbon", "sulphur", "water", "energy",
    ] {
        assert!(
            names.iter().any(|n| n.starts_with(part)),
            "{part} in {names:?}"
        );
    }
    for c in &season.closures {
        assert!(c.entered > 0.0 && c.relative_gap < 1e-9, "{c:?}");
    }
    assert_eq!(season.days.len(), 150);
    for d in &season.days {
        let fates = d.served_h + d.short_h + d.no_flame_h + d.refused_h;
        assert!((fates - d.wanted_h).abs() < 1e-9, "{d:?}");
        assert!((0.0..=1.0).contains(&d.store_share), "{d:?}");
        // An hour and a quarter of the stove and half an hour of the engine, every day.
        assert!((d.wanted_h - 1.75).abs() < 1e-9, "{d:?}");
    }
    // The run's own rows are what enters.
    let rows: f64 = run.plant.iter().map(|r| r.gas_nl).sum();
    let made: f64 = season.days.iter().map(|d| d.made_nl).sum();
    assert!((rows - made).abs() < 1e-9 * rows);
    // Months hold what the days hold.
    let months: f64 = season.months.iter().map(|m| m.served_h).sum();
    assert!((months - served(&season)).abs() < 1e-6);
    assert!(served(&season) > 0.0);
    // What heat and current the uses give is less than the fuel they draw.
    for d in &season.days {
        assert!(d.heat_kwh + d.electric_kwh <= d.used_kwh + 1e-9, "{d:?}");
        assert!(d.engine_heat_kwh <= d.heat_kwh + 1e-12, "{d:?}");
    }
    // The stove heats pots, and only the engine heats from its waste.
    let sum = |f: fn(&SeasonDay) -> f64| season.days.iter().map(f).sum::<f64>();
    let line = |name: &str| -> f64 {
        let lines = season.uses.iter().filter(|u| u.appliance == name);
        lines.map(|u| u.served.heat_kwh).sum()
    };
    assert!((sum(|d| d.engine_heat_kwh) - line("generator")).abs() < 1e-9);
    assert!(line("stove") > 0.0 && line("generator") > 0.0);
}

#[test]
fn a_bigger_bell_never_serves_fewer_hours() {
    let case = case(120, |_| {});
    let run = outcome(&case);
    let with = |diameter: f64| {
        let mut case = case.clone();
        let plant = case.plant.as_mut().unwrap();
        let StoreSettings::Bell(bell) = &mut plant.store else {
            panic!("a bell");
        };
        // The same pressure: ballast goes with the area.
        let share = (diameter / bell.diameter_cm).powi(2);
        bell.ballast_kg *= share;
        bell.diameter_cm = diameter;
        season(&case, &run).unwrap()
    };
    let mut before: Option<SeasonOutcome> = None;
    for diameter in [40.0, 60.0, 90.0, 140.0] {
        let now = with(diameter);
        if let Some(before) = &before {
            assert!(served(&now) >= served(before) - 1e-9, "{diameter}");
            // While the first gas holds air none is used or burnt, and a bigger bell is rinsed more slowly: what it lets
            // go then follows no order. It does once both burn theirs and have had a day to draw down what stood full.
            let lit = |s: &SeasonOutcome| s.days.iter().rposition(|d| d.no_flame_h > 0.0);
            let from = lit(&now).max(lit(before)).map_or(0, |last| last + 2);
            assert!(from < 10, "{diameter}: {from}");
            let over =
                |s: &SeasonOutcome| s.days[from..].iter().map(|d| d.overflow_nl).sum::<f64>();
            assert!(over(&now) <= over(before) + 1e-6, "{diameter}");
        }
        before = Some(now);
    }
}

#[test]
fn three_equal_units_are_three_times_one() {
    // Beds, flows of the uses and store of the right size for each: what is served is the same, what flows is threefold.
    let with = |units: u32| {
        let times = f64::from(units);
        let case = case(120, |s| {
            let plant = &mut s["plant"];
            plant["units"] = json!(units);
            plant["cleaning"][1]["iron"]["mass_kg"] = json!(2.0 * times);
            plant["cleaning"][2]["lime"]["mass_kg"] = json!(10.0 * times);
            plant["store"] = json!({"bag": {"volume_l": 900.0 * times, "area_m2": 6.0 * times}});
            plant["appliances"]["stove"]["burner"]["power_kw"] = json!(1.5 * times);
            plant["appliances"]["generator"]["engine"]["rated_kw"] = json!(0.7 * times);
            plant["flare"] = json!({"power_kw": 3.0 * times});
        });
        (season(&case, &outcome(&case)).unwrap(), case)
    };
    let ((one, _), (three, case)) = (with(1), with(3));
    assert_eq!((one.units, three.units), (1, 3));
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-7 * (1.0 + b.abs());
    for (a, b) in three.days.iter().zip(&one.days) {
        for (of, f) in [
            ("made", (|d| d.made_nl) as fn(&SeasonDay) -> f64),
            ("heater", |d| d.heater_kwh),
            ("heater short", |d| d.heater_short_kwh),
            ("cleaned", |d| d.cleaned_nl),
            ("used", |d| d.used_nl),
            ("overflow", |d| d.overflow_nl),
            ("seeped", |d| d.seeped_nl),
            ("flared", |d| d.flared_ch4_nl),
            ("heat", |d| d.heat_kwh),
            ("current", |d| d.electric_kwh),
            ("residue", |d| d.residue_l),
            ("feed", |d| d.fed_kg),
        ] {
            assert!(near(f(a), 3.0 * f(b)), "{of}: {} {}", f(a), f(b));
        }
        assert!(
            near(a.served_h, b.served_h) && near(a.short_h, b.short_h),
            "{a:?} {b:?}"
        );
        assert!(near(a.liquor_c, b.liquor_c) && near(a.store_share, b.store_share));
    }
    for c in &three.closures {
        assert!(c.relative_gap < 1e-9, "{c:?}");
    }
    let (r3, r1) = (three.residue.unwrap(), one.residue.unwrap());
    assert!(near(r3.litres, 3.0 * r1.litres) && near(r3.nitrogen_kg, 3.0 * r1.nitrogen_kg));
    assert!(near(r3.nitrogen_g_l, r1.nitrogen_g_l));
    assert!(near(three.wasted.ch4_kg, 3.0 * one.wasted.ch4_kg));
    assert!(near(three.wasted.share, one.wasted.share));
    // The chores tell the feed of each and of all.
    let fed: Vec<_> = three
        .chores
        .iter()
        .filter(|c| c.title.starts_with("Feed "))
        .collect();
    let last = fed.last().unwrap();
    assert!(last.title.ends_with("to each of 3 tanks"), "{}", last.title);
    let numbers = |text: &str| -> Vec<f64> {
        let words = text.split_whitespace();
        words.filter_map(|w| w.parse().ok()).take(2).collect()
    };
    let (each, all) = (numbers(&last.title), numbers(&last.detail));
    // Told to a tenth and to a whole.
    for (each, all) in each.iter().zip(&all) {
        assert!((3.0 * each - all).abs() < 0.66, "{each} {all}");
    }
    assert!(
        each.len() == 2 && last.detail.contains("in all."),
        "{}",
        last.detail
    );
    let fed: f64 = case
        .doses
        .iter()
        .map(|d| d.water_kg + d.parts.iter().map(|p| p.1).sum::<f64>())
        .sum();
    let told: f64 = three.days.iter().map(|d| d.fed_kg).sum();
    assert!(near(told, 3.0 * fed));
    assert!(
        three
            .chores
            .iter()
            .any(|c| c.title == "Read the pH of every tank")
    );
}

#[test]
fn the_tightest_month_is_that_with_most_of_its_hours_unserved() {
    let case = case(395, |s| {
        s["vessels"][0]["temperature"] = json!({"constant_c": 30});
        s["plant"]["timetable"] = json!([
            {"appliance": "stove", "from_h": 18, "hours": 2},
            {"appliance": "stove", "from_h": 8, "hours": 9, "months": ["august"]}
        ]);
    });
    let run = outcome(&case);
    let found = season(&case, &run).unwrap();
    assert_eq!(found.tightest.as_deref(), Some("2026-08"));
    let august = found.months.iter().find(|m| m.name == "2026-08").unwrap();
    assert!(
        august.wanted_h > 300.0 && august.served_h < 0.9 * august.wanted_h,
        "{august:?}"
    );
    // Nothing wanted, nothing tight.
    let mut idle = case.clone();
    idle.plant.as_mut().unwrap().demands.clear();
    assert_eq!(season(&idle, &run).unwrap().tightest, None);
}

#[test]
fn the_cleaning_counts_a_year_without_its_run_in() {
    let case = case(395, |s| {
        s["vessels"][0]["temperature"] = json!({"constant_c": 30});
    });
    let found = season(&case, &outcome(&case)).unwrap();
    assert_eq!(found.stages_days, 365);
    for stage in &found.stages[1..] {
        // Fillings spent in the last year by their dates, against the year's rate: at most one apart, the one on its way.
        let spent = stage.breakthrough_d.iter().filter(|d| **d >= 30.0).count() as f64;
        let rate = stage.changes_per_year * 365.0 / 365.25;
        assert!(
            (spent - rate).abs() <= 1.0,
            "{}: {spent} {rate}",
            stage.name
        );
        assert!(stage.breakthrough_d.len() as f64 <= stage.fillings_spent + 1e-9);
    }
    // A bed that is never refilled hangs on what went before: the whole run stands.
    let mut kept = case;
    if let marshgas::plant::cleaning::Stage::Bed(bed) =
        &mut kept.plant.as_mut().unwrap().cleaning[1]
    {
        bed.refill = marshgas::plant::cleaning::Refill::Never;
    }
    let found = season(&kept, &outcome(&kept)).unwrap();
    assert_eq!(found.stages_days, 395);
}

#[test]
fn a_longer_run_is_told_by_its_last_year() {
    let case = case(395, |s| {
        s["vessels"][0]["temperature"] = json!({"constant_c": 30});
    });
    let run = outcome(&case);
    let found = season(&case, &run).unwrap();
    assert_eq!(found.counted_from, 30);
    let sum = |days: &[SeasonDay], f: fn(&SeasonDay) -> f64| days.iter().map(f).sum::<f64>();
    let year = &found.days[30..];
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs());
    let lines = |f: fn(&marshgas::plant::uses::Served) -> f64| {
        found.uses.iter().map(|u| f(&u.served)).sum::<f64>()
    };
    assert!(near(lines(|s| s.served_h), sum(year, |d| d.served_h)));
    assert!(near(lines(|s| s.heat_kwh), sum(year, |d| d.heat_kwh)));
    assert!(lines(|s| s.wanted_h) < 0.95 * sum(&found.days, |d| d.wanted_h));
    let hours: u32 = year.iter().map(|d| d.overflow_hours).sum();
    assert_eq!(found.overflow_hours, hours as usize);
    let flared: f64 = sum(year, |d| d.flared_ch4_nl);
    // 0.7168 kg/m3: molar mass over molar volume.
    assert!(
        (found.wasted.flared_ch4_kg - 0.7157e-3 * flared).abs()
            < 2e-3 * found.wasted.flared_ch4_kg.max(1e-6)
    );
    // What went in is what comes out, but for the gas, a kilogram and a quarter a cubic metre.
    let residue = found.residue.as_ref().unwrap();
    let out = sum(year, |d| d.fed_kg) - 1.25e-3 * sum(year, |d| d.made_nl);
    assert!(
        (residue.litres / out - 1.0).abs() < 0.01,
        "{} {out}",
        residue.litres
    );
    // Whose whole run is no longer than a year counts all of it.
    let short = self::case(150, |_| {});
    assert_eq!(season(&short, &outcome(&short)).unwrap().counted_from, 0);
}

#[test]
fn months_of_a_growing_feed_are_start_up_and_not_tight() {
    let case = case(395, |_| {});
    let found = season(&case, &outcome(&case)).unwrap();
    // It is fed little until May.
    assert_eq!(found.start_up, ["2026-02", "2026-03", "2026-04"]);
    let tightest = found.tightest.unwrap();
    assert!(
        ["2026-12", "2027-01", "2027-02"].contains(&tightest.as_str()),
        "{tightest}"
    );
}

/// What the chores say of the feed: day and title.
fn feeds(case: &Case) -> Vec<(u32, String)> {
    let found = season(case, &outcome(case)).unwrap();
    let feeds = found
        .chores
        .into_iter()
        .filter(|c| c.id.starts_with("feeding"));
    feeds.map(|c| (c.day, c.title)).collect()
}

#[test]
fn a_step_of_the_feed_is_told_on_its_day_and_by_its_kilograms() {
    let line = |from: u32, to: u32, kg: f64, every: u32| {
        json!({"daily": {
            "recipe": "bucket", "amount": kg, "from_day": from, "to_day": to, "every_days": every,
        }})
    };
    let fed = |lines: Value| {
        case(90, |s| {
            s["vessels"][0]["temperature"] = json!({"constant_c": 33});
            s["recipes"] = json!({"bucket": {
                "materials": [{"material": "kitchen-scraps", "kg": 1.0}], "water_l": 2.0,
            }});
            s["feeding"] = lines;
        })
    };
    let steps = feeds(&fed(json!([
        line(0, 20, 2.0, 1),
        line(21, 50, 4.0, 1),
        line(51, 60, 3.0, 1)
    ])));
    assert_eq!(
        steps,
        [
            (0, "Feed 2.0 kg and 4.0 L of water a day".to_owned()),
            (21, "Feed 4.0 kg and 8.0 L of water a day".to_owned()),
            (51, "Feed 3.0 kg and 6.0 L of water a day".to_owned()),
            (61, "Stop feeding".to_owned()),
        ]
    );
    let rare = feeds(&fed(json!([line(0, 40, 6.0, 3), line(42, 89, 9.0, 3)])));
    assert_eq!(
        rare,
        [
            (0, "Feed 6.0 kg and 12 L of water every 3 days".to_owned()),
            (42, "Feed 9.0 kg and 18 L of water every 3 days".to_owned()),
        ]
    );
}

#[test]
fn gas_that_heats_the_tank_is_gone_for_the_uses() {
    let case = case(120, |_| {});
    let mut run = outcome(&case);
    let own = season(&case, &run).unwrap();
    for vessel in &mut run.vessels {
        vessel.heat = None;
    }
    let bought = season(&case, &run).unwrap();
    let heater: f64 = own.days.iter().map(|d| d.heater_nl).sum();
    assert!(heater > 0.0);
    assert!(bought.days.iter().all(|d| d.heater_nl == 0.0));
    for (a, b) in own.days.iter().zip(&bought.days) {
        assert_eq!(a.made_nl, b.made_nl);
        assert!(a.cleaned_nl <= b.cleaned_nl + 1e-9);
    }
    // Never more than there is; what is lacking is told.
    for d in &own.days {
        assert!(d.heater_kwh <= d.made_kwh + 1e-9 && d.heater_short_kwh >= -1e-9);
    }
}

#[test]
fn gas_that_flows_back_is_carried_to_the_days_that_have_it() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/cold-yard.json");
    let case = scenario::load(&file).unwrap().case;
    let mut run = outcome(&case);
    // A cold night draws gas back into the headspace: more than the run itself ever shows.
    for vessel in &mut run.vessels {
        let gas = vessel.days[100].gas_nl;
        vessel.days[100].ch4_nl = -0.3 * gas;
        vessel.days[100].gas_nl = -0.5 * gas;
    }
    run.plant = run.vessels[0].days.clone();
    let season = season(&case, &run).unwrap();
    assert_eq!(season.days[100].made_nl, 0.0);
    assert!(
        season
            .days
            .iter()
            .all(|d| d.made_nl >= 0.0 && d.used_nl >= 0.0)
    );
    for c in &season.closures {
        assert!(c.relative_gap < 1e-9, "{c:?}");
    }
}

#[test]
fn the_winter_is_the_coldest_three_months() {
    let case = case(395, |s| {
        // The plant alone is looked at: a held temperature is enough, and quick.
        s["vessels"][0]["temperature"] = json!({"constant_c": 30});
        s["start_date"] = json!("2026-04-01");
    });
    let season = season(&case, &outcome(&case)).unwrap();
    let winter = season.winter.unwrap();
    // Hottest on day 203: coldest half a year off, around 20 January.
    assert_eq!(winter.name, "winter");
    assert!(
        season
            .months
            .iter()
            .any(|m| m.name == "2026-12" && m.from_day == winter.from_day)
    );
    assert_eq!(winter.days, 31 + 31 + 28);
    assert!(winter.line_c < season.rest.unwrap().line_c);
    assert_eq!(
        (season.winter_week.len(), season.summer_week.len()),
        (168, 168)
    );
}

#[test]
fn the_months_of_the_start_up_stand_for_no_other_season() {
    let case = case(395, |_| {});
    let season = marshgas::study::season::season(&case, &outcome(&case)).unwrap();
    let start = &season.start_up;
    assert!(!start.is_empty() && start.len() < season.months.len());
    let at = start.len();
    assert!(
        season.months[..at]
            .iter()
            .zip(start)
            .all(|(m, s)| m.name == *s)
    );
    // The gas of what is left is that of a risen digester.
    let rest = season.rest.unwrap();
    let least = |months: &[marshgas::study::season::Season]| {
        months
            .iter()
            .map(|m| m.made_nl_d)
            .fold(f64::INFINITY, f64::min)
    };
    assert!(least(&season.months[..at]) < least(&season.months[at..]));
    assert!(rest.from_day >= season.months[at].from_day);
    // The plant of the scenario stands in a frost.
    let frost = season.frost.unwrap();
    assert!(frost.coldest_c < 0.0 && frost.days > 0);
    assert!(frost.freezes.iter().any(|part| part.contains("trap")));
    assert!(frost.freezes.iter().any(|part| part.contains("pipes")));
    // The nights are those of the last year: the first thirty days, all of frost, stand before it.
    let nights: u32 = season.months.iter().map(|m| m.frost_days).sum();
    let year = season.days[30..].iter().filter(|d| d.line_low_c < 0.0);
    assert_eq!(frost.days, year.count());
    assert_eq!(nights as usize, frost.days + 30);
    assert!(frost.from_day < frost.to_day);
    // By hand: mean 10 C, 9 K over the year and 4 K over the day fall to -3 C.
    assert!((frost.coldest_c + 3.0).abs() < 0.1, "{}", frost.coldest_c);
    // Each winter of the run is told of once.
    let told: Vec<_> = (season.chores.iter())
        .filter(|c| c.id.starts_with("winter-frost"))
        .collect();
    assert!(told.iter().all(|c| c.detail.contains("brine")));
    assert!(
        told.len() == 2 && told[1].day - told[0].day > 200,
        "{told:?}"
    );
}

#[test]
fn a_rested_tank_begins_slowly_and_nothing_is_lit_before_the_gas_burns() {
    let case = case(120, |s| {
        s["vessels"][0]["temperature"] = json!({"constant_c": 33});
        s["feeding"] = json!([
            {"daily": {"recipe": "daily-bucket", "from_day": 0}},
            {"pause": {"from_day": 40, "to_day": 79}},
        ]);
        s["plant"]["timetable"] = json!([
            {"appliance": "stove", "from_h": 18, "hours": 1, "months": ["feb", "mar", "apr"]},
        ]);
    });
    let found = season(&case, &outcome(&case)).unwrap();
    let feeds: Vec<_> = (found.chores.iter())
        .filter(|c| c.id.starts_with("feeding"))
        .collect();
    let titles: Vec<&str> = feeds.iter().map(|c| c.title.as_str()).collect();
    assert_eq!(feeds.iter().map(|c| c.day).collect::<Vec<_>>(), [0, 40, 80]);
    assert!(titles[0].starts_with("Feed 6.0 kg and 6.0 L"), "{titles:?}");
    assert_eq!(titles[1], "Stop feeding");
    assert!(
        titles[2].starts_with("Begin again, slowly, up to 6.0 kg"),
        "{titles:?}"
    );
    assert!(feeds[2].detail.contains("by its pH"));
    let first = found.days.iter().find(|d| d.served_h > 0.0).unwrap().day;
    assert!(first > 0 && found.days[0].no_flame_h > 0.0, "{first}");
    for id in ["use-first-light", "use-line-1"] {
        let chore = found.chores.iter().find(|c| c.id.starts_with(id)).unwrap();
        assert_eq!(chore.day, first, "{chore:?}");
    }
}

#[test]
fn a_winter_that_the_end_of_the_run_cuts_short_is_that_of_the_year_before() {
    // From July to the middle of February in the second year after: the last winter has two whole months.
    let case = case(594, |s| {
        s["start_date"] = json!("2025-07-01");
        s["vessels"][0]["temperature"] = json!({"constant_c": 33});
    });
    let found = season(&case, &outcome(&case)).unwrap();
    let winter = found.winter.unwrap();
    let name = |day: u32| {
        let months = found.months.iter();
        months
            .filter(|m| m.from_day == day)
            .map(|m| m.name.clone())
            .next()
    };
    assert_eq!(name(winter.from_day).as_deref(), Some("2025-12"));
    assert_eq!(winter.days, 90);
}

#[test]
fn only_engines_are_told_of_carbon_dioxide_and_by_their_own_limit() {
    let told = |engine: bool| {
        let case = case(40, |scenario| {
            let plant = &mut scenario["plant"];
            plant["cleaning"] = json!([]);
            if !engine {
                plant["appliances"]
                    .as_object_mut()
                    .unwrap()
                    .shift_remove("generator");
                plant["timetable"]
                    .as_array_mut()
                    .unwrap()
                    .retain(|d| d["appliance"] != "generator");
            }
        });
        let season = marshgas::study::season::season(&case, &outcome(&case)).unwrap();
        season.warnings.join(" ")
    };
    assert!(!told(false).contains("carbon dioxide"), "{}", told(false));
    let with = told(true);
    assert!(
        with.contains("generator") && with.contains("refuses above 45 %"),
        "{with}"
    );
    assert!(
        with.starts_with("The gas holds") || with.contains(" The gas holds"),
        "{with}"
    );
}

#[test]
fn without_a_plant_it_says_how_to_add_one() {
    let case = case(20, |s| {
        s.as_object_mut().unwrap().shift_remove("plant");
    });
    let failure = season(&case, &outcome(&case)).unwrap_err();
    assert!(matches!(failure, SeasonFailure::NoPlant));
    assert!(
        failure.to_string().contains("\"plant\": { \"store\""),
        "{failure}"
    );
}

#[test]
fn every_ready_plant_closes_from_the_feed_to_the_flame() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut plants = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let file = entry.unwrap().path();
        if file.extension().is_none_or(|e| e != "json") {
            continue;
        }
        let case = scenario::load(&file).unwrap().case;
        if case.plant.is_none() {
            continue;
        }
        let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
        let run = outcome(&case);
        let season = season(&case, &run).unwrap();
        // From the feed to the gas, then from the gas to the flame.
        for (of, parts) in [
            (
                &run.closures,
                &["carbon", "nitrogen", "sulphur", "volume", "heat"][..],
            ),
            (
                &season.closures,
                &["mass", "carbon", "sulphur", "water", "energy"][..],
            ),
        ] {
            for part in parts {
                let found = of.iter().find(|c| c.quantity.to_lowercase().contains(part));
                let c = found.unwrap_or_else(|| panic!("{name}: no {part} in {of:?}"));
                assert!(c.entered != 0.0 && c.relative_gap < 1e-6, "{name}: {c:?}");
            }
        }
        plants.push(name);
    }
    plants.sort();
    assert_eq!(plants, ["cold-yard", "winter-engine"]);
}

/// Lines of a calendar, unfolded.
fn unfolded(text: &str) -> Vec<String> {
    assert!(text.ends_with("\r\n") && !text.replace("\r\n", "").contains(['\r', '\n']));
    for line in text.split("\r\n") {
        assert!(line.len() <= 75, "{line}");
    }
    text.replace("\r\n ", "")
        .lines()
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_calendar_keeps_to_its_standard() {
    let case = case(120, |_| {});
    let run = outcome(&case);
    let season = season(&case, &run).unwrap();
    let text = ics(&season).unwrap();
    let lines = unfolded(&text);
    assert_eq!(lines[0], "BEGIN:VCALENDAR");
    assert_eq!(lines.last().unwrap(), "END:VCALENDAR");
    for head in ["VERSION:2.0", "PRODID:"] {
        assert_eq!(lines.iter().filter(|l| l.starts_with(head)).count(), 1);
    }
    let events: Vec<&[String]> = lines
        .split(|l| l == "BEGIN:VEVENT")
        .skip(1)
        .map(|e| e.split(|l| l == "END:VEVENT").next().unwrap())
        .collect();
    assert_eq!(events.len(), season.chores.len());
    let mut uids = Vec::new();
    for event in &events {
        for key in ["UID:", "DTSTAMP:", "DTSTART;VALUE=DATE:", "SUMMARY:"] {
            let found = event.iter().filter(|l| l.starts_with(key)).count();
            assert_eq!(found, 1, "{key} in {event:?}");
        }
        let start = event
            .iter()
            .find_map(|l| l.strip_prefix("DTSTART;VALUE=DATE:"))
            .unwrap();
        assert!(
            start.len() == 8 && start.bytes().all(|b| b.is_ascii_digit()),
            "{start}"
        );
        assert!(event.iter().all(|l| l.contains(':')));
        uids.push(
            event
                .iter()
                .find(|l| l.starts_with("UID:"))
                .unwrap()
                .clone(),
        );
    }
    let all = uids.len();
    uids.sort();
    uids.dedup();
    assert_eq!(uids.len(), all, "names of events are single");
    for words in [
        "RRULE:FREQ=WEEKLY",
        "RRULE:FREQ=MONTHLY",
        "Empty the water trap",
        "Leak test",
        "pH",
        "Feed ",
        "SUMMARY:Change the",
    ] {
        assert!(lines.iter().any(|l| l.contains(words)), "{words}");
    }
    // The same season gives the same bytes; none without a date.
    assert_eq!(ics(&season), Some(text));
    let undated = SeasonOutcome {
        start_date: None,
        ..season
    };
    assert_eq!(ics(&undated), None);
}
