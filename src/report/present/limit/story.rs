//! The limit as a person feels it, in plain sentences.

use super::{today, with_unit};
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{acid_ratio, count, list, rough};
use crate::study::limit::{LimitKind, LimitOutcome, Measure, Over, Rescue};

/// What is known of the size of every limit here.
const TOO_MUCH: &str = "This model is known to bear too much load: it stays healthy beyond the greatest load that a \
reactor holding back its solids took in Yang et al. 2016, and at 15 and 20 \u{b0}C most. Against a dome in Castano et al. 2014 it \
makes 29 % too little gas, so that it errs in both directions. Read its limit, its largest overfeed and its largest cold spell as upper bounds.";

/// What ends the healthy state.
pub(super) fn kind_words(kind: LimitKind) -> &'static str {
    match kind {
        LimitKind::Fold => "a cliff: beyond it this averaged feed has no healthy state",
        LimitKind::Washout => "washout: a living group leaves faster than it grows",
        LimitKind::Swing => "the tank begins to swing by itself",
        LimitKind::Slide => "it slides into sourness without a cliff",
    }
}

/// What a measure is called.
pub(super) fn measure_words(measure: Measure) -> String {
    match measure {
        Measure::Nothing => "nothing".into(),
        Measure::Dilution { water_l } => format!(
            "pour in {} L of water while as much runs over: a third is replaced",
            rough(water_l)
        ),
        Measure::Bicarbonate { grams } => format!("{} sodium bicarbonate", mass(grams)),
        Measure::Lime { grams } => format!("{} slaked lime", mass(grams)),
        Measure::Warming { by_k } => format!("warm by {} K from then on", rough(by_k)),
        Measure::Reseeding { litres } => {
            format!("a bucket ({} L) of healthy digestate", rough(litres))
        }
    }
}

/// Grams, or kilograms where there are many.
fn mass(grams: f64) -> String {
    if grams < 1000.0 {
        format!("{} g", rough(grams))
    } else {
        format!("{} kg", rough(grams / 1000.0))
    }
}

/// What was found.
pub(super) fn story(o: &LimitOutcome) -> Vec<String> {
    // Where practice stops first, its limit comes first.
    let mut out = practice(o);
    out.push(main(o));
    // A slack at today's warmth is no comfort to a tank that the winter will sour.
    let sours = o.today.season.is_some_and(|s| s.sour);
    out.extend(season(o).filter(|_| sours));
    out.push(TOO_MUCH.into());
    out.extend(temperature(o));
    out.extend(confirmation(o));
    out.extend(shocks(o));
    out.extend(season(o).filter(|_| !sours));
    out.extend(rescue(o));
    out.extend(warning(o));
    if o.vessels > 1 {
        out.push(format!(
            "This scenario has {} vessels in a row. The limit is that of the first, {}, which takes the feed and turns first.",
            o.vessels, o.vessel
        ));
    }
    if o.feed.is_stream {
        out.push(
            "A steady stream feeds this tank. Where doses are needed, its daily portions stand for it, and its kilograms are \
             kilograms of stream."
                .into(),
        );
    }
    out
}

fn main(o: &LimitOutcome) -> String {
    let now = today(o);
    let celsius = fixed(o.temperature_c, 0);
    let Some(l) = &o.limit else {
        let what = match o.over {
            Over::Feed => format!(
                "At {celsius} \u{b0}C no limit was found up to {} of this mixture{}",
                with_unit(o.over, o.searched_to),
                if o.feed.is_stream {
                    String::new()
                } else {
                    format!(" ({} kg VS/m\u{b3}/d)", rough(o.searched_loading))
                }
            ),
            Over::Retention => format!(
                "At {celsius} \u{b0}C no limit was found down to a retention of {}",
                with_unit(o.over, o.searched_to)
            ),
            Over::Temperature => format!(
                "At this feed no limit was found {} {}",
                if o.searched_to > now {
                    "up to"
                } else {
                    "down to"
                },
                with_unit(o.over, o.searched_to)
            ),
        };
        return format!("{what}. You are at {}.", with_unit(o.over, now));
    };
    let kind = kind_words(l.kind);
    let at = with_unit(o.over, l.at.p);
    let share = percent(l.slack.abs() / now, 0);
    match o.over {
        Over::Feed if l.slack >= 0.0 => format!(
            "At {celsius} \u{b0}C this tank turns at {at} of your mixture; you feed {}; the slack is {}, {share} % ({kind}). \
             At the limit the loading is {} and the retention {} days; the limit is not a target.",
            with_unit(o.over, now),
            with_unit(o.over, l.slack),
            // Of a stream only its COD is known.
            if o.feed.is_stream {
                format!("{} kg COD/m\u{b3}/d", rough(l.loading_kg_cod_m3_d))
            } else {
                format!("{} kg VS/m\u{b3}/d", rough(l.loading_kg_vs_m3_d))
            },
            rough(l.retention_d)
        ),
        Over::Feed => format!(
            "At {celsius} \u{b0}C this tank turns at {at} of your mixture ({kind}). You feed {}: {share} % too much to last.",
            with_unit(o.over, now)
        ),
        Over::Retention if l.slack >= 0.0 => format!(
            "At {celsius} \u{b0}C this mixture turns below a retention of {at} ({kind}). You are at {}: {} of slack.",
            with_unit(o.over, now),
            with_unit(o.over, l.slack)
        ),
        Over::Retention => format!(
            "At {celsius} \u{b0}C this mixture turns below a retention of {at} ({kind}). You are at {}: too short to last.",
            with_unit(o.over, now)
        ),
        Over::Temperature => {
            let cold = l.at.p < now;
            format!(
                "At your feed of {} this tank turns {} {at} ({kind}). Its mean is {}: {} K of slack.",
                with_unit(Over::Feed, o.feed.kg_per_day),
                if cold { "below" } else { "above" },
                with_unit(o.over, now),
                significant(l.slack, 2)
            )
        }
    }
}

fn temperature(o: &LimitOutcome) -> Option<String> {
    let t = o.temperature?;
    if o.over == Over::Temperature {
        return match (t.cold_c, t.warm_c) {
            (Some(cold), Some(warm)) => Some(format!(
                "Both sides: it turns below {} \u{b0}C, {} K away, and above {} \u{b0}C, {} K away.",
                fixed(cold, 1),
                fixed(o.temperature_c - cold, 1),
                fixed(warm, 1),
                fixed(warm - o.temperature_c, 1)
            )),
            (None, Some(_)) if o.searched_to > o.temperature_c => Some(format!(
                "On the cold side no limit was found down to {} \u{b0}C.",
                fixed(t.searched_c.0, 0)
            )),
            (Some(_), None) if o.searched_to < o.temperature_c => Some(format!(
                "On the warm side no limit was found up to {} \u{b0}C.",
                fixed(t.searched_c.1, 0)
            )),
            (Some(cold), None) => Some(format!(
                "On the cold side it turns below {} \u{b0}C, {} K away.",
                fixed(cold, 1),
                fixed(o.temperature_c - cold, 1)
            )),
            (None, Some(warm)) => Some(format!(
                "On the warm side it turns above {} \u{b0}C, {} K away.",
                fixed(warm, 1),
                fixed(warm - o.temperature_c, 1)
            )),
            (None, None) => None,
        };
    }
    Some(match (t.cold_c, t.warm_c) {
        (Some(cold), Some(warm)) => format!(
            "At your feed it turns below {} \u{b0}C and above {} \u{b0}C.",
            fixed(cold, 1),
            fixed(warm, 1)
        ),
        (Some(cold), None) => format!("At your feed it turns below {} \u{b0}C.", fixed(cold, 1)),
        (None, Some(warm)) => format!(
            "At your feed no cold limit was found down to {} \u{b0}C; it turns above {} \u{b0}C.",
            fixed(t.searched_c.0, 0),
            fixed(warm, 1)
        ),
        (None, None) => format!(
            "At your feed no limit was found from {} to {} \u{b0}C.",
            fixed(t.searched_c.0, 0),
            fixed(t.searched_c.1, 0)
        ),
    })
}

/// The loadings of practice beside the model's.
fn practice(o: &LimitOutcome) -> Vec<String> {
    if o.feed.is_stream {
        return Vec::new();
    }
    let reached = o.limit.map_or(o.searched_loading, |l| l.loading_kg_vs_m3_d);
    o.practice
        .iter()
        // A limit of temperature says nothing of the load, so that practice is told in any case.
        .filter(|p| o.over == Over::Temperature || reached > p.loading[0])
        .map(|p| {
            let kg = p.loading[0] / o.feed.loading_kg_vs_m3_d * o.feed.kg_per_day;
            let band = if p.loading[0] < p.loading[1] {
                format!("{} to {}", rough(p.loading[0]), rough(p.loading[1]))
            } else {
                rough(p.loading[0])
            };
            format!(
                "The practical limit is {} of this mixture{}: practice does not load {} beyond {band} kg VS/m\u{b3}/d{}. \
                 You feed {}.",
                with_unit(Over::Feed, kg),
                match o.over {
                    Over::Retention => format!(
                        ", a retention of {}",
                        with_unit(Over::Retention, o.feed.retention_d * o.feed.kg_per_day / kg)
                    ),
                    _ => String::new(),
                },
                p.name,
                if o.over == Over::Temperature {
                    ", however warm it is"
                } else {
                    ", and the model, which does not know trace elements, goes well beyond that"
                },
                with_unit(Over::Feed, o.feed.kg_per_day)
            )
        })
        .collect()
}

fn confirmation(o: &LimitOutcome) -> Option<String> {
    let c = o.confirmation.as_ref()?;
    let range = match (c.stays, c.turns) {
        (Some(stays), Some(turns)) => format!(
            "Runs with real doses over {} days stay healthy at {} and turn at {}",
            c.days,
            with_unit(o.over, stays),
            with_unit(o.over, turns)
        ),
        (None, Some(turns)) => format!(
            "Runs with real doses turn already at {}, the safest tried",
            with_unit(o.over, turns)
        ),
        _ => {
            return Some(format!(
                "Runs with real doses did not turn within {} days, even beyond the limit of the averaged feed.",
                c.days
            ));
        }
    };
    let difference = c.difference.unwrap_or(0.0);
    let far = match o.over {
        Over::Temperature => format!("{} K", fixed(difference, 2)),
        _ => format!("{} %", percent(difference, 1)),
    };
    let uneven = if c.monotone {
        ""
    } else {
        " Some run beyond the first that turns stays healthy: the edge is not a clean one, take the first."
    };
    let beyond = match o.limit {
        Some(l) if c.sides.len() == 2 && c.sides.iter().all(|s| s.1) => format!(
            " They stay healthy beyond {} too, which is the limit of the averaged feed and not of the doses: of the two keep \
             to the more careful.",
            with_unit(o.over, l.at.p)
        ),
        _ => String::new(),
    };
    Some(format!(
        "{range}: {far} from the averaged feed.{beyond} Doses come in lumps, and near the limit a tank takes very long to turn.{uneven}"
    ))
}

fn shocks(o: &LimitOutcome) -> Vec<String> {
    let Some(s) = &o.shocks else {
        return if o.today.lives {
            Vec::new()
        } else {
            vec![format!(
                "On day {} the tank does not live on its own feeding (pH {}, acid ratio {}): there is no overfeed to look for. \
                 Choose an earlier day with --day.",
                o.day,
                fixed(o.today.ph, 1),
                acid_ratio(o.today.acid_ratio)
            )]
        };
    };
    let f = &s.overfeed;
    let meal = match (f.survives_kg, f.fails_kg) {
        (Some(kg), Some(_)) => format!(
            "From its state on day {} it survives one overfeed of {} kg of the mixture on top of the usual, {} times the daily feed, \
             and is alive {} days later.",
            o.day,
            significant(kg, 2),
            rough(kg / o.feed.kg_per_day),
            s.days
        ),
        (Some(kg), None) => format!(
            "From its state on day {} no single overfeed up to {} kg, which would exchange half of the liquor, kills it.{}",
            o.day,
            significant(kg, 2),
            week(o)
        ),
        (None, _) => format!(
            "From its state on day {} it survives no overfeed worth the name.",
            o.day
        ),
    };
    let cold = match (s.cold.survives_k, s.cold.fails_k) {
        (Some(k), None) => format!(
            "It survives a cold week {} K below its usual; more would freeze it.",
            rough(k)
        ),
        (Some(k), Some(_)) => format!(
            "It survives a cold week {} K below its usual, not more.",
            rough(k)
        ),
        (None, _) => "It does not survive a cold week.".into(),
    };
    vec![meal, cold]
}

/// What a week of overfeeding does; nothing where it was not tried.
fn week(o: &LimitOutcome) -> String {
    let Some(w) = o.shocks.as_ref().and_then(|s| s.overfeed.week) else {
        return String::new();
    };
    match (w.survives_times, w.fails_times) {
        (Some(times), Some(_)) => format!(
            " It survives {} days of {} times its daily feed, not much more.",
            w.days,
            rough(times)
        ),
        (Some(times), None) => format!(
            " It also survives {} days of {} times its daily feed, the most that was tried.",
            w.days,
            rough(times)
        ),
        (None, _) => format!(
            " It does not survive {} days of {} times its daily feed.",
            w.days,
            rough(w.fails_times.unwrap_or(w.tried_times))
        ),
    }
}

/// What the season does, where the temperature changes.
fn season(o: &LimitOutcome) -> Option<String> {
    let t = &o.today;
    if t.season.is_none() && t.season_unknown_from.is_none() {
        return None;
    }
    let held = format!(
        "The temperature of this scenario changes: what is tried from day {} on holds today's mean of {} \u{b0}C.",
        o.day,
        fixed(o.temperature_c, 1)
    );
    let Some(s) = t.season else {
        let day = t
            .season_unknown_from
            .map_or(String::new(), |day| fixed(day.floor(), 0));
        return Some(format!(
            "{held} What is given of the temperature or the weather ends on day {day}, so the season after it cannot be \
             judged: give it for 100 days more, or choose an earlier day with --day."
        ));
    };
    let ends = fixed(s.ends_c, 0);
    let fate = if s.sour {
        format!(
            "Fed on like this through the season, without a pause, it is sour after 100 days, at {ends} \u{b0}C: feed less, or pause, as it cools."
        )
    } else {
        format!(
            "Fed on like this through the season, without a pause, it is healthy after 100 days, at {ends} \u{b0}C, with {} % of today's methane.",
            percent(s.methane_share, 0)
        )
    };
    Some(format!("{held} {fate}"))
}

/// The quickest rescue that works: (days, fed on, which).
fn best(rescues: &[Rescue]) -> Option<(u32, bool, &Rescue)> {
    rescues
        .iter()
        .flat_map(|r| [(r.fed_on_d, true, r), (r.paused_d, false, r)])
        .filter_map(|(days, fed, r)| Some((days?, fed, r)))
        .min_by_key(|(days, _, _)| *days)
}

fn rescue(o: &LimitOutcome) -> Option<String> {
    let f = &o.shocks.as_ref()?.overfeed;
    let kg = f.beyond_kg?;
    let pause = match f.pause_d {
        Some(days) => format!(
            "a pause of {} heals it",
            count(days as usize, "day", "days")
        ),
        None => format!("no pause up to {} days heals it", f.longest_pause_d),
    };
    let rescue = match best(&f.rescues) {
        Some((days, fed, r)) => format!(
            "Of the rescues begun {} days later, the quickest is: {}{}; healthy again after {}",
            f.rescue_after_d,
            measure_words(r.measure),
            if fed {
                ", feeding on"
            } else {
                ", with a pause"
            },
            count(days as usize, "day", "days")
        ),
        None => format!(
            "None of the rescues begun {} days later brings it back",
            f.rescue_after_d
        ),
    };
    Some(format!(
        "After {} kg{}, just beyond what it survives, {pause}. {rescue}.",
        significant(kg, 2),
        if f.beyond_days > 1 {
            format!(" over {} days", f.beyond_days)
        } else {
            String::new()
        }
    ))
}

fn warning(o: &LimitOutcome) -> Option<String> {
    let w = o.warning.as_ref()?;
    let seen: Vec<String> = w
        .signs
        .iter()
        .filter_map(|s| Some(format!("{} {} days", s.sign.name, s.ahead_d?)))
        .collect();
    let mute: Vec<String> = w
        .signs
        .iter()
        .filter(|s| s.from_the_start)
        .map(|s| s.sign.name.clone())
        .collect();
    let mut text = if seen.is_empty() {
        format!(
            "Raised by a tenth each week, the feed ends the methane on day {} at {}, and no sign warns before.",
            w.fails_day,
            with_unit(Over::Feed, w.kg_per_day)
        )
    } else {
        format!(
            "Raised by a tenth each week, the feed halves the methane on day {} at {}. The signs warn ahead of it: {}.",
            w.fails_day,
            with_unit(Over::Feed, w.kg_per_day),
            list(&seen)
        )
    };
    let first = earliest(o);
    if first.len() > 1 {
        text.push_str(&format!(
            " {} warn within a day of each other: which is first does not count.",
            capital(&list(&first))
        ));
    }
    if !mute.is_empty() {
        text.push_str(&format!(
            " Beyond its band already in health, and so no warning here: {}.",
            list(&mute)
        ));
    }
    Some(text)
}

/// Names of the signs that warn first: all within a day of the earliest.
pub(super) fn earliest(o: &LimitOutcome) -> Vec<String> {
    const TIE_D: u32 = 1;
    let signs = || o.warning.iter().flat_map(|w| &w.signs);
    let Some(first) = signs().filter_map(|s| s.day).min() else {
        return Vec::new();
    };
    signs()
        .filter(|s| s.day.is_some_and(|d| d <= first + TIE_D))
        .map(|s| s.sign.name.clone())
        .collect()
}

fn capital(text: &str) -> String {
    // A name of a quantity keeps its own case.
    if text.starts_with("pH") {
        return text.to_owned();
    }
    let mut chars = text.chars();
    let first: String = chars
        .next()
        .into_iter()
        .flat_map(char::to_uppercase)
        .collect();
    first + chars.as_str()
}

/// What to do.
pub(super) fn advice(o: &LimitOutcome) -> Vec<String> {
    let mut out = Vec::new();
    if !o.healthy_today {
        out.push("Feed less or keep it warmer: today's feed has no healthy lasting state.".into());
    }
    match earliest(o).as_slice() {
        [] => {}
        [first] => out.push(format!(
            "Watch the {first} first: in the run that turns it is worse than in a healthy tank before the others are."
        )),
        tied => out.push(format!(
            "Watch {}: in the run that turns they are worse than in a healthy tank before others are, all within a day.",
            list(tied)
        )),
    }
    if let Some(f) = o.shocks.as_ref().map(|s| &s.overfeed)
        && f.beyond_kg.is_some()
    {
        out.push(
            "After too large a meal stop feeding at once; measure pH and acid ratio daily; feed again, in small steps, when \
             both are back."
                .into(),
        );
    }
    out.push("Spread leftovers over days, and raise the feed by steps of a tenth a week (common practice, no source).".into());
    out
}
