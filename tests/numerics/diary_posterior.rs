//! Weighted draws against posteriors by quadrature, by closed form and by another sampler.

use std::sync::atomic::AtomicBool;

use marshgas::diary::fit::coordinate::Coordinate;
use marshgas::diary::fit::information::Information;
use marshgas::diary::fit::least_squares::{Options, Residuals, fit};
use marshgas::diary::fit::posterior::{Drawing, Predicts, draw, weighted_quantiles};
use marshgas::study::batch::BatchOptions;

use super::diary_least_squares::{Curve, Inputs, NEVER, curve, data, kinetic, rows};

/// A curve whose unknowns must be above 0, as the table's priors say.
struct Above {
    curve: Curve,
    anywhere: bool,
}

impl Residuals for Above {
    fn count(&self) -> usize {
        self.curve.count()
    }

    fn residuals(&self, b: &[f64]) -> Result<Vec<f64>, String> {
        if self.anywhere || b.iter().all(|&b| b > 0.0) {
            self.curve.residuals(b)
        } else {
            Err("not above 0".into())
        }
    }
}

impl Predicts for Above {
    type More = ();

    fn predict(&self, values: &[f64]) -> Result<(Vec<f64>, ()), String> {
        Ok((self.residuals(values)?, ()))
    }
}

#[test]
fn means_lie_within_a_tenth_of_a_width_and_widths_within_five_per_cent() {
    let inputs: Inputs = serde_json::from_str(&data("fit_inputs.json")).unwrap();
    let table = rows("fit_posterior.csv");
    let stop = AtomicBool::new(false);
    let mut checked = 0;
    for (index, series) in inputs.kinetic.iter().enumerate() {
        let own: Vec<_> = table
            .iter()
            .filter(|r| r["problem"] == (index + 1).to_string())
            .collect();
        // The exact rows where there are some; they stand first.
        let Some(method) = own.first().map(|r| r["method"].clone()) else {
            continue;
        };
        let (_, start) = kinetic(&series.form);
        let free = vec![Coordinate::Free; start.len()];
        let model = Above {
            curve: curve(series, series.sigma_known),
            anywhere: series.form == "line",
        };
        let fitted = fit(&model, &free, &[start], &Options::closed_form(&NEVER)).unwrap();
        let information = Information::of(&fitted, &free, 1.0).unwrap();
        let drawing = Drawing {
            taught: false,
            draws: 20_000,
            seed: 1,
            huber: None,
            noise: 1.0,
            batch: BatchOptions::new(&stop),
        };
        let posterior = draw(&model, &free, &fitted, &information, &drawing, &|_| {}).unwrap();
        assert!(posterior.effective > 8_000.0, "{}", posterior.effective);
        for (j, row) in own.iter().filter(|r| r["method"] == method).enumerate() {
            let number = |name: &str| -> f64 { row[name].parse().unwrap() };
            let (mean, sd) = (number("mean"), number("sd"));
            let own_mean = posterior.mean(|d| d.values[j]);
            let own_sd = posterior.sd(|d| d.values[j]);
            let name = format!("{} {} {}", index + 1, series.form, row["parameter"]);
            assert!(
                (own_mean - mean).abs() < 0.1 * sd,
                "{name}: mean {own_mean} for {mean}"
            );
            assert!(
                (own_sd / sd - 1.0).abs() < 0.05,
                "{name}: sd {own_sd} for {sd}"
            );
            let ends = posterior.quantiles(|d| d.values[j], &[0.025, 0.975]);
            for (end, name) in ends.iter().zip(["q025", "q975"]) {
                assert!((end - number(name)).abs() < 0.15 * sd, "{name}: {end}");
            }
            checked += 1;
        }
    }
    assert_eq!(checked, 21);
}

#[test]
fn quantiles_of_weighted_numbers() {
    // Equal weights: the middle of five is the third; a weight of 0 changes nothing.
    let five = [5.0, 1.0, 4.0, 2.0, 3.0].map(|v| (v, 0.2)).to_vec();
    assert_eq!(weighted_quantiles(five.clone(), &[0.5]), vec![3.0]);
    let mut six = five;
    six.push((1e9, 0.0));
    assert_eq!(weighted_quantiles(six, &[0.5, 0.0]), vec![3.0, 1.0]);
    assert!(weighted_quantiles(Vec::new(), &[0.5])[0].is_nan());
}
