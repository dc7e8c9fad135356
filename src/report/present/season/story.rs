//! What the year was like, in numbers and sentences, and what to do about it.

use super::super::run::{AGAINST_FREEZING, froze, heating_advice};
use super::super::words::{bind, count, day_name, list, rough};
use super::Reading;
use crate::plant::climate_weight::{GWP_20, GWP_100, break_even_share};
use crate::report::document::KeyNumber;
use crate::report::numbers::{fixed, percent};
use crate::simulate::{EventKind, HeaterSource};
use crate::study::season::{LineOfUse, Season, SeasonDay, SeasonOutcome};

/// Energy not worth a line \[kWh\].
const WORTH_KWH: f64 = 0.5;
const DAYS_PER_YEAR: f64 = 365.25;
/// Shares from which something is worth a word.
const WORTH: f64 = 0.05;

/// Served of wanted; `None` where nothing was wanted.
fn served(wanted_h: f64, served_h: f64) -> Option<f64> {
    (wanted_h > 0.0).then(|| served_h / wanted_h)
}

fn served_in(winter: Option<&Season>) -> String {
    let Some(winter) = winter else {
        return "no winter in this run".to_owned();
    };
    match served(winter.wanted_h, winter.served_h) {
        Some(share) => format!("{} % in the coldest three months", percent(share, 0)),
        None => "none are wanted in the coldest three months".to_owned(),
    }
}

/// Numbers to take home.
pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let season = reading.season;
    let number = |label: &str, value: String, unit: &str, note: String| KeyNumber {
        label: label.into(),
        value,
        unit: unit.into(),
        note: bind(&note),
    };
    let years = reading.counted().len() as f64 / DAYS_PER_YEAR;
    let made = reading.sum(|d| d.made_nl);
    let mut out = Vec::new();
    if season.units > 1 {
        out.push(number(
            "Digesters",
            season.units.to_string(),
            "",
            "equal, side by side; the numbers are those of all together".into(),
        ));
    }
    if let Some(share) = served(reading.sum(|d| d.wanted_h), reading.sum(|d| d.served_h)) {
        out.push(number(
            "Hours served",
            percent(share, 0),
            "%",
            format!(
                "of those wanted; {}{}",
                served_in(season.winter.as_ref()),
                tightest(season).map_or(String::new(), |m| format!(
                    "; tightest month {} with {} %",
                    m.name,
                    percent(m.served_h / m.wanted_h, 0)
                ))
            ),
        ));
    }
    out.push(number(
        "Gas made",
        rough(reading.mean(|d| d.made_nl)),
        "NL/d",
        match &season.winter {
            Some(w) => format!(
                "mean; {} NL/d in the coldest three months",
                rough(w.made_nl_d)
            ),
            None => "mean".to_owned(),
        },
    ));
    if made > 0.0 {
        out.push(number(
            "Of it used",
            percent(reading.sum(|d| d.used_nl) / made, 0),
            "%",
            format!(
                "overflow {} %{}, rest in beds and store",
                percent(reading.sum(|d| d.overflow_nl) / made, 0),
                match season.heater {
                    // Any other heater takes none of the gas, and is told of on its own.
                    Some(HeaterSource::OwnGas) => format!(
                        ", heater {} %",
                        percent(reading.sum(|d| d.heater_nl) / made, 0)
                    ),
                    Some(HeaterSource::Mains | HeaterSource::EngineWaste) | None => String::new(),
                }
            ),
        ));
    }
    let (heat, current) = (reading.sum(|d| d.heat_kwh), reading.sum(|d| d.electric_kwh));
    out.push(number(
        "Heat used",
        rough(heat / years),
        "kWh/yr",
        "under pots, and recovered from engines".into(),
    ));
    if season.uses.iter().any(|u| u.served.electric_kwh > 0.0) {
        out.push(number(
            "Current",
            rough(current / years),
            "kWh/yr",
            match &season.winter {
                Some(w) => format!(
                    "{} kWh of it in the coldest three months",
                    rough(w.electric_kwh)
                ),
                None => String::new(),
            },
        ));
    }
    if season.heater == Some(HeaterSource::OwnGas) {
        // All that it asks for, as `run` counts it, not what the day's gas could give.
        let share =
            reading.sum(|d| d.heater_kwh + d.heater_short_kwh) / reading.sum(|d| d.made_kwh);
        let winter = season.winter.as_ref().filter(|w| w.made_kwh > 0.0);
        out.push(number(
            "Heating takes",
            percent(share, 0),
            "%",
            match winter {
                Some(w) => format!(
                    "of its energy; {} % in the coldest months",
                    percent((w.heater_kwh + w.heater_short_kwh) / w.made_kwh, 0)
                ),
                None => "of its energy".into(),
            },
        ));
    }
    let short = reading.sum(|d| d.heater_short_kwh);
    if season.heater == Some(HeaterSource::OwnGas) && short > WORTH_KWH {
        let winter = season.winter.as_ref().map(|w| w.heater_short_kwh);
        let cold = winter.map_or(String::new(), |kwh| {
            format!("; {} kWh of it in the coldest months", rough(kwh))
        });
        out.push(number(
            "Heat bought",
            rough(short / years),
            "kWh/yr",
            format!("asked for beyond the gas of the day{cold}"),
        ));
    }
    if season.heater == Some(HeaterSource::Mains) {
        let asked: f64 = day_fuel(reading).iter().sum();
        out.push(number(
            "Heat bought",
            rough(asked / years),
            "kWh/yr",
            format!(
                "for the tank: {} % of the energy of the gas made",
                percent(asked / reading.sum(|d| d.made_kwh), 0)
            ),
        ));
    }
    if !season.stages.is_empty() {
        let kg: f64 = season.stages.iter().map(|s| s.material_kg_per_year).sum();
        out.push(number(
            "New filling",
            rough(kg),
            "kg/yr",
            format!(
                "{}, all beds together; what is refreshed in the air serves again",
                count(
                    (season.changes.iter())
                        .filter(|c| c.day >= f64::from(season.counted_from))
                        .count(),
                    "change",
                    "changes"
                )
            ),
        ));
    }
    if let Some(frost) = &season.frost {
        out.push(number(
            "Frost",
            frost.days.to_string(),
            "nights",
            format!(
                "pipes, seals and store freeze; {} \u{b0}C at worst",
                fixed(frost.coldest_c, 0)
            ),
        ));
    }
    out.push(number(
        "Methane wasted",
        rough(season.wasted.ch4_kg / years),
        "kg/yr",
        format!(
            "{} kg CO\u{2082}e a year over 100 years; {} % of all methane",
            rough(season.wasted.co2e_100_kg / years),
            percent(season.wasted.share, 0)
        ),
    ));
    if let Some(residue) = &season.residue {
        out.push(number(
            "Residue",
            rough(residue.litres / years),
            "L/yr",
            format!(
                "{} kg of nitrogen a year, enough for {} m\u{b2}",
                rough(residue.nitrogen_kg / years),
                rough(residue.area_m2)
            ),
        ));
    }
    out
}

/// What happened.
pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let season = reading.season;
    let mut story = Vec::new();
    story.extend(units(season));
    story.extend(longer(reading));
    story.extend(winter(season));
    story.extend(frozen(reading));
    story.extend(frost(reading));
    story.extend(uses(reading));
    story.extend(air_in_store(reading));
    story.extend(heating(reading));
    let made = reading.sum(|d| d.made_nl);
    story.push(format!(
        "The store overflowed in {} and ran short in {}. {} % of the gas was used, {} % overflowed. Its pressure lay \
         between {} and {} Pa.{}",
        count(season.overflow_hours, "hour", "hours"),
        count(season.shortage_hours, "hour", "hours"),
        percent(reading.sum(|d| d.used_nl) / made.max(1e-9), 0),
        percent(reading.sum(|d| d.overflow_nl) / made.max(1e-9), 0),
        fixed(season.store_pressure_pa.0, 0),
        fixed(season.store_pressure_pa.1, 0),
        flared(season)
    ));
    let w = &season.wasted;
    story.push(format!(
        "Methane that escaped weighs {} kg: {} from overflow, {} through the film of the store, {} by leaks of the \
         digester, {} from the residue's store (a rough share). That is as much as {} kg of carbon dioxide over 100 years, \
         {} kg over 20, and {} % of all methane. Above {} % ({} % over 20 years) the plant warms more than the natural \
         gas that it replaces.",
        rough(w.ch4_kg),
        rough(w.overflow.ch4_kg),
        rough(w.seepage.ch4_kg),
        rough(w.leak.ch4_kg),
        rough(w.residue.ch4_kg),
        rough(w.co2e_100_kg),
        rough(w.co2e_20_kg),
        percent(w.share, 0),
        percent(break_even_share(GWP_100), 1),
        percent(break_even_share(GWP_20), 1)
    ));
    story.extend(season.warnings.iter().cloned());
    story
}

/// What is of the whole run, and what of its last year.
fn longer(reading: &Reading<'_>) -> Option<String> {
    reading.is_longer().then(|| {
        format!(
            "The run is {} days long: hours, gas, heat, waste and residue are those of its last {} days, since what ran it in does \
             not come again; the tables by month and the pressures of the store are of all of it.",
            reading.outcome.days,
            reading.counted().len()
        )
    })
}

/// Of several equal digesters one is computed.
fn units(season: &SeasonOutcome) -> Option<String> {
    (season.units > 1).then(|| {
        format!(
            "{} equal digesters stand side by side. One of them is computed; gas, heat, feed, residue, beds, store and hours \
             are those of all together, and the chores tell the feed of each.",
            season.units
        )
    })
}

/// What the flare burnt; nothing without one, or without overflow that burns.
fn flared(season: &SeasonOutcome) -> String {
    let (burnt, passed) = (
        season.wasted.flared_ch4_kg,
        season.wasted.overflow.ch4_kg.max(0.0),
    );
    if burnt <= 0.0 {
        return String::new();
    }
    format!(
        " The flare burnt {} kg of methane, {} % of what overflowed.",
        rough(burnt),
        percent(burnt / (burnt + passed), 0)
    )
}

/// The liquor froze: the same sentence as of a run.
fn frozen(reading: &Reading<'_>) -> Option<String> {
    let mut events = reading.outcome.events.iter();
    let event = events.find(|e| e.kind == EventKind::Freezes)?;
    let within = match reading.outcome.vessels.as_slice() {
        [_] => String::new(),
        all => all
            .get(event.vessel)
            .map_or_else(String::new, |v| format!(" in {}", v.name)),
    };
    Some(froze(&day_name(event.day, reading.start), &within))
}

fn frost(reading: &Reading<'_>) -> Option<String> {
    let frost = reading.season.frost.as_ref()?;
    let day = |day: u32| day_name(f64::from(day), reading.start);
    Some(format!(
        "Frost: on {}, the first on {}, the last on {}, pipes and store fall below freezing, to {} C at worst. What freezes \
         then, and is not computed: {}. A frozen seal is no relief, a frozen bell does not move, and ice closes a pipe.",
        count(frost.days, "night", "nights"),
        day(frost.from_day),
        day(frost.to_day),
        fixed(frost.coldest_c, 0),
        list(&frost.freezes)
    ))
}

fn winter(season: &SeasonOutcome) -> Option<String> {
    let (winter, rest) = (season.winter.as_ref()?, season.rest.as_ref()?);
    let start = match season.start_up.as_slice() {
        [] => String::new(),
        [one] => format!(" (the start-up, {one}, left out)"),
        [first, .., last] => format!(" (the start-up, {first} to {last}, left out)"),
    };
    let share = |s: &Season| {
        served(s.wanted_h, s.served_h).map_or_else(
            || "nothing was wanted".to_owned(),
            |share| format!("{} % of the hours wanted were served", percent(share, 0)),
        )
    };
    Some(format!(
        "In the coldest three months the line stood at {} C and the liquor at {} C; the digester made {} NL of gas a day \
         and {}. In the other months{start} it was {} C, {} C, {} NL a day, and {}.",
        fixed(winter.line_c, 0),
        fixed(winter.liquor_c, 0),
        rough(winter.made_nl_d),
        share(winter),
        fixed(rest.line_c, 0),
        fixed(rest.liquor_c, 0),
        rough(rest.made_nl_d),
        share(rest)
    ))
}

/// The tightest month.
fn tightest(season: &SeasonOutcome) -> Option<&Season> {
    let name = season.tightest.as_ref()?;
    season.months.iter().find(|m| m.name == *name)
}

fn uses(reading: &Reading<'_>) -> Option<String> {
    let season = reading.season;
    if season.uses.is_empty() {
        return Some("Nothing uses the gas: the timetable is empty.".into());
    }
    let wanted = reading.sum(|d| d.wanted_h);
    if wanted <= 0.0 {
        return None;
    }
    let (short, flame, refused) = (
        reading.sum(|d| d.short_h),
        reading.sum(|d| d.no_flame_h),
        reading.sum(|d| d.refused_h),
    );
    // Without an engine there is nothing that refuses, and no current.
    let runs = |u: &LineOfUse| u.served.electric_kwh > 0.0 || u.served.refused_h > 0.0;
    let (and, refusals, current) = if season.uses.iter().any(runs) {
        (
            "",
            format!(
                ", and in {} an engine refused it for its carbon dioxide",
                fixed(refused, 0)
            ),
            format!(
                " and {} kWh of current",
                rough(reading.sum(|d| d.electric_kwh))
            ),
        )
    } else {
        ("and ", String::new(), String::new())
    };
    Some(format!(
        "Of {} hours wanted, {} were served, {} were short of gas, {and}in {} the gas did not burn or held air{refusals}. The \
         uses gave {} kWh of heat{current}.{}",
        fixed(wanted, 0),
        fixed(reading.sum(|d| d.served_h), 0),
        fixed(short, 0),
        fixed(flame, 0),
        rough(reading.sum(|d| d.heat_kwh)),
        tightest(season).map_or(String::new(), |m| format!(
            " The tightest month{} is {}: {} NL of gas a day, and {} of {} hours a day served.",
            if season.start_up.is_empty() {
                ""
            } else {
                " after the start-up"
            },
            m.name,
            rough(m.made_nl_d),
            fixed(m.served_h / f64::from(m.days.max(1)), 2),
            fixed(m.wanted_h / f64::from(m.days.max(1)), 2)
        ))
    ))
}

/// The gas burns as it leaves the digester before that in the store does.
fn air_in_store(reading: &Reading<'_>) -> Option<String> {
    let lit = |d: &&SeasonDay| d.served_h > 0.0;
    let first = reading.season.days.iter().find(lit)?.day;
    let mut events = reading.outcome.events.iter();
    let leaves = events.find(|e| e.kind == EventKind::BurnsSteadily)?.day;
    let unlit: f64 = (reading.season.days.iter())
        .filter(|d| f64::from(d.day) >= leaves && d.day < first)
        .map(|d| d.no_flame_h)
        .sum();
    (unlit > 0.0).then(|| {
        format!(
            "The gas that leaves the digester burns steadily from {} on, that in the store from {} on: the first gas brought air \
             out of the headspace into it. Let that gas off outdoors, unlit, before the store takes any, and it burns sooner.",
            day_name(leaves, reading.start),
            day_name(f64::from(first), reading.start)
        )
    })
}

fn heating(reading: &Reading<'_>) -> Option<String> {
    let season = reading.season;
    let asked: f64 = day_fuel(reading).iter().sum();
    match season.heater? {
        HeaterSource::OwnGas => {
            let short = reading.sum(|d| d.heater_short_kwh);
            let days = reading
                .counted()
                .iter()
                .filter(|d| d.heater_short_kwh > 0.01);
            let tail = if short > WORTH_KWH {
                format!(
                    " On {} it asked for more than the day's gas: {} kWh must come from elsewhere, or the tank cools \
                     further than computed.",
                    count(days.count(), "day", "days"),
                    rough(short)
                )
            } else {
                String::new()
            };
            Some(format!(
                "The boiler took {} kWh of raw gas before anything else.{tail}",
                rough(reading.sum(|d| d.heater_kwh))
            ))
        }
        HeaterSource::EngineWaste => {
            let short = reading.counted().iter().zip(day_fuel(reading));
            let engine = |d: &SeasonDay| d.engine_heat_kwh;
            let lacking: f64 = short.map(|(d, f)| (f - engine(d)).max(0.0)).sum();
            Some(format!(
                "The heater asks for {} kWh of an engine's waste heat; engines gave {} kWh of it. Day by day {} kWh \
                 are lacking: they must come from elsewhere, or the tank cools further than computed.",
                rough(asked),
                rough(reading.sum(|d| d.engine_heat_kwh)),
                rough(lacking)
            ))
        }
        HeaterSource::Mains => Some(format!(
            "The heater takes {} kWh from outside; the gas made holds {} kWh, and the uses gave {} kWh of heat and current.{}",
            rough(asked),
            rough(reading.sum(|d| d.made_kwh)),
            rough(gained(reading)),
            if asked > gained(reading) {
                " More heat is bought than the gas gives back: the pot alone, heated with what is bought, would take less."
            } else {
                ""
            }
        )),
    }
}

/// Heat and current of the uses on the days that count \[kWh\].
fn gained(reading: &Reading<'_>) -> f64 {
    reading.sum(|d| d.heat_kwh + d.electric_kwh)
}

/// What all heaters of all units ask for on the days that count \[kWh\].
fn day_fuel(reading: &Reading<'_>) -> Vec<f64> {
    let units = f64::from(reading.season.units);
    let mut days = vec![0.0; reading.counted().len()];
    for heat in reading
        .outcome
        .vessels
        .iter()
        .filter_map(|v| v.heat.as_ref())
    {
        for (sum, day) in days
            .iter_mut()
            .zip(&heat.days[reading.season.counted_from as usize..])
        {
            *sum += units * day.fuel_kwh;
        }
    }
    days
}

/// What to do next.
pub(super) fn advice(reading: &Reading<'_>) -> Vec<String> {
    let season = reading.season;
    let mut advice = Vec::new();
    if reading
        .outcome
        .events
        .iter()
        .any(|e| e.kind == EventKind::Freezes)
    {
        advice.push(AGAINST_FREEZING.into());
    }
    let (asked, held) = (
        day_fuel(reading).iter().sum::<f64>(),
        reading.sum(|d| d.made_kwh),
    );
    if held > 0.0 {
        advice.extend(
            season
                .heater
                .and_then(|source| heating_advice(source, asked / held)),
        );
    }
    if let Some(frost) = &season.frost {
        let trap = if frost.freezes.iter().any(|part| part.contains("trap")) {
            ", drain the trap before every frost and close it"
        } else {
            ""
        };
        advice.push(format!(
            "It freezes on {} from {} on: fill seals and the bell's water with brine or cover them with oil{trap}, lay the \
             pipes so that water runs out of them, and lag or bury them.",
            count(frost.days, "night", "nights"),
            day_name(f64::from(frost.from_day), reading.start)
        ));
    }
    let (wanted, made) = (reading.sum(|d| d.wanted_h), reading.sum(|d| d.made_nl));
    let over = reading.sum(|d| d.overflow_nl);
    if over > WORTH * made {
        let flare = if season.wasted.flared_ch4_kg > 0.0 {
            "want more hours in the months that have it, or feed less then; the flare only keeps it from the air"
        } else {
            "want more hours in the months that have it, feed less then, or burn it in a flare"
        };
        advice.push(format!(
            "{} % of the gas overflows: {flare}. A larger store only helps where days of plenty stand beside days of want.",
            percent(over / made, 0)
        ));
    }
    if reading.sum(|d| d.short_h) > WORTH * wanted {
        advice.push(
            "Hours are short of gas: want fewer in the months of want, or move them behind the feeding; look at the monthly \
             bars for when."
                .into(),
        );
    }
    if reading.sum(|d| d.no_flame_h) > WORTH * wanted {
        advice.push(
            "In many hours the gas does not burn: look at its methane share. During a start that is usual; let that gas go \
             outdoors, unlit."
                .into(),
        );
    }
    if reading.sum(|d| d.refused_h) > WORTH * wanted {
        advice.push(
            "The engine refuses the gas for its carbon dioxide. Lime takes it out and adds no energy; count the kilograms \
             first."
                .into(),
        );
    }
    for engine in &season.sour_engines {
        advice.push(format!(
            "On {} the gas for {} holds more hydrogen sulphide ({} ppm at most) than the {} ppm it bears: it eats bearings and \
             exhaust. More iron, changed sooner, and measure behind it.",
            count(engine.days, "day", "days"),
            engine.appliance,
            rough(engine.highest_ppm),
            rough(engine.limit_ppm)
        ));
    }
    if season.margin_hours > 0 {
        advice.push(format!(
            "In {} the bell stood closer to its blow-out than its margin, full or nearly so: give it a relief that lets gas off \
             before that, outdoors and 3 m up or into the flare (\"relief\": true), or use more gas. A deeper seal alone only \
             fills later.",
            count(season.margin_hours, "hour", "hours")
        ));
    }
    if season.suction_hours > 0 {
        advice.push(format!(
            "Danger: in {} the bell rests on its stops and sucks, down to {} Pa: air is drawn in at any leak, and air in gas can \
             burn inside pipes and store. Let it sink until its roof meets the water, leave gas in it, keep it from cooling \
             out, and light nothing until the air is rinsed out.",
            count(season.suction_hours, "hour", "hours"),
            fixed(season.store_pressure_pa.0, 0)
        ));
    }
    if season.wasted.share > break_even_share(GWP_100) {
        advice.push(
            "More methane escapes than the climate bears: find the largest of the sources above first. A closed store of \
             residue and a flare are the usual two."
                .into(),
        );
    }
    advice.push(
        "Put chores.ics into your calendar, and let the digester overrule it: a date is only as good as the computed gas."
            .into(),
    );
    advice
}
