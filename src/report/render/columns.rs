//! Columns of the daily rows and of the trajectory: one list for names, units and values.

use crate::simulate::{DayRow, HeatDay, Point};
use crate::study::season::SeasonDay;

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Cell {
    /// A whole number.
    Count(u32),
    /// A number.
    Number(f64),
    /// A number that may be absent.
    Maybe(Option<f64>),
    /// Yes or no, written 1 or 0.
    Flag(bool),
}

/// A column of rows of type `T`.
pub(super) struct RowColumn<T> {
    /// Name in the file, with the unit.
    pub(super) name: &'static str,
    /// Field of the row.
    pub(super) field: &'static str,
    /// Its value.
    pub(super) value: fn(&T) -> Cell,
}

macro_rules! columns {
    ($row:ty, $($name:literal = $kind:ident($field:ident),)+) => {
        &[$(RowColumn {
            name: $name,
            field: stringify!($field),
            value: |row: &$row| Cell::$kind(row.$field),
        },)+]
    };
}

/// Columns of [`DayRow`]. `nL` is a norm litre: dry gas at 0 C and 101.325 kPa.
pub(super) const DAY: &[RowColumn<DayRow>] = columns![
    DayRow,
    "day" = Count(day),
    "temperature_C" = Number(temperature_c),
    "fed_kg" = Number(fed_kg),
    "water_kg" = Number(water_kg),
    "fed_VS_kg" = Number(fed_vs_kg),
    "fed_COD_kg" = Number(fed_cod_kg),
    "theoretical_CH4_nL" = Number(theoretical_ch4_nl),
    "loading_kgVS_per_m3_d" = Number(loading_kg_vs_m3_d),
    "retention_d" = Maybe(retention_d),
    "gas_nL_per_d" = Number(gas_nl),
    "gas_as_read_L_per_d" = Number(gas_read_l),
    "CH4_nL_per_d" = Number(ch4_nl),
    "leaked_gas_nL_per_d" = Number(leaked_nl),
    "leaked_CH4_nL_per_d" = Number(leaked_ch4_nl),
    "CH4_share" = Number(ch4_share),
    "CO2_share" = Number(co2_share),
    "air_share" = Number(air_share),
    "H2S_ppm" = Number(h2s_ppm),
    "H2_ppm" = Number(h2_ppm),
    "vapour_share_wet" = Number(vapour_share),
    "pH" = Number(ph),
    "acetic_mg_per_L" = Number(acetic_mg_l),
    "propionic_mg_per_L" = Number(propionic_mg_l),
    "butyric_mg_per_L" = Number(butyric_mg_l),
    "acids_mgHAc_per_L" = Number(acids_mg_l),
    "alkalinity_pH4.3_mgCaCO3_per_L" = Number(alkalinity_mg_l),
    "alkalinity_pH5.75_mgCaCO3_per_L" = Number(partial_alkalinity_mg_l),
    "acid_ratio_mgHAc_per_mgCaCO3" = Number(acid_ratio),
    "ammonium_mgN_per_L" = Number(ammonium_mg_l),
    "free_ammonia_mgN_per_L" = Number(free_ammonia_mg_l),
    "level_L" = Number(level_l),
    "overflow_L_per_d" = Number(overflow_l),
    "yield_nLCH4_per_kgVS" = Number(yield_nl_kg_vs),
    "theoretical_yield_nLCH4_per_kgVS" = Number(theoretical_yield_nl_kg_vs),
    "burns" = Flag(burns),
    "sour" = Flag(sour),
];

/// Columns of [`Point`].
pub(super) const TRACE: &[RowColumn<Point>] = columns![
    Point,
    "time_d" = Number(t_d),
    "temperature_C" = Number(temperature_c),
    "gas_nL_per_d" = Number(gas_nl_d),
    "CH4_share" = Number(ch4_share),
    "air_share" = Number(air_share),
    "pH" = Number(ph),
    "acids_mgHAc_per_L" = Number(acids_mg_l),
    "pressure_mbar" = Number(pressure_mbar),
];

/// Columns of [`HeatDay`]; flows are into the liquor.
pub(super) const HEAT: &[RowColumn<HeatDay>] = columns![
    HeatDay,
    "day" = Count(day),
    "liquor_C" = Number(liquor_c),
    "air_C" = Number(air_c),
    "soil_C" = Number(soil_c),
    "air_faces_kWh" = Number(air_kwh),
    "ground_faces_kWh" = Number(ground_kwh),
    "sun_kWh" = Number(sun_kwh),
    "heater_kWh" = Number(heater_kwh),
    "heater_takes_kWh" = Number(fuel_kwh),
    "evaporation_kWh" = Number(evaporation_kwh),
    "reaction_kWh" = Number(reaction_kwh),
    "feed_kWh" = Number(feed_kwh),
    "stored_kWh" = Number(stored_kwh),
    "methane_energy_kWh" = Number(methane_kwh),
];

impl Cell {
    /// The number that is not finite, if it is one.
    pub(super) fn not_finite(self) -> Option<f64> {
        match self {
            Self::Number(v) | Self::Maybe(Some(v)) => (!v.is_finite()).then_some(v),
            Self::Maybe(None) | Self::Count(_) | Self::Flag(_) => None,
        }
    }
}

/// Columns of [`SeasonDay`].
pub(super) const SEASON: &[RowColumn<SeasonDay>] = columns![
    SeasonDay,
    "day" = Count(day),
    "liquor_C" = Number(liquor_c),
    "line_C" = Number(line_c),
    "fed_kg" = Number(fed_kg),
    "made_nL" = Number(made_nl),
    "made_kWh" = Number(made_kwh),
    "heater_nL" = Number(heater_nl),
    "heater_kWh" = Number(heater_kwh),
    "heater_short_kWh" = Number(heater_short_kwh),
    "cleaned_nL" = Number(cleaned_nl),
    "cleaned_CH4_share" = Number(ch4_share),
    "cleaned_H2S_ppm" = Number(h2s_ppm),
    "used_nL" = Number(used_nl),
    "used_kWh" = Number(used_kwh),
    "overflow_nL" = Number(overflow_nl),
    "overflow_h" = Count(overflow_hours),
    "seeped_nL" = Number(seeped_nl),
    "store_share" = Number(store_share),
    "wanted_h" = Number(wanted_h),
    "served_h" = Number(served_h),
    "short_h" = Number(short_h),
    "no_flame_h" = Number(no_flame_h),
    "refused_h" = Number(refused_h),
    "heat_kWh" = Number(heat_kwh),
    "engine_heat_kWh" = Number(engine_heat_kwh),
    "current_kWh" = Number(electric_kwh),
    "flared_CH4_nL" = Number(flared_ch4_nl),
    "escaped_CH4_nL" = Number(escaped_ch4_nl),
    "residue_L" = Number(residue_l),
];

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(value: &impl serde::Serialize) -> Vec<String> {
        let value = serde_json::to_value(value).unwrap();
        value.as_object().unwrap().keys().cloned().collect()
    }

    /// A field that is added to a row must get a column, else it would be lost and go unchecked.
    #[test]
    fn every_field_has_its_column() {
        let listed: Vec<_> = DAY.iter().map(|c| c.field.to_owned()).collect();
        assert_eq!(listed, fields(&DayRow::default()));
        let listed: Vec<_> = TRACE.iter().map(|c| c.field.to_owned()).collect();
        assert_eq!(listed, fields(&Point::default()));
        let listed: Vec<_> = HEAT.iter().map(|c| c.field.to_owned()).collect();
        assert_eq!(listed, fields(&HeatDay::default()));
    }
}
