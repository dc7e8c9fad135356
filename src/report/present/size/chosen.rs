//! Why this plant and not another: what else passed, and what sun, ground and pit are worth.

use super::story::{breach_list, foam};
use super::{amount, place, short_place, units, warmth};
use crate::report::numbers::percent;
use crate::study::size::{Plant, SizeOutcome, SunChoice, Tried};

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
            "Passed too, and not proposed: {}. What brings less than {} % of the wish is left off, and of plants that hold up to \
             {} % more than the smallest the one with fewer units and less built on is proposed.",
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
