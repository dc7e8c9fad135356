//! What to do next. Steps without a source are common practice among owners and say nothing new.

use super::super::words::{acid_ratio, rough};
use super::heat;
use super::reading::Reading;
use crate::report::numbers::{fixed, percent};
use crate::simulate::EventKind;

/// Above this share of leaked methane the plant warms more than the fossil gas it replaces, counted
/// over 20 years; computed from [`GWP_20`](crate::plant::climate_weight::GWP_20) and 2.74 kg CO2/kg CH4.
const LEAK_MATTERS: f64 = 0.033;
/// Above this share of all COD the overflowing particles are worth catching; common practice, no source.
const LEFT_MATTERS: f64 = 0.25;

/// Sour for so long \[d\] below this pH, nothing lives that soda could help; assumption of this project.
const LONG_SOUR_D: f64 = 30.0;
const SPENT_PH: f64 = 5.5;
/// Less gas than this in the last weeks, as litres a day per litre of liquor, is none; a plant of dung in the cold still
/// gives ten times as much. Assumption of this project.
const NO_GAS_PER_D: f64 = 1e-3;
/// Above and below these the groups of this model hardly live \[C\]: where its record says to trust little.
const LIVES_C: (f64, f64) = (10.0, 45.0);
/// What was fed within so many days is a feed \[d\].
const FED_LATELY_D: usize = 28;
/// Digestate for a new start, as a share of the liquor; common practice, no source.
const RESTARTED: f64 = 0.25;
/// Sodium bicarbonate that adds 500 mg/L of alkalinity \[g/L\]: 84.007 g/mol over 100.087/2 g/eq (IUPAC atomic weights). The
/// amount is an assumption of this project: a fifth of what a healthy digester holds cannot do harm.
const SODA_G_PER_L: f64 = 0.84;

/// What to do where the liquor freezes.
pub(in super::super) const AGAINST_FREEZING: &str =
    "Insulate, shelter or heat the tank before the cold season, and drain pipes that can freeze.";

/// Pieces of advice, the most urgent first.
pub(super) fn advice(reading: &Reading<'_>) -> Vec<String> {
    let mut pieces = heat::advice(reading);
    pieces.push(first_step(reading));
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
    pieces.extend(heat::appetite(reading));
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
        pieces.push(AGAINST_FREEZING.into());
    }
    pieces.push(
        "Compare with your own digester: read gas, temperature and pH at the same hour each day and hold \
         them against the figures below. Where they part ways, trust the digester."
            .into(),
    );
    pieces
}

/// What to do with a tank that makes no gas and never did.
fn dead(celsius: f64, is_fed: bool) -> String {
    let (cold, hot) = LIVES_C;
    let stop = if is_fed {
        "Stop feeding: nothing"
    } else {
        "Nothing"
    };
    let why = if celsius > hot {
        format!(
            "at {} \u{b0}C it is too hot for the microbes of lukewarm digesters, which this model knows alone. Bring it to \
             30 to 38 \u{b0}C and start again with fresh starter",
            fixed(celsius, 0)
        )
    } else if celsius < cold {
        format!(
            "at {} \u{b0}C it is too cold for them to work. Warm it, best to 25 \u{b0}C and more, before anything is fed",
            fixed(celsius, 0)
        )
    } else {
        "the starter brought too little life, or what was fed has killed it. Start again with more living starter: \
         digestate of a running digester, or fresh manure"
            .into()
    };
    format!("{stop} that makes gas lives in this tank, and none came in the last weeks: {why}.")
}

/// The one step that the end of the run asks for.
fn first_step(reading: &Reading<'_>) -> String {
    let Some(last) = reading.rows().last() else {
        return "There is nothing to act on: the run holds no day.".into();
    };
    let ratio = &reading.bands.acid_ratio;
    let never_burnt = reading.first(EventKind::FirstFlame).is_none();
    // Advice speaks of a feed only where there is one.
    let mut lately = reading.rows().iter().rev().take(FED_LATELY_D);
    let is_fed = reading.usual.retention_d.is_some() || lately.any(|r| r.fed_kg > 0.0);
    let liquid_l: f64 = reading.outcome.vessels.iter().map(|v| v.liquid_l).sum();
    let litres = |share: f64| rough(share * liquid_l);
    if reading.first(EventKind::WashesOut).is_some() {
        return format!(
            "{} and start again with fresh starter, at least {} L of digestate or twice as much manure, warmer, and with \
             less feed for the same volume: this culture is gone.",
            if is_fed {
                "Stop feeding"
            } else {
                "Do not feed"
            },
            litres(RESTARTED)
        );
    }
    if last.sour {
        let spell = reading.spells.last().map_or(0.0, |(from, to)| to - from);
        let stop = if is_fed {
            "Stop feeding now."
        } else {
            "Do not feed."
        };
        if spell >= LONG_SOUR_D && last.ph < SPENT_PH {
            return format!(
                "{stop} It has been sour for {} days and stands at pH {}: soda alone will not bring it back. Pour in {} L of water \
                 while as much runs over (a third is replaced), then as much digestate of a running digester as you can \
                 get, {} L or more, and keep it warm. Feed again, a tenth of before, only when the gas burns and the pH has \
                 been above {} for a week.",
                fixed(spell, 0),
                fixed(last.ph, 1),
                litres(0.5),
                litres(RESTARTED),
                reading.bands.ph.healthy[0]
            );
        }
        let again = if is_fed {
            "Feed again, at half the rate, only"
        } else {
            "Begin to feed, a tenth of what is wanted, only"
        };
        return format!(
            "{stop} Keep the tank warm, and if the pH stays below {} add sodium bicarbonate in small portions, {} g a day on three \
             days, dissolved in warm water and stirred in, measuring in between. {again} when the acid-to-alkalinity \
             ratio is below {} and the gas burns.",
            reading.bands.ph.tolerable[0],
            rough(SODA_G_PER_L * liquid_l / 3.0),
            ratio.good
        );
    }
    if never_burnt && reading.usual.gas_nl < NO_GAS_PER_D * liquid_l {
        return dead(last.temperature_c, is_fed);
    }
    if last.acid_ratio > ratio.watch {
        let what = if is_fed {
            "Halve the feed"
        } else {
            "Do not feed yet"
        };
        let after = if is_fed {
            "Feed as before only"
        } else {
            "Begin, with little, only"
        };
        return format!(
            "{what}: the run ends at an acid-to-alkalinity ratio of {}, above {}. {after} when it has come down below {}.",
            acid_ratio(last.acid_ratio),
            ratio.watch,
            ratio.good
        );
    }
    if last.acid_ratio > ratio.good {
        let what = if is_fed {
            "Do not raise the feed"
        } else {
            "Wait with the feed"
        };
        return format!(
            "{what}: the run ends at an acid-to-alkalinity ratio of {}, between {} and {}. Hold, and measure every few days.",
            acid_ratio(last.acid_ratio),
            ratio.good,
            ratio.watch
        );
    }
    if never_burnt {
        let feed = if is_fed {
            "Feed little or nothing"
        } else {
            "Feed nothing"
        };
        return format!(
            "Wait: it is not sour, but its gas does not burn yet. {feed}, keep it warm, let the gas go outdoors, and look for \
             leaks; more or livelier starter shortens the wait."
        );
    }
    let next = if is_fed {
        "If you raise the feed, do it in small steps and a week apart, and try each step here first."
    } else {
        "It is not fed. Begin with a tenth of the wanted feed and raise it a week apart; `marshgas startup` plans that."
    };
    if heat::lacks_gas(reading) {
        return format!(
            "By its acids the computed liquor ends well (ratio {}, healthy below {}), but only at a warmth that its own gas \
             cannot hold: settle the heat first, then run it again.",
            acid_ratio(last.acid_ratio),
            ratio.good
        );
    }
    format!(
        "The run ends in good health (ratio {}, healthy below {}). {next}",
        acid_ratio(last.acid_ratio),
        ratio.good
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dead_tank_is_told_why() {
        assert!(dead(50.0, true).starts_with("Stop feeding: nothing"));
        assert!(dead(50.0, true).contains("too hot"));
        assert!(dead(6.0, false).contains("too cold"));
        let mild = dead(30.0, false);
        assert!(
            !mild.contains("too hot")
                && !mild.contains("too cold")
                && mild.contains("more living starter"),
            "{mild}"
        );
    }
}
