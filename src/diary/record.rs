//! An owner's record as plain data: what was done and read at the tank, and what is doubtful about it.

use std::fmt;

use jiff::civil::Date;

use crate::chemistry;
use crate::units::{ATM_BAR, kelvin};

/// A record as it was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// One for each line of the file that says anything, in the order of the days.
    pub entries: Vec<Entry>,
    /// What to look at again. Nothing of a record is dropped or changed without a line here.
    pub doubts: Vec<Doubt>,
    /// How the file was understood.
    pub taken: Taken,
}

/// One line of a record. Several may share a day. What was not noted is `None`, never zero.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Line of the file, from 1.
    pub line: u64,
    /// Day.
    pub date: Date,
    /// Hour of the day, 0..24.
    pub time_h: Option<f64>,
    /// What was fed; empty: nothing was noted.
    pub fed: Vec<Fed>,
    /// Water put in \[L\].
    pub water_l: Option<f64>,
    /// Temperature of the tank \[C\].
    pub temperature_c: Option<f64>,
    /// Gas that came since the reading before.
    pub gas: Option<GasReading>,
    /// Whether bell or meter was looked at and tells no amount (a first count, one set back, a lost reading): the next
    /// amount is that since then.
    pub gas_seen: bool,
    /// pH of the liquor, 0..14.
    pub ph: Option<f64>,
    /// Methane share of the dry gas \[% by volume\], 0..100.
    pub methane_pct: Option<f64>,
    /// Whether the gas burnt when it was tried.
    pub burns: Option<bool>,
    /// Volatile acids \[mg/L as acetic acid\].
    pub acids_mg_l: Option<f64>,
    /// Alkalinity \[mg CaCO3/L\].
    pub alkalinity_mg_l: Option<f64>,
    /// Anything else, in the owner's words.
    pub remark: String,
}

impl Entry {
    /// A line of `date` on which nothing is noted yet.
    #[must_use]
    pub fn blank(date: Date) -> Self {
        Self {
            line: 0,
            date,
            time_h: None,
            fed: Vec::new(),
            water_l: None,
            temperature_c: None,
            gas: None,
            gas_seen: false,
            ph: None,
            methane_pct: None,
            burns: None,
            acids_mg_l: None,
            alkalinity_mg_l: None,
            remark: String::new(),
        }
    }
}

/// Some of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Fed {
    /// Name in the library or one of the owner's own.
    pub material: String,
    /// Mass \[kg\], wet as it was weighed, without the water added.
    pub kg: f64,
}

/// A reading of a bell, a bag or a meter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GasReading {
    /// Gas that came since the reading before \[L as read\].
    pub litres: f64,
    /// Temperature of the gas when it was read \[C\].
    pub temperature_c: Option<f64>,
    /// Pressure of the gas above the air around it \[mbar\].
    pub pressure_mbar: Option<f64>,
    /// Whether it was saturated with water vapour (over water, in a bell or a bag) or dried.
    pub wet: Option<bool>,
    /// Whether it was read after the lime that takes the carbon dioxide out.
    pub lime: Option<bool>,
}

/// What stands in for the circumstances of a gas reading that were not noted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Temperature of the gas \[C\].
    pub temperature_c: f64,
    /// Pressure of the gas above the air around it \[mbar\].
    pub pressure_mbar: f64,
    /// Pressure of the air \[bar\].
    pub ambient_bar: f64,
    /// Whether the gas is saturated with vapour.
    pub wet: bool,
    /// Whether it is read after the lime.
    pub lime: bool,
}

impl Default for Habits {
    /// 20 C, no pressure above the air of sea level, wet, before the lime: common practice, no source.
    fn default() -> Self {
        Self {
            temperature_c: 20.0,
            pressure_mbar: 0.0,
            ambient_bar: ATM_BAR,
            wet: true,
            lime: false,
        }
    }
}

impl GasReading {
    /// Whether the carbon dioxide had been taken out.
    #[must_use]
    pub fn after_lime(&self, habits: &Habits) -> bool {
        self.lime.unwrap_or(habits.lime)
    }

    /// Dry gas at 0 C and 101.325 kPa \[norm litres\]. A reading after the lime stays one of methane and what else
    /// passes the lime.
    #[must_use]
    pub fn norm_l(&self, habits: &Habits) -> f64 {
        let pressure_bar =
            habits.ambient_bar + self.pressure_mbar.unwrap_or(habits.pressure_mbar) / 1000.0;
        let humidity = f64::from(u8::from(self.wet.unwrap_or(habits.wet)));
        let temperature_k = kelvin(self.temperature_c.unwrap_or(habits.temperature_c));
        chemistry::norm_dry_from_wet(self.litres, temperature_k, pressure_bar, humidity)
    }
}

/// Something in a record that should be looked at again.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Doubt {
    /// Line of the file, from 1; 0 where it is about the whole file.
    pub line: u64,
    /// What is doubtful and what was made of it, without the line.
    pub reason: String,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => write!(f, "{}", self.reason),
            line => write!(f, "line {line}: {}", self.reason),
        }
    }
}

/// How a file was understood.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize)]
pub struct Taken {
    /// What parts the cells: comma, semicolon or tab.
    pub separator: String,
    /// What parts whole from fraction: point or comma.
    pub decimal: String,
    /// How the days are written: `2026-04-30`, `day.month.year`, ...
    pub dates: String,
    /// (heading of the file, what it was taken for), in the order of the file.
    pub columns: Vec<(String, String)>,
    /// Anything else worth saying, in sentences.
    pub notes: Vec<String>,
}
