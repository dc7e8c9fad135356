//! Where a digester turns: against the published benchmark network, and against integration through real doses.

use std::sync::atomic::AtomicBool;

use marshgas::case::Case;
use marshgas::scenario;
use marshgas::study::limit::{
    LimitFailure, LimitKind, LimitOutcome, Measure, Over, Question, limit,
};

fn case(text: &str) -> Case {
    scenario::from_text(text, "test", None).unwrap().case
}

fn ask(
    case: &Case,
    over: Over,
    to: Option<f64>,
    threads: usize,
) -> Result<LimitOutcome, LimitFailure> {
    let stop = AtomicBool::new(false);
    let question = Question {
        over,
        to,
        day: None,
        shocks: false,
        threads: Some(threads),
        stop: &stop,
    };
    limit(case, &question, &|_| {})
}

/// A small tote on kitchen scraps and dung.
fn tote(celsius: f64) -> Case {
    let mut case = case(include_str!("../../scenarios/warm-tote.json"));
    case.vessels[0].temperature = marshgas::case::TemperatureCourse::Constant(celsius);
    case
}

/// Independent code for the benchmark network found it healthy at 5 d and sour at 4.5 d with its own recipe.
#[test]
fn the_benchmark_network_turns_between_five_and_four_and_a_half_days() {
    let case = case(include_str!("../../scenarios/benchmark-stream.json"));
    let found = ask(&case, Over::Retention, None, 2).unwrap();
    let limit = found.limit.unwrap();
    println!("{limit:#?} {:#?}", found.confirmation);
    assert!((4.5..5.0).contains(&limit.retention_d), "{limit:?}");
}

#[test]
fn real_doses_confirm_the_limit_from_both_sides() {
    let found = ask(&tote(30.0), Over::Feed, None, 2).unwrap();
    let limit = found.limit.unwrap();
    let confirmed = found.confirmation.unwrap();
    println!("{limit:#?} {confirmed:#?} {:#?}", found.temperature);
    assert!(found.healthy_today);
    assert_ne!(limit.kind, LimitKind::Slide);
    assert_eq!(
        confirmed.sides.iter().map(|s| s.1).collect::<Vec<_>>(),
        [true, false]
    );
    assert!(confirmed.difference.unwrap().abs() < 0.05);
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let case = tote(30.0);
    let one = ask(&case, Over::Feed, None, 1).unwrap();
    let two = ask(&case, Over::Feed, None, 2).unwrap();
    assert_eq!(one, two);
}

#[test]
fn no_limit_is_a_result_and_a_wrong_range_is_told() {
    let case = tote(35.0);
    let near = 1.2
        * ask(&case, Over::Feed, Some(5.0), 2)
            .unwrap()
            .feed
            .kg_per_day;
    let found = ask(&case, Over::Feed, Some(near), 2).unwrap();
    assert_eq!(found.limit, None);
    assert_eq!(found.searched_to, near);
    assert!(matches!(
        ask(&case, Over::Feed, Some(-3.0), 2),
        Err(LimitFailure::Range { .. })
    ));
    assert!(matches!(
        ask(&case, Over::Temperature, Some(95.0), 2),
        Err(LimitFailure::Range { .. })
    ));
}

/// A case that dies of a large meal: what is survived lies below what is not, and a rescue is judged against doing nothing.
#[test]
fn shocks_are_bracketed_and_rescues_compared() {
    let case = case(include_str!("../../scenarios/unheated-year.json"));
    let stop = AtomicBool::new(false);
    let question = Question {
        over: Over::Feed,
        to: None,
        day: None,
        shocks: true,
        threads: Some(2),
        stop: &stop,
    };
    let found = limit(&case, &question, &|_| {}).unwrap();
    assert!(found.today.lives);
    let shocks = found.shocks.unwrap();
    let meal = &shocks.overfeed;
    let (survives, fails) = (meal.survives_kg.unwrap(), meal.fails_kg.unwrap());
    assert!(
        survives < fails && fails < 1.03 * survives,
        "{survives} {fails}"
    );
    assert!(meal.beyond_kg.unwrap() > fails);
    let nothing = meal
        .rescues
        .iter()
        .find(|r| r.measure == Measure::Nothing)
        .unwrap();
    assert_eq!(
        nothing.fed_on_d, None,
        "beyond what it survives it does not heal by itself"
    );
    assert!(meal.rescues.len() >= 5);
    let warning = found.warning.unwrap();
    assert!(
        warning
            .signs
            .iter()
            .any(|s| s.ahead_d.is_some_and(|d| d >= 0))
    );
}

#[test]
fn a_stop_ends_the_search() {
    let stop = AtomicBool::new(true);
    let question = Question {
        over: Over::Feed,
        to: None,
        day: None,
        shocks: true,
        threads: Some(1),
        stop: &stop,
    };
    assert!(matches!(
        limit(&tote(30.0), &question, &|_| {}),
        Err(LimitFailure::Stopped)
    ));
}

/// The season after the end of a run under the weather is the one that a longer run has: the vessel's course must not
/// end with the run.
#[test]
fn the_season_after_the_run_is_that_of_the_weather() {
    let text = include_str!("../../scenarios/cold-yard.json");
    let season = |days: u32, day: u32, change: &dyn Fn(&mut serde_json::Value)| {
        let mut value: serde_json::Value = serde_json::from_str(text).unwrap();
        value["days"] = days.into();
        change(&mut value);
        let stop = AtomicBool::new(false);
        let question = Question {
            over: Over::Feed,
            to: Some(6.0),
            day: Some(day),
            shocks: false,
            threads: Some(2),
            stop: &stop,
        };
        limit(&case(&value.to_string()), &question, &|_| {})
            .unwrap()
            .today
    };
    let short = season(540, 540, &|_| {});
    let long = season(640, 540, &|_| {});
    assert_eq!(short.season, long.season);
    assert_eq!(short.season_unknown_from, None);
    let (ends, now) = (short.season.unwrap().ends_c, short.temperature_c);
    println!("{short:?}");
    assert!(ends < now - 5.0, "from October into January: {now} {ends}");

    // Weather by points ends with them, and nobody knows what comes after.
    let ended = season(540, 540, &|value| {
        value["climate"]["air"] = serde_json::json!({"points": [
            {"day": 0, "temperature_c": 12}, {"day": 180, "temperature_c": 15}, {"day": 570, "temperature_c": 10}]});
        value["climate"]["soil"] =
            serde_json::json!({"mean_c": 10, "yearly_swing_k": 5, "hottest_day_of_year": 203});
    });
    assert_eq!(ended.season, None);
    assert_eq!(ended.season_unknown_from, Some(570.0));
}
