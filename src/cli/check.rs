//! `marshgas check`: everything that can be said about a scenario before it is run.

use std::path::PathBuf;

use serde_json::{Value, json};

use crate::case::Case;
use crate::feedstock;
use crate::scenario::{Facts, FeedingFacts, Loaded, RecipeFacts, StarterFacts, Warning};

use super::check_plant;
use super::columns::{Side, lines, short, wrapped};
use super::failure::Failure;
use super::input;
use super::terminal::Terminal;

/// Check a scenario: all problems at once, facts, warnings.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas check mine.json
  marshgas check warm-tote --json

Warnings do not change the exit status; problems make it 2.")]
pub(super) struct Options {
    /// Scenario file, or the name of a bundled scenario.
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let Loaded {
        case,
        facts,
        warnings,
        ..
    } = input::load(&options.file)?.loaded;
    if terminal.wants_json() {
        return terminal.print_json(&json!({
            "file": case.source.file,
            "title": case.title,
            "days": case.days,
            "facts": facts_json(&facts),
            "heaters": check_plant::heaters(&case),
            "plant": case.plant.as_ref().map(check_plant::as_json),
            "warnings": warnings,
        }));
    }
    terminal.print(&text(&case, &facts, &warnings))
}

const WIDTH: usize = 80;

fn text(case: &Case, facts: &Facts, warnings: &[Warning]) -> String {
    let vessels = match case.vessels.len() {
        1 => "1 vessel".to_owned(),
        n => format!("{n} vessels"),
    };
    let mut text = format!(
        "{}: no problems.\n{}: {} days, {vessels}, {} L of liquor.\n",
        case.source.file,
        case.title,
        case.days,
        short(facts.liquid_l)
    );
    section(&mut text, "Starter", starter_rows(&facts.starter));
    for recipe in &facts.recipes {
        section(
            &mut text,
            &format!("Recipe {}", recipe.name),
            recipe_rows(recipe),
        );
    }
    if let Some(feeding) = &facts.feeding {
        section(&mut text, "Feeding", feeding_rows(feeding));
    }
    let plain = |rows: Vec<check_plant::Line>| -> Vec<Vec<String>> {
        rows.into_iter()
            .map(|(what, how)| vec![format!("  {what}"), how])
            .collect()
    };
    for (title, rows) in [
        ("Heater", check_plant::heaters(case)),
        (
            "Plant",
            case.plant
                .as_ref()
                .map(check_plant::plant)
                .unwrap_or_default(),
        ),
    ] {
        if !rows.is_empty() {
            let told = lines(&[Side::Left, Side::Left], &plain(rows));
            text.push_str(&format!("\n{title}\n{told}"));
        }
    }
    text.push_str(match warnings {
        [] => "\nNo warnings.\n",
        _ => "\nWarnings\n",
    });
    for warning in warnings {
        text.push('\n');
        text.push_str(&wrapped(&warning.to_string(), WIDTH, 2));
    }
    text
}

/// What, value, unit.
type Row = (&'static str, String, &'static str);

fn section(text: &mut String, title: &str, rows: Vec<Row>) {
    let cells: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(what, value, unit)| vec![format!("  {what}"), value, unit.to_owned()])
        .collect();
    text.push_str(&format!(
        "\n{title}\n{}",
        lines(&[Side::Left, Side::Right, Side::Left], &cells)
    ));
}

fn starter_rows(starter: &StarterFacts) -> Vec<Row> {
    let mut rows = vec![
        ("mass", short(starter.kg), "kg"),
        ("fills of the liquid volume", short(starter.fills_pct), "%"),
        (
            "carries methane formers",
            short(starter.living_pct),
            "% of its mass",
        ),
        (
            "liquid of a running digester",
            short(starter.digestate_pct),
            "% of its mass",
        ),
    ];
    rows.extend(mixture_rows(&starter.per_kg));
    rows
}

fn recipe_rows(recipe: &RecipeFacts) -> Vec<Row> {
    let mut rows = vec![
        ("used by lines of the feeding", recipe.used.to_string(), ""),
        ("material", short(recipe.material_kg), "kg a portion"),
        ("water", short(recipe.water_kg), "kg a portion"),
        (
            "volatile solids",
            short(recipe.volatile_solids_kg),
            "kg a portion",
        ),
        (
            "methane within reach",
            short(recipe.reachable_methane_nl),
            "NL a portion",
        ),
    ];
    rows.extend(mixture_rows(&recipe.per_kg));
    let facts = &recipe.per_kg;
    if let Some(methane) = facts.reachable.methane_nl_per_kg_vs {
        rows.push(("methane within reach", short(methane), "NL/kg VS"));
    }
    if let Some(measured) = facts.measured_nl_per_kg_vs {
        let range = format!("{} to {}", short(measured.low), short(measured.high));
        rows.push(("methane as measured", range, "NL/kg VS"));
    }
    rows
}

fn mixture_rows(facts: &feedstock::Facts) -> Vec<Row> {
    let per_cent = |share: Option<f64>| share.map(|share| short(share * 100.0));
    let rows = [
        (
            "carbon to nitrogen",
            facts.carbon_to_nitrogen.map(short),
            "kg/kg",
        ),
        (
            "total solids",
            Some(short(facts.total_solids_pct)),
            "% of fresh mass",
        ),
        ("fat", per_cent(facts.fat_share), "% of VS"),
        ("fibre", per_cent(facts.fibre_share), "% of VS"),
        ("protein", per_cent(facts.protein_share), "% of VS"),
        (
            "lignin and what it shields",
            per_cent(facts.inert_share),
            "% of VS",
        ),
        (
            "ammonium after digestion",
            Some(short(facts.ammonium_potential_g_per_kg)),
            "g N/kg",
        ),
    ];
    rows.into_iter()
        .filter_map(|(what, value, unit)| Some((what, value?, unit)))
        .collect()
}

fn feeding_rows(feeding: &FeedingFacts) -> Vec<Row> {
    vec![
        ("first feed", short(feeding.first_day), "d"),
        ("last feed", short(feeding.last_day), "d"),
        ("feeds", feeding.feeds.to_string(), ""),
        ("mean temperature", short(feeding.mean_temperature_c), "C"),
        ("mean loading", short(feeding.mean_loading), "kg VS/m3/d"),
        (
            "loading in the fullest week",
            short(feeding.peak_loading),
            "kg VS/m3/d",
        ),
        ("mean retention", short(feeding.mean_retention_d), "d"),
        (
            "retention in the wettest week",
            short(feeding.shortest_retention_d),
            "d",
        ),
    ]
}

fn facts_json(facts: &Facts) -> Value {
    json!({
        "liquid_l": facts.liquid_l,
        "starter": {
            "kg": facts.starter.kg,
            "fills_pct": facts.starter.fills_pct,
            "living_pct": facts.starter.living_pct,
            "digestate_pct": facts.starter.digestate_pct,
            "mixture": mixture_json(&facts.starter.per_kg),
        },
        "recipes": facts.recipes.iter().map(|recipe| json!({
            "name": recipe.name,
            "used": recipe.used,
            "material_kg": recipe.material_kg,
            "water_kg": recipe.water_kg,
            "volatile_solids_kg": recipe.volatile_solids_kg,
            "reachable_methane_nl": recipe.reachable_methane_nl,
            "mixture": mixture_json(&recipe.per_kg),
        })).collect::<Vec<_>>(),
        "feeding": facts.feeding.as_ref().map(|feeding| json!({
            "first_day": feeding.first_day,
            "last_day": feeding.last_day,
            "feeds": feeding.feeds,
            "mean_temperature_c": feeding.mean_temperature_c,
            "mean_loading_kg_vs_m3_d": feeding.mean_loading,
            "peak_loading_kg_vs_m3_d": feeding.peak_loading,
            "mean_retention_d": feeding.mean_retention_d,
            "shortest_retention_d": feeding.shortest_retention_d,
        })),
    })
}

fn mixture_json(facts: &feedstock::Facts) -> Value {
    json!({
        "carbon_to_nitrogen": facts.carbon_to_nitrogen,
        "total_solids_pct": facts.total_solids_pct,
        "volatile_solids_pct": facts.volatile_solids_pct,
        "fat_share_of_vs": facts.fat_share,
        "fibre_share_of_vs": facts.fibre_share,
        "protein_share_of_vs": facts.protein_share,
        "inert_share_of_vs": facts.inert_share,
        "reachable_methane_nl_per_kg": facts.reachable.methane_nl_per_kg,
        "reachable_methane_nl_per_kg_vs": facts.reachable.methane_nl_per_kg_vs,
        "ammonium_potential_g_per_kg": facts.ammonium_potential_g_per_kg,
    })
}
