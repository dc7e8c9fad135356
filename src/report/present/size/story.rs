//! The plant in words, or why there is none.

use super::{
    amount, beside, bounding, chosen, heating_share, month, place, units, unmet, warmth, wished,
};
use crate::plant::uses::use_table;
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{month_span, rough};
use crate::study::size::{
    Bound, Breach, HeaterChoice, MonthRow, Proof, SizeOutcome, Sureness, Target, Tried, Verdict,
};

/// Gas of a day that is nothing to speak of \[L\].
const LEAST_GAS_L: f64 = 1e-3;
/// Days of a month in the mean.
const DAYS_OF_MONTH: f64 = 365.0 / 12.0;

pub(super) fn story(o: &SizeOutcome) -> Vec<String> {
    let mut out = Vec::new();
    if o.stopped {
        out.push(
            "The search was stopped early: what stands here is the best so far, and a smaller plant may do. Steps that were \
             not reached are missing."
                .to_owned(),
        );
    }
    out.push(verdict(o));
    out.extend(chosen::passed_over(o));
    out.push(energy(o));
    if let Some(proof) = &o.plant {
        out.push(plant(o, &proof.tried));
        out.extend(heat(o, &proof.tried));
        out.extend(rest(o, proof));
        out.extend(chosen::sun(o, &proof.tried));
        if o.verdict == Verdict::Met {
            out.extend(chosen::idle(o, &proof.tried));
        }
        out.extend(feeding(o, &proof.tried));
        out.extend(margin(o, proof));
    }
    out.extend(trade(o));
    out.extend(beside::story(o));
    out
}

fn verdict(o: &SizeOutcome) -> String {
    if let Some(words) = unmet::verdict(o) {
        return words;
    }
    let Some(proof) = &o.plant else {
        return String::new();
    };
    let tried = &proof.tried;
    let name = format!(
        "{}, {}{}",
        units(&tried.plant),
        warmth(tried.plant.set_c),
        place(o, &tried.plant)
    );
    match o.verdict {
        Verdict::Met => {
            let sure = proof.sureness.map_or(String::new(), |s| sure(o, &s));
            format!(
                "The {} plant that reaches the wish is {name}, with {}: {}{}, where {} were wished.{sure}",
                if chosen::smaller_passed(o, tried) {
                    "plainest"
                } else {
                    "smallest"
                },
                foam(tried),
                amount(o, tried.reach),
                bounding(o),
                amount(o, o.wish.target.amount())
            )
        }
        Verdict::CannotBeMet => format!(
            "Up to the stop no plant reached the wish ({}). Nearest came {name}, with {}: {}.",
            wished(o),
            foam(tried),
            breach_list(o, tried)
        ),
        Verdict::Unsure => format!(
            "The smallest plant that reached the wish ({}) in a run with typical values is {name}, with {}: {}. Neither \
             its chance nor its distance to souring was looked at before the search was stopped.",
            wished(o),
            foam(tried),
            amount(o, tried.reach) + &bounding(o)
        ),
    }
}

/// How many draws reach the wish, and what keeps the others from it beside too little gas.
fn sure(o: &SizeOutcome, s: &Sureness) -> String {
    let mut text = format!(
        " {} of {} draws of what is not known reach it; half of them reach {} or more.",
        s.reached,
        s.draws,
        amount(o, s.reach[1])
    );
    if s.unpaid > 0 {
        text.push_str(&format!(
            " In {} of them the gas of some month does not pay for its heat.",
            s.unpaid
        ));
    }
    if s.dearer > 0 {
        text.push_str(&format!(
            " {} of them buy more than the {} kWh of heat a year that are promised at most.",
            s.dearer,
            rough(s.bought_most_kwh)
        ));
    }
    text
}

fn energy(o: &SizeOutcome) -> String {
    let e = &o.energy;
    let scraps = format!("Your scraps hold {} kWh a day", rough(e.scraps_kwh_d));
    let whole = "if all of it that can be digested is digested";
    match o.wish.target {
        Target::WinterCurrent(kwh) => format!(
            "{scraps} {whole}; the engine would give {} kWh of it as current, since at full load it makes current of {} % of the \
             gas. The wish asks for {} kWh of current a day.{}",
            rough(e.as_current_kwh_d),
            percent(e.engine_share, 0),
            rough(kwh / o.wish.winter_days()),
            if e.co2_share > e.co2_limit {
                format!(
                    " Its gas holds up to {} % carbon dioxide, and such an engine refuses more than {} %: in these months it gives \
                     nothing unless lime takes some of it out.",
                    percent(e.co2_share, 0),
                    percent(e.co2_limit, 0)
                )
            } else {
                String::new()
            }
        ),
        Target::WinterHeat(kwh) => format!(
            "{scraps} {whole}. The wish asks for {} kWh of useful heat a day.",
            rough(kwh / o.wish.winter_days())
        ),
        Target::BurnerHours(h) => format!(
            "{scraps} {whole}: {} of one burner of {} kW. The wish asks for {} kWh a day.",
            time(e.as_burner_h_d),
            significant(e.burner_kw, 2),
            rough(h * e.burner_kw)
        ),
        Target::Treat(_) => format!(
            "{scraps} {whole}: {} of one burner, or {} kWh of current from a small engine.",
            time(e.as_burner_h_d),
            rough(e.as_current_kwh_d)
        ),
    }
}

/// Hours as minutes where they are few.
pub(super) fn time(hours: f64) -> String {
    if hours < 1.5 {
        format!("{} minutes", rough(hours * 60.0))
    } else {
        format!("{} hours", rough(hours))
    }
}

pub(super) fn foam(tried: &Tried) -> String {
    if tried.plant.foam_cm > 0.0 {
        format!("{} cm of foam", tried.plant.foam_cm)
    } else {
        "no foam".to_owned()
    }
}

fn plant(o: &SizeOutcome, tried: &Tried) -> String {
    let p = &tried.plant;
    let gas = tried.mean(&o.wish, |m| m.gas_l_d);
    let net = tried.mean(&o.wish, |m| m.net_kwh_d);
    let own = o.wish.builder.heater == HeaterChoice::OwnGas;
    let kwh = if own && heats(tried) {
        " after heating"
    } else {
        ""
    };
    format!(
        "It holds {} L of liquid. In the months that count it makes {} L of gas a day as read, and {} kWh a day are left for \
         use{kwh}.",
        fixed(p.liquid_l(), 0),
        rough(if gas < LEAST_GAS_L { 0.0 } else { gas }),
        rough(net)
    )
}

fn heats(tried: &Tried) -> bool {
    tried.plant.set_c.is_some()
}

fn heat(o: &SizeOutcome, tried: &Tried) -> Option<String> {
    if !heats(tried) {
        let coldest = chosen::coldest(tried)?;
        let ice = if coldest.liquor_c < chosen::ICE_C {
            " It freezes: empty it before the winter, or set it into the ground under foam and run that."
        } else {
            ""
        };
        return Some(format!(
            "Unheated, its liquor stands at {} \u{b0}C in {}, the coldest month.{ice}",
            fixed(coldest.liquor_c, 0),
            month(coldest.month)
        ));
    }
    let share = heating_share(tried);
    let watts = fixed(tried.heater_w, 0);
    let bought: f64 = tried.months.iter().map(|m| m.heating_kwh_d).sum::<f64>() / 12.0;
    Some(match o.wish.builder.heater {
        HeaterChoice::Mains => format!(
            "The heater ({watts} W for each unit) takes bought heat, {} kWh a day over the year: {} % of the energy of the gas.{}",
            rough(bought),
            percent(share, 0),
            dear(o, 365.0 * bought, share)
        ),
        _ => format!(
            "The heater ({watts} W for each unit) burns own gas, and heating takes {} % of it over the year.",
            percent(share, 0)
        ),
    })
}

/// Bought heat beside what reaches the pots of a wish in a year.
fn dear(o: &SizeOutcome, bought_kwh: f64, share: f64) -> String {
    let Target::BurnerHours(hours) = o.wish.target else {
        return match share > 1.0 {
            true => " The plant costs more energy than it gives.".to_owned(),
            false => String::new(),
        };
    };
    let months = o.wish.months.iter().filter(|m| **m).count() as f64;
    let efficiency = use_table().burner.efficiency.typical();
    let pots_kwh = hours * o.energy.burner_kw * efficiency * 365.0 / 12.0 * months;
    let told = format!(
        " That is {} kWh a year, beside {} kWh that the hours wished bring under pots",
        rough(bought_kwh),
        rough(pots_kwh)
    );
    match bought_kwh > pots_kwh {
        true => format!(
            "{told}: it costs more heat than it gives, and the pot alone, heated with what is bought, takes less."
        ),
        false => format!("{told}."),
    }
}

fn feeding(o: &SizeOutcome, tried: &Tried) -> Option<String> {
    let fed: f64 = tried.months.iter().map(|m| m.feed.kg_per_day).sum();
    let there: f64 = (0..12).map(|m| o.wish.kg(m)).sum();
    if there <= 0.0 || tried.months.is_empty() {
        return None;
    }
    let names = |bound: Bound| -> Vec<String> {
        tried
            .months
            .iter()
            .filter(|m| m.feed.bound == bound)
            .map(|m| month(m.month).to_owned())
            .collect()
    };
    let mut text = format!(
        "It takes {} % of what there is, each kilogram with {} L of water ({} % solids).",
        percent(fed / there, 0),
        significant(tried.plant.water_per_kg, 2),
        significant(tried.plant.solids_pct, 2)
    );
    if tried.plant.line_share < 1.0 {
        text.push_str(&format!(
            " No more than {} % of the loading of practice is fed: with all of it every plant came too close to souring.",
            percent(tried.plant.line_share, 0)
        ));
    }
    for (bound, words) in [
        (Bound::Cold, "too cold to feed at all"),
        (
            Bound::Loading,
            "held back by the loading that practice allows at that warmth",
        ),
        (
            Bound::Retention,
            "held back by the retention that practice asks for at that warmth",
        ),
        (Bound::Water, "held back by the water that can be carried"),
        (
            Bound::Begins,
            if heats(tried) {
                "warmed up, then fed half of what there is from the 15th on"
            } else {
                "beginning again with half of what there is"
            },
        ),
        (Bound::Rests, "at rest, unfed"),
    ] {
        let months = names(bound);
        if !months.is_empty() {
            text.push_str(&format!(" {}: {words}.", in_short(&months)));
        }
    }
    // What the line is worth in the cold, where it is what keeps a plant small.
    let held = tried
        .months
        .iter()
        .filter(|m| m.feed.bound == Bound::Loading)
        .min_by(|a, b| a.first_c.total_cmp(&b.first_c));
    if let Some(m) = held.filter(|_| !heats(tried)) {
        text.push_str(&format!(
            " At the {} \u{b0}C of {} practice allows {} kg of volatile solids a cubic metre and day, at 30 \u{b0}C {}.",
            fixed(m.first_c, 0),
            month(m.month),
            significant(m.loading_line, 2),
            significant(o.rules.loading_line(30.0), 2)
        ));
    }
    Some(text)
}

/// Heat \[kWh\] of a year, and what of it is bought while it begins again.
fn year_kwh(tried: &Tried) -> (f64, f64) {
    let sum = |of: fn(&MonthRow) -> f64| -> f64 {
        let months = tried.months.iter();
        months.map(|m| of(m) * DAYS_OF_MONTH).sum()
    };
    (sum(|m| m.heating_kwh_d), sum(|m| m.bought_kwh_d))
}

/// What a rest saves and what the beginning after it costs; or what a rest would save.
fn rest(o: &SizeOutcome, proof: &Proof) -> Option<String> {
    let tried = &proof.tried;
    let (heat, bought) = year_kwh(tried);
    let other = o.otherwise.as_ref().filter(|t| !t.months.is_empty());
    if tried.plant.rests.is_none() {
        let other = other?;
        let (rested, bought) = year_kwh(other);
        let verdict = if other.is_fit() {
            format!("and would reach {}", amount(o, other.reach))
        } else {
            format!("but then {}", breach_list(o, other))
        };
        return Some(if heats(tried) {
            format!(
                "At rest in the months left out it would take {} instead of {} kWh of heat a year ({} of them bought to begin \
                 again) {verdict}.",
                rough(rested),
                rough(heat),
                rough(bought)
            )
        } else {
            format!(
                "At rest in the months left out it would be fed {} kg less a year {verdict}.",
                rough(fed(tried) - fed(other))
            )
        });
    }
    let resting = tried.plant.working(&o.wish).map(|works| !works);
    let coldest = tried
        .months
        .iter()
        .min_by(|a, b| a.liquor_c.total_cmp(&b.liquor_c))?;
    let begins = tried
        .months
        .iter()
        .find(|m| !resting[m.month - 1] && resting[(m.month + 10) % 12]);
    let mut text = format!(
        "It rests from {}, when nothing is wanted of it: unfed{}, its liquor down to {} \u{b0}C in {}.",
        month_span(&resting),
        if heats(tried) { ", its heater off" } else { "" },
        fixed(coldest.liquor_c, 0),
        month(coldest.month)
    );
    if let Some(m) = begins {
        text.push_str(&if heats(tried) {
            format!(
                " It begins again in {}: two weeks of warming up, then {} kg a day from the 15th on. The run counts that, and the \
                 cold tank before it.",
                month(m.month),
                rough(m.feed.kg_per_day)
            )
        } else if m.feed.kg_per_day <= 0.0 {
            format!(
                " It would begin again in {}, but it is still too cold to feed then.",
                month(m.month)
            )
        } else {
            format!(
                " It begins again in {} with {} kg a day. The run counts the tank as it comes through the rest.",
                month(m.month),
                rough(m.feed.kg_per_day)
            )
        });
        if bought > 0.0 {
            text.push_str(&format!(
                " There is not the gas for that yet: {} kWh are bought{}.",
                rough(bought),
                proof.sureness.map_or(String::new(), |s| format!(
                    ", {} to {} kWh in eight of ten draws",
                    rough(s.bought_kwh[0]),
                    rough(s.bought_kwh[2])
                ))
            ));
        }
    }
    if let Some(other) = other {
        let (all_year, _) = year_kwh(other);
        let heat = if heats(tried) {
            format!(
                "{} kWh of heat a year ({} instead of {}) and ",
                rough(all_year - heat),
                rough(heat),
                rough(all_year)
            )
        } else {
            String::new()
        };
        text.push_str(&format!(
            " The rest saves {heat}{} kg of feed to carry; worked all year the same plant {}.",
            rough(fed(other) - fed(tried)),
            if other.is_fit() {
                format!(
                    "reaches {} and gives {} kWh a day in the mean of the year instead of {}",
                    amount(o, other.reach),
                    rough(mean_net(other)),
                    rough(mean_net(tried))
                )
            } else {
                format!("would not do: {}", breach_list(o, other))
            }
        ));
    }
    Some(text)
}

/// Feed of a year \[kg\].
fn fed(tried: &Tried) -> f64 {
    let months = tried.months.iter();
    months.map(|m| m.feed.kg_per_day * DAYS_OF_MONTH).sum()
}

fn mean_net(tried: &Tried) -> f64 {
    tried.months.iter().map(|m| m.net_kwh_d).sum::<f64>() / tried.months.len().max(1) as f64
}

fn in_short(months: &[String]) -> String {
    if months.len() == 12 {
        "Every month".to_owned()
    } else {
        crate::report::present::words::list(months)
    }
}

fn margin(o: &SizeOutcome, proof: &Proof) -> Option<String> {
    let m = proof.margin?;
    let allowed = percent(o.rules.limit_share.value, 0);
    Some(match (m.share, m.limit_kg_per_day) {
        (Some(share), Some(limit)) => format!(
            "Margin to souring: in {}, at {} \u{b0}C, the first vessel gets {} kg a day; the model turns it sour at {} kg. That is {} % of the \
             limit, where {allowed} % is the most that is allowed.",
            month(m.month),
            fixed(m.celsius, 0),
            rough(m.kg_per_day),
            rough(limit),
            percent(share, 0)
        ),
        _ if m.kept => format!(
            "Margin to souring: in {}, at {} \u{b0}C, the model knows no limit up to three times the feed.",
            month(m.month),
            fixed(m.celsius, 0)
        ),
        _ => format!(
            "Margin to souring: in {}, at {} \u{b0}C, no healthy state was found that lasts.",
            month(m.month),
            fixed(m.celsius, 0)
        ),
    })
}

/// Smaller and warmer against larger and cold.
fn trade(o: &SizeOutcome) -> Option<String> {
    let pieces: Vec<String> = o
        .alternatives
        .iter()
        .map(|p| {
            let plant = &p.tried.plant;
            let size = format!("{} L", fixed(plant.unit_l * plant.units as f64, 0));
            let what = if p.tried.is_fit() {
                format!("{size} reach it")
            } else if p.tried.is_sound() && p.tried.reach <= 0.0 {
                "no size of the list gives anything".to_owned()
            } else if p.tried.is_sound() {
                format!("the most is {} with {size}", amount(o, p.tried.reach))
            } else {
                breach_list(o, &p.tried)
            };
            format!("{}: {what}", warmth(plant.set_c))
        })
        .collect();
    (!pieces.is_empty()).then(|| {
        format!(
            "Smaller and warmer, or larger and cold: {}.",
            pieces.join("; ")
        )
    })
}

/// What a plant breaks, in words.
pub(super) fn breach_list(o: &SizeOutcome, tried: &Tried) -> String {
    let words: Vec<String> = tried.breaches.iter().map(|b| breach(o, tried, b)).collect();
    words.join(", ")
}

fn breach(o: &SizeOutcome, tried: &Tried, breach: &Breach) -> String {
    match breach {
        Breach::Short => format!("reaches {}", amount(o, tried.reach)),
        Breach::Unaffordable { month: m, share } if *share < 100.0 => format!(
            "heating would take {} times the gas of {}",
            rough(*share),
            month(*m)
        ),
        Breach::Unaffordable { month: m, .. } => {
            format!("there is no gas to heat with in {}", month(*m))
        }
        Breach::Lines => "the feed found no place below the lines of practice".to_owned(),
        Breach::Sour => "it turns sour".to_owned(),
        Breach::Freezes { month: m, celsius } => format!(
            "at rest it freezes ({} \u{b0}C in {})",
            fixed(*celsius, 0),
            month(*m)
        ),
        Breach::Acids { ratio, ph } => format!(
            "it comes close to souring: acids up to {} of the alkalinity, pH down to {}",
            significant(*ratio, 2),
            fixed(*ph, 1)
        ),
        Breach::Limit { share: Some(share) } => {
            format!("fed at {} % of the souring limit", percent(*share, 0))
        }
        Breach::Limit { share: None } => {
            "no healthy state that lasts was found at this feed".to_owned()
        }
        Breach::Chance {
            share,
            unpaid,
            dearer,
        } => {
            let also = [
                (*unpaid, "the gas does not pay for the heat"),
                (*dearer, "more heat is bought than is promised"),
            ];
            let also: Vec<String> = (also.iter().filter(|(share, _)| *share > 0.0))
                .map(|(share, what)| format!(" (in {} % {what})", percent(*share, 0)))
                .collect();
            format!(
                "only {} % of the draws reach it{}",
                percent(*share, 0),
                also.concat()
            )
        }
        Breach::Failed { why } => format!("its run failed: {why}"),
    }
}

pub(super) fn advice(o: &SizeOutcome) -> Vec<String> {
    let mut out = Vec::new();
    if o.verdict != Verdict::Met && !o.stopped {
        out.push(
            format!(
                "Do not build this plant for this wish. Wish for less{}, find more to feed, or allow more: larger units, more foam, \
                 another warmth.",
                if o.wish.months.iter().all(|m| *m) {
                    ", for the warm months only"
                } else {
                    ""
                }
            ),
        );
        if o.wish.builder.heater == HeaterChoice::OwnGas
            && o.alternatives.iter().any(|p| {
                p.tried
                    .breaches
                    .iter()
                    .any(|b| matches!(b, Breach::Unaffordable { .. }))
            })
        {
            out.push(
                "Heat from outside (waste hot water into the feed, mains) changes what is possible: try \"heater\": \"mains\" and look \
                 at what it costs."
                    .to_owned(),
            );
        }
    }
    if o.short_of_water {
        out.push(
            "Water is short for some thickness of the feed: effluent of the digester thins the feed as well, but salts and \
             ammonium then rise."
                .to_owned(),
        );
    }
    if let Some(proof) = &o.plant {
        let plant = &proof.tried.plant;
        if o.verdict == Verdict::Met {
            out.push(format!(
                "Find {} L of digestate of a running digester that is fed manure (about as many kg) for the first filling: all \
                 numbers here begin with it. With manure and water in its place the start takes weeks to months longer: put your \
                 own starter into plant.json and ask startup.",
                fixed(plant.liquid_l(), 0)
            ));
        }
        if plant.units > 1 && !plant.in_row {
            out.push(format!(
                "plant.json describes one of the {} units and says that there are {}: season counts all of them, with one store, \
                 one bed and one timetable; run, risk and limit show one.",
                plant.units, plant.units
            ));
        }
        if let Some(start) = o.scenario.as_ref().and_then(|s| s["start_date"].as_str()) {
            out.push(format!(
                "The year of plant.json is a usual one and no real one ({start} stands for any year): set \"start_date\" to the same \
                 day of the year in which you begin before you put its chores into a calendar."
            ));
        }
        out.push(
            "Before you buy anything, run plant.json with marshgas run, then with risk and limit; startup plans its first months."
                .to_owned(),
        );
    }
    out.push("Weigh your scraps for two weeks before you build.".to_owned());
    out
}
