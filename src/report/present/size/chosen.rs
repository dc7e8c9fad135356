//! Why this plant and not another: what else passed, and what sun, ground and pit are worth.

use super::story::{breach_list, foam};
use super::{amount, month, place, short_place, units, warmth};
use crate::report::numbers::percent;
use crate::study::size::{MonthRow, Plant, SizeOutcome, SunChoice, Tried, Verdict};

/// A month's mean below which a tank is taken to freeze \[C\].
pub(super) const ICE_C: f64 = 0.5;

/// The coldest month of a plant.
pub(super) fn coldest(tried: &Tried) -> Option<&MonthRow> {
    let by = |a: &&MonthRow, b: &&MonthRow| a.liquor_c.total_cmp(&b.liquor_c);
    tried.months.iter().min_by(by)
}

/// How a plant fares, in a few words of a table: proposed, what speaks against it, or why another one is proposed.
pub(super) fn fares(o: &SizeOutcome, tried: &Tried) -> String {
    let proposed = o.plant.as_ref().filter(|_| o.verdict == Verdict::Met);
    let text = match proposed {
        _ if !tried.is_fit() => breach_list(o, tried),
        Some(p) if p.tried.plant == tried.plant => "proposed".to_owned(),
        Some(p) => match takes_more(&tried.plant, &p.tried.plant) {
            Some(what) => format!("reaches it; {what}"),
            None => "reaches it".to_owned(),
        },
        None => "reaches it".to_owned(),
    };
    let frozen = coldest(tried).filter(|m| m.liquor_c < ICE_C && tried.plant.rests.is_none());
    match frozen {
        Some(m) => format!("{text}; freezes in {}", month(m.month)),
        None => text,
    }
}

/// What a plant takes more than the proposed one.
fn takes_more(plant: &Plant, proposed: &Plant) -> Option<&'static str> {
    let litres = |p: &Plant| p.unit_l * p.units as f64;
    let cover = match plant.sun {
        SunChoice::Greenhouse => "needs a greenhouse",
        SunChoice::Window | SunChoice::None => "needs a window",
    };
    let pit = if proposed.buried_cm > 0.0 {
        "needs a deeper pit"
    } else {
        "needs a pit"
    };
    [
        (plant.units > proposed.units, "more units"),
        (litres(plant) > litres(proposed), "more litres"),
        (
            plant.set_c.is_some() && proposed.set_c.is_none(),
            "needs a heater",
        ),
        (plant.sun > proposed.sun, cover),
        (plant.buried_cm > proposed.buried_cm, pit),
        (plant.foam_cm > proposed.foam_cm, "more foam"),
        (plant.set_c > proposed.set_c, "held warmer"),
        (
            plant.rests.is_none() && proposed.rests.is_some(),
            "works all year",
        ),
    ]
    .into_iter()
    .find(|(more, _)| *more)
    .map(|(_, what)| what)
}

/// Whether a plant of fewer litres passed too.
pub(super) fn smaller_passed(o: &SizeOutcome, tried: &Tried) -> bool {
    let litres = |t: &Tried| t.plant.unit_l * t.plant.units as f64;
    let mut passed = o.passed_over.iter();
    passed.any(|p| litres(&p.tried) < litres(tried))
}

/// What passed too, and by which rule it is not proposed.
pub(super) fn passed_over(o: &SizeOutcome) -> Option<String> {
    let pieces: Vec<String> = o
        .passed_over
        .iter()
        .map(|p| {
            let plant = &p.tried.plant;
            format!(
                "{}, {}{}, {} ({})",
                units(plant),
                warmth(plant.set_c),
                place(o, plant),
                foam(&p.tried),
                amount(o, p.tried.reach)
            )
        })
        .collect();
    (!pieces.is_empty()).then(|| {
        format!(
            "Passed too, and not proposed: {}. What the wish does not need is left off, something built on must bring at least \
             {} % of the wish, and of plants that hold up to {} % more than the smallest the one with fewer units and less built on \
             is proposed.",
            pieces.join("; "),
            percent(o.rules.least_gain.value, 0),
            percent(o.rules.near_litres.value, 0)
        )
    })
}

/// What was built on and brings too little, where the wish is missed without it.
pub(super) fn idle(o: &SizeOutcome, tried: &Tried) -> Option<String> {
    let least = o.rules.least_gain.value * o.wish.target.amount();
    let p = &tried.plant;
    let without = |name: &str, there: bool, plain: Plant| -> Option<String> {
        let mut placed = o.placed.iter().filter(|_| there);
        let other = placed.find(|t| t.plant == plain && t.is_sound())?;
        let gain = tried.reach - other.reach;
        (gain < least).then(|| {
            format!(
                "The {name} brings only {}, less than {} % of the wish; no plant of about this size passed without it. If you \
                 can bear that little less, leave it out.",
                amount(o, gain.max(0.0)),
                percent(o.rules.least_gain.value, 0)
            )
        })
    };
    let flat = Plant {
        buried_cm: 0.0,
        ..*p
    };
    let open = Plant {
        sun: SunChoice::None,
        ..*p
    };
    let cover = match p.sun {
        SunChoice::Greenhouse => "greenhouse",
        SunChoice::Window | SunChoice::None => "window",
    };
    without("pit", p.buried_cm > 0.0, flat)
        .or_else(|| without(cover, p.sun != SunChoice::None, open))
}

/// What the same plant reaches with and without sun and ground.
pub(super) fn sun(o: &SizeOutcome, tried: &Tried) -> Option<String> {
    let here = |t: &&Tried| t.plant == tried.plant;
    let pieces: Vec<String> = o
        .placed
        .iter()
        .filter(|t| !here(t))
        .map(|t| {
            let reach = if t.is_sound() {
                amount(o, t.reach)
            } else {
                breach_list(o, t)
            };
            format!("{}: {reach}", short_place(&t.plant))
        })
        .collect();
    (!pieces.is_empty()).then(|| {
        format!(
            "Sun and ground: this plant ({}) reaches {}; the same one otherwise placed ({}).",
            short_place(&tried.plant),
            amount(o, tried.reach),
            pieces.join("; ")
        )
    })
}
