//! From the raw scenario to the checked case, collecting everything that is wrong on the way.

mod checker;
mod filling;
mod settings;
mod vessels;

pub(crate) use checker::Checker;
pub(crate) use filling::{KG_PER_L, Recipe, SOLUBILITY, additives, water};

use std::path::Path;

use super::address::Address;
use super::calendar::Calendar;
use super::climate;
use super::dissolving::First;
use super::feeding;
use super::limits::DAYS;
use super::materials::Materials;
use super::plant;
use super::schema::RawScenario;
use crate::case::{Case, Source};

/// What the check needs beside the scenario.
pub(crate) struct Around<'a> {
    /// File, as the user named it, and hash of its bytes.
    pub(crate) source: Source,
    /// Folder against which file names are resolved.
    pub(crate) folder: Option<&'a Path>,
}

/// A checked case with what `facts` wants to know beside it.
pub(crate) struct Checked {
    /// The case.
    pub(crate) case: Case,
    /// Recipes in the order of the file.
    pub(crate) recipes: Vec<Recipe>,
}

/// Checks everything. The result is only to be used if the checker has found no problem.
pub(crate) fn check(raw: &RawScenario, around: &Around<'_>, checker: &mut Checker) -> Checked {
    let top = Address::default();
    let title = checker.name(&top.key("title"), raw.title.as_deref());
    let about = checker.prose(&top.key("about"), raw.about.as_deref());
    let days = checker.required(&top.key("days"), raw.days, &DAYS);
    let calendar = Calendar::new(checker, raw.start_date.as_deref(), days);
    let weather = raw
        .climate
        .as_ref()
        .map(|raw| climate::check(checker, raw, &calendar, around.folder));
    let vessels = vessels::check(checker, raw, &calendar, around.folder, weather.as_ref());
    if weather.is_some() && raw.plant.is_none() && vessels.iter().all(|v| v.heat.is_none()) {
        checker.warn(
            &top.key("climate"),
            "No vessel's temperature follows a heat balance.",
            "The weather has no effect.",
            "Give a vessel \"temperature\": { \"heat\": { ... } }, or remove the climate.",
        );
    }
    let gas = settings::gas(checker, raw.gas.as_ref(), &vessels);
    let plant = raw
        .plant
        .as_ref()
        .and_then(|raw| plant::check(checker, raw, &gas, weather.as_ref(), &calendar));
    let model = settings::model(checker, raw.model.as_ref());
    let solver = settings::solver(checker, raw.solver.as_ref());
    let inflow = settings::inflow(checker, raw, model.network);
    let mut materials = Materials::new(checker, raw.materials.as_ref());
    let starter = filling::starter(checker, raw.starter.as_ref(), &mut materials, &vessels);
    if inflow.is_some() {
        filling::full_for_inflow(checker, &starter, &vessels);
    }
    settings::without_effect(checker, raw, &model, &starter);
    let mut recipes = filling::recipes(checker, raw.recipes.as_ref(), &mut materials);
    let doses = feeding::doses(
        checker,
        raw.feeding.as_deref().unwrap_or_default(),
        &mut recipes,
        &calendar,
        &First::new(&vessels, &starter),
    );
    filling::unused(checker, &recipes);
    materials.warn_unused(checker);
    let case = Case {
        title,
        about,
        start_date: calendar.start(),
        days: calendar.days().unwrap_or_default(),
        vessels,
        gas,
        starter,
        materials: materials.into_list(),
        doses,
        inflow,
        plant,
        model,
        solver,
        source: around.source.clone(),
    };
    Checked { case, recipes }
}
