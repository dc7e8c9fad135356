//! The check of the file of a wish.

use serde_json::{Value, json};

use super::rules::climates;
use super::wish::{Arrangements, Builder, HeaterChoice, Scrap, SunChoice, Target, Wish};
use super::year::{MONTHS, month_at};
use crate::case::TemperatureCourse;
use crate::feedstock::library;
use crate::scenario::wish::{
    BURIED_CM, CHANCE, FOAM_CM, HOURS, IDLE, KWH, RawArrangement, RawAs, RawBuilder,
    RawHeaterChoice, RawScrap, RawSunChoice, RawTarget, RawWish, SET_C, TREAT, UNIT_L, UNITS,
    WATER,
};
use crate::scenario::{self, Address, Checker, KG, Limit, nearest, unknown_material};

/// Mean air of a month above which a tank in the open is too hot \[C\]. Assumption of this project.
const HOT_C: f64 = 40.0;
/// Most lines of scraps, and most entries of the builder's lists.
const MOST_SCRAPS: usize = 20;
const MOST_CHOICES: usize = 6;

/// The wish of a raw file; sound if the checker stays clean.
pub(super) fn checked(checker: &mut Checker, raw: &RawWish, label: &str) -> Wish {
    let top = Address::default();
    let title = match &raw.title {
        Some(title) => checker.name(&top.key("title"), Some(title)),
        None => "A wish".to_owned(),
    };
    let (climate_name, climate) = climate(checker, raw.climate.as_ref());
    let air_c = climate.as_ref().and_then(|c| air(checker, c, label));
    let air_c = air_c.unwrap_or([f64::NAN; MONTHS]);
    let winter = winter(&air_c);
    let hottest = (0..MONTHS)
        .max_by(|a, b| air_c[*a].total_cmp(&air_c[*b]).then(b.cmp(a)))
        .unwrap_or(0);
    let scraps = scraps(checker, raw.scraps.as_deref());
    let (target, months) = target(checker, raw.target.as_ref(), winter);
    let chance = checker.optional(&top.key("chance_pct"), raw.chance_pct, 75.0, &CHANCE) / 100.0;
    let idle_at = top.key("hours_without_use");
    let wish = Wish {
        title,
        file: label.to_owned(),
        climate_name,
        climate: climate.unwrap_or(Value::Null),
        air_c,
        winter,
        hottest,
        scraps,
        target,
        months,
        chance,
        hours_without_use: checker.optional(&idle_at, raw.hours_without_use, 14.0, &IDLE),
        builder: builder(checker, raw.builder.as_ref()),
    };
    let hottest_c = wish.air_c[hottest];
    if checker.is_clean() && hottest_c > HOT_C {
        checker.warn(
            &top.key("climate"),
            format!("In the hottest month the air has a mean of {hottest_c:.0} C."),
            "Methane formers work best near 37 C; those of this program are dead near 46 C, and no measured tank stands \
             behind it above 40 C.",
            "Check the climate. Where it is right, plan for shade or a pit; no heater helps.",
        );
    }
    let sunless = wish.climate.get("sun").is_none();
    if checker.is_clean() && sunless && wish.builder.sun.iter().any(|s| *s != SunChoice::None) {
        checker.warn(
            &top.key("climate"),
            "The climate has no \"sun\", so none shines on the tank here.".to_owned(),
            "A window or a greenhouse is tried all the same and keeps off the wind at most: what they bring is not seen.",
            "Give the sun of the place, such as \"sun\": { \"mean_kwh_per_m2_d\": 3, \"yearly_swing_kwh_per_m2_d\": 2 }, or leave \
             windows and greenhouses out of \"builder\".",
        );
    }
    if checker.is_clean() && !matches!(wish.target, Target::Treat(_)) {
        for m in (0..MONTHS).filter(|m| wish.months[*m] && wish.kg(*m) <= 0.0) {
            checker.warn(
                &top.key("scraps"),
                format!(
                    "There is nothing to feed in month {}, which counts for the target.",
                    m + 1
                ),
                "Only what is left in the tank gives gas then.",
                "Give something for that month, or leave it out of \"months\".",
            );
        }
    }
    wish
}

fn climate(checker: &mut Checker, raw: Option<&Value>) -> (Option<String>, Option<Value>) {
    let at = Address::default().key("climate");
    let names = || climates().iter().map(|c| c.name.as_str());
    match raw {
        None => {
            let all: Vec<&str> = names().collect();
            checker.missing(
                &at,
                format!(
                    "Name one ({}), or give a group as in a scenario.",
                    all.join(", ")
                ),
            );
            (None, None)
        }
        Some(Value::String(name)) => match climates().iter().find(|c| c.name == *name) {
            Some(found) => (Some(found.name.clone()), Some(found.climate.clone())),
            None => {
                checker.unknown(&at, name, "climate", nearest(name, names()), names());
                (None, None)
            }
        },
        Some(group @ Value::Object(_)) => {
            let air = group.get("air");
            let dated = ["table", "points"]
                .into_iter()
                .find(|key| air.and_then(|a| a.get(*key)).is_some());
            if let Some(key) = dated {
                checker.wrong(
                    &at.key("air").key(key),
                    "A plant is sized for a usual year, which dated weather is not.",
                    "Give \"wave\" or \"constant_c\"; `run` and `risk` then take your weather.",
                );
                return (None, None);
            }
            (None, Some(group.clone()))
        }
        Some(other) => {
            checker.wrong_value(
                &at,
                other,
                "It must be the name of a climate or a group as in a scenario.",
                "Write \"temperate\", or { \"air\": { \"wave\": ... } }.",
            );
            (None, None)
        }
    }
}

/// Mean air by month, through the scenario's own check; its problems become those of the wish.
fn air(checker: &mut Checker, climate: &Value, label: &str) -> Option<[f64; MONTHS]> {
    let probe = json!({
        "title": "probe",
        "start_date": "2025-01-01",
        "days": 365,
        "climate": climate,
        "vessels": [{
            "name": "probe", "liquid_l": 160, "headspace_l": 40,
            "temperature": {"heat": {"start_c": 15, "shape": {"drum": {"diameter_cm": 58, "height_cm": 76}}}}
        }],
        "starter": {"materials": [{"material": "cattle-slurry", "kg": 160}]}
    });
    match scenario::from_value(&probe, label, None) {
        Ok(loaded) => {
            let heat = loaded.case.vessels.first()?.heat.as_ref()?;
            Some(by_month(&heat.surroundings.weather.air))
        }
        Err(problems) => {
            for mut problem in problems.problems {
                if !problem.path.starts_with("climate") {
                    problem.path = "climate".to_owned();
                }
                problem.line = None;
                problem.column = None;
                problem.source = None;
                checker.push(problem);
            }
            None
        }
    }
}

fn by_month(air: &TemperatureCourse) -> [f64; MONTHS] {
    let (mut sum, mut count) = ([0.0; MONTHS], [0.0; MONTHS]);
    // Four times a day: the daily wave then falls out of the mean.
    for quarter in 0..4 * 365_u32 {
        let day = f64::from(quarter) / 4.0 + 0.125;
        let month = month_at(0, quarter / 4);
        sum[month] += air.at(day).0;
        count[month] += 1.0;
    }
    std::array::from_fn(|m| sum[m] / count[m])
}

fn winter(air_c: &[f64; MONTHS]) -> [usize; 3] {
    let three = |m: usize| [m, (m + 1) % MONTHS, (m + 2) % MONTHS];
    let mean = |m: usize| three(m).iter().map(|i| air_c[*i]).sum::<f64>();
    // December to February comes first, so that a year without seasons has its winter there.
    let first = (0..MONTHS).map(|i| (i + 11) % MONTHS);
    let mut best = 11;
    for m in first {
        if mean(m) < mean(best) - 1e-9 {
            best = m;
        }
    }
    three(best)
}

fn scraps(checker: &mut Checker, raw: Option<&[RawScrap]>) -> Vec<Scrap> {
    let top = Address::default().key("scraps");
    let Some(raw) = raw else {
        checker.missing(
            &top,
            "List what there is: [{ \"material\": ..., \"kg_per_day\": ... }].",
        );
        return Vec::new();
    };
    if raw.is_empty() {
        checker.wrong(
            &top,
            "There is nothing to feed.",
            "List at least one material.",
        );
    }
    if !checker.is_short(&top, raw.len(), MOST_SCRAPS) {
        return Vec::new();
    }
    let mut out: Vec<Scrap> = Vec::new();
    for (i, one) in raw.iter().enumerate() {
        let at = top.index(i);
        let kg_per_day = amounts(checker, &at.key("kg_per_day"), one.kg_per_day.as_ref());
        let at = at.key("material");
        let Some(id) = &one.material else {
            checker.missing(
                &at,
                "Name a material of the library: `marshgas feedstocks` lists them.",
            );
            continue;
        };
        let Some(entry) = library().get(id) else {
            unknown_material(checker, &at, id, std::iter::empty());
            continue;
        };
        if out.iter().any(|other| other.material == *id) {
            checker.wrong_value(
                &at,
                format!("\"{id}\""),
                "This material stands here twice.",
                "Add the two amounts.",
            );
        }
        out.push(Scrap {
            material: id.clone(),
            name: entry.name.clone(),
            kg_per_day,
        });
    }
    if checker.is_clean() && out.iter().all(|s| s.kg_per_day.iter().all(|kg| *kg == 0.0)) {
        checker.wrong(&top, "All amounts are 0.", "Give what there is.");
    }
    out
}

fn amounts(checker: &mut Checker, at: &Address, raw: Option<&Value>) -> [f64; MONTHS] {
    let none = [f64::NAN; MONTHS];
    match raw {
        Some(Value::Number(n)) => [checker.number(at, n.as_f64().unwrap_or(f64::NAN), &KG); MONTHS],
        Some(Value::Array(list)) if list.len() == MONTHS => {
            let mut out = none;
            for (m, value) in list.iter().enumerate() {
                match value.as_f64() {
                    Some(kg) => out[m] = checker.number(&at.index(m), kg, &KG),
                    None => checker.wrong_value(&at.index(m), value, "It must be a number.", ""),
                }
            }
            out
        }
        Some(Value::Array(list)) => {
            checker.wrong_value(
                at,
                format!("a list of {}", list.len()),
                "A year has twelve months.",
                "Give one number, or twelve from January to December.",
            );
            none
        }
        Some(other) => {
            checker.wrong_value(
                at,
                other,
                "It must be a number or a list of twelve.",
                "Write 3 or [3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3].",
            );
            none
        }
        None => {
            checker.missing(
                at,
                "Give kg a day: one number, or twelve from January to December.",
            );
            none
        }
    }
}

fn target(
    checker: &mut Checker,
    raw: Option<&RawTarget>,
    winter: [usize; 3],
) -> (Target, [bool; MONTHS]) {
    let at = Address::default().key("target");
    let nothing = (Target::Treat(f64::NAN), [true; MONTHS]);
    let choices = "\"burner_hours_per_day\", \"winter_kwh\" or \"treat_kg_per_day\"";
    let Some(raw) = raw else {
        checker.missing(&at, format!("Give a group with {choices}."));
        return nothing;
    };
    let given = [
        raw.burner_hours_per_day,
        raw.winter_kwh,
        raw.treat_kg_per_day,
    ];
    let count = given.iter().flatten().count();
    if count != 1 {
        checker.wrong(
            &at,
            if count == 0 {
                "No target is given."
            } else {
                "More than one target is given, and a plant is sized for one."
            },
            format!("Give exactly one of {choices}."),
        );
        return nothing;
    }
    let months_at = at.key("months");
    let months = scenario::months(checker, &months_at, raw.months.as_deref());
    if raw.winter_kwh.is_none() && raw.winter_as.is_some() {
        checker.wrong(
            &at.key("winter_as"),
            "Only \"winter_kwh\" is heat or current.",
            "Remove it.",
        );
    }
    if let Some(hours) = raw.burner_hours_per_day {
        let hours = checker.number(&at.key("burner_hours_per_day"), hours, &HOURS);
        return (Target::BurnerHours(hours), months);
    }
    if let Some(kg) = raw.treat_kg_per_day {
        let kg = checker.number(&at.key("treat_kg_per_day"), kg, &TREAT);
        return (Target::Treat(kg), months);
    }
    if raw.months.is_some() {
        checker.wrong(
            &months_at,
            "The winter is the three coldest months of the climate.",
            "Remove it.",
        );
    }
    let kwh = checker.required(&at.key("winter_kwh"), raw.winter_kwh, &KWH);
    let months = std::array::from_fn(|m| winter.contains(&m));
    match raw.winter_as {
        Some(RawAs::Heat) => (Target::WinterHeat(kwh), months),
        Some(RawAs::Current) => (Target::WinterCurrent(kwh), months),
        None => {
            checker.missing(
                &at.key("winter_as"),
                "Say \"heat\" or \"current\" (through a small engine).",
            );
            nothing
        }
    }
}

fn builder(checker: &mut Checker, raw: Option<&RawBuilder>) -> Builder {
    let at = Address::default().key("builder");
    let nothing = RawBuilder::default();
    let raw = raw.unwrap_or(&nothing);
    let mut choices = |key: &str, given: Option<&Vec<f64>>, usual: &[f64], limit: &Limit| {
        let at = at.key(key);
        let mut list = given.map_or_else(|| usual.to_vec(), Clone::clone);
        if list.is_empty() {
            checker.wrong(
                &at,
                "This list is empty.",
                "Give at least one number, or leave it out.",
            );
        }
        if !checker.is_short(&at, list.len(), MOST_CHOICES) {
            list.clear();
        }
        for (i, value) in list.iter_mut().enumerate() {
            *value = checker.number(&at.index(i), *value, limit);
        }
        list.sort_by(f64::total_cmp);
        list.dedup();
        list
    };
    let unit_sizes_l = choices(
        "unit_sizes_l",
        raw.unit_sizes_l.as_ref(),
        &[200.0, 1000.0],
        &UNIT_L,
    );
    let foam_cm = choices("foam_cm", raw.foam_cm.as_ref(), &[0.0, 5.0, 10.0], &FOAM_CM);
    let mut set_c = choices("set_c", raw.set_c.as_ref(), &[25.0, 30.0, 35.0], &SET_C);
    let buried_cm = choices(
        "buried_cm",
        raw.buried_cm.as_ref(),
        &[0.0, 50.0],
        &BURIED_CM,
    );
    let all = [
        RawSunChoice::None,
        RawSunChoice::Window,
        RawSunChoice::Greenhouse,
    ];
    let mut sun: Vec<SunChoice> = raw
        .sun
        .as_deref()
        .unwrap_or(&all)
        .iter()
        .map(|choice| match choice {
            RawSunChoice::None => SunChoice::None,
            RawSunChoice::Window => SunChoice::Window,
            RawSunChoice::Greenhouse => SunChoice::Greenhouse,
        })
        .collect();
    sun.sort_unstable();
    sun.dedup();
    let heater = match raw.heater {
        Some(RawHeaterChoice::None) => HeaterChoice::None,
        Some(RawHeaterChoice::Mains) => HeaterChoice::Mains,
        Some(RawHeaterChoice::OwnGas) | None => HeaterChoice::OwnGas,
    };
    if heater == HeaterChoice::None {
        set_c.clear();
    }
    if heater == HeaterChoice::None && raw.set_c.is_some() {
        checker.wrong(
            &at.key("set_c"),
            "Without a heater nothing is set.",
            "Remove it, or allow a heater.",
        );
    }
    let most = checker.optional(&at.key("most_units"), raw.most_units, 4.0, &UNITS);
    if sun.is_empty() {
        checker.wrong(
            &at.key("sun"),
            "This list is empty.",
            "Give \"none\", \"window\" or \"greenhouse\", or leave it out for all three.",
        );
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // checked, and NaN becomes 0
    let most_units = most as usize;
    Builder {
        unit_sizes_l,
        most_units,
        arrangement: match raw.arrangement {
            Some(RawArrangement::Parallel) => Arrangements::Parallel,
            Some(RawArrangement::Row) => Arrangements::Row,
            Some(RawArrangement::Either) | None => Arrangements::Either,
        },
        foam_cm,
        sun,
        buried_cm,
        pause: raw.pause.unwrap_or(true),
        heater,
        set_c,
        water_l_per_day: raw
            .water_l_per_day
            .map(|water| checker.number(&at.key("water_l_per_day"), water, &WATER)),
    }
}
