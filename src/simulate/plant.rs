//! Completes day rows (feed, loading, retention, reading), judges the days, and sums vessels to the plant.

use super::outcome::{DayRow, SolverRecord};
use super::run::{Fed, Feed};
use crate::case::Case;
use crate::chemistry::moist_volume;
use crate::digester::Bands;
use crate::solver::Statistics;
use crate::units::kelvin;

/// Least days over which loading and retention are averaged.
const WINDOW_D: usize = 7;

/// Days over which loading and retention are averaged: a week, or the usual time from one feed to the next where that
/// is longer, so that a feed every fortnight does not count twice in one week and not at all in the other. The usual
/// time is the middle one; a pause is none.
fn window_d(fed: &[Fed]) -> usize {
    let days: Vec<usize> = (0..fed.len()).filter(|&i| fed[i].volume_m3 > 0.0).collect();
    let mut gaps: Vec<usize> = days.windows(2).map(|w| w[1] - w[0]).collect();
    gaps.sort_unstable();
    gaps.get(gaps.len() / 2)
        .map_or(WINDOW_D, |gap| (*gap).max(WINDOW_D))
}

/// Fills in what a vessel was fed, and what follows from it. Only the first vessel is fed by hand.
pub(super) fn complete_rows(
    rows: &mut [DayRow],
    case: &Case,
    vessel: usize,
    feed: &Feed<'_>,
    overflow_l: &[f64],
) {
    let volume = case.vessels[vessel].liquid_m3;
    let by_hand = vessel == 0;
    let window = window_d(feed.days);
    for (i, row) in rows.iter_mut().enumerate() {
        row.overflow_l = overflow_l[i];
        row.gas_read_l = row.gas_nl * reading_factor(case);
        fill_feed(row, feed.days, i, window, volume, by_hand);
    }
    let share = volume / case.vessels.iter().map(|v| v.liquid_m3).sum::<f64>();
    accumulate_yield(rows, &feed.start.scaled(share));
}

fn fill_feed(
    row: &mut DayRow,
    fed: &[Fed],
    i: usize,
    window_d: usize,
    volume_m3: f64,
    by_hand: bool,
) {
    let window = &fed[(i + 1).saturating_sub(window_d)..=i];
    let days = window.len() as f64;
    let flow: f64 = window.iter().map(|f| f.volume_m3).sum::<f64>() / days;
    row.retention_d = (flow > 0.0).then(|| volume_m3 / flow);
    if by_hand {
        let f = &fed[i];
        row.fed_kg = f.kg;
        row.water_kg = f.water_kg;
        row.fed_vs_kg = f.vs_kg;
        row.fed_cod_kg = f.cod_kg;
        row.theoretical_ch4_nl = f.theoretical_ch4_nl;
        row.loading_kg_vs_m3_d = window.iter().map(|f| f.vs_kg).sum::<f64>() / days / volume_m3;
    }
}

/// Yields since the start; `start` is what the filling of day 0 brought.
fn accumulate_yield(rows: &mut [DayRow], start: &Fed) {
    let (mut ch4, mut vs, mut theory) = (0.0, start.vs_kg, start.theoretical_ch4_nl);
    for row in rows {
        ch4 += row.ch4_nl;
        vs += row.fed_vs_kg;
        theory += row.theoretical_ch4_nl;
        if vs > 0.0 {
            row.yield_nl_kg_vs = ch4 / vs;
            row.theoretical_yield_nl_kg_vs = theory / vs;
        }
    }
}

/// Litres that the owner reads per norm litre: wet, at the reading temperature and the store's pressure.
fn reading_factor(case: &Case) -> f64 {
    let pressure = case.gas.ambient_bar + case.gas.back_pressure_bar;
    // Checked input stays below boiling, so there is a volume.
    moist_volume(1.0, kelvin(case.gas.reading_c), pressure, 1.0).unwrap_or(1.0)
}

/// Marks the days on which the gas burns and those that count as sour.
///
/// Sour: pH and acid ratio beyond their bands, and no more methane than the mean of the days before, or a pH at which
/// none is made. A sour digester stays so until pH and ratio are back in their recovery bands.
pub(super) fn judge(rows: &mut [DayRow], liquid_l: f64, bands: &Bands) {
    mark_burning(rows, liquid_l, bands);
    let falling = bands.sour.falling_days as usize;
    let mut sour = false;
    for i in 0..rows.len() {
        let row = rows[i];
        if sour {
            sour = !(row.ph > bands.recovered.ph_above
                && row.acid_ratio < bands.recovered.acid_ratio_below);
        } else if row.ph < bands.sour.ph_below && row.acid_ratio > bands.sour.acid_ratio_above {
            let falls = i >= falling && {
                let before = rows[i - falling..i].iter().map(|r| r.ch4_nl);
                row.ch4_nl <= before.sum::<f64>() / falling as f64
            };
            sour = falls || row.ph < bands.sour.ph_certain_below;
        }
        rows[i].sour = sour;
    }
}

/// Marks the days on which the gas burns; `liquid_l` is the volume that the gas comes from \[L\].
pub(super) fn mark_burning(rows: &mut [DayRow], liquid_l: f64, bands: &Bands) {
    let least = bands.flame.least_volumes_per_d * liquid_l;
    for row in rows {
        row.burns = row.ch4_share >= bands.flame.methane
            && row.air_share <= bands.flame.air
            && row.gas_nl >= least;
    }
}

/// The whole plant: gas and feed summed, shares mixed by gas volume, liquor as in the last vessel.
pub(super) fn sum(vessels: &[&[DayRow]], feed: &Feed<'_>, case: &Case) -> Vec<DayRow> {
    let Some(last) = vessels.last() else {
        return Vec::new();
    };
    let volume: f64 = case.vessels.iter().map(|v| v.liquid_m3).sum();
    let mut rows: Vec<DayRow> = last.to_vec();
    let window = window_d(feed.days);
    for (i, row) in rows.iter_mut().enumerate() {
        let all = || vessels.iter().map(|v| &v[i]);
        let total = |f: fn(&DayRow) -> f64| all().map(f).sum::<f64>();
        let gas = total(|r| r.gas_nl);
        let mixed = |f: fn(&DayRow) -> f64| {
            if gas > 0.0 {
                all().map(|r| f(r) * r.gas_nl).sum::<f64>() / gas
            } else {
                f(&vessels[0][i])
            }
        };
        row.ch4_share = mixed(|r| r.ch4_share);
        row.co2_share = mixed(|r| r.co2_share);
        row.air_share = mixed(|r| r.air_share);
        row.h2s_ppm = mixed(|r| r.h2s_ppm);
        row.h2_ppm = mixed(|r| r.h2_ppm);
        row.vapour_share = mixed(|r| r.vapour_share);
        row.gas_nl = gas;
        row.gas_read_l = total(|r| r.gas_read_l);
        row.ch4_nl = total(|r| r.ch4_nl);
        row.leaked_nl = total(|r| r.leaked_nl);
        row.leaked_ch4_nl = total(|r| r.leaked_ch4_nl);
        row.level_l = total(|r| r.level_l);
        fill_feed(row, feed.days, i, window, volume, true);
    }
    accumulate_yield(&mut rows, feed.start);
    rows
}

/// Adds one vessel's solver statistics to the record.
pub(super) fn add_statistics(record: &mut SolverRecord, s: &Statistics) {
    record.segments += s.segments;
    record.accepted += s.accepted;
    record.rejected += s.rejected();
    record.rhs += s.rhs;
    record.jacobians += s.jacobians;
    record.factorisations += s.factorisations;
    record.smallest_step_d = record.smallest_step_d.min(s.smallest_step);
    record.largest_step_d = record.largest_step_d.max(s.largest_step);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fed_on(days: &[usize], run: usize) -> Vec<Fed> {
        let mut fed = vec![Fed::default(); run];
        for &day in days {
            fed[day].volume_m3 = 0.02;
            fed[day].vs_kg = 1.4;
        }
        fed
    }

    #[test]
    fn a_feed_every_fortnight_counts_once_in_each_window() {
        let fed = fed_on(&[0, 14, 28, 42, 56], 70);
        let window = window_d(&fed);
        assert_eq!(window, 14);
        for i in 20..70 {
            let mut row = DayRow::default();
            fill_feed(&mut row, &fed, i, window, 1.0, true);
            assert!((row.loading_kg_vs_m3_d - 0.1).abs() < 1e-12, "day {i}");
            assert!((row.retention_d.unwrap() - 700.0).abs() < 1e-9, "day {i}");
        }
    }

    #[test]
    fn a_pause_is_no_feeding_interval() {
        let mut days: Vec<usize> = (0..20).collect();
        days.extend(60..80);
        assert_eq!(window_d(&fed_on(&days, 80)), WINDOW_D);
        assert_eq!(window_d(&fed_on(&[3], 80)), WINDOW_D);
        assert_eq!(window_d(&fed_on(&[], 80)), WINDOW_D);
    }
}
