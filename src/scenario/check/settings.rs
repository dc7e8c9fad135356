//! Checks of gas side, equations, integrator and steady inflow.

use super::Checker;
use crate::case::{
    Activity, GasSide, Inflow, MethodKind, Model, NetworkKind, SolverSettings, Starter, Vessel,
};
use crate::scenario::address::Address;
use crate::scenario::limits::{
    AMBIENT_MBAR, INFLOW_L_PER_D, MOST_NAMES, PIPE, STORE_PRESSURE_MBAR, TEMPERATURE_C, TOLERANCE,
};
use crate::scenario::near::nearest;
use crate::scenario::schema::{
    Named, RawAcidBase, RawGas, RawInflow, RawMaterial, RawMethod, RawModel, RawNetwork, RawPart,
    RawScenario, RawSolver,
};
use crate::scenario::vocabulary;
use crate::units::ATM_BAR;

const MBAR_PER_BAR: f64 = 1000.0;
const L_PER_M3: f64 = 1000.0;
/// Pressure of the store where none is given \[mbar\]: 8 cm of water. Common practice, no source.
const STORE_MBAR: f64 = 8.0;
/// Conductance of the pipe for each litre of liquid in the largest vessel \[1/d/mbar\]: one volume of gas per volume
/// of liquid and day then costs a tenth of a millibar. Assumption of this project; a garden hose passes more.
const PIPE_PER_LITRE: f64 = 10.0;
/// Shortest time in which a pipe may even out the pressure of the smallest headspace \[d\]: a second. Assumption of this
/// project.
const LEAST_EMPTYING_D: f64 = 1.0 / 86_400.0;
/// Temperature at which gas is read where none is given \[C\].
const READING_C: f64 = 20.0;
/// Relative tolerance where none is given.
const RELATIVE_TOLERANCE: f64 = 1e-4;

/// The gas side.
pub(crate) fn gas(checker: &mut Checker, raw: Option<&RawGas>, vessels: &[Vessel]) -> GasSide {
    let nothing = RawGas::default();
    let raw = raw.unwrap_or(&nothing);
    let at = Address::default().key("gas");
    let largest = vessels.iter().map(|v| v.liquid_m3).fold(0.0, f64::max);
    let smallest = vessels.iter().map(|v| v.headspace_m3);
    let smallest = smallest.fold(f64::INFINITY, f64::min);
    // Litres per millibar are cubic metres per bar.
    let widest = smallest / (LEAST_EMPTYING_D * ATM_BAR);
    let pipe = (PIPE_PER_LITRE * largest * L_PER_M3).min(widest);
    let given = checker.optional(
        &at.key("pipe_l_per_d_per_mbar"),
        raw.pipe_l_per_d_per_mbar,
        pipe,
        &PIPE,
    );
    if given > widest {
        checker.outside(
            &at.key("pipe_l_per_d_per_mbar"),
            given,
            format!("at most {widest:.0} L per day per mbar"),
            "Through so wide a pipe the smallest headspace would even out its pressure within a second, and the \
             equations know nothing of what gas does in so short a time.",
            "Narrow it, or leave it out for the usual value; nothing is lost, for the pressure is that of the store.",
        );
    }
    GasSide {
        back_pressure_bar: checker.optional(
            &at.key("store_pressure_mbar"),
            raw.store_pressure_mbar,
            STORE_MBAR,
            &STORE_PRESSURE_MBAR,
        ) / MBAR_PER_BAR,
        ambient_bar: checker.optional(
            &at.key("ambient_mbar"),
            raw.ambient_mbar,
            ATM_BAR * MBAR_PER_BAR,
            &AMBIENT_MBAR,
        ) / MBAR_PER_BAR,
        pipe_m3_per_d_bar: given,
        returns: raw.flows_back.unwrap_or(false),
        reading_c: checker.optional(
            &at.key("reading_temperature_c"),
            raw.reading_temperature_c,
            READING_C,
            &TEMPERATURE_C,
        ),
    }
}

/// The equations.
pub(crate) fn model(checker: &mut Checker, raw: Option<&RawModel>) -> Model {
    let nothing = RawModel::default();
    let raw = raw.unwrap_or(&nothing);
    let network = match raw.network {
        Some(RawNetwork::Adm1) => NetworkKind::Adm1,
        Some(RawNetwork::FourStage) | None => NetworkKind::FourStage,
    };
    let activity = match (raw.acid_base, network) {
        (Some(RawAcidBase::Ideal), _) | (None, NetworkKind::Adm1) => Activity::Ideal,
        (Some(RawAcidBase::Davies), _) | (None, NetworkKind::FourStage) => Activity::Davies,
    };
    let at = Address::default().key("model").key("parameters");
    let parameters = named(
        checker,
        &at,
        raw.parameters.as_ref(),
        "parameter",
        &|name| vocabulary::parameter(network, name),
    );
    if let Some(fault) = vocabulary::contradiction(network, &parameters) {
        checker.wrong(
            &at,
            format!("These parameters contradict each other: {fault}."),
            "Change one of them, or leave them out for the usual values.",
        );
    }
    Model {
        network,
        activity,
        parameters,
    }
}

/// Warns of what the chosen equations do not look at.
pub(crate) fn without_effect(
    checker: &mut Checker,
    raw: &RawScenario,
    model: &Model,
    starter: &Starter,
) {
    let top = Address::default();
    let of_materials = vocabulary::of_materials(model.network);
    // Where nothing but a steady stream comes, no material brings a value of its own.
    let stream_alone = raw.inflow.is_some() && starter.parts.is_empty();
    for (name, _) in model.parameters.iter().filter(|_| !stream_alone) {
        if of_materials.contains(name) {
            checker.warn(
                &top.key("model").key("parameters").key(name),
                "This parameter has no effect here.",
                "Each material brings its own hydrolysis constants; these serve a steady inflow alone.",
                "Give an own material \"like\" another with a \"hydrolysis_factor\", or an analysis with \"hydrolysis_per_d\".",
            );
        }
    }
    if of_materials.is_empty()
        && let Some((at, what)) = hydrolysis_of_materials(raw)
    {
        checker.warn(
            &at,
            format!("{what} has no effect with these equations."),
            "They hydrolyse all materials alike, by parameters of their own.",
            "Set those parameters, or choose the network \"four-stage\".",
        );
    }
}

/// The first place where a material is given a hydrolysis of its own, and what gives it.
fn hydrolysis_of_materials(raw: &RawScenario) -> Option<(Address, &'static str)> {
    let top = Address::default();
    let sized = |at: &Address, parts: Option<&[RawPart]>| {
        let i = parts?.iter().position(|part| part.pieces.is_some())?;
        let at = at.key("materials").index(i).key("pieces");
        Some((at, "The size of pieces"))
    };
    let starter = raw.starter.as_ref();
    let in_starter = sized(
        &top.key("starter"),
        starter.and_then(|starter| starter.materials.as_deref()),
    );
    let recipes = raw.recipes.iter().flat_map(|named| &named.0);
    let mut in_recipes = recipes.filter_map(|(name, recipe)| {
        sized(&top.key("recipes").key(name), recipe.materials.as_deref())
    });
    let own = raw.materials.iter().flat_map(|named| &named.0);
    let mut in_own = own.filter_map(|(name, material)| {
        let (group, key) = match material {
            RawMaterial::Analysis(a) if a.hydrolysis_per_d.is_some() => {
                ("analysis", "hydrolysis_per_d")
            }
            RawMaterial::Like(l) if l.hydrolysis_factor.is_some() => ("like", "hydrolysis_factor"),
            _ => return None,
        };
        let at = top.key("materials").key(name).key(group).key(key);
        Some((at, "The hydrolysis of a material"))
    });
    in_starter
        .or_else(|| in_recipes.next())
        .or_else(|| in_own.next())
}

/// The integrator.
pub(crate) fn solver(checker: &mut Checker, raw: Option<&RawSolver>) -> SolverSettings {
    let nothing = RawSolver::default();
    let raw = raw.unwrap_or(&nothing);
    SolverSettings {
        method: match raw.method {
            Some(RawMethod::Explicit) => MethodKind::Explicit,
            Some(RawMethod::Implicit) | None => MethodKind::Implicit,
        },
        relative_tolerance: checker.optional(
            &Address::default().key("solver").key("relative_tolerance"),
            raw.relative_tolerance,
            RELATIVE_TOLERANCE,
            &TOLERANCE,
        ),
    }
}

/// The steady inflow.
pub(crate) fn inflow(
    checker: &mut Checker,
    raw: &RawScenario,
    network: NetworkKind,
) -> Option<Inflow> {
    let RawInflow {
        l_per_d,
        concentrations,
        ..
    } = raw.inflow.as_ref()?;
    let at = Address::default().key("inflow");
    if raw
        .vessels
        .as_ref()
        .is_some_and(|vessels| vessels.len() > 1)
    {
        checker.wrong(
            &at,
            "A steady inflow goes with one vessel only.",
            "Remove the other vessels, or feed by recipes.",
        );
    }
    let flow = checker.required(&at.key("l_per_d"), *l_per_d, &INFLOW_L_PER_D);
    let concentrations = named(
        checker,
        &at.key("concentrations"),
        concentrations.as_ref(),
        "component",
        &|name| vocabulary::component(network, name),
    );
    Some(Inflow {
        m3_per_d: flow / L_PER_M3,
        concentrations,
    })
}

type Asked<'a> = dyn Fn(&str) -> Result<(f64, f64), Vec<String>> + 'a;

fn named(
    checker: &mut Checker,
    at: &Address,
    raw: Option<&Named<f64>>,
    what: &str,
    ask: &Asked<'_>,
) -> Vec<(String, f64)> {
    let entries = raw.map_or(&[][..], |named| named.0.as_slice());
    if !checker.is_short(at, entries.len(), MOST_NAMES) {
        return Vec::new();
    }
    for (name, value) in entries {
        let at = at.key(name);
        match ask(name) {
            Ok((low, high)) => {
                if !(*value >= low && *value <= high) {
                    checker.outside(
                        &at,
                        *value,
                        format!("{low} to {high}"),
                        format!("This {what} makes no sense outside that range."),
                        "",
                    );
                }
            }
            Err(known) => {
                let near = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
                checker.unknown(
                    &at,
                    name,
                    what,
                    near.as_deref(),
                    known.iter().map(String::as_str),
                );
            }
        }
    }
    entries.to_vec()
}
