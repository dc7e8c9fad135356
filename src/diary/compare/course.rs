//! Computed gas as a sum that runs on, so that any stretch of time can be read off.

use crate::simulate::{DayRow, Outcome, Point, VesselSeries};

/// Gas up to a moment.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Knot {
    day: f64,
    /// All gas \[norm L\].
    gas: f64,
    /// The same without carbon dioxide \[norm L\].
    limed: f64,
}

/// Gas to the store of all vessels, summed from day 0.
pub(super) struct Course {
    vessels: Vec<Vec<Knot>>,
}

impl Course {
    pub(super) fn of(outcome: &Outcome) -> Self {
        Self {
            vessels: outcome.vessels.iter().map(knots).collect(),
        }
    }

    /// Gas from one moment to another \[norm L\], without its carbon dioxide where it went through lime.
    pub(super) fn between(&self, from: f64, to: f64, limed: bool) -> f64 {
        let up_to =
            |day: f64| -> f64 { self.vessels.iter().map(|knots| at(knots, day, limed)).sum() };
        up_to(to) - up_to(from)
    }
}

/// Sums of one vessel. Within a day they follow the finer trajectory, scaled so that the day's sum is the row's.
fn knots(vessel: &VesselSeries) -> Vec<Knot> {
    let mut sum = Knot {
        day: 0.0,
        gas: 0.0,
        limed: 0.0,
    };
    let mut knots = vec![sum];
    for row in &vessel.days {
        let (from, to) = (f64::from(row.day), f64::from(row.day) + 1.0);
        let a = vessel.trace.partition_point(|p| p.t_d < from);
        let b = vessel.trace.partition_point(|p| p.t_d <= to);
        let points = vessel.trace.get(a..b).unwrap_or(&[]);
        for step in steps(points, row, from, to) {
            sum = Knot {
                day: step.day,
                gas: sum.gas + step.gas,
                limed: sum.limed + step.limed,
            };
            knots.push(sum);
        }
    }
    knots
}

/// What passes the lime.
fn passes(point: &Point) -> f64 {
    (point.ch4_share + point.air_share).min(1.0)
}

/// Gas of the pieces of one day.
fn steps(points: &[Point], row: &DayRow, from: f64, to: f64) -> Vec<Knot> {
    let mut steps: Vec<Knot> = points
        .windows(2)
        .filter(|pair| pair[1].t_d > pair[0].t_d)
        .map(|pair| {
            let gas = (pair[1].sent_nl - pair[0].sent_nl).max(0.0);
            Knot {
                day: pair[1].t_d,
                gas,
                limed: 0.5 * gas * (passes(&pair[0]) + passes(&pair[1])),
            }
        })
        .collect();
    let sum: f64 = steps.iter().map(|s| s.gas).sum();
    let whole =
        points.first().is_some_and(|p| p.t_d == from) && points.last().is_some_and(|p| p.t_d == to);
    if !whole || sum <= 0.0 {
        let passing = (row.ch4_share + row.air_share).min(1.0);
        return vec![Knot {
            day: to,
            gas: row.gas_nl,
            limed: row.gas_nl * passing,
        }];
    }
    let scale = row.gas_nl / sum;
    for step in &mut steps {
        step.gas *= scale;
        step.limed *= scale;
    }
    steps
}

/// Sum at a moment; outside the run that of the nearer end.
fn at(knots: &[Knot], day: f64, limed: bool) -> f64 {
    let value = |k: &Knot| if limed { k.limed } else { k.gas };
    let after = knots.partition_point(|k| k.day <= day);
    match (
        after.checked_sub(1).and_then(|i| knots.get(i)),
        knots.get(after),
    ) {
        (Some(a), Some(b)) => value(a) + (value(b) - value(a)) * (day - a.day) / (b.day - a.day),
        (Some(only), None) | (None, Some(only)) => value(only),
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vessel(trace: Vec<Point>) -> VesselSeries {
        let row = |day, gas_nl| DayRow {
            day,
            gas_nl,
            ch4_share: 0.6,
            ..DayRow::default()
        };
        VesselSeries {
            name: String::new(),
            liquid_l: 100.0,
            days: vec![row(0, 100.0), row(1, 200.0)],
            trace,
            heat: None,
        }
    }

    fn point(t_d: f64, sent_nl: f64) -> Point {
        Point {
            t_d,
            sent_nl,
            ch4_share: 0.5,
            ..Point::default()
        }
    }

    #[test]
    fn days_keep_their_sums_and_the_trajectory_shapes_them() {
        let trace = vec![
            point(0.0, 0.0),
            point(0.5, 0.0),
            point(0.5, 0.0),
            point(1.0, 95.0),
            point(2.0, 285.0),
        ];
        let course = Course {
            vessels: vec![knots(&vessel(trace))],
        };
        assert_eq!(course.between(0.0, 0.5, false), 0.0);
        assert!((course.between(0.5, 1.0, false) - 100.0).abs() < 1e-9);
        assert!((course.between(0.75, 1.5, false) - 150.0).abs() < 1e-9);
        assert!((course.between(0.75, 1.5, true) - 75.0).abs() < 1e-9);
        assert!((course.between(-5.0, 9.0, false) - 300.0).abs() < 1e-9);
    }

    #[test]
    fn without_points_a_day_is_even() {
        let course = Course {
            vessels: vec![knots(&vessel(Vec::new()))],
        };
        assert!((course.between(0.25, 1.25, false) - (75.0 + 50.0)).abs() < 1e-9);
        assert!((course.between(0.0, 1.0, true) - 60.0).abs() < 1e-9);
    }
}
