//! What is wished for: what there is, where, what for, what can be built.

use std::path::Path;

use serde::Serialize;
use serde_json::Value;

use super::ask;
use super::year::{DAYS, MONTHS};
use crate::feedstock::{Composition, Facts, library, mix};
use crate::plant::Portion;
use crate::scenario::wish::RawWish;
use crate::scenario::{Checker, Problem, Problems, Sheet, Warning};

/// How units may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Arrangements {
    /// Whatever suits.
    Either,
    /// Each fed by itself.
    Parallel,
    /// The overflow of one feeds the next.
    Row,
}

/// What heater may be built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeaterChoice {
    /// None.
    None,
    /// A boiler on the own gas.
    OwnGas,
    /// Bought heat.
    Mains,
}

/// What catches the sun.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SunChoice {
    /// Nothing.
    None,
    /// A dark glazed window in one side.
    Window,
    /// A small greenhouse over each unit.
    Greenhouse,
}

/// One line of what there is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scrap {
    /// Key in the library.
    pub material: String,
    /// Name for people.
    pub name: String,
    /// By month, January first \[kg/d\].
    pub kg_per_day: [f64; MONTHS],
}

/// What is wished for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Target {
    /// Hours of one burner a day, in the mean of each month that counts.
    BurnerHours(f64),
    /// Useful heat over the three coldest months \[kWh\].
    WinterHeat(f64),
    /// Current over the three coldest months \[kWh\].
    WinterCurrent(f64),
    /// Fresh material taken in, in each month that counts \[kg/d\].
    Treat(f64),
}

impl Target {
    /// The wished amount.
    #[must_use]
    pub const fn amount(self) -> f64 {
        match self {
            Self::BurnerHours(x)
            | Self::WinterHeat(x)
            | Self::WinterCurrent(x)
            | Self::Treat(x) => x,
        }
    }

    /// Its unit.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::BurnerHours(_) => "h/d",
            Self::WinterHeat(_) | Self::WinterCurrent(_) => "kWh",
            Self::Treat(_) => "kg/d",
        }
    }
}

/// What can be built.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Builder {
    /// Whole volumes of one unit, rising \[L\].
    pub unit_sizes_l: Vec<f64>,
    /// Most units.
    pub most_units: usize,
    /// How they may stand.
    pub arrangement: Arrangements,
    /// Insulation, rising \[cm\].
    pub foam_cm: Vec<f64>,
    /// What may catch the sun, simplest first.
    pub sun: Vec<SunChoice>,
    /// How deep the bottom may lie below the ground, rising \[cm\].
    pub buried_cm: Vec<f64>,
    /// Whether a plant may rest in the months that do not count.
    pub pause: bool,
    /// Heater.
    pub heater: HeaterChoice,
    /// Set points, rising \[C\].
    pub set_c: Vec<f64>,
    /// Most water that is added \[L/d\].
    pub water_l_per_day: Option<f64>,
}

/// A wish that can be worked on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wish {
    /// Short name.
    pub title: String,
    /// File as the user named it.
    pub file: String,
    /// Name of the climate, where it has one.
    pub climate_name: Option<String>,
    /// The scenario's `climate`.
    pub climate: Value,
    /// Mean air by month, January first \[C\].
    pub air_c: [f64; MONTHS],
    /// The three coldest months in a row, 0 for January.
    pub winter: [usize; 3],
    /// The hottest month, 0 for January.
    pub hottest: usize,
    /// What there is.
    pub scraps: Vec<Scrap>,
    /// What is wished for.
    pub target: Target,
    /// Months in which the wish counts.
    pub months: [bool; MONTHS],
    /// Chance that is asked for, 0..1.
    pub chance: f64,
    /// Longest hours without use.
    pub hours_without_use: f64,
    /// What can be built.
    pub builder: Builder,
}

impl Wish {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn load(path: &Path) -> Result<(Self, Vec<Warning>), Problems> {
        Self::check(Sheet::open(path)?)
    }

    /// Reads and checks a text; `label` stands for the file in messages.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_text(text: &str, label: &str) -> Result<(Self, Vec<Warning>), Problems> {
        Self::check(Sheet::of(text, label)?)
    }

    fn check(sheet: Sheet<RawWish>) -> Result<(Self, Vec<Warning>), Problems> {
        let mut checker = Checker::new(&sheet.label);
        let wish = sheet
            .raw()
            .map(|raw| ask::checked(&mut checker, raw, &sheet.label));
        let warnings = sheet.close(checker)?;
        // A clean sheet has been read to its end.
        wish.map(|wish| (wish, warnings))
            .ok_or_else(|| Problems::one(Problem::default()))
    }

    /// Latitude of its climate \[deg\]; `None` where it gives none.
    #[must_use]
    pub fn latitude_deg(&self) -> Option<f64> {
        self.climate.get("latitude_deg").and_then(Value::as_f64)
    }

    /// Fresh material of a month \[kg/d\].
    #[must_use]
    pub fn kg(&self, month: usize) -> f64 {
        self.scraps.iter().map(|s| s.kg_per_day[month]).sum()
    }

    /// What one kilogram of a month's material holds, without water; of the whole year where the month has none.
    #[must_use]
    pub fn composition(&self, month: Option<usize>) -> Composition {
        let kg = |s: &Scrap| match month {
            Some(m) if self.kg(m) > 0.0 => s.kg_per_day[m],
            _ => s.kg_per_day.iter().sum(),
        };
        let parts: Vec<(&Composition, f64)> = self
            .scraps
            .iter()
            .filter_map(|s| Some((library().get(&s.material)?.composition(), kg(s))))
            .collect();
        mix(&parts, 0.0)
    }

    /// Energy of all methane that a digester could ever reach in a month's material \[kWh/d\].
    #[must_use]
    pub fn energy_kwh_d(&self, month: usize) -> f64 {
        let facts = Facts::of(&self.composition(Some(month)));
        let nl = facts.reachable.methane_nl_per_kg + facts.acids_methane_nl_per_kg;
        let methane = Portion {
            ch4_nl: nl * self.kg(month),
            ..Portion::default()
        };
        methane.energy_kwh()
    }

    /// Days of the winter.
    #[must_use]
    pub fn winter_days(&self) -> f64 {
        self.winter.iter().map(|m| f64::from(DAYS[*m])).sum()
    }

    /// Mean over the months that count.
    #[must_use]
    pub fn mean(&self, of: impl Fn(usize) -> f64) -> f64 {
        let counting: Vec<usize> = (0..MONTHS).filter(|m| self.months[*m]).collect();
        counting.iter().map(|m| of(*m)).sum::<f64>() / counting.len().max(1) as f64
    }
}
