//! A run read against its bands: spells, means, totals that sentences, numbers and figures share.

use crate::digester::Bands;
use crate::simulate::{DayRow, Event, EventKind, Outcome};
use jiff::civil::Date;

/// The last days over which a run's usual level is read \[d\]: four weeks even out a weekly habit of feeding.
const USUAL_DAYS: usize = 28;
/// A run shorter than so many retention times has not reached its usual level: after three, a fully
/// mixed vessel still holds exp(-3) = 5 % of what it held before.
const TURNOVERS: f64 = 3.0;

/// An outcome with what can be read off it.
pub(super) struct Reading<'a> {
    pub(super) outcome: &'a Outcome,
    pub(super) bands: &'a Bands,
    /// Calendar date of day 0.
    pub(super) start: Option<Date>,
    /// Sour stretches of the whole plant \[d\].
    pub(super) spells: Vec<(f64, f64)>,
    /// Means over the last weeks.
    pub(super) usual: Usual,
    /// Sums over the run.
    pub(super) total: Total,
}

/// Means over the last days of a run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Usual {
    /// Days averaged.
    pub(super) days: usize,
    /// \[norm litres/d\]
    pub(super) gas_nl: f64,
    /// \[L/d\]
    pub(super) gas_read_l: f64,
    /// \[norm litres/d\]
    pub(super) ch4_nl: f64,
    /// Methane over gas, 0..1; not a number without gas.
    pub(super) ch4_share: f64,
    /// \[kg VS/m3/d\]
    pub(super) loading: f64,
    /// \[L/d\]
    pub(super) overflow_l: f64,
    /// \[d\]
    pub(super) retention_d: Option<f64>,
}

/// Sums over a run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Total {
    pub(super) fed_kg: f64,
    pub(super) water_kg: f64,
    pub(super) fed_vs_kg: f64,
    pub(super) gas_nl: f64,
    pub(super) ch4_nl: f64,
    pub(super) leaked_ch4_nl: f64,
}

impl<'a> Reading<'a> {
    pub(super) fn new(outcome: &'a Outcome, bands: &'a Bands) -> Self {
        Self {
            outcome,
            bands,
            start: outcome.start_date.as_ref().and_then(|d| d.parse().ok()),
            spells: sour_spells(&outcome.plant),
            usual: Usual::of(&outcome.plant),
            total: Total::of(&outcome.plant),
        }
    }

    /// Rows of the whole plant.
    pub(super) fn rows(&self) -> &'a [DayRow] {
        &self.outcome.plant
    }

    /// The first event of a kind.
    pub(super) fn first(&self, kind: EventKind) -> Option<&'a Event> {
        self.outcome.events.iter().find(|e| e.kind == kind)
    }

    /// Name of a vessel; empty when there is only one, so that sentences need not mention it.
    pub(super) fn vessel(&self, index: usize) -> &'a str {
        match self.outcome.vessels.as_slice() {
            [_] => "",
            all => all.get(index).map_or("", |v| v.name.as_str()),
        }
    }

    /// Days that count as sour.
    pub(super) fn sour_days(&self) -> usize {
        self.rows().iter().filter(|r| r.sour).count()
    }

    /// Whether the run ends sour.
    pub(super) fn ends_sour(&self) -> bool {
        self.rows().last().is_some_and(|r| r.sour)
    }

    /// The row where a quantity is largest; rows where it is not finite do not count.
    pub(super) fn peak(&self, of: impl Fn(&DayRow) -> f64) -> Option<&'a DayRow> {
        let finite = self.rows().iter().filter(|r| of(r).is_finite());
        finite.max_by(|a, b| of(a).total_cmp(&of(b)))
    }

    /// Yield over the theoretical yield of all that was put in; `None` when nothing could be digested.
    pub(super) fn yield_share(&self) -> Option<f64> {
        let last = self.rows().last()?;
        let theory = self.theory()?;
        Some(last.yield_nl_kg_vs / theory)
    }

    /// Theoretical methane of all that was put in \[norm litres/kg VS\]; `None` when nothing could be digested.
    pub(super) fn theory(&self) -> Option<f64> {
        let theory = self.rows().last()?.theoretical_yield_nl_kg_vs;
        (theory.is_finite() && theory > 0.0).then_some(theory)
    }

    /// Whether something is fed of which the volatile solids are not known, as of a steady stream.
    pub(super) fn has_unknown_solids(&self) -> bool {
        self.total.fed_vs_kg <= 0.0 && self.outcome.fate.fed > 0.0
    }

    /// Methane that leaked over all methane made; `None` when none was made.
    pub(super) fn leak_share(&self) -> Option<f64> {
        let share = self.total.leaked_ch4_nl / (self.total.leaked_ch4_nl + self.total.ch4_nl);
        share.is_finite().then_some(share)
    }

    /// Whether the run is long enough for its end to stand for its usual level; `None` when unfed.
    pub(super) fn settled(&self) -> Option<bool> {
        let retention = self.usual.retention_d?;
        Some(f64::from(self.outcome.days) >= TURNOVERS * retention)
    }
}

impl Usual {
    fn of(rows: &[DayRow]) -> Self {
        let days = rows.len().min(USUAL_DAYS);
        let last = &rows[rows.len() - days..];
        let gas = mean(last, |r| r.gas_nl);
        let ch4 = mean(last, |r| r.ch4_nl);
        let retentions: Vec<f64> = last.iter().filter_map(|r| r.retention_d).collect();
        #[allow(clippy::cast_precision_loss)] // at most four weeks
        let retention = retentions.iter().sum::<f64>() / retentions.len() as f64;
        Self {
            days,
            gas_nl: gas,
            gas_read_l: mean(last, |r| r.gas_read_l),
            ch4_nl: ch4,
            ch4_share: ch4 / gas,
            loading: mean(last, |r| r.loading_kg_vs_m3_d),
            overflow_l: mean(last, |r| r.overflow_l),
            retention_d: retention.is_finite().then_some(retention),
        }
    }
}

impl Total {
    fn of(rows: &[DayRow]) -> Self {
        let sum = |of: fn(&DayRow) -> f64| rows.iter().map(of).sum();
        Self {
            fed_kg: sum(|r| r.fed_kg),
            water_kg: sum(|r| r.water_kg),
            fed_vs_kg: sum(|r| r.fed_vs_kg),
            gas_nl: sum(|r| r.gas_nl),
            ch4_nl: sum(|r| r.ch4_nl),
            leaked_ch4_nl: sum(|r| r.leaked_ch4_nl),
        }
    }
}

/// Below this a mean is a rounding of zero, in any unit that is averaged here.
const NOTHING: f64 = 1e-9;

/// Mean of a quantity over rows; 0 without any.
pub(super) fn mean(rows: &[DayRow], of: impl Fn(&DayRow) -> f64) -> f64 {
    #[allow(clippy::cast_precision_loss)] // rows are days
    let n = rows.len().max(1) as f64;
    let mean = rows.iter().map(of).sum::<f64>() / n;
    // What the solver leaves of nothing is nothing, and has no sign.
    if mean.abs() < NOTHING { 0.0 } else { mean }
}

/// Stretches of consecutive sour days \[d\].
pub(super) fn sour_spells(rows: &[DayRow]) -> Vec<(f64, f64)> {
    let mut spells: Vec<(f64, f64)> = Vec::new();
    for row in rows.iter().filter(|r| r.sour) {
        let from = f64::from(row.day);
        match spells.last_mut() {
            Some(spell) if spell.1 >= from => spell.1 = from + 1.0,
            _ => spells.push((from, from + 1.0)),
        }
    }
    spells
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn consecutive_sour_days_make_one_spell() {
        let row = |(day, sour)| DayRow {
            day,
            sour,
            ..DayRow::default()
        };
        let rows: Vec<_> = [(0, true), (1, true), (2, false), (3, true)]
            .map(row)
            .to_vec();
        assert_eq!(sour_spells(&rows), vec![(0.0, 2.0), (3.0, 4.0)]);
        assert!(sour_spells(&[]).is_empty());
    }

    #[test]
    fn the_usual_level_is_that_of_the_last_four_weeks() {
        let row = |day: u32| DayRow {
            day,
            gas_nl: f64::from(day),
            ..DayRow::default()
        };
        let rows: Vec<_> = (0..100).map(row).collect();
        let usual = Usual::of(&rows);
        // Mean of 72..=99.
        assert!((usual.gas_nl - 85.5).abs() < 1e-12);
        assert_eq!(usual.retention_d, None);
        assert_eq!(Usual::of(&[]).days, 0);
    }
}
