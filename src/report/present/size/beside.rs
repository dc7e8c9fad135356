//! What stands beside the digester in words: the store and its hours, the cleaning.

use super::month;
use crate::report::numbers::{fixed, percent};
use crate::report::present::words::{count, rough};
use crate::study::size::SizeOutcome;

/// A trap that catches less a year is not worth a number \[L\].
const LEAST_TRAP_L: f64 = 0.1;

pub(super) fn story(o: &SizeOutcome) -> Vec<String> {
    let mut out = Vec::new();
    out.extend(store(o));
    out.extend(hours(o));
    out.extend(frost(o));
    out.extend(beds(o));
    out
}

fn store(o: &SizeOutcome) -> Option<String> {
    let s = o.store?;
    let bell = if s.bell_diameter_cm <= 200.0 {
        format!(
            " A plastic bell of that: {} cm wide, skirt and water {} cm, {} kg with its ballast for 8 mbar, and a relief that lets \
             gas off, outdoors and 3 m up or into a flare, while {} cm of seal are left before it blows under its rim.",
            fixed(s.bell_diameter_cm, 0),
            fixed(s.bell_skirt_cm, 0),
            rough(s.bell_kg),
            fixed(s.bell_margin_cm, 0)
        )
    } else {
        " That is a matter for a bag rather than a bell.".to_owned()
    };
    Some(format!(
        "Store: {} L hold {} hours without use of the best month{} ({}, {} L a day for use).{bell}",
        rough(s.volume_l),
        rough(s.hours),
        wanted_only(o, " of those in which gas is wanted"),
        month(s.month),
        rough(s.gas_l_d)
    ))
}

/// The words, where gas is wanted in some months only.
fn wanted_only<'w>(o: &SizeOutcome, words: &'w str) -> &'w str {
    match &o.hourly {
        Some(h) if h.used_in.contains(&false) => words,
        _ => "",
    }
}

/// Below this a share is nothing to speak of.
const HARDLY: f64 = 0.005;

/// The store through the hours of the year: with all gas used, then with no more used than wished.
fn hours(o: &SizeOutcome) -> Vec<String> {
    if let Some(why) = &o.hourly_failed {
        return vec![format!(
            "The store was not run hour by hour, so its volume stands on the day's figures alone: {why}."
        )];
    }
    let (Some(h), Some(s)) = (o.hourly.as_ref(), o.store.as_ref()) else {
        return Vec::new();
    };
    let when: Vec<String> = h.used_at_h.iter().map(|at| clock(*at)).collect();
    let days = match h.used_each_days {
        1 => String::new(),
        n => format!(" of every {n} days"),
    };
    let share = |x: f64| {
        if x < HARDLY {
            "hardly any".to_owned()
        } else {
            format!("{} %", percent(x, 0))
        }
    };
    let mut text = format!(
        "Run hour by hour, if all gas is used, from {}{days} on: {}{}",
        crate::report::present::words::list(&when),
        wanted_only(o, "in the months in which gas is wanted "),
        if h.overflow_hours == 0 {
            "nothing overflows.".to_owned()
        } else {
            format!(
                "{} of the gas for use overflows, in {} hours of the year.",
                share(h.overflow),
                h.overflow_hours
            )
        }
    );
    if s.volume_l > 1.001 * h.by_day_l {
        text.push_str(&format!(
            " By the day's figures alone {} L would do, and {} would overflow: the store was enlarged.",
            rough(h.by_day_l),
            share(h.overflow_by_day)
        ));
    }
    let mut out = vec![text];
    if let Some(w) = &h.wished {
        let short = w.short_h / w.asked_h.max(1e-9);
        let served = if w.short_h < 0.5 {
            format!("all {} hours of use are served", fixed(w.asked_h, 0))
        } else {
            format!(
                "{} of {} hours of use fall short ({} %){}",
                fixed(w.short_h, 0),
                fixed(w.asked_h, 0),
                percent(short, 0),
                if short > 0.02 {
                    ": there is not the gas, and a larger store does not help"
                } else {
                    ""
                }
            )
        };
        let over = if w.overflow < HARDLY {
            "Hardly any gas overflows.".to_owned()
        } else {
            format!(
                "{} % of the gas for use overflows, in {} hours, because nobody wants it: find a use for it, or burn it.",
                percent(w.overflow, 0),
                w.overflow_hours
            )
        };
        out.push(format!(
            "Run hour by hour, if no more is used than wished, which is what plant.json holds: {served}. {over}"
        ));
    }
    out
}

/// Nights on which pipes, seals and store freeze.
fn frost(o: &SizeOutcome) -> Option<String> {
    let frost = o.hourly.as_ref()?.frost?;
    Some(format!(
        "Frost: on {} of a usual year the air falls below freezing, to {} \u{b0}C at worst. Water seal, the water under a bell, \
         trap and wet pipes freeze then, which is not computed: a frozen seal is no relief. Brine or oil on the water, lagged and \
         sloping pipes; season gives the dates.",
        count(frost.nights, "night", "nights"),
        fixed(frost.coldest_c, 0)
    ))
}

/// An hour of the day as a clock shows it.
pub(super) fn clock(hours: f64) -> String {
    let minutes = (hours * 60.0).round();
    format!("{:.0}:{:02.0}", (minutes / 60.0).floor(), minutes % 60.0)
}

fn beds(o: &SizeOutcome) -> Option<String> {
    let b = o.beds?;
    Some(format!(
        "Cleaning: {} kg of rusted steel wool last {} days, {} kg of new wool a year for {} g of hydrogen sulphide; {} \
         Taking out the carbon dioxide would eat {} kg of slaked lime a year and add no energy.",
        rough(b.iron_kg),
        rough(b.iron_days),
        rough(b.iron_kg_per_year),
        rough(b.sulphide_g_per_year),
        if b.trap_l_per_year >= LEAST_TRAP_L {
            format!(
                "the water trap before it catches {} L a year.",
                rough(b.trap_l_per_year)
            )
        } else {
            "the water trap before it catches hardly anything.".to_owned()
        },
        rough(b.lime_kg_per_year)
    ))
}
