//! Measured digesters: methane of cool ones, a field dome, the loading ceiling by temperature.

use super::sketch::{Sketch, late_mean, volatile_solids};
use super::{EvidenceFailure, Values};

/// Arikan et al. 2015: retention \[d\], loading \[kg VS/m3/d\], temperatures \[C\]; the last is the reference.
const COOL: (f64, f64, [f64; 3]) = (17.0, 2.6, [22.0, 28.0, 35.0]);

/// Methane of manure digesters at 22 and 28 C over that at 35 C.
pub(super) fn cool_digesters() -> Result<Values, EvidenceFailure> {
    let (retention, loading, temperatures) = COOL;
    let mut methane = Vec::new();
    for celsius in temperatures {
        let tank =
            Sketch::of_digestate(1000.0, celsius, 204).fed("cattle-slurry", loading, retention)?;
        methane.push(late_mean(&tank.run()?, 34, |d| d.ch4_nl));
    }
    Ok(vec![
        ("cool.22".into(), methane[0] / methane[2]),
        ("cool.28".into(), methane[1] / methane[2]),
    ])
}

/// Castano et al. 2014: 1.14 m3, 6 % VS dairy manure at 2.43 kg VS/m3/d, so 24.7 d; 24 C stands for "above 20 C".
pub(super) fn dome() -> Result<Values, EvidenceFailure> {
    let outcome = Sketch::of_digestate(1140.0, 24.0, 330)
        .fed("cattle-slurry", 2.43, 24.7)?
        .run()?;
    let methane = late_mean(&outcome, 129, |d| d.ch4_nl);
    let vs = late_mean(&outcome, 129, |d| d.fed_vs_kg);
    Ok(vec![
        (
            "dome.gas".into(),
            late_mean(&outcome, 129, |d| d.gas_read_l),
        ),
        ("dome.yield".into(), methane / vs / 1000.0),
    ])
}

/// Loadings at which Yang et al. 2016 found their maxima, and steps around and beyond \[kg VS/m3/d\].
const LOADINGS: [f64; 10] = [0.6, 1.2, 2.4, 3.6, 5.6, 7.2, 10.0, 14.0, 20.0, 28.0];
/// A sequencing batch reactor keeps its solids about ten times as long as its water (assumed).
const HELD_BACK: f64 = 0.9;

/// Highest methane rate \[norm m3/m3/d\] over the loadings at a temperature, in a tank of one m3 on slurry as it is: the
/// flow sets the load, so that buffer and strength stay the same at every load.
fn ceiling(celsius: f64) -> Result<f64, EvidenceFailure> {
    let strength = volatile_solids("pig-slurry")?;
    let mut best: f64 = 0.0;
    for loading in LOADINGS {
        let tank = Sketch {
            held_back: HELD_BACK,
            ramp_d: 60,
            feed: vec![("pig-slurry", loading / strength)],
            ..Sketch::of_digestate(1000.0, celsius, 200)
        };
        best = best.max(late_mean(&tank.run()?, 30, |d| d.ch4_nl) / 1000.0);
    }
    Ok(best)
}

/// Ceilings at 15 to 30 C over that at 35 C, and whether they rise with the temperature.
pub(super) fn ceilings_by_temperature() -> Result<Values, EvidenceFailure> {
    let temperatures = [15, 20, 25, 30, 35];
    let found: Vec<f64> = temperatures
        .iter()
        .map(|c| ceiling(f64::from(*c)))
        .collect::<Result<_, _>>()?;
    let last = found[found.len() - 1];
    let mut values: Values = temperatures
        .iter()
        .zip(&found)
        .take(4)
        .map(|(c, rate)| (format!("ceiling.{c}"), rate / last))
        .collect();
    let steps = found.windows(2).filter(|w| w[0] < w[1]).count();
    values.push(("ceiling.order".into(), steps as f64));
    values.push(("ceiling.35.rate".into(), last));
    Ok(values)
}
