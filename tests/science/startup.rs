//! A feeding plan is replayed on draws it was not made with, by the plainest way there is: case by case, read by hand.

use std::sync::LazyLock;
use std::sync::atomic::AtomicBool;

use marshgas::case::{Case, TemperatureCourse};
use marshgas::scenario;
use marshgas::simulate::{self, EventKind};
use marshgas::study::startup::{
    Begin, MilestoneKind, Options, RuleKind, ShortenerKind, Startup, startup,
};
use marshgas::study::uncertain::Uncertain;

/// Fresh slurry and water, warm, worked up to a good deal of scraps. `feed` in kg of scraps a day.
fn scenario_text(feed: f64) -> String {
    format!(
        r#"{{
    "title": "A start for a test",
    "about": "Invented for this test.",
    "days": 100,
    "vessels": [{{ "liquid_l": 800, "headspace_l": 200, "temperature": {{ "constant_c": 33 }} }}],
    "starter": {{ "materials": [{{ "material": "cattle-slurry", "kg": 400 }}], "water_l": 400 }},
    "recipes": {{ "bucket": {{ "materials": [{{ "material": "kitchen-scraps", "kg": {feed} }}], "water_l": 6 }} }},
    "feeding": [{{ "daily": {{ "recipe": "bucket", "from_day": 0 }} }}]
}}"#
    )
}

fn case(feed: f64) -> Case {
    scenario::from_text(&scenario_text(feed), "test", None)
        .unwrap()
        .case
}

fn plan(case: &Case, draws: usize, seed: u64, stop: &AtomicBool) -> Startup {
    let options = Options {
        draws,
        checks: 40,
        seed,
        threads: None,
        stop,
    };
    startup(case, 1.0, &Uncertain::standard(), options, &|_, _| {}).unwrap()
}

/// One study that several tests look at.
static STUDY: LazyLock<Startup> =
    LazyLock::new(|| plan(&case(4.0), 60, 11, &AtomicBool::new(false)));

#[test]
fn the_plan_holds_on_draws_it_was_not_made_with() {
    let case = case(4.0);
    let feeding = STUDY.feeding.as_ref().expect("a plan");
    assert_eq!(feeding.begin, Begin::Fixed);
    let first = feeding.plan.first_day().unwrap() as usize;

    const REPLAYS: usize = 150;
    let uncertain = Uncertain::standard();
    let points = uncertain.points(REPLAYS, 987_654).unwrap();
    let mut holds = 0;
    for (i, point) in points.rows().enumerate() {
        // By hand: the dose of a day times the share of the last step that has begun.
        let mut fed = case.clone();
        fed.doses.retain_mut(|dose| {
            let mut begun = feeding
                .plan
                .steps
                .iter()
                .filter(|s| f64::from(s.from_day) <= dose.day);
            let Some(step) = begun.next_back() else {
                return false;
            };
            for (_, kg) in &mut dose.parts {
                *kg *= step.share * feeding.size;
            }
            dose.water_kg *= step.share * feeding.size;
            true
        });
        let drawn = uncertain.apply(&fed, point, i as u64, 987_654);
        let outcome = simulate::run(&drawn, &mut |_| {}).unwrap();
        let kept = outcome.vessels[0].days[first..]
            .iter()
            .all(|row| row.acid_ratio < 0.4 && row.ph > 6.5);
        holds += usize::from(kept);
    }
    let share = holds as f64 / REPLAYS as f64;
    assert!(share >= 0.93, "{holds} of {REPLAYS}: {:?}", feeding.plan);
}

#[test]
fn haste_is_riskier_than_the_plan_and_milestones_come_in_order() {
    let found = &*STUDY;
    let checked = found
        .feeding
        .as_ref()
        .and_then(|f| f.checked)
        .expect("a checked plan");
    let at_once = found
        .rules
        .iter()
        .find(|r| r.kind == RuleKind::AtOnce)
        .unwrap();
    assert!(at_once.tally.holds.share < checked.holds.share);
    let median = |kind| {
        let milestone = found.milestones.iter().find(|m| m.kind == kind).unwrap();
        milestone.days.p50.unwrap()
    };
    assert!(median(MilestoneKind::FirstGas) <= median(MilestoneKind::FirstFlame));
    assert!(median(MilestoneKind::FirstFlame) < median(MilestoneKind::SteadyFlame));
    assert!(median(MilestoneKind::SafeFeed) <= median(MilestoneKind::FullFeed));
}

#[test]
fn warmth_and_running_digestate_help_a_cold_start() {
    let mut cold = case(2.0);
    cold.vessels[0].temperature = TemperatureCourse::Constant(18.0);
    let found = plan(&cold, 20, 5, &AtomicBool::new(false));
    let of =
        |kind: fn(&ShortenerKind) -> bool| found.shorteners.iter().find(|s| kind(&s.kind)).unwrap();
    let warmer = of(|k| matches!(k, ShortenerKind::Warmer { .. }));
    assert!(warmer.flame.p50.unwrap() > 0.0, "{warmer:?}");
    let digestate = of(|k| matches!(k, ShortenerKind::Digestate { .. }));
    assert!(
        digestate.never_safe.1 <= digestate.never_safe.0,
        "{digestate:?}"
    );
    // The best comes first.
    let medians: Vec<f64> = found
        .shorteners
        .iter()
        .map(|s| s.feed.p50.unwrap())
        .collect();
    assert!(medians.is_sorted_by(|a, b| a >= b), "{medians:?}");
}

#[test]
fn the_flame_of_the_middle_draw_is_near_that_of_a_plain_run() {
    let case = case(4.0);
    let unfed = Case {
        doses: Vec::new(),
        ..case.clone()
    };
    let outcome = simulate::run(&unfed, &mut |_| {}).unwrap();
    let plain = outcome
        .events
        .iter()
        .find(|e| e.kind == EventKind::FirstFlame)
        .unwrap()
        .day;
    let flame = STUDY
        .milestones
        .iter()
        .find(|m| m.kind == MilestoneKind::FirstFlame)
        .unwrap();
    assert!(
        flame.days.p05.unwrap() <= plain && plain <= flame.days.p95.unwrap(),
        "{plain} {flame:?}"
    );
}

#[test]
fn a_study_stopped_at_once_says_so_and_claims_nothing() {
    let found = plan(&case(4.0), 20, 3, &AtomicBool::new(true));
    assert!(found.stopped && !found.searched);
    assert!(found.milestones.is_empty() && found.feeding.is_none() && found.rules.is_empty());
}

/// A start in May whose full feed no winter bears: the plan is one of the summer, with a pause before the cold, and not
/// one that waits for the next spring.
#[test]
fn a_plan_ends_before_the_cold_and_says_when_it_is_warm_again() {
    let season = |days: u32, hottest: f64| {
        let text = scenario_text(3.0)
            .replace("\"days\": 100", &format!("\"days\": {days}"))
            .replace(
                r#"{ "constant_c": 33 }"#,
                &format!(
                    r#"{{ "wave": {{ "mean_c": 14, "yearly_swing_k": 13, "hottest_day": {hottest} }} }}"#
                ),
            )
            .replace("cattle-slurry", "digestate-cattle");
        let case = scenario::from_text(&text, "test", None).unwrap().case;
        plan(&case, 20, 3, &AtomicBool::new(false))
    };
    let found = season(400, 85.0);
    let cold = found.cold.as_ref().expect("a winter");
    println!("{cold:?} {:?}", found.feeding);
    // 13 K around 14 C, warmest on day 85: as mild as in spring until autumn, and coldest half a year after the warmest.
    assert!((100..240).contains(&cold.pause_from), "{cold:?}");
    assert!(cold.has_room && cold.pause_c > 8.0, "{cold:?}");
    assert!((260..275).contains(&cold.coldest), "{cold:?}");
    // The wave is even around its coldest day.
    let back = f64::from(cold.warm_again.unwrap());
    let mirrored = 2.0 * (85.0 + 365.25 / 2.0) - f64::from(cold.pause_from);
    assert!((back - mirrored).abs() < 10.0, "{back} {mirrored}");
    assert_eq!(found.days, cold.pause_from);
    let feeding = found.feeding.as_ref().expect("a plan");
    assert_eq!(feeding.size, 1.0);
    assert!(feeding.plan.full_day().unwrap() < 100, "{feeding:?}");
    assert!(cold.comes_through.unwrap().share > 0.7, "{cold:?}");

    // Filled as the autumn begins: no plan that waits for the spring beside the tank, but the day of the spring.
    let late = season(300, -60.0);
    let cold = late.cold.as_ref().expect("a winter");
    println!("{cold:?} {:?}", late.feeding);
    assert!(
        cold.pause_from < 122 && cold.warm_again.unwrap() > 122,
        "{cold:?}"
    );
    let last = late.feeding.as_ref().and_then(|f| f.plan.full_day());
    assert!(
        last.is_none_or(|day| day + 28 <= cold.pause_from),
        "{last:?}"
    );
}

/// The plan that begins with the owner's checks, replayed by hand: each draw is first left alone, its checks are read
/// off day by day, and its feed begins so many days after them.
#[test]
fn a_plan_that_waits_for_the_checks_holds_when_replayed_by_hand() {
    let text = scenario_text(1.0)
        .replace("\"days\": 100", "\"days\": 120")
        .replace("\"constant_c\": 33", "\"constant_c\": 25")
        .replace("cattle-slurry", "cattle-dung");
    let cold = scenario::from_text(&text, "test", None).unwrap().case;
    let found = plan(&cold, 60, 3, &AtomicBool::new(false));
    let feeding = found.feeding.as_ref().expect("a plan");
    assert!(
        matches!(feeding.begin, Begin::WhenChecksPass { .. }),
        "{:?}",
        feeding.begin
    );
    let steps = &feeding.plan.steps;
    let (first, full) = (steps[0].from_day, steps[steps.len() - 1].from_day);
    assert!(full - first >= 14 && steps[0].share <= 0.5, "{steps:?}");

    const REPLAYS: usize = 120;
    let uncertain = Uncertain::standard();
    let points = uncertain.points(REPLAYS, 24_680).unwrap();
    let (mut judged, mut holds) = (0, 0);
    for (i, point) in points.rows().enumerate() {
        let drawn = uncertain.apply(&cold, point, i as u64, 24_680);
        let mut unfed = drawn.clone();
        unfed.doses.clear();
        let alone = simulate::run(&unfed, &mut |_| {}).unwrap();
        let good = |d: usize| alone.plant[d].burns && alone.plant[d].ph > 6.8;
        // Three evenings running are three mornings, the last of them a day later.
        let Some(start) = (2..119).find(|&d| good(d) && good(d - 1) && good(d - 2)) else {
            continue;
        };
        let start = start as u32 + 1;
        if start + full + 28 > 120 {
            continue;
        }
        judged += 1;
        let mut fed = drawn.clone();
        fed.doses.retain_mut(|dose| {
            let begun = |s: &&marshgas::study::startup::Step| {
                f64::from(start + s.from_day) <= dose.day.floor()
            };
            let Some(step) = steps.iter().rfind(begun) else {
                return false;
            };
            for (_, kg) in &mut dose.parts {
                *kg *= step.share * feeding.size;
            }
            dose.water_kg *= step.share * feeding.size;
            true
        });
        let outcome = simulate::run(&fed, &mut |_| {}).unwrap();
        let kept = outcome.vessels[0].days[(start + first) as usize..]
            .iter()
            .all(|row| row.acid_ratio < 0.4 && row.ph > 6.5);
        holds += usize::from(kept);
    }
    let checked = feeding.checked.expect("a check");
    let stuck = found.stuck.unwrap();
    assert!(stuck.never > 0 && stuck.sour <= stuck.never && stuck.draws == 60);
    assert!(found.cold.is_none(), "an even temperature has no season");
    // Some are never fed, and the rules are held against the plan on those that are.
    assert!(checked.fed < checked.draws, "{checked:?}");
    for rule in &found.rules {
        assert_eq!(rule.tally.fed, checked.fed, "{:?}", rule.kind);
    }
    let told = checked.holds.share;
    assert!(judged > REPLAYS / 3, "{judged}");
    let share = f64::from(holds as u32) / f64::from(judged as u32);
    // Two standard errors of 100 draws at 95 %.
    assert!((share - told).abs() < 0.07, "{share} {told} of {judged}");
}
