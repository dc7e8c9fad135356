//! Heat of one vessel through a run: its books and its daily rows.

use super::outcome::{Closure, HeatDay, HeatSeries, HeaterSource};
use crate::case::{Heat, HeatSource};
use crate::digester::{Layout, Tank, heat_flows};
use crate::thermal::{CAPACITY_KWH_PER_M3_K, METHANE_KWH_PER_NORM_L, Meets};
use crate::units::ZERO_C;

/// Depth of the soil that is shown beside a vessel that does not touch it \[m\].
const SHOWN_DEPTH_M: f64 = 0.5;

/// Books of the heat of one vessel, counted from 0 C \[kWh\].
#[derive(Debug, Clone)]
pub(super) struct HeatBooks {
    heat: Heat,
    soil_depth_m: f64,
    start: f64,
    fed: f64,
    overflow: f64,
    /// What feeds did to the liquor since the last day's end, against its own temperature.
    feed_today: f64,
    /// What the growing volume of a vessel that fills holds at that temperature, since the last day's end.
    grown_today: f64,
    stored_before: f64,
    /// The counters at the last day's end.
    before: [f64; Layout::HEATS],
    days: Vec<HeatDay>,
}

impl HeatBooks {
    /// Opens the books of a vessel that has just been filled.
    pub(super) fn new(heat: &Heat, tank: &Tank, y: &[f64]) -> Self {
        let depths = heat.surroundings.envelope.faces.iter();
        let deepest = depths
            .filter_map(|f| match f.meets {
                Meets::Soil { depth_m } => Some(depth_m),
                Meets::Air | Meets::AirDirectly => None,
            })
            .fold(f64::NEG_INFINITY, f64::max);
        let start = content(tank, y);
        Self {
            heat: heat.clone(),
            soil_depth_m: if deepest.is_finite() {
                deepest
            } else {
                SHOWN_DEPTH_M
            },
            start,
            fed: 0.0,
            overflow: 0.0,
            feed_today: 0.0,
            grown_today: 0.0,
            stored_before: start,
            before: [0.0; Layout::HEATS],
            days: Vec::new(),
        }
    }

    /// Goes on in the surroundings of `next`.
    pub(super) fn go_on_in(&mut self, next: Self) {
        self.heat = next.heat;
    }

    /// Temperature of a dose given at `t` \[d\], in C.
    pub(super) fn feed_at(&self, t: f64) -> f64 {
        self.heat.feed_at(t)
    }

    /// Books a dose and what it displaced: (volume \[m3\], temperature \[C\]) of each, into liquor of `liquor_c` \[C\].
    pub(super) fn dose(&mut self, came: (f64, f64), went: (f64, f64), liquor_c: f64) {
        let held = |(m3, celsius): (f64, f64)| CAPACITY_KWH_PER_M3_K * m3 * celsius;
        self.fed += held(came);
        self.overflow += held(went);
        // In a vessel that still fills nothing as warm leaves for it: the days count what more liquor is there apart, or
        // a cold feed would seem to warm it.
        let grown = held((came.0 - went.0, liquor_c));
        self.feed_today += held(came) - held(went) - grown;
        self.grown_today += grown;
    }

    /// Writes the row of the day that ends at `t`; returns its mean temperature \[C\].
    pub(super) fn close_day(&mut self, tank: &Tank, t: f64, y: &[f64], ch4_nl: f64) -> f64 {
        let counters: [f64; Layout::HEATS] = std::array::from_fn(|k| y[tank.layout().heat(k)]);
        let of = |k: usize| counters[k] - self.before[k];
        let day = (t - 1.0).round().max(0.0);
        let weather = &self.heat.surroundings.weather;
        let air_c = weather.air.mean_of_day(day);
        let heater_kwh = of(heat_flows::HEATER);
        let efficiency = match self.heat.surroundings.heater.as_ref().map(|h| h.source) {
            Some(HeatSource::OwnGas { efficiency }) => efficiency,
            Some(HeatSource::Mains | HeatSource::EngineWaste) | None => 1.0,
        };
        let stored = content(tank, y);
        let liquor_c = of(heat_flows::WARMTH);
        self.days.push(HeatDay {
            day: day as u32,
            liquor_c,
            air_c,
            soil_c: weather.soil.at(self.soil_depth_m, day + 0.5).0,
            air_kwh: of(heat_flows::AIR),
            ground_kwh: of(heat_flows::GROUND),
            sun_kwh: of(heat_flows::SUN),
            heater_kwh,
            fuel_kwh: heater_kwh / efficiency,
            evaporation_kwh: of(heat_flows::EVAPORATION),
            reaction_kwh: of(heat_flows::REACTION),
            feed_kwh: self.feed_today + of(heat_flows::STREAM),
            stored_kwh: stored - self.stored_before - self.grown_today,
            methane_kwh: ch4_nl * METHANE_KWH_PER_NORM_L,
        });
        self.before = counters;
        self.stored_before = stored;
        self.feed_today = 0.0;
        self.grown_today = 0.0;
        liquor_c
    }

    /// Adds what entered, what is accounted for, and the sum of all sizes.
    pub(super) fn add_to(&self, books: &mut (f64, f64, f64), tank: &Tank, y: &[f64]) {
        let mut enter = |kwh: f64| {
            books.0 += kwh;
            books.2 += kwh.abs();
        };
        enter(self.start);
        enter(self.fed);
        for k in [
            heat_flows::SUN,
            heat_flows::HEATER,
            heat_flows::REACTION,
            heat_flows::STREAM,
        ] {
            enter(y[tank.layout().heat(k)]);
        }
        let mut leave = |kwh: f64| {
            books.1 += kwh;
            books.2 += kwh.abs();
        };
        leave(self.overflow);
        leave(content(tank, y));
        for k in [heat_flows::AIR, heat_flows::GROUND, heat_flows::EVAPORATION] {
            leave(-y[tank.layout().heat(k)]);
        }
    }

    /// The rows with what is known of the heater.
    pub(super) fn into_series(self) -> HeatSeries {
        let heater = self.heat.surroundings.heater.as_ref();
        HeatSeries {
            source: heater.map(|h| match h.source {
                HeatSource::OwnGas { .. } => HeaterSource::OwnGas,
                HeatSource::Mains => HeaterSource::Mains,
                HeatSource::EngineWaste => HeaterSource::EngineWaste,
            }),
            set_c: heater.map(|h| h.set_c),
            soil_depth_m: self.soil_depth_m,
            days: self.days,
        }
    }
}

/// Heat that the liquor holds, counted from 0 C \[kWh\].
fn content(tank: &Tank, y: &[f64]) -> f64 {
    tank.capacity() * (y[tank.layout().temperature()] - ZERO_C)
}

/// The balance of heat over all vessels that keep one.
pub(super) fn closure((entered, accounted, sizes): (f64, f64, f64), limit: f64) -> Closure {
    Closure {
        quantity: "heat".to_owned(),
        unit: "kWh".to_owned(),
        entered,
        accounted,
        relative_gap: (accounted - entered).abs() / sizes.max(1e-12),
        limit,
    }
}
