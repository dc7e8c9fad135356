//! What a record says in numbers that a model can be held against, each with how far it can be trusted.

use jiff::civil::Date;
use serde::Serialize;

use crate::diary::join::moment;
use crate::diary::record::{Entry, Habits, Record};
use crate::diary::stretch::stretches;

/// Standard deviation of a gas reading in parts of the gas that came: bells read by eye, feeds weighed roughly, and what
/// the equations leave out (common practice, no source).
pub const GAS_RELATIVE_SD: f64 = 0.10;
/// Least standard deviation of a gas reading in parts of a good day's gas (common practice, no source).
pub const GAS_LEAST_SD: f64 = 0.04;
/// Standard deviation of a pH reading: a strip shows 0.2 to 0.3, a cheap meter drifts by 0.1 (common practice, no
/// source).
pub const PH_SD: f64 = 0.2;
/// Standard deviation of a methane share \[% by volume\] (common practice, no source).
pub const METHANE_SD: f64 = 4.0;
/// How sharply flames tell the methane share: half width in shares of the dry gas (assumption).
pub const FLAME_SD: f64 = 0.06;
/// Standard deviation of the logarithm of acids, and of alkalinity (common practice, no source).
pub const ACIDS_LOG_SD: f64 = 0.35;
/// See [`ACIDS_LOG_SD`].
pub const ALKALINITY_LOG_SD: f64 = 0.25;
/// Least acids that a test shows \[mg/L\]: below, a ratio says nothing.
pub const LEAST_ACIDS: f64 = 200.0;
/// Part of the usual gas that counts as a good day's where the record itself never shows one.
const LEAST_SCALE: f64 = 0.3;

/// Gas that no digester gives \[volumes of its liquid a day\], and how many times the usual gas of the record, of the
/// scenario and of a good digester is none either. Common practice, no source: hand-fed tanks give 0.3 to 2 volumes.
const ABSURD_VOLUMES: f64 = 20.0;
/// See [`ABSURD_VOLUMES`].
const ABSURD_TIMES: f64 = 10.0;
/// Gas of a good hand-fed digester \[volumes of its liquid a day\]; see [`ABSURD_VOLUMES`].
const GOOD_VOLUMES: f64 = 1.0;

/// What was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Gas since the reading before \[norm litres, dry\].
    Gas,
    /// The same after the lime, free of carbon dioxide.
    GasAfterLime,
    /// pH.
    Ph,
    /// Methane share of the dry gas \[%\].
    Methane,
    /// Whether it burnt: 1 or 0.
    Burns,
    /// Acids \[mg/L as acetic acid\].
    Acids,
    /// Alkalinity \[mg CaCO3/L\].
    Alkalinity,
}

impl What {
    /// Whether it is an amount of gas.
    #[must_use]
    pub const fn is_gas(self) -> bool {
        matches!(self, Self::Gas | Self::GasAfterLime)
    }
}

/// One number read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reading {
    /// Line of the record.
    pub line: u64,
    /// What.
    pub what: What,
    /// Begin of the stretch that gas was gathered over, else as `day` \[d from the start of the case\].
    pub from_day: f64,
    /// When it was read \[d from the start of the case\].
    pub day: f64,
    /// The number.
    pub value: f64,
    /// Standard deviation \[as the value; of the logarithm for acids and alkalinity\]. Of gas: that of a reading where
    /// none came, see [`gas_size`].
    pub sd: f64,
    /// How many times wider it scatters than that.
    pub wider: f64,
}

impl Reading {
    /// Whether it is gas that was looked for and not seen: it only says that there was less than can be seen.
    #[must_use]
    pub fn is_no_gas(&self) -> bool {
        self.what.is_gas() && self.value <= 0.0
    }

    /// Whether it is a number, which scatters; a flame and gas that was not seen are words.
    #[must_use]
    pub fn is_number(&self) -> bool {
        self.what != What::Burns && !self.is_no_gas()
    }
}

/// An amount of gas on a scale on which readings of any amount scatter by 1: near none it counts in standard deviations
/// `least` of a reading of none, high up it is the logarithm in units of [`GAS_RELATIVE_SD`].
///
/// The scale makes errors that grow as `sqrt(least^2 + (relative x)^2)` equally wide, so that a reading that happens to be
/// low counts no more than one that happens to be high. Source: Bartlett, "The use of transformations", Biometrics 3
/// (1947) 39-52, from memory; the integral of 1 over that error is the inverse hyperbolic sine.
#[must_use]
pub fn gas_size(amount: f64, least: f64) -> f64 {
    libm::asinh(GAS_RELATIVE_SD * amount / least) / GAS_RELATIVE_SD
}

/// The amount of gas at a place of [`gas_size`].
#[must_use]
pub fn gas_of_size(size: f64, least: f64) -> f64 {
    libm::sinh(GAS_RELATIVE_SD * size) * least / GAS_RELATIVE_SD
}

/// All numbers of a record within the days of a case.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Readings {
    /// In the order of the record.
    pub readings: Vec<Reading>,
    /// Last day of the record \[d from the start\], whatever it says.
    pub last_day: f64,
    /// What was left aside and why, in sentences.
    pub notes: Vec<String>,
    /// Gas that no tank of this size gives, left aside, in sentences.
    pub absurd: Vec<String>,
}

impl Readings {
    /// The readings of `record` for a case that starts on `start`; `usual_nl_per_d` is the gas at typical values.
    #[must_use]
    pub fn of(record: &Record, start: Date, habits: &Habits, usual_nl_per_d: f64) -> Self {
        let mut found = Self::default();
        let (stretches, notes) = stretches(record, start, habits);
        found.notes = notes;
        let mut stretches = stretches.into_iter().peekable();
        for (i, entry) in record.entries.iter().enumerate() {
            let day = moment(entry, start);
            if day < 0.0 {
                found.notes.push(format!(
                    "Line {} lies before the start of the scenario and is left aside.",
                    entry.line
                ));
                continue;
            }
            found.last_day = found.last_day.max(day);
            if let Some(gas) = stretches.next_if(|s| s.entry == i) {
                let what = if gas.after_lime {
                    What::GasAfterLime
                } else {
                    What::Gas
                };
                found.push(entry, what, gas.from, gas.to, gas.norm_l);
            }
            let single = [
                (What::Ph, entry.ph),
                (What::Methane, entry.methane_pct),
                (What::Burns, entry.burns.map(|b| f64::from(u8::from(b)))),
                (What::Acids, entry.acids_mg_l),
                (What::Alkalinity, entry.alkalinity_mg_l),
            ];
            for (what, value) in single {
                if let Some(value) = value {
                    found.push(entry, what, day, day, value);
                }
            }
        }
        found.weigh(usual_nl_per_d);
        found
    }

    fn push(&mut self, entry: &Entry, what: What, from_day: f64, day: f64, value: f64) {
        let sd = match what {
            What::Gas | What::GasAfterLime => f64::NAN,
            What::Ph => PH_SD,
            What::Methane => METHANE_SD,
            What::Burns => FLAME_SD,
            What::Acids => ACIDS_LOG_SD,
            What::Alkalinity => ALKALINITY_LOG_SD,
        };
        self.readings.push(Reading {
            line: entry.line,
            what,
            from_day,
            day,
            value,
            sd,
            wider: 1.0,
        });
    }

    /// Gives each gas reading its least standard deviation, from a good day.
    fn weigh(&mut self, usual_nl_per_d: f64) {
        let gas = self.readings.iter().filter(|r| r.what.is_gas());
        let mut rates: Vec<f64> = gas.map(|r| r.value / (r.day - r.from_day)).collect();
        rates.sort_by(f64::total_cmp);
        let good = rates.get(rates.len() * 9 / 10).copied().unwrap_or(0.0);
        let least = GAS_LEAST_SD * good.max(LEAST_SCALE * usual_nl_per_d);
        for reading in self.readings.iter_mut().filter(|r| r.what.is_gas()) {
            reading.sd = least;
        }
    }

    /// Leaves gas aside that a tank of `liquid_l` litres cannot have given: a slip of the pen would else bend the fit and
    /// count as the gas of a good day. The gas after it counts from that line on, as it was read.
    #[must_use]
    pub fn without_absurd(mut self, usual_nl_per_d: f64, liquid_l: f64) -> Self {
        let rate = |r: &Reading| r.value / (r.day - r.from_day);
        let mut rates: Vec<f64> = self
            .readings
            .iter()
            .filter(|r| r.what.is_gas() && r.value > 0.0)
            .map(rate)
            .collect();
        rates.sort_by(f64::total_cmp);
        let usual = rates.get(rates.len() / 2).copied().unwrap_or(0.0);
        let known = usual.max(usual_nl_per_d).max(GOOD_VOLUMES * liquid_l);
        let most = (ABSURD_TIMES * known).min(ABSURD_VOLUMES * liquid_l);
        let absurd = &mut self.absurd;
        self.readings.retain(|r| {
            let is = r.what.is_gas() && rate(r) > most;
            if is {
                absurd.push(format!(
                    "Line {} says {:.0} norm litres of gas a day. A tank of {liquid_l:.0} L like this one never \
                     gives more than {most:.0}: the reading is left out of all sums and of the fit. Look at the line again.",
                    r.line,
                    rate(r)
                ));
            }
            !is
        });
        if !self.absurd.is_empty() {
            self.weigh(usual_nl_per_d);
        }
        self
    }

    /// How many there are of a kind.
    #[must_use]
    pub fn count(&self, what: What) -> usize {
        self.readings.iter().filter(|r| r.what == what).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diary::record::GasReading;
    use jiff::ToSpan as _;
    use jiff::civil::date;

    #[test]
    fn errors_of_any_amount_are_equally_wide_on_the_scale_of_gas() {
        // sqrt(least^2 + (relative x)^2), by hand, over which the scale must rise by 1 (to second order).
        for amount in [0.0, 3.0, 40.0, 2000.0] {
            let sd = 12f64.hypot(GAS_RELATIVE_SD * amount);
            let h = 1e-4 * sd;
            let slope = (gas_size(amount + h, 12.0) - gas_size(amount - h, 12.0)) / (2.0 * h);
            assert!((slope * sd - 1.0).abs() < 1e-6, "{amount}: {slope}");
            let back = gas_of_size(gas_size(amount, 12.0), 12.0);
            assert!((back - amount).abs() < 1e-9 * amount.max(1.0), "{back}");
        }
    }

    #[test]
    fn gas_that_no_tank_gives_is_named_and_left_out() {
        let start = date(2026, 3, 1);
        let mut record = Record::default();
        for (i, litres) in [300.0, 310.0, 31000.0, 305.0, 0.0].into_iter().enumerate() {
            let day = i64::try_from(i).unwrap() + 1;
            let mut entry = Entry::blank(start.checked_add(day.days()).unwrap());
            entry.line = i as u64 + 2;
            entry.gas = Some(GasReading {
                litres,
                temperature_c: None,
                pressure_mbar: None,
                wet: None,
                lime: None,
            });
            record.entries.push(entry);
        }
        let of = |record: &Record| {
            Readings::of(record, start, &Habits::default(), 250.0).without_absurd(250.0, 600.0)
        };
        let found = of(&record);
        let lines: Vec<u64> = found.readings.iter().map(|r| r.line).collect();
        assert_eq!(lines, [2, 3, 5, 6]);
        assert_eq!(found.absurd.len(), 1);
        assert!(found.absurd[0].starts_with("Line 4 "), "{:?}", found.absurd);
        // A good day is what it would be if that line had never been written.
        let first = found.readings[0].sd;
        record.entries[2].gas = None;
        record.entries[2].gas_seen = true;
        assert_eq!(of(&record).readings[0].sd, first);
        assert!(of(&record).absurd.is_empty());
    }
}
