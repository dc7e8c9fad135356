//! Residue: litres and nutrients out, area that they feed, methane still in it, germs.

use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use super::climate_weight::{Escaped, weigh};
use super::{Figure, PlantFault, within};
use crate::embedded;

/// Phosphorus in P2O5 and potassium in K2O \[kg/kg\]. From IUPAC 2021 abridged atomic weights.
const P_OF_P2O5: f64 = 0.4364;
const K_OF_K2O: f64 = 0.8301;
/// Grams in a kilogram.
const G_PER_KG: f64 = 1000.0;
/// Temperature under which a store of residue is cold \[C\]. Assumed.
const COLD_STORE_C: f64 = 15.0;

/// Nutrients of a digestate as tables give them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DigestateRow {
    /// Nitrogen \[kg/m3\].
    pub n_kg_m3: Figure,
    /// Phosphorus as P2O5 \[kg/m3\].
    pub p2o5_kg_m3: Figure,
    /// Potassium as K2O \[kg/m3\].
    pub k2o_kg_m3: Figure,
}

/// Decimal times of a germ in a digester.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Germ {
    /// Name.
    pub name: String,
    /// At 35 C \[d\].
    pub warm_d: Figure,
    /// At 53 C \[h\].
    pub hot_h: Figure,
    /// At 6 to 15 C \[d\].
    pub cold_d: Figure,
}

/// All figures of `data/residue.json`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResidueTable {
    /// What the table is.
    pub about: String,
    /// Share of the nitrogen that stays.
    pub nitrogen_kept: Figure,
    /// Share of phosphorus and potassium that comes out.
    pub pk_kept: Figure,
    /// Rise of the ammonium share by digestion.
    pub ammonium_rise: Figure,
    /// Ammonium share after digestion, low to high.
    pub ammonium_bounds: Figure,
    /// Nitrogen that a square metre may get in a year \[g\].
    pub rate_g_n_m2_yr: Figure,
    /// Ammonium lost when spread on the surface.
    pub surface_loss: Figure,
    /// Share of the remaining methane that comes out in an open store.
    pub continues_share: Figure,
    /// The same in the cold, relative.
    pub cold_store_factor: Figure,
    /// Digestate of food waste.
    pub digestate_food: DigestateRow,
    /// Digestate of cattle slurry.
    pub digestate_cattle: DigestateRow,
    /// Germs.
    pub germs: Vec<Germ>,
}

static TABLE: LazyLock<ResidueTable> =
    LazyLock::new(|| embedded::read("plant/data/residue.json", include_str!("data/residue.json")));

/// The built-in figures.
#[must_use]
pub fn residue_table() -> &'static ResidueTable {
    &TABLE
}

impl DigestateRow {
    /// Phosphorus and potassium beside a kilogram of nitrogen \[kg/kg\]: for feed of which only nitrogen is known.
    #[must_use]
    pub fn beside_nitrogen(&self) -> (f64, f64) {
        let n = self.n_kg_m3.typical();
        (
            self.p2o5_kg_m3.typical() * P_OF_P2O5 / n,
            self.k2o_kg_m3.typical() * K_OF_K2O / n,
        )
    }
}

/// Feed, gas and settings of a span of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResidueInputs {
    /// Length of the span \[d\].
    pub days: f64,
    /// Fed, water included \[kg\].
    pub fed_kg: f64,
    /// Gas that left, vapour included \[kg\].
    pub gas_kg: f64,
    /// Nitrogen fed \[kg\].
    pub nitrogen_kg: f64,
    /// Ammonium nitrogen fed \[kg\].
    pub ammonium_n_kg: f64,
    /// Phosphorus fed \[kg\].
    pub phosphorus_kg: f64,
    /// Potassium fed \[kg\].
    pub potassium_kg: f64,
    /// Ammonium nitrogen of the liquor, where a run computed it \[mg N/L\].
    pub ammonium_mg_l: Option<f64>,
    /// Methane that the feed could give at most, and that was taken \[norm litres\].
    pub methane_potential_nl: f64,
    /// Methane that was taken \[norm litres\].
    pub methane_taken_nl: f64,
    /// Density of the residue \[kg/L\].
    pub density_kg_l: f64,
    /// Temperature at which the residue is stored \[C\].
    pub store_c: f64,
    /// Whether the store of the residue is gas-tight and its gas is used.
    pub store_closed: bool,
    /// Nitrogen that a square metre may get in a year \[g\].
    pub rate_g_n_m2_yr: f64,
    /// Share of the remaining methane that comes out in an open, warm store.
    pub continues_share: f64,
}

/// What comes out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Residue {
    /// Litres out.
    pub litres: f64,
    /// Nitrogen \[kg\].
    pub nitrogen_kg: f64,
    /// Phosphorus \[kg\].
    pub phosphorus_kg: f64,
    /// Potassium \[kg\].
    pub potassium_kg: f64,
    /// Nitrogen \[g/L\].
    pub nitrogen_g_l: f64,
    /// Ammonium share of the nitrogen: low, typical, high; all equal where a run computed it.
    pub ammonium_share: [f64; 3],
    /// Area that a year of it feeds at the rate \[m2\].
    pub area_m2: f64,
    /// Litres that a square metre may get in a year; `None` without nitrogen.
    pub dose_l_m2_yr: Option<f64>,
    /// Methane still to come from it \[norm litres\], if it stays warm for long.
    pub remaining_ch4_nl: f64,
    /// Methane that leaves an open store, weighed.
    pub escaping: Escaped,
}

/// Computes the residue of a span.
///
/// Mass out is mass in less the gas. Nitrogen, phosphorus and potassium stay but for small losses.
///
/// # Errors
/// [`PlantFault`] for a value out of range; more gas than feed.
pub fn residue(inputs: &ResidueInputs) -> Result<Residue, PlantFault> {
    check(inputs)?;
    let table = residue_table();
    let litres = (inputs.fed_kg - inputs.gas_kg) / inputs.density_kg_l;
    let nitrogen_kg = inputs.nitrogen_kg * table.nitrogen_kept.typical();
    let nitrogen_g_l = nitrogen_kg * G_PER_KG / litres;
    let years = inputs.days / 365.25;
    let remaining = (inputs.methane_potential_nl - inputs.methane_taken_nl).max(0.0);
    let cold = if inputs.store_c < COLD_STORE_C {
        table.cold_store_factor.typical()
    } else {
        1.0
    };
    let open = if inputs.store_closed { 0.0 } else { 1.0 };
    Ok(Residue {
        litres,
        nitrogen_kg,
        phosphorus_kg: inputs.phosphorus_kg * table.pk_kept.typical(),
        potassium_kg: inputs.potassium_kg * table.pk_kept.typical(),
        nitrogen_g_l,
        ammonium_share: ammonium_share(inputs, nitrogen_g_l),
        area_m2: nitrogen_kg * G_PER_KG / years / inputs.rate_g_n_m2_yr,
        dose_l_m2_yr: (nitrogen_g_l > 0.0).then(|| inputs.rate_g_n_m2_yr / nitrogen_g_l),
        remaining_ch4_nl: remaining,
        escaping: weigh(remaining * inputs.continues_share * cold * open),
    })
}

fn ammonium_share(inputs: &ResidueInputs, nitrogen_g_l: f64) -> [f64; 3] {
    if let Some(mg_l) = inputs.ammonium_mg_l.filter(|_| nitrogen_g_l > 0.0) {
        return [(mg_l / 1000.0 / nitrogen_g_l).min(1.0); 3];
    }
    let table = residue_table();
    let fed = if inputs.nitrogen_kg > 0.0 {
        inputs.ammonium_n_kg / inputs.nitrogen_kg
    } else {
        0.0
    };
    let bounds = &table.ammonium_bounds;
    table
        .ammonium_rise
        .range
        .map(|rise| (fed + rise).clamp(bounds.low(), bounds.high()))
}

fn check(inputs: &ResidueInputs) -> Result<(), PlantFault> {
    const MOST: f64 = 1e9;
    for (name, value) in [
        ("fed_kg", inputs.fed_kg),
        ("gas_kg", inputs.gas_kg),
        ("nitrogen_kg", inputs.nitrogen_kg),
        ("ammonium_n_kg", inputs.ammonium_n_kg),
        ("phosphorus_kg", inputs.phosphorus_kg),
        ("potassium_kg", inputs.potassium_kg),
        ("methane_potential_nl", inputs.methane_potential_nl),
        ("methane_taken_nl", inputs.methane_taken_nl),
        ("ammonium_mg_l", inputs.ammonium_mg_l.unwrap_or(0.0)),
    ] {
        within(name, value, (0.0, MOST), "", "An amount is never negative.")?;
    }
    super::above_zero(
        "days",
        inputs.days,
        1e5,
        "d",
        "Give the length of the span.",
    )?;
    within(
        "density_kg_l",
        inputs.density_kg_l,
        (0.9, 1.3),
        "kg/L",
        "Thin residue has about 1.0.",
    )?;
    within(
        "store_c",
        inputs.store_c,
        (-20.0, 60.0),
        "C",
        "Give the temperature of the residue's store.",
    )?;
    super::above_zero(
        "rate_g_n_m2_yr",
        inputs.rate_g_n_m2_yr,
        100.0,
        "g N/m2/yr",
        "17 is the usual bound.",
    )?;
    within(
        "continues_share",
        inputs.continues_share,
        (0.0, 1.0),
        "",
        "0.4 is assumed without it.",
    )?;
    if inputs.gas_kg >= inputs.fed_kg {
        return Err(PlantFault::Unfit {
            field: "gas_kg".into(),
            why: format!(
                "{} kg of gas from {} kg of feed leave no residue",
                inputs.gas_kg, inputs.fed_kg
            ),
            mend: "Take a span in which more is fed than leaves as gas.".into(),
        });
    }
    Ok(())
}

/// How far germs are killed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hygiene {
    /// What the temperature and time amount to.
    pub class: HygieneClass,
    /// Decades by which the slowest of the germs falls if every part is held for the whole time.
    pub decades_held: f64,
    /// The same in a mixed tank, where some of today's feed leaves today: `log10(1 + ln 10 t/D)`.
    pub decades_mixed: f64,
    /// That germ.
    pub slowest: String,
    /// What to do with the residue.
    pub note: &'static str,
}

/// Kind of hygiene.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HygieneClass {
    /// 70 C for an hour, or 52 C for ten hours, every part held.
    Treated,
    /// Warm: germs fall, worm eggs stay.
    Reduced,
    /// Cold: not hygienised.
    Raw,
}

/// Temperature \[C\] and time \[h\] that count as treatment: 70 C for 1 h (particles up to 12 mm, from memory), or 52 C for
/// 10 h (a Swedish alternative, from memory).
pub const TREATMENTS: [(f64, f64); 2] = [(70.0, 1.0), (52.0, 10.0)];
/// From here on germs fall within the usual retention \[C\]. Assumed: the low end of warm digestion.
const WARM_C: f64 = 30.0;
/// Temperatures of the table: middle of 6 to 15 C, 35 and 53 C.
const TABLE_C: [f64; 3] = [10.5, 35.0, 53.0];

/// Judges `temperature_c` held for `days`; `batch`: every part is held, none is added meanwhile.
///
/// Decimal times are interpolated between the table's temperatures, straight in their logarithm, and held beyond its ends.
///
/// # Errors
/// [`PlantFault`] for a temperature outside 0..90 C or a time that is negative.
pub fn hygiene(temperature_c: f64, days: f64, batch: bool) -> Result<Hygiene, PlantFault> {
    within(
        "temperature_c",
        temperature_c,
        (0.0, 90.0),
        "C",
        "Give the temperature that every part reaches.",
    )?;
    within(
        "days",
        days,
        (0.0, 1e5),
        "d",
        "Give the time that it is held.",
    )?;
    let (mut slowest, mut longest) = (String::new(), 0.0);
    for germ in &residue_table().germs {
        let decimal = decimal_time_d(germ, temperature_c);
        if decimal > longest {
            (slowest, longest) = (germ.name.clone(), decimal);
        }
    }
    let treated = batch
        && TREATMENTS
            .iter()
            .any(|&(t, hours)| temperature_c >= t && days * 24.0 >= hours);
    let class = match () {
        () if treated => HygieneClass::Treated,
        () if temperature_c >= WARM_C => HygieneClass::Reduced,
        () => HygieneClass::Raw,
    };
    Ok(Hygiene {
        class,
        decades_held: days / longest,
        decades_mixed: (1.0 + std::f64::consts::LN_10 * days / longest).log10(),
        slowest,
        note: match class {
            HygieneClass::Treated => {
                "Held hot long enough to count as treated, if every part was. Keep it apart from fresh residue."
            }
            HygieneClass::Reduced => {
                "Fewer germs, not none: worm eggs survive weeks at 35 C, and a mixed tank lets some of today's feed out \
                 today. Dig it in, wear gloves, keep it off food that is eaten raw."
            }
            HygieneClass::Raw => {
                "Not hygienised: treat it as raw manure. Not on salad; leave three to four months before a harvest; wash \
                 your hands. Rules for animal by-products apply: ask your authority."
            }
        },
    })
}

/// Decimal time of a germ at a temperature \[d\].
#[must_use]
pub fn decimal_time_d(germ: &Germ, temperature_c: f64) -> f64 {
    let logs = [
        germ.cold_d.typical(),
        germ.warm_d.typical(),
        germ.hot_h.typical() / 24.0,
    ]
    .map(f64::ln);
    let between = |i: usize| {
        let along = (temperature_c - TABLE_C[i]) / (TABLE_C[i + 1] - TABLE_C[i]);
        logs[i] + (logs[i + 1] - logs[i]) * along.clamp(0.0, 1.0)
    };
    (if temperature_c <= TABLE_C[1] {
        between(0)
    } else {
        between(1)
    })
    .exp()
}
