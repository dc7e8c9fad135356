//! Finds events in the rows and the trajectory of a vessel.

use super::outcome::{DayRow, Event, EventKind, Point};
use crate::digester::Bands;

/// All events of vessel `vessel`, which holds `liquid_l` \[L\].
pub(super) fn find(
    vessel: usize,
    rows: &[DayRow],
    trace: &[Point],
    washed: &[bool],
    liquid_l: f64,
    bands: &Bands,
) -> Vec<Event> {
    let mut out = Vec::new();
    let mut add = |kind: EventKind, day: Option<f64>| {
        if let Some(day) = day {
            out.push(Event { day, vessel, kind });
        }
    };
    let end_of = |r: &DayRow| f64::from(r.day) + 1.0;
    let flame = &bands.flame;
    // A day of enough gas, and within it the moment from which that gas is good enough.
    let first_flame = rows
        .iter()
        .filter(|r| r.gas_nl >= flame.least_volumes_per_d * liquid_l)
        .find_map(|r| {
            let day = f64::from(r.day);
            let from = trace.partition_point(|p| p.t_d < day);
            let good = |p: &&Point| {
                p.ch4_share >= flame.methane && p.air_share <= flame.air && p.gas_nl_d > 0.0
            };
            let of_day = trace[from..].iter().take_while(|p| p.t_d <= day + 1.0);
            let moment = of_day.into_iter().find(good).map(|p| p.t_d);
            moment.or_else(|| r.burns.then(|| end_of(r)))
        });
    let least = bands.first_gas.least_volumes_per_d * liquid_l;
    let first_gas = rows.iter().find(|r| r.gas_nl >= least).map(end_of);
    // Gas is told by whole days; gas that burns before the day is over was there before.
    add(
        EventKind::FirstGas,
        first_gas.map(|day| first_flame.map_or(day, |flame| day.min(flame))),
    );
    add(EventKind::FirstFlame, first_flame);
    let steady = |r: &DayRow| r.burns && r.ch4_share >= flame.steady_methane;
    add(
        EventKind::BurnsSteadily,
        rows.windows(flame.steady_days as usize)
            .find(|w| w.iter().all(steady))
            .and_then(|w| w.last())
            .map(end_of),
    );
    if let Some(first) = rows.first().filter(|r| r.sour) {
        add(EventKind::TurnsSour, Some(end_of(first)));
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Days of so much gas of 60 % methane from a tank of 100 L, with four points each.
    fn events(gas_nl: &[f64]) -> Vec<(f64, EventKind)> {
        let bands = Bands::standard();
        let mut rows: Vec<DayRow> = (0..)
            .zip(gas_nl)
            .map(|(day, gas_nl)| DayRow {
                day,
                gas_nl: *gas_nl,
                ch4_share: 0.6,
                ph: 7.0,
                ..DayRow::default()
            })
            .collect();
        super::super::plant::judge(&mut rows, 100.0, &bands);
        let trace: Vec<Point> = (0..4 * rows.len())
            .map(|i| Point {
                t_d: i as f64 / 4.0,
                gas_nl_d: gas_nl[i / 4],
                ch4_share: 0.6,
                temperature_c: 20.0,
                ..Point::default()
            })
            .collect();
        let washed = vec![false; rows.len()];
        let found = find(0, &rows, &trace, &washed, 100.0, &bands);
        found.into_iter().map(|e| (e.day, e.kind)).collect()
    }

    #[test]
    fn a_trace_of_gas_is_no_flame() {
        assert_eq!(events(&[1e-9; 5]), []);
        // A litre a day from 100 L is a hundredth; a tenth of that is gas, but no flame.
        assert_eq!(events(&[0.0, 0.2, 0.2]), [(2.0, EventKind::FirstGas)]);
    }

    #[test]
    fn gas_comes_no_later_than_its_flame() {
        assert_eq!(
            events(&[0.0, 5.0, 5.0, 5.0]),
            [
                (1.0, EventKind::FirstGas),
                (1.0, EventKind::FirstFlame),
                (4.0, EventKind::BurnsSteadily)
            ]
        );
        assert_eq!(
            events(&[0.3, 5.0])[..2],
            [(1.0, EventKind::FirstGas), (1.0, EventKind::FirstFlame)]
        );
    }

    #[test]
    fn a_tank_sour_from_the_start_is_called_sour() {
        let bands = Bands::standard();
        let row = |ph, ch4_nl| DayRow {
            ph,
            ch4_nl,
            acid_ratio: 3.0,
            ..DayRow::default()
        };
        let judged = |mut rows: Vec<DayRow>| {
            super::super::plant::judge(&mut rows, 100.0, &bands);
            let found = find(0, &rows, &[], &vec![false; rows.len()], 100.0, &bands);
            found.first().map(|e| (e.day, e.kind))
        };
        assert_eq!(
            judged(vec![row(4.5, 0.0); 3]),
            Some((1.0, EventKind::TurnsSour))
        );
        // A start that dips while its methane rises is on its way, not sour.
        let dip = (0..20).map(|i| row(6.2, f64::from(i))).collect();
        assert_eq!(judged(dip), None);
    }
}
