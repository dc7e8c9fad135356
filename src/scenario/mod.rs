//! From the text of a scenario to a checked [`Case`] (layer 5).
//!
//! A scenario is one JSON file. Reading goes through four sieves, each of which names everything it catches:
//!
//! | step | file | catches |
//! |---|---|---|
//! | bytes to text | `read` | missing, a folder, too large, no UTF-8 |
//! | text to JSON | `scan`, `slips` | decimal commas, trailing commas, double keys, nesting, ... |
//! | JSON to raw scenario | `kinds`, `schema` | unknown keys, wrong kinds |
//! | raw scenario to case | `check`, `feeding`, `dissolving`, `temperature`, `climate`, `heat`, `plant`, `materials` | ranges, names, volumes, dates |
//!
//! Nothing downstream of the check checks again. What is allowed but unwise comes back as [`Warning`]s.

mod address;
mod advice;
mod calendar;
mod check;
mod climate;
mod dissolving;
mod facts;
mod feeding;
mod heat;
mod kinds;
mod limits;
mod limits_heat;
mod materials;
mod months;
mod near;
mod numbers;
mod own;
mod plant;
mod problem;
mod read;
mod scan;
mod schema;
mod sheet;
mod slips;
mod soil;
mod source;
mod table;
mod temperature;
mod template;
mod vocabulary;

use std::collections::HashSet;
use std::path::Path;

use serde_json::Value;
use sha2::{Digest, Sha256};

pub use address::{Address, AddressError, Step};
pub use facts::{Facts, FeedingFacts, RecipeFacts, StarterFacts};
pub use numbers::{NumberError, get_number, list_numbers, set_number};
pub use problem::{Excerpt, Problem, Problems, Warning};
pub use template::{Template, templates};

/// The raw file of a wish, with the ranges of its numbers.
pub(crate) use schema::wish;

pub(crate) use check::Checker;
pub(crate) use limits::{KG, Limit};
pub(crate) use materials::unknown as unknown_material;
pub(crate) use months::months;
pub(crate) use near::nearest;
pub(crate) use sheet::Sheet;

use crate::case::{Case, Source};
use check::Around;
use schema::RawScenario;
use source::SourceText;

/// A scenario that can be computed.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The checked case.
    pub case: Case,
    /// What it amounts to before anything is computed.
    pub facts: Facts,
    /// What is allowed but unwise, or has no effect.
    pub warnings: Vec<Warning>,
    /// The scenario as JSON, for [`list_numbers`] and [`set_number`].
    pub json: Value,
}

/// Reads and checks a scenario file; tables are looked for in its folder.
///
/// # Errors
/// Everything that is wrong with it.
pub fn load(path: &Path) -> Result<Loaded, Problems> {
    let label = problem::tame(&path.display().to_string());
    let bytes = read::bytes(path, &label).map_err(|p| Problems::one(*p))?;
    let text = read::text(&bytes, &label).map_err(|p| Problems::one(*p))?;
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    examine(text, &bytes, &label, Some(folder))
}

/// Checks a scenario given as text. `file_label` stands for the file in messages; tables are looked for in `base_dir`
/// and refused without one.
///
/// # Errors
/// Everything that is wrong with it.
pub fn from_text(
    text: &str,
    file_label: &str,
    base_dir: Option<&Path>,
) -> Result<Loaded, Problems> {
    let stripped = text.strip_prefix('\u{feff}').unwrap_or(text);
    examine(stripped, text.as_bytes(), file_label, base_dir)
}

/// Checks a scenario given as JSON, such as one that [`set_number`] has changed. Lines in messages count those of the
/// JSON printed with indents.
///
/// # Errors
/// Everything that is wrong with it.
pub fn from_value(
    scenario: &Value,
    file_label: &str,
    base_dir: Option<&Path>,
) -> Result<Loaded, Problems> {
    from_text(&format!("{scenario:#}"), file_label, base_dir)
}

/// The JSON Schema of a scenario, with descriptions, for editors.
#[must_use]
pub fn schema() -> Value {
    schemars::schema_for!(schema::RawScenario).to_value()
}

/// The JSON Schema of a wish, with descriptions, for editors.
#[must_use]
pub fn wish_schema() -> Value {
    schemars::schema_for!(wish::RawWish).to_value()
}

fn examine(
    text: &str,
    bytes: &[u8],
    file: &str,
    folder: Option<&Path>,
) -> Result<Loaded, Problems> {
    let source = SourceText { file, text };
    let (json, mut problems) = read::json(source).map_err(|p| Problems {
        stopped: true,
        ..Problems::one(*p)
    })?;
    if let Some(why) = sheet::looks_like(&json, sheet::WISH, sheet::SCENARIO) {
        return Err(Problems {
            stopped: true,
            ..Problems::one(Problem {
                file: file.to_owned(),
                why: format!("This is a wish, not a scenario: it has {why}."),
                mend: "`marshgas size` takes it, and proposes a plant as a scenario.".to_owned(),
                ..Problem::default()
            })
        });
    }
    let kinds = kinds::read::<RawScenario>(&json, file);
    problems.extend(kinds.problems.iter().cloned().map(narrowed));
    let Some(raw) = &kinds.raw else {
        let problems = pointed(source, problems, 0, &kinds.unknown);
        return Err(Problems {
            stopped: true,
            ..problems
        });
    };
    let around = Around {
        source: Source {
            file: file.to_owned(),
            sha256: hash(bytes),
        },
        folder,
    };
    let mut checker = Checker::new(file);
    let checked = check::check(raw, &around, &mut checker);
    let sound = problems.is_empty() && checker.is_clean();
    let facts = sound.then(|| {
        let facts = Facts::of(&checked.case, &checked.recipes);
        advice::advise(&mut checker, &facts);
        facts
    });
    let (found, more, mut warnings) = checker.finish();
    problems.extend(found.into_iter().filter(|p| !kinds.explain(p)));
    match facts {
        Some(facts) => {
            source.point_all(&mut [], &mut warnings, &kinds.unknown);
            Ok(Loaded {
                case: checked.case,
                facts,
                warnings,
                json,
            })
        }
        None => Err(pointed(source, problems, more, &kinds.unknown)),
    }
}

/// The choices of a stage's filling are those of that stage, not of all beds.
fn narrowed(mut problem: Problem) -> Problem {
    if problem.allowed.is_some()
        && let Some(fitting) = plant::fillings(&problem.path)
    {
        let names = || fitting.iter().map(String::as_str);
        problem.allowed = Some(near::listed(names(), fitting.len()));
        let given = problem.value.as_deref().unwrap_or("").trim_matches('"');
        problem.mend = near::did_you_mean(given, names());
    }
    problem
}

/// Problems with their lines, in the order of the file.
fn pointed(
    source: SourceText<'_>,
    mut problems: Vec<Problem>,
    more: usize,
    unknown: &HashSet<String>,
) -> Problems {
    source.point_all(&mut problems, &mut [], unknown);
    problems.sort_by_key(|p| (p.file != source.file, p.line, p.column));
    Problems {
        problems,
        more,
        stopped: false,
    }
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}
