//! Where the fed COD went.

use super::super::words::{list, rough};
use super::reading::Reading;
use crate::report::figure::{Amount, Amounts, Figure, Look, Plot};
use crate::report::numbers::{percent, significant};

/// Shares below this are left out of the figure.
const TOO_SMALL: f64 = 5e-4;
const GAS: Look = Look(0);
const LOST: Look = Look(1);
const STAYS: Look = Look(2);
const OUT: Look = Look(5);

/// Horizontal bars, the longest first.
pub(super) fn figure(reading: &Reading<'_>) -> Figure {
    let fate = &reading.outcome.fate;
    let all = fate.start + fate.fed;
    let share = |value: f64| if all > 0.0 { value / all } else { 0.0 };
    let mut parts = vec![
        ("Methane for the store", GAS, fate.methane),
        ("Hydrogen for the store", GAS, fate.hydrogen),
        ("Lost through the leak", LOST, fate.leaked),
        ("Still in the vessels", STAYS, fate.left),
        ("Overflow: degradable particles", OUT, fate.out_degradable),
        (
            "Overflow: acids and other dissolved matter",
            OUT,
            fate.out_dissolved,
        ),
        ("Overflow: living groups", OUT, fate.out_living),
        ("Overflow: inert matter", OUT, fate.out_inert),
    ];
    parts.retain(|(_, _, value)| share(*value) >= TOO_SMALL);
    parts.sort_by(|a, b| b.2.total_cmp(&a.2));
    let bars: Vec<Amount> = parts
        .into_iter()
        .map(|(name, look, value)| Amount {
            name: name.into(),
            look,
            value,
            text: format!(
                "{} kg ({} %)",
                significant(value, 3),
                percent(share(value), 1)
            ),
        })
        .collect();
    let told: Vec<String> = bars
        .iter()
        .map(|b| format!("{}: {}", b.name, b.text))
        .collect();
    Figure {
        id: "fate".into(),
        title: "Where the oxygen demand went".into(),
        caption: format!(
            "COD neither arises nor vanishes in a closed tank: {} kg were there on day 0 and {} kg were fed, and \
             the bars show where they are now. A long bar of degradable particles is gas that was not made.",
            rough(fate.start),
            rough(fate.fed)
        ),
        alt: if told.is_empty() {
            "No oxygen demand was there or fed.".into()
        } else {
            format!("Horizontal bars. {}.", list(&told))
        },
        plot: Plot::Amounts(Amounts {
            reach: None,
            title: "Chemical oxygen demand (kg)".into(),
            bars,
        }),
    }
}
