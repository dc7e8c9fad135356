//! What to do next. Steps without a source are common practice among owners and say nothing new.

use super::super::words::rough;
use super::reading::Reading;
use crate::report::numbers::percent;
use crate::simulate::EventKind;

/// Above this share of leaked methane the plant warms more than the fossil gas it replaces, counted
/// over 20 years; computed from warming potentials 79.7 (non-fossil methane) and 2.75 kg CO2/kg CH4.
const LEAK_MATTERS: f64 = 0.033;
/// Above this share of all COD the overflowing particles are worth catching; common practice, no source.
const LEFT_MATTERS: f64 = 0.25;

/// Pieces of advice, the most urgent first.
pub(super) fn advice(reading: &Reading<'_>) -> Vec<String> {
    let mut pieces = vec![first_step(reading)];
    let leak = reading.leak_share().filter(|s| *s > LEAK_MATTERS);
    if let Some(share) = leak {
        pieces.push(format!(
            "Mend the leak first: {} % of the methane escapes, which wastes gas, is dangerous where it \
             collects, and warms the climate more than the plant saves.",
            percent(share, 0)
        ));
    }
    let alkaline = &reading.bands.alkaline;
    if let Some(row) = reading.rows().iter().find(|row| row.ph > alkaline.value) {
        pieces.push(format!(
            "The liquor is too alkaline: on day {} its pH passes {}, where the methane formers lose half of their rate. \
             Add no more lime or soda; feed a little, for the acids bring it down. The figures let no carbonate settle \
             out as scale, so a real tank turns out less alkaline than this one, and harder to stir.",
            row.day, alkaline.value
        ));
    }
    let fate = &reading.outcome.fate;
    let undigested = fate.out_degradable / (fate.start + fate.fed);
    if undigested > LEFT_MATTERS {
        pieces.push(format!(
            "{} % of the COD that was there or fed left undigested. A longer retention time, finer feed or a warmer tank \
             would turn more of it into gas; keep the residue store covered, because it goes on making methane.",
            percent(undigested, 0)
        ));
    }
    if reading.first(EventKind::Freezes).is_some() {
        pieces.push("Insulate, shelter or heat the tank before the cold season, and drain pipes that can freeze.".into());
    }
    pieces.push(
        "Compare with your own digester: read gas, temperature and pH at the same hour each day and hold \
         them against the figures below. Where they part ways, trust the digester."
            .into(),
    );
    pieces
}

/// The one step that the end of the run asks for.
fn first_step(reading: &Reading<'_>) -> String {
    let Some(last) = reading.rows().last() else {
        return "There is nothing to act on: the run holds no day.".into();
    };
    let ratio = &reading.bands.acid_ratio;
    let never_burnt = reading.first(EventKind::FirstFlame).is_none();
    if reading.first(EventKind::WashesOut).is_some() {
        return "Stop feeding and start again with fresh starter, warmer, and with less feed for the \
                same volume: this culture is gone."
            .into();
    }
    if last.sour {
        return format!(
            "Stop feeding now. Keep the tank warm, and if the pH stays below {} add sodium bicarbonate in \
             small portions over several days, measuring in between. Feed again, at half the rate, only \
             when the acid-to-alkalinity ratio is below {} and the gas burns.",
            reading.bands.ph.tolerable[0], ratio.good
        );
    }
    if last.acid_ratio > ratio.watch {
        return format!(
            "Halve the feed: the run ends at an acid-to-alkalinity ratio of {}, above {}. Feed as before \
             only when it has come down below {}.",
            rough(last.acid_ratio),
            ratio.watch,
            ratio.good
        );
    }
    if last.acid_ratio > ratio.good {
        return format!(
            "Do not raise the feed: the run ends at an acid-to-alkalinity ratio of {}, between {} and {}. \
             Hold, and measure every few days.",
            rough(last.acid_ratio),
            ratio.good,
            ratio.watch
        );
    }
    if never_burnt {
        return "Wait: it is not sour, but its gas does not burn yet. Feed little or nothing, keep it warm, let \
                the gas go outdoors, and look for leaks; more or livelier starter shortens the wait."
            .into();
    }
    format!(
        "The run ends in good health (ratio {}, healthy below {}). If you raise the feed, do it in small \
         steps and a week apart, and try each step here first.",
        rough(last.acid_ratio),
        ratio.good
    )
}
