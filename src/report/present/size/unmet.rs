//! A wish that cannot be met: by how much, what comes nearest, why that is not for building, what would help.

use super::story::{breach_list, foam};
use super::{amount, bounding, month, place, units, warmth, wished};
use crate::feedstock::{Facts, library};
use crate::report::numbers::{fixed, percent};
use crate::report::present::words::{list, rough};
use crate::study::size::{
    Bound, Breach, HeaterChoice, MonthRow, Proof, SizeOutcome, Target, Tried, Verdict,
};

/// Liquor at which the methane formers of the network end \[C\]: `T_max_meth` of its data.
const MOST_C: f64 = 46.0;
/// Share of what there is from which on it counts as nearly all.
const NEARLY_ALL: f64 = 0.9;

/// The four sentences of a wish that is not met; `None` where it is met, or was not looked at to the end.
pub(super) fn verdict(o: &SizeOutcome) -> Option<String> {
    let Some(proof) = &o.plant else {
        return Some(format!(
            "The wish cannot be met ({}): no plant of this list came through a run.",
            wished(o)
        ));
    };
    let first = match o.verdict {
        Verdict::Met => return None,
        Verdict::Unsure if proof.sureness.is_none() => return None,
        Verdict::Unsure => margins(o, proof),
        Verdict::CannotBeMet if o.stopped => return None,
        Verdict::CannotBeMet => missing(o, &proof.tried),
    };
    let tried = &proof.tried;
    let mut out = format!(
        "{first} Nearest comes {}, {}{}, with {}: {}{}. It is not proposed for building: {}.",
        units(&tried.plant),
        warmth(tried.plant.set_c),
        place(o, &tried.plant),
        foam(tried),
        amount(o, tried.reach),
        bounding(o),
        breach_list(o, tried)
    );
    let ways = ways(o, tried);
    if !ways.is_empty() {
        out.push_str(&format!(
            " What would make it possible: {}.",
            ways.join("; ")
        ));
    }
    Some(out)
}

/// By how much a plant that keeps all limits misses the wish.
fn missing(o: &SizeOutcome, tried: &Tried) -> String {
    let wish = wished(o);
    let asked = o.wish.target.amount();
    if !tried.is_sound() {
        return format!("The wish cannot be met ({wish}): no plant of your list keeps all limits.");
    }
    let lacking = (asked - tried.reach).max(0.0);
    format!(
        "The wish cannot be met ({wish}). {} are missing, {} % of it, with the most that a plant of your list gives while it \
         keeps all limits.",
        amount(o, lacking),
        percent(lacking / asked, 0)
    )
}

/// By how much the margins are missed.
fn margins(o: &SizeOutcome, proof: &Proof) -> String {
    let mut by = Vec::new();
    for breach in &proof.tried.breaches {
        match breach {
            Breach::Chance { share, .. } => by.push(format!(
                "the surest plant reaches it in {} % of the draws of what is not known, where {} % are asked for",
                percent(*share, 0),
                percent(o.wish.chance, 0)
            )),
            Breach::Limit { share: Some(share) } => by.push(format!(
                "its feed would stand at {} % of the souring limit, where at most {} % of the souring limit are allowed",
                percent(*share, 0),
                percent(o.rules.limit_share.value, 0)
            )),
            _ => {}
        }
    }
    let by = if by.is_empty() {
        String::new()
    } else {
        format!(": {}", by.join("; "))
    };
    format!(
        "The wish cannot be met with the margins asked for ({}){by}. In a run with typical values alone it would be reached.",
        wished(o)
    )
}

/// What would make it possible, the likeliest first.
fn ways(o: &SizeOutcome, tried: &Tried) -> Vec<String> {
    let mut out = Vec::new();
    let held = o.energy.as_burner_h_d;
    if let Target::BurnerHours(hours) = o.wish.target
        && held < hours
    {
        out.push(format!(
            "first of all more to feed, since what there is holds {} h a day even if all that can be digested is, and no plant \
             and no heat gives more",
            rough(held)
        ));
    }
    let row = (o.leanest_month).and_then(|m| tried.months.get(m - 1));
    out.extend(row.map(|row| feed(o, tried, row)).unwrap_or_default());
    let unpaid = |b: &Breach| matches!(b, Breach::Unaffordable { .. });
    let own = o.wish.builder.heater == HeaterChoice::OwnGas;
    let heat = own
        && o.alternatives
            .iter()
            .any(|p| p.tried.breaches.iter().any(unpaid));
    if heat || tried.breaches.iter().any(unpaid) {
        out.push("heat from outside, since the own gas does not pay for it".to_owned());
    }
    let hot = too_hot(tried).map(|row| {
        format!(
            "shade or a cooler place, since the liquor stands at {} \u{b0}C in {} and the methane formers of this program end near \
             {MOST_C} \u{b0}C",
            fixed(row.liquor_c, 0),
            month(row.month)
        )
    });
    out.extend(hot);
    out.extend(less(o, tried));
    out
}

/// The hottest month, where it is too hot for methane formers.
fn too_hot(tried: &Tried) -> Option<&MonthRow> {
    let hottest = tried
        .months
        .iter()
        .max_by(|a, b| a.liquor_c.total_cmp(&b.liquor_c))?;
    (hottest.liquor_c >= MOST_C).then_some(hottest)
}

/// What the feed of the month that decides asks for.
fn feed(o: &SizeOutcome, tried: &Tried, row: &MonthRow) -> Vec<String> {
    let name = month(row.month);
    let more = more(o, tried, row);
    let taken = match row.feed.bound {
        // Where hardly anything is left over, a larger unit alone takes no more.
        Bound::Loading | Bound::Retention if more.is_some() && row.feed.share > NEARLY_ALL => None,
        Bound::Loading | Bound::Retention => Some(format!(
            "larger or warmer units, which take more of the {} kg a day that there are in {name} (practice lets this one take {})",
            rough(o.wish.kg(row.month - 1)),
            rough(row.feed.kg_per_day)
        )),
        Bound::Cold => Some(format!(
            "a warmer tank in {name}, where its liquor of {} \u{b0}C is too cold to feed",
            fixed(row.first_c, 0)
        )),
        Bound::Water => Some(format!(
            "more water in {name}, or effluent in its place, for all of the feed that is there"
        )),
        Bound::Scraps | Bound::Wish | Bound::Begins | Bound::Rests => None,
    };
    more.into_iter().chain(taken).collect()
}

/// More of what is richest in gas of all that is there, where all of that would not do.
fn more(o: &SizeOutcome, tried: &Tried, row: &MonthRow) -> Option<String> {
    let name = month(row.month);
    if let Target::Treat(kg) = o.wish.target {
        let there = o.wish.kg(row.month - 1);
        return (there < kg)
            .then(|| format!("{} kg a day more to treat in {name}", rough(kg - there)));
    }
    let methane = |material: &str| -> Option<f64> {
        let facts = Facts::of(library().get(material)?.composition());
        Some(facts.reachable.methane_nl_per_kg + facts.acids_methane_nl_per_kg)
    };
    let scraps = || o.wish.scraps.iter();
    let richest = scraps()
        .filter_map(|s| Some((s, methane(&s.material)?)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    let fed: f64 = scraps()
        .map(|s| s.kg_per_day[row.month - 1] * methane(&s.material).unwrap_or(0.0))
        .sum();
    let times = o.wish.target.amount() / tried.reach;
    let made = row.methane_kwh_d;
    if !(times > 1.0 && times.is_finite() && fed > 0.0 && made > 0.0 && row.feed.share > 0.0) {
        return None;
    }
    // What is missed is missed of what is left after the heater; the gas goes with the feed.
    let all = made / row.feed.share;
    let more_kwh = (times - 1.0) * row.net_kwh_d - (all - made);
    if more_kwh <= 0.0 {
        return None;
    }
    let kg = fed * more_kwh / all / richest.1;
    Some(format!(
        "about {} kg a day more of {} in {name}{} (a rough figure), and a plant that takes it",
        rough(kg),
        richest.0.name.to_lowercase(),
        if scraps().count() > 1 {
            ", of what you have the richest in gas"
        } else {
            ""
        }
    ))
}

/// A smaller wish, or fewer months.
fn less(o: &SizeOutcome, tried: &Tried) -> Option<String> {
    if tried.reach <= 0.0 || !tried.is_sound() && o.verdict == Verdict::CannotBeMet {
        return None;
    }
    let reached = match (o.verdict, o.plant.as_ref().and_then(|p| p.sureness)) {
        (Verdict::Unsure, Some(s)) => s.reach[0].min(tried.reach),
        _ => tried.reach,
    };
    let mut out = format!(
        "a wish well below the {} that are reached with typical values, since the draws of what is not known need room",
        amount(o, reached)
    );
    let months: Vec<String> = (tried.months.iter())
        .filter(|row| o.wish.months[row.month - 1])
        .filter(|row| net(o, row) >= o.wish.target.amount())
        .map(|row| month(row.month).to_owned())
        .collect();
    let hours = matches!(o.wish.target, Target::BurnerHours(_) | Target::Treat(_));
    if hours && !months.is_empty() && o.verdict == Verdict::CannotBeMet {
        out.push_str(&format!(
            "; in {} alone typical values reach the whole of it, which the draws may not",
            list(&months)
        ));
    }
    Some(out)
}

/// What a month gives for a wish by the day \[unit of the target\].
fn net(o: &SizeOutcome, row: &MonthRow) -> f64 {
    match o.wish.target {
        Target::Treat(_) => row.feed.kg_per_day,
        _ => row.net_kwh_d / o.energy.burner_kw,
    }
}
