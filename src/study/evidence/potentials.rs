//! Batch tests in the computer: a sample with twice its volatile solids of digestate, less the digestate alone.

use super::sketch::{Sketch, volatile_solids};
use super::{EvidenceFailure, Values};
use crate::simulate::Outcome;

/// Volatile solids of the inoculum over those of the sample (VDI 4630, Holliger et al. 2016: at least 2).
const INOCULUM: f64 = 2.0;
/// Volatile solids of the sample \[kg\] in the test; the size does not matter.
const SAMPLE_VS_KG: f64 = 1.0;
/// A test ends when gas has all but ended.
const TEST_D: u32 = 60;
/// Long enough for all that can ever come.
const ULTIMATE_D: u32 = 400;

/// Materials whose potentials have been measured.
const MATERIALS: [&str; 6] = [
    "kitchen-scraps",
    "cattle-dung",
    "lawn-clippings",
    "pig-slurry",
    "bread",
    "cooking-fat",
];

/// Cumulative methane \[NL\] by day of a bottle at 35 C, with or without a sample.
fn bottle(sample: Option<&'static str>, days: u32) -> Result<(Vec<f64>, Outcome), EvidenceFailure> {
    let inoculum = INOCULUM * SAMPLE_VS_KG / volatile_solids("digestate-cattle")?;
    let mut starter = vec![("digestate-cattle", inoculum)];
    let mut sample_kg = 0.0;
    if let Some(id) = sample {
        sample_kg = SAMPLE_VS_KG / volatile_solids(id)?;
        starter.push((id, sample_kg));
    }
    let bottle = Sketch {
        starter,
        ..Sketch::of_digestate(inoculum + sample_kg, 35.0, days)
    };
    let outcome = bottle.run()?;
    let cumulative = outcome
        .plant
        .iter()
        .scan(0.0, |sum, day| {
            *sum += day.ch4_nl;
            Some(*sum)
        })
        .collect();
    Ok((cumulative, outcome))
}

/// Net methane \[NL/kg VS\] by day.
fn net(material: &'static str, days: u32) -> Result<Vec<f64>, EvidenceFailure> {
    let (with, _) = bottle(Some(material), days)?;
    let (blank, _) = bottle(None, days)?;
    Ok(with
        .iter()
        .zip(&blank)
        .map(|(w, b)| (w - b) / SAMPLE_VS_KG)
        .collect())
}

/// Net methane after sixty days.
pub(super) fn batches() -> Result<Values, EvidenceFailure> {
    MATERIALS
        .into_iter()
        .map(|m| {
            let course = net(m, TEST_D)?;
            Ok((
                format!("batch.{m}"),
                course.last().copied().unwrap_or_default(),
            ))
        })
        .collect()
}

/// Share of all methane of cattle dung in water that is out after fifty days at 35 C \[%\]. No inoculum: dung brings its
/// own living groups, and the digestate's slow rest would blur the end.
pub(super) fn dung_in_fifty_days() -> Result<Values, EvidenceFailure> {
    let tank = Sketch {
        starter: vec![("cattle-dung", 400.0)],
        starter_water_l: 400.0,
        ..Sketch::of_digestate(800.0, 35.0, ULTIMATE_D)
    };
    let outcome = tank.run()?;
    let methane = |days: usize| {
        let rows = outcome.plant.iter().take(days);
        rows.map(|d| d.ch4_nl).sum::<f64>()
    };
    let share = methane(50) / methane(outcome.plant.len());
    Ok(vec![("dung.fifty-days".into(), 100.0 * share)])
}

/// Norm litres of methane per kg COD that a bottle of kitchen scraps lost.
pub(super) fn methane_of_cod() -> Result<Values, EvidenceFailure> {
    let (methane, outcome) = bottle(Some("kitchen-scraps"), TEST_D)?;
    let gone = outcome.fate.start - outcome.fate.left;
    let all = methane.last().copied().unwrap_or_default();
    Ok(vec![("cod.methane".into(), all / gone)])
}
