//! What is to be done when: feeding changes, beds, trap, leak test, pH, winter, residue.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use serde::Serialize;

use super::outcome::{Frost, Season, SeasonDay};
use super::{date_of, month_of, months};
use crate::case::{Case, Plant};
use crate::plant::cleaning::{Stage, TrainOutcome};
use crate::plant::residue::Residue;

/// A change of the feed is told from this share on; rather a step a week than a new number a day.
const FEED_STEP: f64 = 0.1;
/// Days over which the feed is averaged at least, and least days between two changes.
const WEEK_D: usize = 7;
/// Beds changed more often than once in so many days become one repeated chore.
const OFTEN_D: f64 = 7.0;
/// Insulation is looked at so many days before the winter.
const BEFORE_WINTER_D: u32 = 30;
/// Plants take up nitrogen when the month is at least so warm \[C\]. Common practice, no source.
const GROWING_C: f64 = 8.0;
/// Less than a couple of cans waits for more \[L\].
const LEAST_L: f64 = 20.0;

/// Kind of a chore.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChoreKind {
    /// Another feed from today on.
    Feeding,
    /// A bed is spent.
    Bed,
    /// The water trap.
    Trap,
    /// The leak test.
    LeakTest,
    /// pH of the liquor.
    Ph,
    /// Before the winter.
    Winter,
    /// Residue.
    Residue,
    /// A use of gas that begins or ends with a month.
    Use,
    /// The heater, turned on or off with a month.
    Heater,
}

impl ChoreKind {
    /// Stable name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Feeding => "feeding",
            Self::Bed => "bed",
            Self::Trap => "trap",
            Self::LeakTest => "leak-test",
            Self::Ph => "ph",
            Self::Winter => "winter",
            Self::Residue => "residue",
            Self::Use => "use",
            Self::Heater => "heater",
        }
    }
}

/// How a chore comes again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Repeat {
    /// Every so many days.
    Days(u32),
    /// Every month.
    Monthly,
}

/// Something to do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chore {
    /// Stable within a scenario.
    pub id: String,
    /// Kind.
    pub kind: ChoreKind,
    /// Day of the run on which it falls first.
    pub day: u32,
    /// Its date (ISO 8601) where the run has one.
    pub date: Option<String>,
    /// How it comes again; `None`: once.
    pub repeat: Option<Repeat>,
    /// Last day of the run.
    pub last_day: u32,
    /// In a few words.
    pub title: String,
    /// What to do and to mind.
    pub detail: String,
}

struct Desk<'a> {
    case: &'a Case,
    list: Vec<Chore>,
}

impl Desk<'_> {
    /// "From 2026-11-03 on", or the day where the run has no date.
    fn from(&self, day: u32) -> String {
        match date_of(self.case.start_date, f64::from(day)) {
            Some(date) => format!("From {date} on"),
            None => format!("From day {day} on"),
        }
    }

    fn add(
        &mut self,
        kind: ChoreKind,
        (day, repeat): (u32, Option<Repeat>),
        tag: &str,
        title: String,
        detail: String,
    ) {
        let last_day = self.case.days.saturating_sub(1);
        if day > last_day {
            return;
        }
        let date = date_of(self.case.start_date, f64::from(day)).map(|d| d.to_string());
        let when = date.clone().unwrap_or_else(|| format!("day-{day}"));
        let tag = if tag.is_empty() {
            String::new()
        } else {
            format!("-{tag}")
        };
        self.list.push(Chore {
            id: format!("{}{tag}-{when}", kind.name()),
            kind,
            day,
            date,
            repeat,
            last_day,
            title,
            detail,
        });
    }
}

/// All chores by day.
pub(super) fn chores(
    case: &Case,
    plant: &Plant,
    (days, frosts): (&[SeasonDay], Vec<Frost>),
    (months, counted_from): (&[Season], u32),
    train: &TrainOutcome,
    residue: Option<&Residue>,
) -> Vec<Chore> {
    let mut desk = Desk {
        case,
        list: Vec::new(),
    };
    feeding(&mut desk, case, plant.units, days.len());
    beds(&mut desk, plant, train);
    steady(&mut desk, plant);
    uses(&mut desk, plant, days);
    heater(&mut desk, plant.units);
    winter(&mut desk, months, counted_from);
    for frost in &frosts {
        against_frost(&mut desk, plant, frost);
    }
    spreading(&mut desk, months, residue);
    desk.list
        .sort_by_key(|chore| (chore.day, chore.kind.name()));
    desk.list
}

/// What is fed on each day \[kg, L of water\].
fn fed_by_day(case: &Case, days: usize) -> Vec<(f64, f64)> {
    let mut fed = vec![(0.0, 0.0); days];
    for dose in &case.doses {
        // Doses lie within the run.
        if let Some((material, water)) = fed.get_mut(dose.day.max(0.0) as usize) {
            *material += dose.parts.iter().map(|(_, kg)| kg).sum::<f64>();
            *water += dose.water_kg;
        }
    }
    fed
}

/// The usual days from one feed to the next; the shorter of two that are as usual.
fn usual_gap(fed: &[(f64, f64)]) -> usize {
    let days: Vec<usize> = (0..fed.len()).filter(|d| fed[*d].0 > 0.0).collect();
    let mut counts = BTreeMap::new();
    for pair in days.windows(2) {
        *counts.entry(pair[1] - pair[0]).or_insert(0_usize) += 1;
    }
    let usual = counts
        .iter()
        .max_by_key(|(gap, count)| (**count, Reverse(**gap)));
    usual.map_or(1, |(gap, _)| *gap)
}

/// Whether two feeds are far enough apart to be told.
fn differs(a: f64, b: f64) -> bool {
    (a - b).abs() > FEED_STEP * a.max(b)
}

/// Changes of the feed, a step a week at most, each on the day of its first feed; a beginning and a pause on their
/// day. The feed of each of several units is told, and beside it that of all.
fn feeding(desk: &mut Desk<'_>, case: &Case, units: u32, days: usize) {
    let each = all_units(case, units);
    let fed = fed_by_day(case, days);
    let gap = usual_gap(&fed);
    let span = gap * WEEK_D.div_ceil(gap);
    // Of one feed, by those of a span of whole gaps.
    let mean = |from: usize, to: usize, of: fn(&(f64, f64)) -> f64| {
        let some = fed.get(from..to.min(days)).unwrap_or_default();
        some.iter().map(of).sum::<f64>() * gap as f64 / some.len().max(1) as f64
    };
    let ahead = |day: usize, of| mean(day, day + span, of);
    let mut told: Option<(f64, usize)> = None;
    for day in 0..days {
        let material = ahead(day, |f| f.0);
        let (before, since) = told.unwrap_or((0.0, 0));
        let begins = before == 0.0 && fed[day].0 > 0.0;
        // A run that ends before the next feed is no pause.
        let ends = before > 0.0 && material == 0.0 && day + gap <= days;
        let moved = differs(material, before);
        // Where each feed was as told, the first that is not is the step; where they wobble, the mean alone tells.
        let departs = |fed: f64| fed > 0.0 && differs(fed, before);
        let level = || {
            !fed[day.saturating_sub(span)..day]
                .iter()
                .any(|f| departs(f.0))
        };
        let step =
            before > 0.0 && moved && day >= since + WEEK_D && (departs(fed[day].0) || !level());
        if ends {
            desk.add(
                ChoreKind::Feeding,
                (day as u32, None),
                "",
                "Stop feeding".into(),
                "No feed from today on until the calendar says so. Begin again slowly.".into(),
            );
        } else if begins || step {
            let water = ahead(day, |f| f.1);
            desk.add(
                ChoreKind::Feeding,
                (day as u32, None),
                "",
                format!(
                    "{} {} kg and {} L of water {}{}",
                    match told {
                        Some(_) if begins => "Begin again, slowly, up to",
                        _ => "Feed",
                    },
                    round(material),
                    round(water),
                    match gap {
                        1 => "a day".to_owned(),
                        gap => format!("every {gap} days"),
                    },
                    each.as_ref().map_or(String::new(), |all| format!(" to each of {all}"))
                ),
                format!(
                    "{}From today on, by the mean of the coming {span} days. {}Feed less at the first sign of sour: a falling \
                     pH, a smaller flame.",
                    each.as_ref().map_or(String::new(), |_| {
                        let of_all = |one: f64| round(one * f64::from(units));
                        format!("{} kg and {} L in all. ", of_all(material), of_all(water))
                    }),
                    match told {
                        Some(_) if begins => {
                            "A tank that rested is fed by its pH, not by the sheet: a third in the first week, and more only while the \
                             pH stays above 6.8. "
                        }
                        _ => "",
                    }
                ),
            );
        }
        if begins || step || ends {
            told = Some((material, day));
        }
    }
}

/// "2 tanks", or "2 rows" of several vessels; `None` for one.
fn all_units(case: &Case, units: u32) -> Option<String> {
    let kind = if case.vessels.len() > 1 {
        "rows"
    } else {
        "tanks"
    };
    (units > 1).then(|| format!("{units} {kind}"))
}

fn beds(desk: &mut Desk<'_>, plant: &Plant, train: &TrainOutcome) {
    for (i, (stage, outcome)) in plant.cleaning.iter().zip(&train.stages).enumerate() {
        let Stage::Bed(settings) = stage else {
            continue;
        };
        let title = format!(
            "Change the {} ({} kg)",
            outcome.name,
            round(settings.mass_kg)
        );
        let detail = format!(
            "Spent by the computed gas; look at the gas behind it first. {} Shut the gas off, work outdoors.",
            outcome.note
        );
        let tag = format!("stage-{}", i + 1);
        let first = outcome.breakthrough_d.first().map(|d| d.floor() as u32);
        match (outcome.days_per_filling, first) {
            (Some(each), Some(first)) if each < OFTEN_D => {
                let each = (each.floor() as u32).max(1);
                desk.add(
                    ChoreKind::Bed,
                    (first, Some(Repeat::Days(each))),
                    &tag,
                    title,
                    detail,
                );
            }
            _ => {
                let mut before = None;
                for day in outcome.breakthrough_d.iter().map(|d| d.floor() as u32) {
                    if before != Some(day) {
                        desk.add(
                            ChoreKind::Bed,
                            (day, None),
                            &tag,
                            title.clone(),
                            detail.clone(),
                        );
                    }
                    before = Some(day);
                }
            }
        }
    }
}

/// What comes again whatever the gas does.
fn steady(desk: &mut Desk<'_>, plant: &Plant) {
    let week = WEEK_D as u32;
    if plant
        .cleaning
        .iter()
        .any(|stage| matches!(stage, Stage::WaterTrap(_)))
    {
        desk.add(
            ChoreKind::Trap,
            (week, Some(Repeat::Days(week))),
            "",
            "Empty the water trap".into(),
            "Drain it and leave it sealed by its own water. What comes out of the drain is gas: outdoors, no flame.".into(),
        );
    }
    desk.add(
        ChoreKind::Ph,
        (week, Some(Repeat::Days(week))),
        "",
        if plant.units > 1 {
            "Read the pH of every tank".into()
        } else {
            "Read the pH of the liquor".into()
        },
        "6.8 to 7.5 is well. Below 6.5 stop feeding.".into(),
    );
    desk.add(
        ChoreKind::LeakTest,
        (WEEK_D as u32 * 2, Some(Repeat::Monthly)),
        "",
        "Leak test".into(),
        "Close every tap, read height and temperature, wait a night, read again; `marshgas leak` tells what was lost. \
         Brush joints with soapy water, never look with a flame."
            .into(),
    );
}

/// The first day from `day` on with an hour served.
fn first_served(days: &[SeasonDay], day: u32) -> Option<u32> {
    let later = days.iter().filter(|d| d.day >= day);
    later.filter(|d| d.served_h > 0.0).map(|d| d.day).next()
}

/// The first day with an hour served, where gas that does not burn came before it.
fn first_light(days: &[SeasonDay]) -> Option<u32> {
    let first = first_served(days, 0)?;
    let before = days.iter().take_while(|d| d.day < first);
    before
        .map(|d| d.no_flame_h)
        .any(|h| h > 0.0)
        .then_some(first)
}

/// Uses that belong to some months: told when their time begins, not before the gas burns, and when it ends.
fn uses(desk: &mut Desk<'_>, plant: &Plant, days: &[SeasonDay]) {
    let case = desk.case;
    if let Some(day) = first_light(days) {
        desk.add(
            ChoreKind::Use,
            (day, None),
            "first-light",
            "From about now on the gas may be lit".into(),
            "By the computed run the gas of the store burns from today on. What came before holds air from the headspace: let it \
             go outdoors, unlit, and look at a small flame outdoors first."
                .into(),
        );
    }
    let lit = |day: u32| first_served(days, day).unwrap_or(day);
    for (i, demand) in plant.demands.iter().enumerate() {
        if demand.months.iter().all(|m| *m) {
            continue;
        }
        let on = |day| month_of(case.start_date, day).is_some_and(|m| demand.months[m]);
        for (day, begins) in turns(case.days, &on) {
            let day = if begins { lit(day) } else { day };
            let name = &demand.appliance;
            let (title, detail) = if begins {
                (
                    format!("{name} from today on, at {} h", round(demand.from_h)),
                    format!(
                        "For {} h, as the timetable has it. Look at the flame before you trust it.",
                        round(demand.hours)
                    ),
                )
            } else {
                (
                    format!("No more {name} at {} h", round(demand.from_h)),
                    "Its months are over. Gas that nobody uses overflows: find a use for it, or burn it.".to_owned(),
                )
            };
            desk.add(
                ChoreKind::Use,
                (day, None),
                &format!("line-{}", i + 1),
                title,
                detail,
            );
        }
    }
}

/// A heater that is on in some months only: told when to turn it.
fn heater(desk: &mut Desk<'_>, units: u32) {
    let case = desk.case;
    let all = all_units(case, units);
    for (i, vessel) in case.vessels.iter().enumerate() {
        let Some(heater) = vessel
            .heat
            .as_ref()
            .and_then(|h| h.surroundings.heater.as_ref())
        else {
            continue;
        };
        // In the middle of a day it is on its way, and the day on which that begins is told.
        let on = |day: u32| heater.on.at(f64::from(day) + 0.5).0 >= 0.5;
        for (day, begins) in turns(case.days, &on) {
            let turn = |way: &str| match (&all, case.vessels.len()) {
                (None, _) => format!("Turn the heater of {} {way}", vessel.name),
                (Some(all), 1) => format!("Turn the heaters of the {all} {way}"),
                (Some(all), _) => format!(
                    "Turn the heater of {} {way} in each of the {all}",
                    vessel.name
                ),
            };
            let (title, detail) = if begins {
                (
                    turn("on"),
                    "Before the feeding begins again. Where it burns own gas there is none yet in a cold tank: begin with \
                     bought heat or hot water."
                        .to_owned(),
                )
            } else {
                (
                    turn("off"),
                    "Feeding ends with it. Keep seal and pipes from freezing: a cold tank still gives a little gas."
                        .to_owned(),
                )
            };
            desk.add(
                ChoreKind::Heater,
                (day, None),
                &format!("vessel-{}", i + 1),
                title,
                detail,
            );
        }
    }
}

/// Days on which something begins (true) or ends; what is on from the first day on begins there.
fn turns(days: u32, on: &dyn Fn(u32) -> bool) -> Vec<(u32, bool)> {
    let mut before = false;
    let mut out = Vec::new();
    for day in 0..days {
        let now = on(day);
        if now != before {
            out.push((day, now));
        }
        before = now;
    }
    out
}

fn winter(desk: &mut Desk<'_>, months: &[Season], counted_from: u32) {
    // Of the first year, and of the last in a longer run.
    let mut winters: Vec<Season> = [0, counted_from]
        .into_iter()
        .filter_map(|from| months::winter(months, from).0)
        .collect();
    winters.dedup_by_key(|winter| winter.from_day);
    for winter in &winters {
        before_winter(desk, winter);
    }
}

fn before_winter(desk: &mut Desk<'_>, winter: &Season) {
    let day = winter.from_day.saturating_sub(BEFORE_WINTER_D);
    desk.add(
        ChoreKind::Winter,
        (day, None),
        "",
        "Make ready for winter".into(),
        format!(
            "The coldest months: {} (line {:.0} C, liquor {:.0} C in the mean). Close gaps in the foam, lag the \
             gas pipe, keep water seal and trap from freezing: a frozen seal is no relief.",
            desk.from(winter.from_day).to_lowercase(),
            winter.line_c,
            winter.liquor_c
        ),
    );
}

/// Before the first frost: what holds water. Common practice, no source; brine of a fifth of salt freezes at about -16 C
/// (from memory).
fn against_frost(desk: &mut Desk<'_>, plant: &Plant, frost: &Frost) {
    let trap = plant
        .cleaning
        .iter()
        .any(|stage| matches!(stage, Stage::WaterTrap(_)));
    let drain = if trap {
        " Drain the trap before every frost and close it with a cock: gas comes out of an open one."
    } else {
        ""
    };
    desk.add(
        ChoreKind::Winter,
        (frost.from_day.saturating_sub(WEEK_D as u32 * 2), None),
        "frost",
        "Keep seal and store from freezing".into(),
        format!(
            "{} it freezes ({:.0} C at worst): {}. A frozen seal lets no gas out and a frozen bell does not \
             rise. Fill them with brine (a fifth of salt; it eats steel) or cover the water with oil.{drain}",
            desk.from(frost.from_day),
            frost.coldest_c,
            frost.freezes.join(", ")
        ),
    );
}

/// Spreading of residue month by month while plants grow; what winter leaves waits for the first of them.
fn spreading(desk: &mut Desk<'_>, months: &[Season], residue: Option<&Residue>) {
    let Some(dose) = residue.and_then(|r| r.dose_l_m2_yr) else {
        return;
    };
    let mut waiting = 0.0;
    for month in months {
        waiting += month.residue_l;
        if month.line_c < GROWING_C || waiting < LEAST_L {
            continue;
        }
        desk.add(
            ChoreKind::Residue,
            (month.from_day + month.days.saturating_sub(1), None),
            "",
            format!("Spread {} L of residue", round(waiting)),
            format!(
                "On at least {} m2 that get no other manure this year ({dose:.1} L a square metre and year). Dig it in; \
                 gloves; not on salad or what is eaten raw, and three to four months before a harvest where the digester is \
                 cool. Local rules may ask more.",
                round(waiting / dose)
            ),
        );
        waiting = 0.0;
    }
}

fn round(value: f64) -> String {
    if value >= 10.0 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}
