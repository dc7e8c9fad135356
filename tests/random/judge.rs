//! What becomes of a scenario, and whether that is sound.

use marshgas::case::{Case, MethodKind, NetworkKind};
use marshgas::scenario::from_value;
use marshgas::simulate::{DayRow, Outcome, Point, RunFailure, run};
use marshgas::solver::Failure;
use marshgas::study::season::{SeasonFailure, season};
use serde_json::Value;

/// A concentration of organic matter may undershoot zero by a thousandth of a kilogram of COD per cubic metre: a
/// hundred times the integrator's absolute tolerance, at which a run is refused. In mg of an acid per litre that is
/// about one.
const LEAST_MG_L: f64 = -1.0;
/// Shares of the gas are ratios of numbers that carry the integrator's error.
const SHARE_SLACK: f64 = 1e-3;
/// Gas may undershoot zero by this share of what the headspace holds and of what passes through it by a leak: the
/// integrator's tolerance on it, 1e-6 of its filling at a relative tolerance of 1e-4, a hundred times.
const GAS_SLACK: f64 = 1e-4;

/// What became of a scenario.
#[derive(Debug)]
pub(crate) enum Verdict {
    /// Problems were named.
    Refused,
    /// It ran, and everything checked holds.
    Ran,
    /// The explicit method could not pass, as it must with a living digester.
    TooStiffForExplicit,
    /// The published network was asked for where it uses up all inorganic carbon or nitrogen; its equations do not end there.
    NoneLeft,
    /// Sun or heater bring the liquor to the boil, and it is said so.
    Boils,
    /// The run failed with a message.
    Failed(&'static str, String),
    /// The run gave something that cannot be.
    Unsound(String),
    /// It panicked.
    Panicked(String),
}

impl Verdict {
    pub(crate) fn kind(&self) -> String {
        match self {
            Self::Refused => "refused in words".to_owned(),
            Self::Ran => "ran soundly".to_owned(),
            Self::NoneLeft => "published network without carbon or nitrogen, said so".to_owned(),
            Self::TooStiffForExplicit => "too stiff for the explicit method".to_owned(),
            Self::Boils => "the liquor boils, said so".to_owned(),
            Self::Failed(cause, _) => format!("FAILED: {cause}"),
            Self::Unsound(_) => "UNSOUND".to_owned(),
            Self::Panicked(_) => "PANICKED".to_owned(),
        }
    }

    pub(crate) fn fault(&self) -> Option<String> {
        match self {
            Self::Refused
            | Self::Ran
            | Self::TooStiffForExplicit
            | Self::NoneLeft
            | Self::Boils => None,
            Self::Failed(_, text) => Some(format!("failed: {text}")),
            Self::Unsound(text) => Some(format!("unsound: {text}")),
            Self::Panicked(text) => Some(format!("panicked: {text}")),
        }
    }
}

/// Inorganic carbon, dissolved and above, and inorganic nitrogen: decay into a composite that holds more nitrogen than the
/// living takes it up without an end.
const ENDLESS: [&str; 3] = ["S_IC", "headspace CO2", "S_IN"];

pub(crate) fn judge(scenario: &Value) -> Verdict {
    let loaded = match from_value(scenario, "random.json", None) {
        Ok(loaded) => loaded,
        Err(problems) if problems.problems.is_empty() || problems.to_string().is_empty() => {
            return Verdict::Unsound("refused without a word".to_owned());
        }
        Err(_) => return Verdict::Refused,
    };
    let adm1 = loaded.case.model.network == NetworkKind::Adm1;
    let explicit = loaded.case.solver.method == MethodKind::Explicit;
    match run(&loaded.case, &mut |_| {}) {
        // Two million steps within a day are too many for whatever reason; nothing in a digester asks for them.
        Err(RunFailure::Solver {
            failure: Failure::Stiff { .. } | Failure::TooManySteps { .. },
            ..
        }) if explicit => Verdict::TooStiffForExplicit,
        Err(RunFailure::Negative { component, .. })
            if adm1 && ENDLESS.contains(&component.as_str()) =>
        {
            Verdict::NoneLeft
        }
        Err(RunFailure::Boils { .. }) => Verdict::Boils,
        Err(failure) => Verdict::Failed(cause(&failure), failure.to_string()),
        Ok(outcome) => {
            let fault = fault_of(&loaded.case, &outcome);
            match fault.or_else(|| fault_of_plant(&loaded.case, &outcome)) {
                Some(fault) => Verdict::Unsound(fault),
                None => Verdict::Ran,
            }
        }
    }
}

fn cause(failure: &RunFailure) -> &'static str {
    match failure {
        RunFailure::Solver { failure, .. } => match failure {
            Failure::StepTooSmall { .. } => "the step became too small",
            Failure::TooManySteps { .. } => "too many steps",
            Failure::RightHandSide { .. } => "the right-hand side refused",
            Failure::NotFinite { .. } => "a state is not finite",
            _ => "the integrator stopped otherwise",
        },
        RunFailure::State { .. } => "a state allowed no pH",
        RunFailure::Negative { .. } => "a concentration below zero",
        RunFailure::Open { .. } => "a balance stayed open",
        RunFailure::Setup(_) => "the integrator refused its settings",
        _ => "names or parameters that the check let through",
    }
}

/// The first thing in the plant behind an outcome that cannot be. A setting that only this gas brings out of its range
/// is refused in words, and so is a digester that drinks its store.
fn fault_of_plant(case: &Case, outcome: &Outcome) -> Option<String> {
    case.plant.as_ref()?;
    match season(case, outcome) {
        Err(SeasonFailure::Plant(_) | SeasonFailure::FlowsBack(_)) => None,
        Err(failure) => Some(format!("the plant: {failure}")),
        Ok(season) => {
            // Much of it may be absent, which JSON writes as it writes what is not finite.
            let text = format!("{season:?}");
            let mut words = text.split(|c: char| !c.is_alphanumeric());
            let word = words.find(|word| ["NaN", "inf"].contains(word))?;
            Some(format!("{word} in the plant's year"))
        }
    }
}

/// The first thing in an outcome that cannot be.
fn fault_of(case: &Case, outcome: &Outcome) -> Option<String> {
    let json = serde_json::to_value(outcome).unwrap();
    if let Some(place) = not_a_number(&json, "outcome") {
        return Some(format!("{place} is no finite number"));
    }
    if let Some(open) = outcome
        .closures
        .iter()
        .find(|c| c.relative_gap.is_nan() || c.relative_gap > c.limit)
    {
        return Some(format!(
            "{} is open by {}",
            open.quantity, open.relative_gap
        ));
    }
    for (vessel, series) in case.vessels.iter().zip(&outcome.vessels) {
        if series.days.len() != case.days as usize {
            return Some(format!("{} rows for {} days", series.days.len(), case.days));
        }
        let held = vessel.liquid_m3 + vessel.headspace_m3 + vessel.leak_m3_per_d;
        let looser = (case.solver.relative_tolerance / 1e-4).max(1.0);
        let slack = GAS_SLACK * looser * 1000.0 * held;
        for row in &series.days {
            if let Some(fault) = fault_of_row(row, slack, case.gas.returns) {
                return Some(format!("{}, day {}: {fault}", series.name, row.day));
            }
        }
        if let Some(fault) = series.trace.iter().find_map(fault_of_point) {
            return Some(format!("{}, {fault}", series.name));
        }
    }
    None
}

fn fault_of_row(row: &DayRow, gas_slack: f64, returns: bool) -> Option<String> {
    let concentrations = [
        ("acetic", row.acetic_mg_l),
        ("propionic", row.propionic_mg_l),
        ("butyric", row.butyric_mg_l),
        ("acids", row.acids_mg_l),
        ("ammonium", row.ammonium_mg_l),
        ("free ammonia", row.free_ammonia_mg_l),
    ];
    if let Some((name, value)) = concentrations.iter().find(|(_, v)| *v < LEAST_MG_L) {
        return Some(format!("{name} at {value} mg/L"));
    }
    let shares = [
        ("methane", row.ch4_share),
        ("carbon dioxide", row.co2_share),
        ("air", row.air_share),
        ("hydrogen sulphide", 1e-6 * row.h2s_ppm),
        ("hydrogen", 1e-6 * row.h2_ppm),
        ("vapour", row.vapour_share),
    ];
    let possible = -SHARE_SLACK..=1.0 + SHARE_SLACK;
    if let Some((name, value)) = shares.iter().find(|(_, v)| !possible.contains(v)) {
        return Some(format!("a share of {value} of {name}"));
    }
    let gases = [
        ("gas", row.gas_nl),
        ("methane", row.ch4_nl),
        ("leaked gas", row.leaked_nl),
    ];
    if let Some((name, value)) = gases.iter().find(|(_, v)| *v < -gas_slack && !returns) {
        return Some(format!("{value} NL of {name} (slack {gas_slack})"));
    }
    None
}

/// A point holds the temperature of its own moment, a row the mean of its day.
fn fault_of_point(point: &Point) -> Option<String> {
    // A molar acid, and a molar base at the temperature's own product of water (Harned and Owen 1958, from memory).
    let t_k = point.temperature_c + 273.15;
    let water = 4470.99 / t_k - 6.0875 + 0.01706 * t_k;
    let possible = (-1.0..=water + 1.0).contains(&point.ph);
    (!possible).then(|| format!("at {} d: a pH of {}", point.t_d, point.ph))
}

/// Where a number is NaN or infinite: it is written as null.
fn not_a_number(value: &Value, at: &str) -> Option<String> {
    /// Fields that may be without a value.
    const OPTIONAL: [&str; 6] = [
        "retention_d",
        "start_date",
        "smallest_step_d",
        "heat",
        "source",
        "set_c",
    ];
    match value {
        Value::Null => Some(at.to_owned()),
        Value::Array(list) => list
            .iter()
            .enumerate()
            .find_map(|(i, inner)| not_a_number(inner, &format!("{at}[{i}]"))),
        Value::Object(group) => group
            .iter()
            .filter(|(key, _)| !OPTIONAL.contains(&key.as_str()))
            .find_map(|(key, inner)| not_a_number(inner, &format!("{at}.{key}"))),
        _ => None,
    }
}
