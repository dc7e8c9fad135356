//! Finds events in the rows and the trajectory of a vessel.

use super::outcome::{DayRow, Event, EventKind, Point};
use crate::digester::Bands;

/// A day with less gas than this share of the headspace-free noise does not count as gas \[norm litres\].
const FIRST_GAS_NL: f64 = 0.05;

/// All events of vessel `vessel`.
pub(super) fn find(
    vessel: usize,
    rows: &[DayRow],
    trace: &[Point],
    washed: &[bool],
    bands: &Bands,
) -> Vec<Event> {
    let mut out = Vec::new();
    let mut add = |kind: EventKind, day: Option<f64>| {
        if let Some(day) = day {
            out.push(Event { day, vessel, kind });
        }
    };
    let end_of = |r: &DayRow| f64::from(r.day) + 1.0;
    add(
        EventKind::FirstGas,
        rows.iter().find(|r| r.gas_nl > FIRST_GAS_NL).map(end_of),
    );
    let flame = &bands.flame;
    add(
        EventKind::FirstFlame,
        trace
            .iter()
            .find(|p| p.ch4_share >= flame.methane && p.air_share <= flame.air && p.gas_nl_d > 0.0)
            .map(|p| p.t_d),
    );
    let steady = |r: &DayRow| r.burns && r.ch4_share >= flame.steady_methane;
    add(
        EventKind::BurnsSteadily,
        rows.windows(flame.steady_days as usize)
            .find(|w| w.iter().all(steady))
            .and_then(|w| w.last())
            .map(end_of),
    );
    for pair in rows.windows(2) {
        match (pair[0].sour, pair[1].sour) {
            (false, true) => add(EventKind::TurnsSour, Some(end_of(&pair[1]))),
            (true, false) => add(EventKind::Recovers, Some(end_of(&pair[1]))),
            _ => {}
        }
    }
    let best = rows.iter().fold(0.0, |m: f64, r| m.max(r.ch4_nl));
    add(
        EventKind::WashesOut,
        rows.iter()
            .zip(washed)
            .find(|(r, w)| **w && r.ch4_nl < bands.washed_out.gas_share * best)
            .map(|(r, _)| end_of(r)),
    );
    add(
        EventKind::Freezes,
        trace
            .iter()
            .find(|p| p.temperature_c <= bands.freezing_c.value)
            .map(|p| p.t_d),
    );
    out
}
