//! Months, and the winter among them.

use super::date_of;
use super::frost::freezes_on;
use super::outcome::{BedChange, Season, SeasonDay};
use crate::case::Case;
use crate::plant::residue::{Residue, hygiene};
use crate::simulate::Outcome;

/// Months of a winter.
const WINTER: usize = 3;
/// A month with fewer days is a rest of one and no part of a winter.
const WHOLE_D: u32 = 25;
/// Where the months differ by less there is no winter \[K\]. Assumed.
const SEASON_K: f64 = 3.0;
/// Gas of a month as a share of the mean and feed as a share of the median from which the start-up is over, and days after which what is less is
/// the season's doing. Assumed.
const RISEN: f64 = 0.7;
const FED: f64 = 0.9;
const LONGEST_START_D: u32 = 120;
/// Share not served below which all hours count as served.
const ALL_SERVED: f64 = 1e-3;
/// Length of a month where the run has no date \[d\].
const MONTH_D: u32 = 30;
/// A winter of the last year that is so much milder than another of the run is cut short by its end \[K\]. Assumed.
const CUT_K: f64 = 0.5;
/// Temperatures that the hygiene is known for \[C\].
const HYGIENE_C: (f64, f64) = (0.0, 90.0);

/// Sums by month.
pub(super) fn months(
    case: &Case,
    outcome: &Outcome,
    days: &[SeasonDay],
    residue: Option<&Residue>,
    changes: &[BedChange],
) -> Vec<Season> {
    let name = |day: u32| match date_of(case.start_date, f64::from(day)) {
        Some(date) => format!("{:04}-{:02}", date.year(), date.month()),
        None => {
            let from = day / MONTH_D * MONTH_D;
            format!("days {from} to {}", from + MONTH_D - 1)
        }
    };
    days.chunk_by(|a, b| name(a.day) == name(b.day))
        .filter_map(|chunk| {
            let first = chunk.first()?;
            let (from, to) = (first.day, first.day + chunk.len() as u32);
            let mut season = summed(name(first.day), chunk);
            season.nitrogen_kg =
                residue.map_or(0.0, |r| r.nitrogen_g_l * season.residue_l / 1000.0);
            let within =
                |change: &&BedChange| change.day >= f64::from(from) && change.day < f64::from(to);
            season.bed_changes = changes.iter().filter(within).count();
            let retention = outcome
                .plant
                .get(from as usize..to as usize)
                .into_iter()
                .flatten()
                .filter_map(|row| row.retention_d)
                .fold(f64::INFINITY, f64::min);
            let liquor = season.liquor_c.clamp(HYGIENE_C.0, HYGIENE_C.1);
            season.hygiene = retention
                .is_finite()
                .then(|| hygiene(liquor, retention.min(1e5), false).ok())
                .flatten();
            Some(season)
        })
        .collect()
}

fn summed(name: String, days: &[SeasonDay]) -> Season {
    let n = days.len().max(1) as f64;
    let sum = |f: fn(&SeasonDay) -> f64| days.iter().map(f).sum::<f64>();
    let (made_kwh, heater_kwh) = (sum(|d| d.made_kwh), sum(|d| d.heater_kwh));
    Season {
        name,
        from_day: days.first().map_or(0, |d| d.day),
        days: days.len() as u32,
        liquor_c: sum(|d| d.liquor_c) / n,
        line_c: sum(|d| d.line_c) / n,
        frost_days: days.iter().map(|d| u32::from(freezes_on(d))).sum(),
        fed_kg_d: sum(|d| d.fed_kg) / n,
        made_nl_d: sum(|d| d.made_nl) / n,
        used_nl_d: sum(|d| d.used_nl) / n,
        overflow_nl_d: sum(|d| d.overflow_nl) / n,
        wanted_h: sum(|d| d.wanted_h),
        served_h: sum(|d| d.served_h),
        short_h: sum(|d| d.short_h),
        no_flame_h: sum(|d| d.no_flame_h),
        refused_h: sum(|d| d.refused_h),
        heat_kwh: sum(|d| d.heat_kwh),
        electric_kwh: sum(|d| d.electric_kwh),
        made_kwh,
        heater_kwh,
        heater_short_kwh: sum(|d| d.heater_short_kwh),
        heating_share: (made_kwh > 0.0).then(|| heater_kwh / made_kwh),
        residue_l: sum(|d| d.residue_l),
        nitrogen_kg: 0.0,
        hygiene: None,
        bed_changes: 0,
    }
}

/// Several months as one.
fn joined(name: &str, months: &[&Season]) -> Season {
    let days: u32 = months.iter().map(|m| m.days).sum();
    let sum = |f: fn(&Season) -> f64| months.iter().map(|m| f(m)).sum::<f64>();
    let mean = |f: fn(&Season) -> f64| {
        months.iter().map(|m| f(m) * f64::from(m.days)).sum::<f64>() / f64::from(days.max(1))
    };
    let (made_kwh, heater_kwh) = (sum(|m| m.made_kwh), sum(|m| m.heater_kwh));
    Season {
        name: name.to_owned(),
        from_day: months.first().map_or(0, |m| m.from_day),
        days,
        liquor_c: mean(|m| m.liquor_c),
        line_c: mean(|m| m.line_c),
        frost_days: months.iter().map(|m| m.frost_days).sum(),
        fed_kg_d: mean(|m| m.fed_kg_d),
        made_nl_d: mean(|m| m.made_nl_d),
        used_nl_d: mean(|m| m.used_nl_d),
        overflow_nl_d: mean(|m| m.overflow_nl_d),
        wanted_h: sum(|m| m.wanted_h),
        served_h: sum(|m| m.served_h),
        short_h: sum(|m| m.short_h),
        no_flame_h: sum(|m| m.no_flame_h),
        refused_h: sum(|m| m.refused_h),
        heat_kwh: sum(|m| m.heat_kwh),
        electric_kwh: sum(|m| m.electric_kwh),
        made_kwh,
        heater_kwh,
        heater_short_kwh: sum(|m| m.heater_short_kwh),
        heating_share: (made_kwh > 0.0).then(|| heater_kwh / made_kwh),
        residue_l: sum(|m| m.residue_l),
        nitrogen_kg: sum(|m| m.nitrogen_kg),
        hygiene: None,
        bed_changes: months.iter().map(|m| m.bed_changes).sum(),
    }
}

/// What counts as cold: the line follows the air where there is a climate; else the liquor tells the season.
fn coldness(months: &[Season]) -> fn(&Season) -> f64 {
    let flat = months
        .windows(2)
        .all(|pair| (pair[0].line_c - pair[1].line_c).abs() < 1e-9);
    if flat { |m| m.liquor_c } else { |m| m.line_c }
}

/// Whether a month has days from day `from` on.
fn counts(month: &Season, from: u32) -> bool {
    month.from_day + month.days > from
}

/// Places of the whole months, some of whose days come after day `from`, in which `WINTER` in a row are coldest.
fn coldest(months: &[Season], from: u32) -> Option<usize> {
    let cold = coldness(months);
    let whole = || months.iter().filter(|m| m.days >= WHOLE_D).map(cold);
    let low = whole().fold(f64::INFINITY, f64::min);
    let high = whole().fold(f64::NEG_INFINITY, f64::max);
    if high - low < SEASON_K {
        return None;
    }
    let mean = |at: usize| months[at..at + WINTER].iter().map(cold).sum::<f64>();
    (0..(months.len() + 1).saturating_sub(WINTER))
        .filter(|&at| {
            months[at..at + WINTER]
                .iter()
                .all(|m| m.days >= WHOLE_D && counts(m, from))
        })
        .min_by(|&a, &b| mean(a).total_cmp(&mean(b)))
}

/// The months at the beginning in which gas or feed were still coming up: less gas than [`RISEN`] of the mean of all months,
/// or less feed than [`FED`] of what is usual.
pub(super) fn start_up(months: &[Season]) -> &[Season] {
    let days: u32 = months.iter().map(|m| m.days).sum();
    let all = months.iter().map(|m| m.made_nl_d * f64::from(m.days));
    let made = all.sum::<f64>() / f64::from(days.max(1));
    let mut feeds: Vec<f64> = months.iter().map(|m| m.fed_kg_d).collect();
    feeds.sort_by(f64::total_cmp);
    let fed = feeds.get(feeds.len() / 2).copied().unwrap_or(0.0);
    let risen = |m: &Season| m.made_nl_d >= RISEN * made && m.fed_kg_d >= FED * fed;
    let end = months
        .iter()
        .position(|m| risen(m) || m.from_day > LONGEST_START_D)
        .unwrap_or(0);
    &months[..end]
}

/// The whole month after the start-up and from day `from` on with most of its wanted hours not served; where all are served,
/// with the least energy left for each of them.
pub(super) fn tightest(months: &[Season], from: u32) -> Option<&Season> {
    let after = months.get(start_up(months).len()..).unwrap_or_default();
    let counts = |m: &&Season| m.from_day >= from && m.days >= WHOLE_D && m.wanted_h > 0.0;
    let wanting = after.iter().filter(counts);
    let unserved = |m: &Season| 1.0 - m.served_h / m.wanted_h;
    let left = |m: &Season| (m.made_kwh - m.heater_kwh) / m.wanted_h;
    wanting.min_by(|a, b| {
        let by_hours = unserved(b)
            .max(ALL_SERVED)
            .total_cmp(&unserved(a).max(ALL_SERVED));
        by_hours.then(left(a).total_cmp(&left(b)))
    })
}

/// The coldest three months with days from day `from` on, and the others of these without those of the start-up, if such are
/// left. Where the end of the run cuts the winter short and the one before was whole, that one stands for it.
pub(super) fn winter(months: &[Season], from: u32) -> (Option<Season>, Option<Season>) {
    let cold = coldness(months);
    let mean = |at: usize| months[at..at + WINTER].iter().map(cold).sum::<f64>() / WINTER as f64;
    let whole = coldest(
        months,
        start_up(months).last().map_or(0, |m| m.from_day + m.days),
    );
    let at = match (coldest(months, from), whole) {
        (Some(late), Some(whole)) if mean(whole) < mean(late) - CUT_K => Some(whole),
        (Some(late), _) => Some(late),
        (None, whole) => whole,
    };
    let Some(at) = at else {
        return (None, None);
    };
    let inside: Vec<&Season> = months[at..at + WINTER].iter().collect();
    let outside = |first: usize| -> Vec<&Season> {
        let late = months.get((at + WINTER).max(first)..).unwrap_or_default();
        let early = months.get(first..at).unwrap_or_default();
        let all = early.iter().chain(late);
        all.filter(|m| counts(m, from)).collect()
    };
    let risen = outside(start_up(months).len());
    let outside = if risen.is_empty() { outside(0) } else { risen };
    let rest = (!outside.is_empty()).then(|| joined("the rest", &outside));
    (Some(joined("winter", &inside)), rest)
}

/// First days of a week in the middle of winter, and of one in the middle of the warmest three months.
pub(super) fn middles(
    days: &[SeasonDay],
    months: &[Season],
    winter: &Option<Season>,
) -> (usize, usize) {
    let last = days.len().saturating_sub(7);
    let cold = winter
        .as_ref()
        .map_or(0, |w| (w.from_day + w.days / 2) as usize);
    let warmth = coldness(months);
    let mean = |at: usize| months[at..at + WINTER].iter().map(warmth).sum::<f64>();
    let warm = (0..(months.len() + 1).saturating_sub(WINTER))
        .max_by(|&a, &b| mean(a).total_cmp(&mean(b)))
        .and_then(|at| months.get(at + WINTER / 2))
        .map_or(days.len() / 2, |m| (m.from_day + m.days / 2) as usize);
    (cold.min(last), warm.min(last))
}
