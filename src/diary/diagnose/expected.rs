//! What a sound tank would have given over the days of the record: the measure for what was read.

use super::result::Expected;
use super::story::Book;
use super::{DiagnosisFailure, Options, Past};
use crate::diary::fit::model::Model;
use crate::diary::fit::posterior::weighted_quantiles;
use crate::diary::fit::readings::Readings;
use crate::simulate::DayRow;
use crate::study::batch::{self, BatchOptions};
use crate::study::distribution::Distribution;
use crate::study::sampling::{self, Method};

/// Draws of what is known before the record, for each past.
const DRAWS: usize = 32;

/// Gas and warmth over the days that the readings cover, by draws of what is known where nothing is wrong.
pub(super) fn expected(
    book: &Book,
    pasts: &[Past<'_>],
    usual_nl: f64,
    options: &Options<'_>,
) -> Result<Option<Expected>, DiagnosisFailure> {
    let mut drawn = Vec::new();
    for past in pasts {
        drawn.extend(draws(book, past, usual_nl, options)?);
    }
    let Some(past) = pasts.first().filter(|_| !drawn.is_empty()) else {
        return Ok(None);
    };
    let gas = past.readings.readings.iter().filter(|r| r.what.is_gas());
    let (covered, read) = gas.fold((0.0, 0.0), |(covered, read), r| {
        (covered + r.day - r.from_day, read + r.value)
    });
    let tank_c = drawn.iter().map(|d| d.1).sum::<f64>() / drawn.len() as f64;
    let even = drawn.iter().map(|d| (d.0, 1.0)).collect();
    let found = weighted_quantiles(even, &[0.05, 0.5, 0.95]);
    Ok(Some(Expected {
        from_day: first_day(past.readings),
        tank_c,
        gas_nl_d: [found[0], found[1], found[2]],
        read_nl_d: (covered > 0.0).then(|| read / covered),
    }))
}

/// The day on which the first reading begins.
pub(super) fn first_day(readings: &Readings) -> f64 {
    let all = readings.readings.iter();
    let from = all.map(|r| r.from_day).fold(f64::INFINITY, f64::min);
    from.max(0.0).floor()
}

/// (gas \[norm litres/d\], temperature \[C\]) of the draws of one past.
fn draws(
    book: &Book,
    past: &Past<'_>,
    usual_nl: f64,
    options: &Options<'_>,
) -> Result<Vec<(f64, f64)>, DiagnosisFailure> {
    let readings = past.readings;
    let days = first_day(readings) as usize..readings.last_day.floor() as usize + 1;
    let unknowns = book.sound();
    let priors: Vec<Distribution> = unknowns.iter().map(|u| u.prior).collect();
    let points = sampling::sample(&priors, Method::LatinHypercube, DRAWS, options.seed);
    let model = Model::new(past.case, &unknowns, readings, usual_nl);
    let (Ok(points), Ok(model)) = (points, model) else {
        return Ok(Vec::new());
    };
    let batch = BatchOptions {
        threads: options.threads,
        ..BatchOptions::new(options.stop)
    };
    let one = |index: usize| {
        let rows = model.run(points.row(index)?).ok()?;
        let rows = rows.get(days.clone()).filter(|rows| !rows.is_empty())?;
        let mean = |of: fn(&DayRow) -> f64| rows.iter().map(of).sum::<f64>() / rows.len() as f64;
        Some((mean(|r| r.gas_nl).max(0.0), mean(|r| r.temperature_c)))
    };
    let jobs = batch::run_all(DRAWS, batch, one, &|_| {})?;
    Ok(jobs.into_iter().filter_map(|job| job?.ok()?).collect())
}
