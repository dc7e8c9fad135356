//! What the study of a start has to show: the report, and the plan for the wall.

mod daily;
mod figures;
mod story;
mod tables;
mod wall;

use super::cautions::cautions;
use super::words::{count, day_name, finished, rough};
use crate::digester::Bands;
use crate::report::document::{Closing, Document, Facts};
use crate::report::numbers::{fixed, significant};
use crate::study::startup::{
    Begin, Feeding, Milestone, MilestoneKind, PROOF_D, RuleKind, ShortenerKind, Spread, Startup,
    Tally,
};
use jiff::civil::Date;

pub use daily::csv_startup;
pub use wall::{startup_wall, startup_wall_text};

const TRUST: &str = "Nine draws in ten lie between the two ends of each range, if the draws are spread as the digester is \
unsure. They know the equations of this program only: your own flame and your own pH strip know more.";

/// What to do with a filling that turns sour by itself.
const FOR_THE_STUCK: &str =
    "Take digestate from a running digester into the filling, or thin it more.";

/// Share of draws in which a plan is to hold.
const AIM: f64 = 0.95;
/// Highest loading of a simple plant \[kg VS/m3/d\]. Source: Werner, Stoehr and Hees (1989), GTZ.
const SIMPLE_PLANT_LOADING: f64 = 1.5;

const LIMITS: [&str; 7] = [
    "How much lives in the starter, how fast things break down, the warmth and the weighing are drawn at random; how \
     widely is an assumption of this project, argued from sources. What the equations leave out (floating layers, bad \
     stirring, cold corners, poisons) is not drawn.",
    "pH and acid ratio are judged once a day, in the morning before the feed. Within a day they move further.",
    "A plan was tried to the end of the run and no further, and had to bear the whole feed for at least four weeks. A \
     colder season after that is not part of it.",
    "The soonest plan is the soonest of its kind: one first day, one beginning, one factor a week. A plan of another \
     shape may be a little sooner.",
    "The plan knows nothing of what happens on the way. Whoever checks and pauses does better than the share told here, \
     whoever does not check does as told.",
    "The model is known to bear too much load: it stays healthy beyond the greatest load that a reactor holding back its \
     solids took at 15 and 20 \u{b0}C (Yang et al. 2016). Keep to the loadings of practice, whatever plan is found.",
    "The acid ratio here comes from the acids themselves. A titration on two points counts some bicarbonate as acid: what \
     is computed at 0.01 may titrate at 0.1 to 0.2. Hold your readings against your own usual.",
];

/// The report of a start.
#[must_use]
pub fn startup(found: &Startup, bands: &Bands) -> Document {
    let start = found.start_date.as_deref().and_then(|d| d.parse().ok());
    let reading = Reading {
        found,
        bands,
        start,
    };
    let figures = figures::figures(&reading);
    finished(Document {
        kind: "Start-up".into(),
        title: found.title.clone(),
        about: found.about.clone(),
        story: story::story(&reading),
        advice: story::advice(&reading),
        key_numbers: story::key_numbers(&reading),
        trust: TRUST.into(),
        figures,
        tables: tables::tables(&reading),
        cautions: cautions(),
        limits: LIMITS.map(str::to_owned).to_vec(),
        facts: vec![facts(&reading)],
        closing: closing(found),
        ..Document::default()
    })
}

/// A study with what is needed to tell it.
struct Reading<'a> {
    found: &'a Startup,
    bands: &'a Bands,
    start: Option<Date>,
}

impl Reading<'_> {
    fn milestone(&self, kind: MilestoneKind) -> Option<&Milestone> {
        self.found.milestones.iter().find(|m| m.kind == kind)
    }

    /// A day of the plan in words.
    fn plan_day(&self, feeding: &Feeding, day: u32) -> String {
        match feeding.begin {
            Begin::Fixed => day_name(f64::from(day), self.start),
            Begin::WhenChecksPass { .. } => format!("day {day} of feeding"),
        }
    }
}

fn milestone_name(kind: MilestoneKind) -> &'static str {
    match kind {
        MilestoneKind::FirstGas => "First gas, with air",
        MilestoneKind::FirstFlame => "First flame",
        MilestoneKind::SteadyFlame => "Steady flame",
        MilestoneKind::SafeFeed => "First safe feed",
        MilestoneKind::FullFeed => "Full feed, own pace",
    }
}

/// What the share of a tally leaves out, as sentences behind it; nothing where it leaves nothing out.
fn apart(tally: &Tally) -> String {
    let mut text = String::new();
    if tally.unfed() > 0 {
        text.push_str(&format!(
            " Of all {} draws {} never fed, since their checks never passed.",
            tally.draws,
            count(tally.unfed(), "was", "were")
        ));
    }
    if tally.unproven > 0 {
        text.push_str(&format!(
            " In {} more the full feed came less than {PROOF_D} days before the end of the run: too late to be judged.",
            tally.unproven
        ));
    }
    text
}

fn rule_name(kind: RuleKind) -> &'static str {
    match kind {
        RuleKind::AtOnce => "Full feed at once",
        RuleKind::TenthAWeek => "A tenth more every week",
        RuleKind::FourWeeks => "Four weeks of waiting, then full",
    }
}

fn shortener_name(kind: ShortenerKind) -> String {
    match kind {
        ShortenerKind::MoreStarter { kg } => {
            format!("{} kg more starter in place of water", rough(kg))
        }
        ShortenerKind::Warmer { k } => format!("{} K warmer", fixed(k, 0)),
        ShortenerKind::Digestate { kg } => {
            format!(
                "A bucket of running digestate ({} kg) in the filling",
                fixed(kg, 0)
            )
        }
    }
}

/// A material's name where room is scarce: up to the first comma or bracket, and at most a few words.
fn short(name: &str) -> String {
    const ROOM: usize = 18;
    let name = name.split([',', '(']).next().unwrap_or(name).trim();
    let mut out = String::new();
    for word in name.split_whitespace() {
        if !out.is_empty() && out.chars().count() + 1 + word.chars().count() > ROOM {
            break;
        }
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    out
}

/// A share in which something holds, in per cent: never rounded up.
fn kept(share: f64, decimals: usize) -> String {
    fixed(in_steps(share, decimals, f64::floor), decimals)
}

/// A share in which something fails, in per cent: never rounded down.
fn fails(share: f64, decimals: usize) -> String {
    fixed(in_steps(share, decimals, f64::ceil), decimals)
}

fn in_steps(share: f64, decimals: usize, whole: fn(f64) -> f64) -> f64 {
    let steps = if decimals == 0 { 1.0 } else { 10.0 };
    // What is whole but for rounding stays.
    let exact = (100.0 * share * steps * 1e9).round() / 1e9;
    whole(exact) / steps
}

/// Loading of the plan at its end \[kg VS/m3/d\].
fn loading(found: &Startup, feeding: &Feeding) -> f64 {
    feeding.size * found.wanted.loading_kg_vs_m3_d
}

/// What the loading of a plan is worth, held against practice.
fn against_practice(found: &Startup, feeding: &Feeding) -> String {
    let loading = loading(found, feeding);
    let line = if loading > SIMPLE_PLANT_LOADING {
        format!(
            "MORE than the {SIMPLE_PLANT_LOADING} that simple plants bear at most (GTZ 1989): stop the plan at {} % of the \
             wanted feed, which loads as much",
            kept(SIMPLE_PLANT_LOADING / found.wanted.loading_kg_vs_m3_d, 0)
        )
    } else {
        format!(
            "simple plants bear at most {SIMPLE_PLANT_LOADING} (GTZ 1989), cold, unstirred or young ones less"
        )
    };
    format!(
        "At its end the plan loads {} kg VS/m\u{b3}/d; {line}. The model is known to bear too much load: that a plan holds \
         here is no promise.",
        significant(loading, 2)
    )
}

/// A day of a spread; a dash where it lies among those that never get there.
fn day(value: Option<f64>) -> String {
    value.map_or_else(|| "never".into(), |d| fixed(d.floor(), 0))
}

/// "between day 12 and day 40 in nine of ten".
fn range(spread: &Spread) -> String {
    match (spread.p05, spread.p95) {
        (Some(low), Some(high)) => format!(
            "nine in ten between day {} and day {}",
            fixed(low.floor(), 0),
            fixed(high.floor(), 0)
        ),
        (Some(low), None) => format!(
            "one in twenty by day {}, and more than one in twenty never",
            fixed(low.floor(), 0)
        ),
        _ => String::new(),
    }
}

fn facts(reading: &Reading<'_>) -> Facts {
    let found = reading.found;
    let rows = [
        ("Scenario", found.file.clone()),
        ("SHA-256 of the scenario", found.sha256.clone()),
        ("marshgas", found.version.clone()),
        ("Seed", found.seed.to_string()),
        ("Generator", found.generator.clone()),
        ("Draws that plans were tried on", found.draws.to_string()),
        (
            "Fresh draws of the check",
            found
                .feeding
                .as_ref()
                .and_then(|f| f.checked)
                .map_or_else(|| "none".into(), |t| t.draws.to_string()),
        ),
        (
            "Searches until a plan was confirmed",
            found
                .feeding
                .as_ref()
                .map_or_else(|| "none".into(), |f| f.attempts.to_string()),
        ),
        ("Runs", found.runs.to_string()),
        ("Runs that broke off", found.failed_runs.to_string()),
        (
            "Limit of the acid ratio",
            format!(
                "below {} ({})",
                found.limits.acid_ratio_below, found.limits.acid_ratio_source
            ),
        ),
        (
            "Limit of the pH",
            format!(
                "above {} ({})",
                found.limits.ph_above, found.limits.ph_source
            ),
        ),
    ];
    Facts {
        title: "How it was computed".into(),
        rows: rows.map(|(name, value)| (name.into(), value)).into(),
    }
}

fn closing(found: &Startup) -> Closing {
    if found.stopped {
        return Closing {
            holds: false,
            text: "Stopped before the end: what is shown is done, the rest is missing.".into(),
        };
    }
    let told = match found.feeding.as_ref().and_then(|f| Some((f, f.checked?))) {
        None => "No plan was found.".to_owned(),
        Some((_, tally)) => format!(
            "Checked on {} fresh draws that can be judged: the plan keeps its limits in {} % of them.",
            tally.fed,
            kept(tally.holds.share, 1)
        ),
    };
    let broken = match found.failed_runs {
        0 => String::new(),
        1 => " 1 run broke off and counts as having left the limits.".into(),
        n => format!(" {n} runs broke off and count as having left the limits."),
    };
    Closing {
        holds: found.failed_runs == 0 && found.feeding.is_some(),
        text: told + &broken,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_that_holds_is_never_rounded_up_nor_one_that_fails_down() {
        // 254 of 255 hold.
        let share = 254.0 / 255.0;
        assert_eq!(
            (kept(share, 0), kept(share, 1)),
            ("99".into(), "99.6".into())
        );
        assert_eq!(
            (fails(1.0 - share, 0), fails(1.0 - share, 1)),
            ("1".into(), "0.4".into())
        );
        assert_eq!(
            (kept(0.95, 0), fails(1.0 - 0.95, 0)),
            ("95".into(), "5".into())
        );
        assert_eq!((kept(1.0, 1), fails(0.0, 0)), ("100.0".into(), "0".into()));
    }
}
