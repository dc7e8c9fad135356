//! `marshgas feedstocks`: the built-in materials with their ranges and sources.

use serde_json::{Value, json};

use crate::feedstock::{Entry, Facts, Kind, Library, Range, library};

use super::columns::{Side, lines, short, wrapped};
use super::failure::Failure;
use super::terminal::Terminal;

/// List the built-in materials, or show one with its sources.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas feedstocks
  marshgas feedstocks cattle-slurry
  marshgas feedstocks --json > materials.json

TS is total solids, VS volatile solids, NL a norm litre: dry gas at 0 C and
101.325 kPa.")]
pub(super) struct Options {
    /// Material to show in full [default: list them all].
    #[arg(value_name = "NAME")]
    name: Option<String>,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let library = library();
    let Some(name) = &options.name else {
        if terminal.wants_json() {
            let all: Vec<Value> = library
                .iter()
                .map(|entry| entry_json(library, entry))
                .collect();
            return terminal.print_json(&json!({ "feedstocks": all }));
        }
        return terminal.print(&list(library));
    };
    let entry = library.get(name).ok_or_else(|| Failure::Unknown {
        what: "built-in material",
        given: name.clone(),
        nearest: library.nearest(name).first().map(|id| (*id).to_owned()),
        list: "See them all with `marshgas feedstocks`.",
    })?;
    if terminal.wants_json() {
        return terminal.print_json(&entry_json(library, entry));
    }
    terminal.print(&full(library, entry))
}

const WIDTH: usize = 80;

fn kind_words(kind: Kind) -> &'static str {
    match kind {
        Kind::Kitchen => "Kitchen",
        Kind::Garden => "Garden",
        Kind::Manure => "Manure",
        Kind::Starter => "Starter",
    }
}

fn list(library: &Library) -> String {
    const SIDES: [Side; 6] = [
        Side::Left,
        Side::Right,
        Side::Right,
        Side::Right,
        Side::Right,
        Side::Left,
    ];
    let mut rows = vec![
        ["", "TS %", "VS %", "C:N", "NL CH4/kg VS", "suits"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mut last = None;
    for entry in library.iter() {
        if last != Some(entry.kind) {
            rows.push(vec![kind_words(entry.kind).to_owned()]);
            last = Some(entry.kind);
        }
        let facts = Facts::of(entry.composition());
        rows.push(vec![
            format!("  {}", entry.id),
            short(facts.total_solids_pct),
            short(facts.volatile_solids_pct),
            facts.carbon_to_nitrogen.map(ratio).unwrap_or_default(),
            facts.measured_nl_per_kg_vs.map(range).unwrap_or_default(),
            entry.suitability.words().to_owned(),
        ]);
    }
    format!(
        "{}\nTS and VS in % of the fresh mass; methane as measured, low to high.\n\
         `marshgas feedstocks NAME` shows one with all its ranges and sources.\n",
        lines(&SIDES, &rows)
    )
}

/// Largest carbon-to-nitrogen ratio that says more than "hardly any nitrogen".
const RATIO_MOST: f64 = 1000.0;

fn ratio(carbon_to_nitrogen: f64) -> String {
    if carbon_to_nitrogen > RATIO_MOST {
        format!("> {RATIO_MOST}")
    } else {
        short(carbon_to_nitrogen)
    }
}

fn range(range: Range) -> String {
    format!("{} - {}", short(range.low), short(range.high))
}

/// `typical (low - high)` in another unit.
fn typical(range: Range, factor: f64) -> String {
    let [low, typical, high] =
        [range.low, range.typical, range.high].map(|value| short(value * factor));
    if low == high {
        typical
    } else {
        format!("{typical}  ({low} - {high})")
    }
}

fn full(library: &Library, entry: &Entry) -> String {
    let composition = entry.composition();
    let facts = Facts::of(composition);
    let number = |value: f64| short(value);
    let share = |value: Option<f64>| value.map(|share| short(share * 100.0));
    let row = |what: &str, value: Option<String>, unit: &str| {
        value.map(|value| vec![format!("  {what}"), value, unit.to_owned()])
    };
    let solids = entry
        .total_solids
        .map_or_else(|| short(facts.total_solids_pct), |r| typical(r, 100.0));
    let pool = |part: f64| Some(short(part / composition.volatile_solids * 100.0));
    let rows: Vec<Vec<String>> = [
        row("total solids", Some(solids), "% of fresh mass"),
        row(
            "volatile solids",
            Some(number(facts.volatile_solids_pct)),
            "% of fresh mass",
        ),
        row(
            "carbon to nitrogen",
            facts.carbon_to_nitrogen.map(number),
            "kg/kg",
        ),
        row(
            "starch and sugars",
            pool(composition.pools.fast_carb),
            "% of VS",
        ),
        row("fibre", share(facts.fibre_share), "% of VS"),
        row("protein", share(facts.protein_share), "% of VS"),
        row("fat", share(facts.fat_share), "% of VS"),
        row(
            "lignin and what it shields",
            share(facts.inert_share),
            "% of VS",
        ),
        row(
            "nitrogen",
            Some(number(composition.nitrogen * 1000.0)),
            "g/kg",
        ),
        row(
            "ammonium nitrogen",
            Some(number(facts.ammonium_g_per_kg)),
            "g N/kg",
        ),
        row(
            "ammonium after digestion",
            Some(number(facts.ammonium_potential_g_per_kg)),
            "g N/kg",
        ),
        row(
            "methane as measured",
            facts.measured_nl_per_kg_vs.map(|r| typical(r, 1.0)),
            "NL/kg VS",
        ),
        row(
            "methane as measured",
            facts.measured_nl_per_kg.map(|r| typical(r, 1.0)),
            "NL/kg fresh",
        ),
        row(
            "methane within reach",
            facts.reachable.methane_nl_per_kg_vs.map(number),
            "NL/kg VS",
        ),
        row(
            "hydrolysis at 35 C, starch",
            Some(typical(composition.hydrolysis.fast_carb, 1.0)),
            "1/d",
        ),
        row(
            "hydrolysis at 35 C, fibre",
            Some(typical(composition.hydrolysis.fibre, 1.0)),
            "1/d",
        ),
        row(
            "hydrolysis at 35 C, protein",
            Some(typical(composition.hydrolysis.protein, 1.0)),
            "1/d",
        ),
        row(
            "hydrolysis at 35 C, fat",
            Some(typical(composition.hydrolysis.fat, 1.0)),
            "1/d",
        ),
        row(
            "strong ions",
            Some(typical(entry.strong_ions, 1.0)),
            "eq/kg",
        ),
        row(
            "pH of the fresh material",
            entry.fresh_ph.map(|r| typical(r, 1.0)),
            "",
        ),
        row(
            "bulk density as collected",
            Some(number(entry.bulk_density)),
            "kg/L",
        ),
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut text = format!("{}: {}\n", entry.id, entry.name);
    if !entry.also.is_empty() {
        text.push_str(&wrapped(
            &format!("Also: {}.", entry.also.join(", ")),
            WIDTH,
            0,
        ));
    }
    text.push_str(&wrapped(
        &format!("Suits: {}. {}", entry.suitability.words(), entry.advice),
        WIDTH,
        0,
    ));
    text.push_str(&format!(
        "\nTypical value (low - high)\n{}\nWhere the numbers come from\n",
        lines(&[Side::Left, Side::Left, Side::Left], &rows)
    ));
    for (group, source) in &entry.provenance {
        let keys = match source.refs.as_slice() {
            [] => String::new(),
            refs => format!(" [{}]", refs.join("] [")),
        };
        let told = format!(
            "{}: {}{keys}. {}",
            group.words(),
            source.how.words(),
            source.note
        );
        text.push_str(&wrapped(&told, WIDTH, 2));
    }
    text.push_str("\nReferences\n");
    for key in entry.references() {
        if let Some(reference) = library.reference(key) {
            let told = format!("[{key}] {} ({})", reference.citation, reference.how.words());
            text.push_str(&wrapped(&told, WIDTH, 2));
        }
    }
    text
}

fn entry_json(library: &Library, entry: &Entry) -> Value {
    let facts = Facts::of(entry.composition());
    let composition = entry.composition();
    let triple = |r: Range| json!({ "low": r.low, "typical": r.typical, "high": r.high });
    json!({
        "name": entry.id,
        "words": entry.name,
        "also": entry.also,
        "kind": kind_words(entry.kind).to_lowercase(),
        "suits": entry.suitability.words(),
        "advice": entry.advice,
        "starter": entry.starter,
        "total_solids_pct": facts.total_solids_pct,
        "volatile_solids_pct": facts.volatile_solids_pct,
        "carbon_to_nitrogen": facts.carbon_to_nitrogen,
        "fat_share_of_vs": facts.fat_share,
        "fibre_share_of_vs": facts.fibre_share,
        "protein_share_of_vs": facts.protein_share,
        "inert_share_of_vs": facts.inert_share,
        "nitrogen_g_per_kg": composition.nitrogen * 1000.0,
        "ammonium_g_per_kg": facts.ammonium_g_per_kg,
        "measured_methane_nl_per_kg_vs": facts.measured_nl_per_kg_vs.map(triple),
        "reachable_methane_nl_per_kg_vs": facts.reachable.methane_nl_per_kg_vs,
        "hydrolysis_per_d": {
            "fast_carb": triple(composition.hydrolysis.fast_carb),
            "fibre": triple(composition.hydrolysis.fibre),
            "protein": triple(composition.hydrolysis.protein),
            "fat": triple(composition.hydrolysis.fat),
        },
        "bulk_density_kg_per_l": entry.bulk_density,
        "provenance": entry.provenance.iter().map(|(group, source)| json!({
            "group": group.words(),
            "how": source.how.words(),
            "refs": source.refs,
            "note": source.note,
        })).collect::<Vec<_>>(),
        "references": entry.references().into_iter().filter_map(|key| library.reference(key)).map(|r| json!({
            "key": r.id,
            "citation": r.citation,
            "how": r.how.words(),
        })).collect::<Vec<_>>(),
    })
}
