//! A first estimate of every plant of the grid: the heat balance without life and a first-order yield.
//!
//! It chooses what is worth a real run. No number of it reaches a result.

use std::cmp::Ordering;

use super::draft;
use super::feed::{self, MonthFeed};
use super::plant::{Plant, Season};
use super::rules::rules;
use super::wish::{HeaterChoice, Target, Wish};
use super::year::{DAYS, LEAD, MONTHS, stretches};
use crate::case::Surroundings;
use crate::feedstock::{Composition, Facts};
use crate::plant::Portion;
use crate::plant::uses::use_table;
use crate::scenario::Problems;
use crate::thermal::CAPACITY_KWH_PER_M3_K;

/// Temperature of the library's hydrolysis constants \[C\].
const REFERENCE_C: f64 = 35.0;
/// Hottest temperature that speeds the first-order rate up \[C\].
const HOTTEST_C: f64 = 38.0;
/// Watts that pass for one kWh a day.
const W_PER_KWH_D: f64 = 1000.0 / 24.0;
/// Current from the gas in the estimate; a small engine on raw gas.
const ENGINE_SHARE: f64 = 0.12;
/// Coldest feed that can be poured \[C\], as in the engine.
const COLDEST_FEED_C: f64 = 1.0;

/// A shell without life: temperatures of an unheated unit and its conductance.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shell {
    /// Unheated liquor by month \[C\].
    pub(super) cold_c: [f64; MONTHS],
    /// Conductance to the outside \[kWh/d/K\], one unit.
    pub(super) kwh_per_d_k: f64,
}

/// The shell of a unit.
///
/// # Errors
/// [`Problems`] where the draft of the plant is no sound scenario: a fault of this build.
pub(super) fn shell(wish: &Wish, of: &Plant) -> Result<Shell, Problems> {
    let plant = Plant {
        units: 1,
        in_row: false,
        set_c: None,
        rests: None,
        ..*of
    };
    let loaded = draft::load(wish, &plant, &draft::without_feed(), 0.0)?;
    let heat = loaded.case.vessels.first().and_then(|v| v.heat.as_ref());
    let surroundings: Option<&Surroundings> = heat.map(|h| &h.surroundings);
    let mut shell = Shell {
        cold_c: wish.air_c,
        kwh_per_d_k: 0.0,
    };
    let Some(surroundings) = surroundings else {
        return Ok(shell);
    };
    let liquid_m3 = plant.unit_liquid_l() / 1000.0;
    let start_c = draft::start_c(wish, &plant);
    let course = surroundings.without_life(liquid_m3, start_c, loaded.case.days);
    for (month, from, to, _) in stretches(draft::start_month(wish, &plant))
        .into_iter()
        .skip(LEAD)
    {
        let of = course
            .get(from as usize + 1..=to as usize)
            .unwrap_or_default();
        shell.cold_c[month] = of.iter().map(|p| p.1).sum::<f64>() / of.len().max(1) as f64;
    }
    let by_k = |celsius: f64| -> f64 {
        surroundings
            .flows(0.0, celsius)
            .iter()
            .map(|f| f.value)
            .sum()
    };
    shell.kwh_per_d_k = (by_k(20.0) - by_k(30.0)) / 10.0;
    Ok(shell)
}

/// What a plant is expected to do.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Estimate {
    /// Liquor by month: (that meets the feed, whole plant) \[C\].
    pub(super) celsius: [(f64, f64); MONTHS],
    /// Expected amount in the unit of the target.
    pub(super) reach: f64,
    /// Least share of a month's gas that its own heating leaves, 1 where heat is bought; far below 0 where it asks for
    /// more than there is.
    pub(super) left: f64,
    /// Energy left for use over the year \[kWh/d\].
    pub(super) net_kwh_d: f64,
    /// Most heat that one unit needs \[W\].
    pub(super) heater_w: f64,
}

impl Estimate {
    /// Which is worth a run more: the one whose heating its gas pays for, then the one that reaches more, then the one
    /// that leaves more. Of two that cannot pay, the one that comes nearer.
    pub(super) fn promise(&self, other: &Self) -> Ordering {
        let pays = |e: &Self| e.left.min(0.0);
        pays(self)
            .total_cmp(&pays(other))
            .then(self.reach.total_cmp(&other.reach))
            .then(self.net_kwh_d.total_cmp(&other.net_kwh_d))
    }
}

/// The estimate of one plant.
pub(super) fn estimate(wish: &Wish, plant: &Plant, shell: &Shell) -> Estimate {
    let units = plant.units as f64;
    let wall = shell.kwh_per_d_k * units;
    let mut celsius = shell.cold_c.map(|c| (c, c));
    let mut plan = feed::plan(wish, plant, &celsius);
    let mut most_kwh_d = 0.0_f64;
    let season: [Season; MONTHS] = std::array::from_fn(|m| plant.season(wish, m));
    let warm_up_kwh_d_k =
        CAPACITY_KWH_PER_M3_K * plant.liquid_l() / 1000.0 / rules().warm_up_days.value;
    let mut heating = [0.0; MONTHS];
    // The feed cools the liquor and the liquor bounds the feed: twice is near enough.
    for _ in 0..2 {
        for m in 0..MONTHS {
            let flow = litres(&plan[m]) / 1000.0 * CAPACITY_KWH_PER_M3_K;
            let feed_c = wish.air_c[m].max(COLDEST_FEED_C);
            let cold_c = (wall * shell.cold_c[m] + flow * feed_c) / (wall + flow).max(1e-12);
            let set_c = plant.set_c.filter(|_| season[m] != Season::Rests);
            let c = set_c.map_or(cold_c, |set| set.max(cold_c));
            celsius[m] = (c, c);
            heating[m] = set_c.map_or(0.0, |_| (wall + flow) * (c - cold_c));
            let warming = match season[m] {
                Season::Begins => (c - cold_c) * warm_up_kwh_d_k,
                Season::Works | Season::Rests => 0.0,
            };
            most_kwh_d = most_kwh_d.max(heating[m] + warming);
        }
        plan = feed::plan(wish, plant, &celsius);
    }
    let made: [f64; MONTHS] =
        std::array::from_fn(|m| methane_kwh_d(wish, plant, m, &plan[m], celsius[m].1));
    let own = wish.builder.heater == HeaterChoice::OwnGas;
    let net: [f64; MONTHS] = std::array::from_fn(|m| {
        made[m]
            - if own {
                heating[m] / rules().boiler_share.value
            } else {
                0.0
            }
    });
    let left = |m: usize| {
        // What the gas of the first month does not pay for is bought.
        if net[m] < made[m] && season[m] == Season::Works {
            net[m] / made[m].max(1e-9)
        } else {
            1.0
        }
    };
    Estimate {
        celsius,
        reach: reach(wish, &plan, &net),
        left: (0..MONTHS).map(left).fold(1.0, f64::min),
        net_kwh_d: net.iter().sum::<f64>() / MONTHS as f64,
        heater_w: most_kwh_d / units * W_PER_KWH_D,
    }
}

fn litres(feed: &MonthFeed) -> f64 {
    feed.kg_per_day + feed.water_l_per_day
}

fn methane_kwh_d(wish: &Wish, plant: &Plant, m: usize, feed: &MonthFeed, celsius: f64) -> f64 {
    let Some(retention_d) = feed.retention_d else {
        return 0.0;
    };
    let matter = wish.composition(Some(m));
    let speed = ((celsius.min(HOTTEST_C) - REFERENCE_C) / rules().halving_k.value).exp2();
    let tanks = if plant.in_row {
        plant.units as f64
    } else {
        1.0
    };
    let taken = digested(&matter, speed, retention_d, tanks);
    let facts = Facts::of(&matter);
    let nl = facts.reachable.methane_nl_per_kg * taken + facts.acids_methane_nl_per_kg;
    let methane = Portion {
        ch4_nl: nl * feed.kg_per_day,
        ..Portion::default()
    };
    methane.energy_kwh()
}

/// Share of the reachable matter that is digested in equal mixed tanks: `1 - (1 + k H / n)^-n`, pool by pool.
fn digested(matter: &Composition, speed: f64, retention_d: f64, tanks: f64) -> f64 {
    let (p, d, k) = (&matter.pools, &matter.degradable, &matter.hydrolysis);
    let pools = [
        (p.fast_carb * d.fast_carb, k.fast_carb.typical),
        (p.fibre * d.fibre, k.fibre.typical),
        (p.protein * d.protein, k.protein.typical),
        (p.fat * d.fat, k.fat.typical),
    ];
    let whole: f64 = pools.iter().map(|(mass, _)| mass).sum();
    let taken: f64 = pools
        .iter()
        .map(|(mass, k)| mass * (1.0 - (1.0 + k * speed * retention_d / tanks).powf(-tanks)))
        .sum();
    if whole > 0.0 { taken / whole } else { 0.0 }
}

fn reach(wish: &Wish, plan: &[MonthFeed; MONTHS], net: &[f64; MONTHS]) -> f64 {
    let counting = || (0..MONTHS).filter(|m| wish.months[*m]);
    let least = |of: &dyn Fn(usize) -> f64| counting().map(of).fold(f64::INFINITY, f64::min);
    let winter = || counting().map(|m| net[m] * f64::from(DAYS[m])).sum::<f64>();
    match wish.target {
        Target::BurnerHours(_) => least(&|m| net[m]) / use_table().burner.power_kw.typical(),
        Target::WinterHeat(_) => winter() * rules().boiler_share.value,
        Target::WinterCurrent(_) => winter() * ENGINE_SHARE,
        Target::Treat(_) => least(&|m| plan[m].kg_per_day),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::feedstock::library;

    #[test]
    fn first_order_yield_of_one_pool_is_the_closed_form() {
        // 0.07 1/d in a mixed tank: 20 d 0.58, 40 d 0.74, 80 d 0.85.
        let mut matter = library().get("cattle-dung").unwrap().composition().clone();
        for k in [
            &mut matter.hydrolysis.fast_carb,
            &mut matter.hydrolysis.fibre,
            &mut matter.hydrolysis.protein,
            &mut matter.hydrolysis.fat,
        ] {
            k.typical = 0.07;
        }
        for (days, share) in [(20.0, 0.58), (40.0, 0.74), (80.0, 0.85)] {
            assert!((digested(&matter, 1.0, days, 1.0) - share).abs() < 0.006);
        }
        assert!(digested(&matter, 1.0, 40.0, 3.0) > digested(&matter, 1.0, 40.0, 1.0));
    }
}
