//! What happened, in sentences.

use super::super::words::{acid_ratio, count, day_name, list, rough};
use super::heat;
use super::reading::Reading;
use crate::report::figure::extent;
use crate::report::numbers::{fixed, percent};
use crate::simulate::{Event, EventKind};

/// Below this share the first gas is nothing to speak of \[norm litres in the whole run\].
const NO_GAS_NL: f64 = 0.5;
/// Hydrogen from which a word is due \[ppm by volume\].
pub(super) const SOME_HYDROGEN_PPM: f64 = 1e4;
/// So many sour spells are told one by one.
const TOLD_SPELLS: usize = 3;

/// One paragraph per subject.
pub(super) fn story(reading: &Reading<'_>) -> Vec<String> {
    let parts = [
        setting(reading),
        heat::story(reading),
        gas(reading),
        sour(reading),
        harm(reading),
        usual(reading),
        yields(reading),
        hydrogen(reading),
    ];
    parts.into_iter().filter(|p| !p.is_empty()).collect()
}

fn setting(reading: &Reading<'_>) -> String {
    let outcome = reading.outcome;
    let days = count(outcome.days as usize, "day", "days");
    let liquid: f64 = outcome.vessels.iter().map(|v| v.liquid_l).sum();
    let vessels = match outcome.vessels.len() {
        1 => "the digester".to_owned(),
        n => format!("the row of {n} vessels"),
    };
    let mut text = format!("Over {days} {vessels} with {} L of liquor", rough(liquid));
    if let Some((low, high)) = extent(reading.rows().iter().map(|r| r.temperature_c)) {
        let (low, high) = (fixed(low, 0), fixed(high, 0));
        if low == high {
            text += &format!(" stood at {low} \u{b0}C");
        } else {
            text += &format!(" went between {low} and {high} \u{b0}C (daily means)");
        }
    }
    let total = &reading.total;
    if total.fed_kg > 0.0 {
        text += &format!(
            " and was fed {} kg of material with {} kg of water, that is {} kg of material a day.",
            rough(total.fed_kg),
            rough(total.water_kg),
            rough(total.fed_kg / f64::from(outcome.days.max(1)))
        );
    } else {
        text += " and was not fed.";
    }
    text
}

fn gas(reading: &Reading<'_>) -> String {
    if reading.total.gas_nl < NO_GAS_NL {
        return "No gas worth the name left for the store.".into();
    }
    let mut text = String::new();
    if let Some(event) = reading.first(EventKind::FirstGas) {
        text += &format!(
            "The first gas left on {}{}; it still holds air and carbon dioxide and is let go outdoors. ",
            day_name(event.day, reading.start),
            within(reading, event)
        );
    }
    match reading.first(EventKind::FirstFlame) {
        Some(event) => {
            text += &format!(
                "It burnt for the first time on {}{}",
                day_name(event.day, reading.start),
                within(reading, event)
            );
            text += &match reading.first(EventKind::BurnsSteadily) {
                Some(steady) => format!(
                    " and steadily from {} on.",
                    day_name(steady.day, reading.start)
                ),
                None => ", but not yet steadily.".into(),
            };
        }
        None => text += &never_burnt(reading),
    }
    text
}

fn never_burnt(reading: &Reading<'_>) -> String {
    let best = reading.peak(|r| r.ch4_share).map_or(0.0, |r| r.ch4_share);
    let flame = &reading.bands.flame;
    if best < flame.methane {
        return format!(
            "It never became fit to burn: its methane share reached {} %, and a flame needs about {} %.",
            percent(best, 0),
            percent(flame.methane, 0)
        );
    }
    format!(
        "It never became fit to burn: there was methane enough ({} % at best), but not together with \
         little enough air (at most {} %).",
        percent(best, 0),
        percent(flame.air, 0)
    )
}

/// That it was never sour, and how near it came.
fn never_sour(reading: &Reading<'_>) -> String {
    let bands = reading.bands;
    let near = reading
        .peak(|r| r.acid_ratio)
        .filter(|r| r.acid_ratio > bands.acid_ratio.danger);
    match near {
        None => "It never turned sour.".into(),
        Some(row) => format!(
            "It never turned sour (a pH below {} together with an acid ratio above {}), but it came near: on {} the acid ratio \
             stood at {}, at pH {}. A tank like that can go either way with a starter a little weaker or a liquor a little \
             colder: `marshgas risk` tells how often.",
            bands.sour.ph_below,
            bands.sour.acid_ratio_above,
            day_name(f64::from(row.day), reading.start),
            fixed(row.acid_ratio, 2),
            fixed(row.ph, 1)
        ),
    }
}

fn sour(reading: &Reading<'_>) -> String {
    let spells = &reading.spells;
    if spells.is_empty() {
        return never_sour(reading);
    }
    let days = count(reading.sour_days(), "day", "days");
    let last_open = reading.ends_sour();
    let mut told: Vec<String> = spells
        .iter()
        .take(TOLD_SPELLS)
        .enumerate()
        .map(|(i, (from, to))| {
            let from_day = day_name(*from, reading.start);
            if last_open && i + 1 == spells.len() {
                format!("from {from_day} to the end")
            } else {
                format!("from {from_day} to {}", day_name(to - 1.0, reading.start))
            }
        })
        .collect();
    if spells.len() > TOLD_SPELLS {
        told.push(count(spells.len() - TOLD_SPELLS, "more time", "more times"));
    }
    let mut text = format!("It was sour on {days}: {}.", list(&told));
    if let Some(peak) = reading.peak(|r| r.acid_ratio) {
        text += &format!(
            " The acid-to-alkalinity ratio went up to {} (healthy below {}).",
            acid_ratio(peak.acid_ratio),
            reading.bands.acid_ratio.good
        );
    }
    if last_open {
        text += " It had not recovered by the end of the run.";
    }
    text
}

fn harm(reading: &Reading<'_>) -> String {
    let mut parts = Vec::new();
    if let Some(event) = reading.first(EventKind::WashesOut) {
        parts.push(format!(
            "From {}{} the methane makers that live on acetic acid are gone, washed out or dead: without a \
             new starter they do not come back.",
            day_name(event.day, reading.start),
            within(reading, event)
        ));
    }
    if let Some(event) = reading.first(EventKind::Freezes) {
        parts.push(froze(
            &day_name(event.day, reading.start),
            &within(reading, event),
        ));
    }
    parts.join(" ")
}

/// The liquor freezes `on` a day, `within` a vessel.
pub(in super::super) fn froze(on: &str, within: &str) -> String {
    format!(
        "On {on}{within} the liquor reached freezing point, where this computation ends to mean anything."
    )
}

fn usual(reading: &Reading<'_>) -> String {
    let usual = &reading.usual;
    if usual.gas_nl <= 0.0 || !usual.ch4_share.is_finite() {
        return String::new();
    }
    let mut text = format!(
        "Over the last {} it gave about {} L of gas a day as the owner reads it ({} norm litres, dry) \
         with {} % methane",
        count(usual.days, "day", "days"),
        rough(usual.gas_read_l),
        rough(usual.gas_nl),
        percent(usual.ch4_share, 0)
    );
    text += &match usual.retention_d {
        Some(retention) if reading.has_unknown_solids() => {
            format!(", at a retention time of {} days.", rough(retention))
        }
        Some(retention) => format!(
            ", at a loading of {} kg of volatile solids per m\u{b3} and day and a retention time of {} days.",
            rough(usual.loading),
            rough(retention)
        ),
        None => ", without being fed.".into(),
    };
    if reading.settled() == Some(false) {
        text +=
            " The run is shorter than three retention times, so this is not yet its lasting level.";
    }
    text
}

fn yields(reading: &Reading<'_>) -> String {
    let (Some(last), Some(theory), Some(share)) = (
        reading.rows().last(),
        reading.theory(),
        reading.yield_share(),
    ) else {
        return String::new();
    };
    if reading.has_unknown_solids() {
        return "The volatile solids of the stream are not known, so that there is no yield per kilogram of them.".into();
    }
    let mut text = format!(
        "Counted over the whole run, a kilogram of volatile solids gave {} norm litres of methane, {} % of \
         the {} that its degradable part holds; the starter counts in, its gas and its solids.",
        rough(last.yield_nl_kg_vs),
        percent(share, 0),
        rough(theory)
    );
    if let Some(leak) = reading.leak_share().filter(|s| *s >= 0.005) {
        text += &format!(
            " {} % of the methane was lost through the leak.",
            percent(leak, 0)
        );
    }
    text
}

/// What to think of hydrogen in the gas, of sour days or of others; nothing where there is little.
fn hydrogen(reading: &Reading<'_>) -> String {
    let Some(peak) = reading
        .peak(|r| r.h2_ppm)
        .filter(|r| r.h2_ppm > SOME_HYDROGEN_PPM)
    else {
        return String::new();
    };
    // A start, or the little gas of a cold tank, holds hydrogen without a day that counts as sour.
    let whose = if peak.sour {
        "The gas of the sour days is computed".to_owned()
    } else {
        format!(
            "On {}, although the tank was not sour then, the gas ({} norm litres that day, from liquor of {} \u{b0}C) is computed",
            day_name(f64::from(peak.day), reading.start),
            rough(peak.gas_nl),
            fixed(peak.temperature_c, 0)
        )
    };
    format!(
        "{whose} with up to {} % of hydrogen. That is more than a real tank gives: the model \
         splits sugar into its products in fixed shares, while real bacteria turn to others as hydrogen rises. Some \
         hydrogen there is nevertheless: it burns with a flame that is hardly seen, and explodes in air from 4 to 75 %.",
        percent(peak.h2_ppm / 1e6, 0)
    )
}

/// " in NAME" where there are several vessels.
fn within(reading: &Reading<'_>, event: &Event) -> String {
    match reading.vessel(event.vessel) {
        "" => String::new(),
        name => format!(" in {name}"),
    }
}
