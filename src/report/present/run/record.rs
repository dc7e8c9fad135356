//! Limits of validity, and the record: how and from what the numbers were made.

use super::reading::Reading;
use crate::report::document::Facts;
use crate::report::numbers::{power_of_ten, significant};

/// What the equations do not know.
pub(in crate::report::present) const LIMITS: [&str; 8] = [
    "The numbers are uncertain by tens of per cent. How much living matter a starter carries is known to \
     a factor of about three, so dates during start-up may shift by days or weeks.",
    "Published constants for the breakdown of the same material differ up to tenfold; your scraps are not \
     those of the sources.",
    "Each vessel is computed as mixed. Scum, foam, clogging, sand and dead corners are not in the equations.",
    "Poisons are not in the equations: disinfectants, antibiotics, metals, salt, much citrus.",
    "How living groups answer to temperature is an assumption that was checked against a few measured ratios; \
     below 10 \u{b0}C and above 45 \u{b0}C trust little.",
    "The model is known to bear too much load. It stays healthy beyond the greatest load that a reactor holding back its \
     solids took at 15 and 20 \u{b0}C (Yang et al. 2016), and misses the gas of an unheated dome by 29 % (Castano et al. 2014). \
     A run that stays healthy at a high load is no promise; `marshgas evidence` shows the sizes.",
    "The acid ratio here comes from the acids themselves. A titration on two points counts some bicarbonate as acid: a \
     healthy tank that is computed at 0.01 may titrate at 0.1 to 0.2. Compare changes, and hold your own readings against \
     your own usual.",
    "Gas volumes hold no losses after the vessels: pipes, store and appliances lose more.",
];

/// Definitions, bands, solver and provenance.
pub(super) fn facts(reading: &Reading<'_>) -> Vec<Facts> {
    vec![definitions(reading), solver(reading), provenance(reading)]
}

fn definitions(reading: &Reading<'_>) -> Facts {
    let bands = reading.bands;
    let row = |name: &str, text: String| (name.to_owned(), text);
    Facts {
        title: "Definitions and bands".into(),
        rows: vec![
            row("Norm litre", "dry gas at 0 \u{b0}C and 101.325 kPa".into()),
            row("Gas as read", "wet, at the reading temperature and the store's pressure of the scenario".into()),
            row(
                "Acid ratio",
                "volatile acids (mg/L as acetic acid) over alkalinity to pH 4.3 (mg/L as CaCO\u{2083})".into(),
            ),
            row("Theoretical methane", "all methane that the degradable part of the feed holds".into()),
            row("COD", "chemical oxygen demand: the oxygen that would burn the matter completely".into()),
            row("VS", "volatile solids: what burns off of the dry matter".into()),
            row(
                "What to do next",
                "the steps are common practice among owners, no source; they go by the bands below".into(),
            ),
            row(
                "Bands of pH",
                format!(
                    "healthy {} to {}, tolerable {} to {}. {}",
                    bands.ph.healthy[0], bands.ph.healthy[1], bands.ph.tolerable[0], bands.ph.tolerable[1], bands.ph.source
                ),
            ),
            row(
                "Bands of the acid ratio",
                format!(
                    "well up to {}, watch up to {}, act up to {}, danger beyond. {}",
                    bands.acid_ratio.good, bands.acid_ratio.watch, bands.acid_ratio.danger, bands.acid_ratio.source
                ),
            ),
            row(
                "Flame",
                format!(
                    "methane from {} %, air up to {} %. {}",
                    100.0 * bands.flame.methane, 100.0 * bands.flame.air, bands.flame.source
                ),
            ),
        ],
    }
}

fn solver(reading: &Reading<'_>) -> Facts {
    let s = &reading.outcome.solver;
    let row = |name: &str, text: String| (name.to_owned(), text);
    Facts {
        title: "Solver".into(),
        rows: vec![
            row("Method", s.method.clone()),
            row("Relative tolerance", power_of_ten(s.relative_tolerance)),
            row("Segments between jumps", s.segments.to_string()),
            row("Steps accepted", s.accepted.to_string()),
            row("Steps rejected", s.rejected.to_string()),
            row("Right-hand sides", s.rhs.to_string()),
            row("Jacobians", s.jacobians.to_string()),
            row("Factorisations", s.factorisations.to_string()),
            row(
                "Smallest step",
                format!("{} d", power_of_ten(s.smallest_step_d)),
            ),
            row(
                "Largest step",
                format!("{} d", significant(s.largest_step_d, 2)),
            ),
        ],
    }
}

fn provenance(reading: &Reading<'_>) -> Facts {
    let p = &reading.outcome.provenance;
    let row = |name: &str, text: String| (name.to_owned(), text);
    let mut rows = vec![
        row("marshgas", p.version.clone()),
        row("Scenario", p.file.clone()),
        row("SHA-256 of the scenario", p.sha256.clone()),
        row("Network", p.network.clone()),
        row("Activity", p.activity.clone()),
    ];
    if p.parameters.is_empty() {
        rows.push(row("Parameters", "all at their defaults".into()));
    }
    let changed = p
        .parameters
        .iter()
        .map(|(name, value)| (format!("Changed: {name}"), value.to_string()));
    rows.extend(changed);
    Facts {
        title: "Provenance".into(),
        rows,
    }
}
