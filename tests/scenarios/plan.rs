//! The feeding plan: which doses come out, and what is refused.

use marshgas::case::{Additive, Dose};
use serde_json::{Value, json};

use crate::support::{complaint, complaints, loaded, warnings};

fn doses(feeding: Value) -> Vec<Dose> {
    loaded(&[("feeding", feeding)]).case.doses
}

/// (day, kg of the first part) of each dose, both rounded.
fn times(feeding: Value) -> Vec<(f64, f64)> {
    let round = |x: f64| (x * 1e6).round() / 1e6;
    doses(feeding)
        .iter()
        .map(|d| (round(d.day), d.parts.first().map_or(0.0, |p| round(p.1))))
        .collect()
}

const EIGHT: f64 = 0.333_333;

#[test]
fn every_day_to_the_end_at_eight() {
    let doses = doses(json!([{"daily": {"recipe": "bucket", "from_day": 97}}]));
    let days: Vec<f64> = doses.iter().map(|d| d.day).collect();
    let expected: Vec<f64> = (97..100).map(|day| f64::from(day) + 8.0 / 24.0).collect();
    assert_eq!(days, expected);
    assert_eq!(doses[0].water_kg, 4.0);
    assert_eq!(
        doses[0].parts.iter().map(|p| p.1).collect::<Vec<_>>(),
        [2.0, 1.0]
    );
}

#[test]
fn every_third_day_both_ends_included() {
    let feeding = json!([
        {"daily": {"recipe": "bucket", "from_day": 10, "to_day": 19, "every_days": 3, "hour": 18, "amount": 2}}
    ]);
    assert_eq!(
        times(feeding),
        [(10.75, 4.0), (13.75, 4.0), (16.75, 4.0), (19.75, 4.0)]
    );
}

#[test]
fn a_ramp_climbs_and_stays() {
    let feeding = json!([
        {"daily": {"recipe": "bucket", "from_day": 0, "to_day": 6, "hour": 0,
                   "ramp": {"from": 0.5, "to": 1.5, "over_days": 4}}}
    ]);
    let kg: Vec<f64> = times(feeding).iter().map(|t| t.1).collect();
    assert_eq!(kg, [1.0, 1.5, 2.0, 2.5, 3.0, 3.0, 3.0]);
}

#[test]
fn a_ramp_from_nothing_begins_with_no_dose() {
    let feeding = json!([
        {"daily": {"recipe": "bucket", "from_day": 5, "to_day": 7, "hour": 0,
                   "ramp": {"from": 0, "to": 1, "over_days": 2}}}
    ]);
    assert_eq!(times(feeding), [(6.0, 1.0), (7.0, 2.0)]);
}

#[test]
fn a_pause_holds_back_daily_feeding_only() {
    let feeding = json!([
        {"daily": {"recipe": "bucket", "from_day": 0, "to_day": 5}},
        {"pause": {"from_day": 2, "to_day": 4}},
        {"on": {"recipe": "bucket", "days": [3], "amount": 5}}
    ]);
    assert_eq!(
        times(feeding.clone()),
        [
            (EIGHT, 2.0),
            (1.0 + EIGHT, 2.0),
            (3.0 + EIGHT, 10.0),
            (5.0 + EIGHT, 2.0)
        ]
    );
    assert!(
        warnings(&[("feeding", feeding)])
            .contains(&"feeding[2].on: Day 3 is fed although it lies in a pause.".to_owned())
    );
}

#[test]
fn a_pause_does_not_shift_the_rhythm() {
    let feeding = json!([
        {"daily": {"recipe": "bucket", "from_day": 0, "to_day": 8, "every_days": 2, "hour": 0}},
        {"pause": {"from_day": 3, "to_day": 5}}
    ]);
    assert_eq!(
        times(feeding),
        [(0.0, 2.0), (2.0, 2.0), (6.0, 2.0), (8.0, 2.0)]
    );
}

#[test]
fn dates_count_from_the_start_date() {
    // 2026-03-01 is day 0; March has 31 days, April 30.
    let feeding =
        json!([{"on": {"recipe": "bucket", "dates": ["2026-05-01", "2026-03-01"], "hour": 0}}]);
    assert_eq!(times(feeding), [(0.0, 2.0), (61.0, 2.0)]);
}

#[test]
fn doses_of_the_same_moment_are_one() {
    let doses = doses(json!([
        {"dose": {"days": [3, 9], "bicarbonate_g": 500, "lime_g": 20, "water_l": 2}},
        {"daily": {"recipe": "bucket", "from_day": 3, "to_day": 3}},
        {"on": {"recipe": "bucket", "days": [3], "amount": 0.5}},
        {"dose": {"days": [3], "bicarbonate_g": 100}}
    ]));
    assert_eq!(doses.len(), 2);
    assert_eq!(
        doses[0].parts.iter().map(|p| p.1).collect::<Vec<_>>(),
        [3.0, 1.5]
    );
    assert_eq!(doses[0].water_kg, 8.0);
    let close = |found: &[(Additive, f64)], expected: &[(Additive, f64)]| {
        found.len() == expected.len()
            && found
                .iter()
                .zip(expected)
                .all(|(f, e)| f.0 == e.0 && (f.1 - e.1).abs() < 1e-12)
    };
    assert!(close(
        &doses[0].additives,
        &[(Additive::Bicarbonate, 0.6), (Additive::Lime, 0.02)]
    ));
    assert!(doses[1].parts.is_empty());
}

#[test]
fn doses_are_sorted_whatever_the_order_of_the_lines() {
    let days: Vec<f64> = doses(json!([
        {"on": {"recipe": "bucket", "days": [50, 5], "hour": 20}},
        {"daily": {"recipe": "bucket", "from_day": 0, "every_days": 7}}
    ]))
    .iter()
    .map(|d| d.day)
    .collect();
    assert!(days.windows(2).all(|pair| pair[0] < pair[1]), "{days:?}");
    assert_eq!(days.len(), 17);
}

#[test]
fn feeding_outside_the_run_is_refused() {
    assert_eq!(
        complaints(&[(
            "feeding",
            json!([
                {"daily": {"recipe": "bucket", "from_day": 100}},
                {"daily": {"recipe": "bucket", "from_day": 10, "to_day": 120}},
                {"on": {"recipe": "bucket", "days": [-1, 50, 300]}},
                {"on": {"recipe": "bucket", "dates": ["2026-02-28", "2026-06-09"]}}
            ])
        )]),
        [
            "feeding[0].daily.from_day is 100. The run has 100 days, so its last day is day 99. Choose an earlier day \
             or lengthen \"days\".",
            "feeding[1].daily.to_day is 120. The run has 100 days, so its last day is day 99. Choose an earlier day \
             or lengthen \"days\".",
            "feeding[2].on.days[0] is -1. Days are counted from 0, and nothing can be fed before the start or after \
             the end. Allowed: whole numbers from 0 to 7299.",
            "feeding[2].on.days[2] is 300. The run has 100 days, so its last day is day 99. Choose an earlier day or \
             lengthen \"days\".",
            "feeding[3].on.dates[0] is \"2026-02-28\". That date lies before the start of the run. Choose a later \
             date, or begin earlier.",
            "feeding[3].on.dates[1] is 100. The run has 100 days, so its last day is day 99. Choose an earlier day or \
             lengthen \"days\".",
        ]
    );
}

#[test]
fn dates_need_a_start() {
    assert_eq!(
        complaint(&[
            ("start_date", json!(null)),
            (
                "feeding",
                json!([{"on": {"recipe": "bucket", "dates": ["2026-05-01"]}}])
            ),
        ]),
        "feeding[0].on.dates[0]: Dates and days of the year need to know when the run begins. Add \"start_date\" at \
         the top of the scenario, such as \"2026-03-01\"."
    );
    assert_eq!(
        complaint(&[(
            "feeding",
            json!([{"on": {"recipe": "bucket", "dates": ["May"]}}])
        )]),
        "feeding[0].on.dates[0] is \"May\". This is no date of the calendar. Write year, month and day as \
         \"2026-03-01\"."
    );
}

#[test]
fn what_a_line_must_hold() {
    let line = |line: Value| complaint(&[("feeding", json!([line]))]);
    assert_eq!(
        line(json!({"daily": {"recipe": "bucket"}})),
        "feeding[0].daily.from_day: This key is missing. Give the first day of feeding, counted from 0."
    );
    assert_eq!(
        line(json!({"daily": {"from_day": 3}})),
        "feeding[0].daily.recipe: This key is missing. Name a recipe of this scenario."
    );
    assert_eq!(
        line(json!({"daily": {"recipe": "buckets", "from_day": 3}})),
        "feeding[0].daily.recipe is \"buckets\". There is no recipe of that name. Allowed: bucket. Did you mean \
         \"bucket\"?"
    );
    assert_eq!(
        line(json!({"on": {"recipe": "bucket"}})),
        "feeding[0].on.days: This key is missing. Give \"days\" or \"dates\" in [ ]."
    );
    assert_eq!(
        line(json!({"dose": {"days": [1]}})),
        "feeding[0].dose: This dose is empty. Give \"water_l\", \"bicarbonate_g\" or \"lime_g\"."
    );
    assert_eq!(
        line(json!({"pause": {"from_day": 3}})),
        "feeding[0].pause.to_day: This key is missing. Give a day, counted from 0."
    );
    assert_eq!(
        line(json!({"pause": {"from_day": 30, "to_day": 20}})),
        "feeding[0].pause.to_day is 20. The last day lies before the first, day 30. Exchange them."
    );
    assert_eq!(
        line(json!({"daily": {"recipe": "bucket", "from_day": 30, "to_day": 20}})),
        "feeding[0].daily.to_day is 20. The last day lies before the first, day 30. Exchange them."
    );
    assert_eq!(
        line(
            json!({"daily": {"recipe": "bucket", "from_day": 3, "amount": 1,
                              "ramp": {"from": 0, "to": 1, "over_days": 5}}})
        ),
        "feeding[0].daily.ramp: \"amount\" and \"ramp\" say the same thing twice. Keep one of the two."
    );
    assert_eq!(
        line(json!({"daily": {"recipe": "bucket", "from_day": 3, "ramp": {"from": 0, "to": 1}}})),
        "feeding[0].daily.ramp.over_days: This key is missing. Give a number: 1 to 7300 days."
    );
}

#[test]
fn a_dose_larger_than_the_vessel_is_refused() {
    assert_eq!(
        complaint(&[("feeding[0].daily.amount", json!(200))]),
        "feeding[0].daily is a dose of 1400 L. The first vessel holds only 800 L of liquid. Feed less at a time. One \
         kilogram counts as one litre."
    );
}

#[test]
fn a_plan_without_end_is_refused() {
    let lines: Vec<Value> = (0..300)
        .map(|i| json!({"daily": {"recipe": "bucket", "from_day": 0, "hour": f64::from(i) * 0.07}}))
        .collect();
    assert_eq!(
        complaint(&[("feeding", json!(lines))]),
        "feeding: The plan makes more than 20000 doses. Feed less often, or shorten the run."
    );
}

#[test]
fn no_feeding_at_all() {
    let loaded = loaded(&[("feeding", json!(null)), ("recipes", json!(null))]);
    assert!(loaded.case.doses.is_empty());
    assert!(loaded.facts.feeding.is_none());
}

#[test]
fn recipes_must_hold_something_and_should_be_fed() {
    assert_eq!(
        complaint(&[("recipes.air", json!({"about": "nothing"}))]),
        "recipes.air: This recipe is empty. Add materials or water."
    );
    assert!(
        warnings(&[("recipes.spare", json!({"water_l": 2}))])
            .contains(&"recipes.spare: This recipe is never fed.".to_owned())
    );
}
