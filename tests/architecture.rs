//! The layers of the house as a test: reads `src/` and fails with file, line and broken rule.
//!
//! Rules: imports go strictly downwards; an outside crate has one home; a file says what it is for and stays short.
//! The compiler cannot hold layers within one crate, so this does.

#![allow(
    clippy::unwrap_used,
    reason = "a test that cannot read the sources fails"
)]

use std::collections::BTreeMap;
use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

use proc_macro2::{Delimiter, TokenStream, TokenTree};

/// Layer and modules. DEVELOPERS.md and `src/lib.rs` show the same table to people.
const LAYERS: &[(u32, &[&str])] = &[
    (0, &["units", "lanes", "embedded"]),
    (1, &["solver", "chemistry", "feedstock"]),
    (2, &["kinetics", "thermal"]),
    (3, &["digester", "plant"]),
    (4, &["case"]),
    (5, &["scenario", "simulate"]),
    (6, &["study"]),
    (7, &["diary"]),
    (8, &["report"]),
    (10, &["cli"]),
];

/// Outside crates and the places each may be named in (a path below `src/`); a crate with two homes has two rows.
const HOMES: &[(&str, &str)] = &[
    ("ode_solvers", "solver"),
    ("nalgebra", "solver"),
    ("nalgebra", "diary/fit"),
    ("levenberg_marquardt", "diary/fit"),
    ("schemars", "scenario"),
    ("plotters", "report/render"),
    ("resvg", "report/render"),
    ("dejavu", "report/render"),
    ("askama", "report"),
    ("rayon", "study/batch"),
    ("chacha20", "study"),
    ("sha2", "scenario"),
    ("clap", "cli"),
    ("clap_complete", "cli"),
    ("clap_mangen", "cli"),
    ("indicatif", "cli"),
    ("anstream", "cli"),
    ("ctrlc", "cli/interrupt"),
    ("fs4", "cli/diary"),
];

/// Longest file \[lines\].
const LONGEST: usize = 700;

/// A broken rule and where.
#[derive(Debug, PartialEq)]
struct Breach {
    file: String,
    line: usize,
    rule: String,
}

impl fmt::Display for Breach {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "src/{}:{}: {}", self.file, self.line, self.rule)
    }
}

fn layer(module: &str) -> Option<u32> {
    LAYERS
        .iter()
        .find(|(_, modules)| modules.contains(&module))
        .map(|(layer, _)| *layer)
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The module path of a file below `src/`: `solver/system.rs` is `[solver, system]`, `solver/mod.rs` is `[solver]`.
fn module_path(file: &str) -> Vec<String> {
    let stem = file.strip_suffix(".rs").unwrap_or(file);
    let mut parts: Vec<String> = stem.split('/').map(str::to_owned).collect();
    if parts.last().is_some_and(|last| last == "mod") {
        parts.pop();
    }
    parts
}

/// Checks one file's text. `file` is its path below `src/`, with `/`.
fn check(file: &str, text: &str) -> Vec<Breach> {
    let mut breaches = Vec::new();
    let mut breach = |line: usize, rule: String| {
        breaches.push(Breach {
            file: file.to_owned(),
            line,
            rule,
        });
    };
    if !text.starts_with("//!") {
        breach(
            1,
            "a file starts with a `//!` line that says what it is for".into(),
        );
    }
    let lines = text.lines().count();
    if lines > LONGEST {
        breach(
            lines,
            format!("a file has at most {LONGEST} lines, this one has {lines}: split it"),
        );
    }
    let module = module_path(file);
    let crate_root = matches!(file, "lib.rs" | "main.rs");
    if !crate_root && layer(&module[0]).is_none() {
        breach(
            1,
            format!(
                "module {} has no layer: add it to the table here, in DEVELOPERS.md and in src/lib.rs",
                module[0]
            ),
        );
        return breaches;
    }
    let head = text.lines().next().unwrap_or_default();
    if let Some((_, told)) = head.split_once("(layer ")
        && told.split(')').next().and_then(|n| n.parse().ok()) != layer(&module[0])
    {
        breach(
            1,
            format!("{} is not on the layer that this line says", module[0]),
        );
    }
    let tokens: TokenStream = text
        .parse()
        .unwrap_or_else(|e| panic!("src/{file} cannot be read as Rust: {e}"));
    let mut names = Vec::new();
    walk(tokens, module.len(), &mut names);
    for name in names {
        match name {
            Name::Own(target, line) if !crate_root => {
                if let Some(rule) = import_rule(&module[0], &target) {
                    breach(line, rule);
                }
            }
            Name::Outside(outside, line) => {
                let homes: Vec<&str> = HOMES
                    .iter()
                    .filter(|(name, _)| *name == outside)
                    .map(|(_, home)| *home)
                    .collect();
                let place = module.join("/");
                let at_home =
                    |home: &&str| place == **home || place.starts_with(&format!("{home}/"));
                if !homes.iter().any(at_home) {
                    let homes = homes.join(" and ");
                    breach(line, format!("the crate {outside} is used in {homes} only"));
                }
            }
            Name::Own(..) => {}
        }
    }
    breaches
}

/// The broken rule, where module `from` names the top module `to`.
fn import_rule(from: &str, to: &str) -> Option<String> {
    let (own, other) = (layer(from)?, layer(to)?);
    if from == to || other < own {
        return None;
    }
    let direction = if other == own { "sideways" } else { "upwards" };
    Some(format!(
        "{from} (layer {own}) imports {direction} from {to} (layer {other}): imports go strictly downwards"
    ))
}

/// A name that a file uses.
#[derive(Debug, PartialEq)]
enum Name {
    /// A top module of this crate, and the line.
    Own(String, usize),
    /// A crate of [`HOMES`], and the line.
    Outside(String, usize),
}

/// Collects names. `depth` is the depth of the module that the tokens stand in (1 for a top module).
fn walk(tokens: TokenStream, depth: usize, names: &mut Vec<Name>) {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let is = |i: usize, text: &str| matches!(tokens.get(i), Some(TokenTree::Ident(ident)) if ident == text);
    let colons = |i: usize| {
        let colon =
            |i: usize| matches!(tokens.get(i), Some(TokenTree::Punct(p)) if p.as_char() == ':');
        colon(i) && colon(i + 1)
    };
    let mut i = 0;
    while i < tokens.len() {
        match &tokens[i] {
            TokenTree::Group(group) => {
                let inline_module =
                    group.delimiter() == Delimiter::Brace && i >= 2 && is(i - 2, "mod");
                walk(group.stream(), depth + usize::from(inline_module), names);
            }
            TokenTree::Ident(ident) => {
                let text = ident.to_string();
                let starts_path = i == 0 || !(i >= 2 && colons(i - 2));
                if starts_path && (text == "crate" || text == "super") {
                    i = from_root(&tokens, i, depth, names);
                    continue;
                }
                let leads =
                    colons(i + 1) || (i > 0 && is(i - 1, "use")) || (i > 0 && is(i - 1, "crate"));
                if starts_path && leads && HOMES.iter().any(|(name, _)| *name == text) {
                    names.push(Name::Outside(text, ident.span().start().line));
                }
            }
            _ => {}
        }
        i += 1;
    }
}

/// Reads a path that begins with `crate` or `super` at `i`; returns where to go on.
fn from_root(tokens: &[TokenTree], mut i: usize, depth: usize, names: &mut Vec<Name>) -> usize {
    let mut here = depth;
    while let Some(TokenTree::Ident(ident)) = tokens.get(i) {
        match ident.to_string().as_str() {
            "crate" => here = 0,
            "super" => here = here.saturating_sub(1),
            "self" => {}
            name => {
                if here == 0 {
                    names.push(Name::Own(name.to_owned(), ident.span().start().line));
                }
                return i + 1;
            }
        }
        let colon =
            |i: usize| matches!(tokens.get(i), Some(TokenTree::Punct(p)) if p.as_char() == ':');
        if !(colon(i + 1) && colon(i + 2)) {
            return i + 1;
        }
        i += 3;
    }
    // `crate::{a, b::c}` and `crate::*`.
    match tokens.get(i) {
        Some(TokenTree::Group(group)) if here == 0 => {
            let mut first = true;
            for token in group.stream() {
                match &token {
                    TokenTree::Ident(ident) if first => {
                        names.push(Name::Own(ident.to_string(), ident.span().start().line));
                        first = false;
                    }
                    TokenTree::Punct(p) if p.as_char() == ',' => first = true,
                    _ => {}
                }
            }
            i + 1
        }
        Some(TokenTree::Punct(p)) if here == 0 && p.as_char() == '*' => {
            names.push(Name::Own("*".into(), p.span().start().line));
            i + 1
        }
        _ => i,
    }
}

/// Every `.rs` file below `src/`: path with `/`, text.
fn sources() -> Vec<(String, String)> {
    let src = root().join("src");
    let mut waiting: Vec<PathBuf> = vec![src.clone()];
    let mut found = Vec::new();
    while let Some(folder) = waiting.pop() {
        for entry in fs::read_dir(&folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                waiting.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let parts: Vec<String> = path
                    .strip_prefix(&src)
                    .unwrap()
                    .iter()
                    .map(|p| p.to_string_lossy().into_owned())
                    .collect();
                found.push((parts.join("/"), fs::read_to_string(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// Rows of the layer table in a text: module to layer.
fn table(text: &str) -> BTreeMap<String, u32> {
    let mut rows = BTreeMap::new();
    for line in text.lines() {
        let line = line.trim_start_matches("//!").trim();
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        let Some(layer) = cells.first().and_then(|cell| cell.parse::<u32>().ok()) else {
            continue;
        };
        let Some(modules) = cells.get(1).filter(|_| line.starts_with('|')) else {
            continue;
        };
        for module in modules.split(',') {
            let module = module.trim().trim_matches(|c| matches!(c, '[' | ']' | '`'));
            rows.insert(module.to_owned(), layer);
        }
    }
    rows
}

fn wanted_table() -> BTreeMap<String, u32> {
    LAYERS
        .iter()
        .flat_map(|(layer, modules)| modules.iter().map(|m| ((*m).to_owned(), *layer)))
        .collect()
}

#[test]
fn every_file_keeps_the_rules() {
    let files = sources();
    assert!(
        files.len() > 10,
        "only {} files found below src/",
        files.len()
    );
    let breaches: Vec<String> = files
        .iter()
        .flat_map(|(file, text)| check(file, text))
        .map(|breach| breach.to_string())
        .collect();
    assert!(breaches.is_empty(), "\n{}\n", breaches.join("\n"));
}

#[test]
fn every_module_of_the_table_exists() {
    let files = sources();
    for module in wanted_table().keys() {
        assert!(
            files
                .iter()
                .any(|(file, _)| module_path(file)[0] == *module),
            "the layer table names {module}, and src/ has no such module"
        );
    }
}

#[test]
fn the_developers_guide_shows_the_same_table() {
    let guide = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    assert_eq!(table(&guide), wanted_table());
}

#[test]
fn the_crate_documentation_shows_the_same_table() {
    let text = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    assert_eq!(table(&text), wanted_table());
}

#[test]
fn every_outside_crate_with_a_home_is_a_dependency() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    for (name, _) in HOMES {
        assert!(
            manifest.lines().any(|line| line
                .split(['=', '.'])
                .next()
                .is_some_and(|key| key.trim().replace('-', "_") == *name)),
            "{name} has a home here but is no dependency"
        );
    }
}

/// Keys of a section of Cargo.toml.
fn dependencies(manifest: &str, section: &str) -> Vec<String> {
    let lines = manifest.lines().skip_while(|line| *line != section).skip(1);
    lines
        .take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.split_once('=').map(|(key, _)| key.trim().to_owned()))
        .collect()
}

#[test]
fn the_developers_guide_says_why_for_every_dependency() {
    let manifest = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let guide = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let named: Vec<&str> = guide
        .lines()
        .skip_while(|line| *line != "## Dependencies")
        .take_while(|line| *line != "## User-visible changes")
        .filter_map(|line| line.strip_prefix("| `")?.split('|').next())
        .flat_map(|cell| cell.split(',').map(|name| name.trim().trim_matches('`')))
        .collect();
    let mut wanted = dependencies(&manifest, "[dependencies]");
    wanted.extend(dependencies(&manifest, "[dev-dependencies]"));
    assert!(wanted.len() > 20, "{wanted:?}");
    for name in &wanted {
        assert!(
            named.contains(&name.as_str()),
            "DEVELOPERS.md does not say why {name} is there"
        );
    }
    for name in named {
        assert!(
            wanted.iter().any(|w| w == name),
            "DEVELOPERS.md gives a reason for {name}, which is no dependency"
        );
    }
}

/// The rules, each on a text that breaks it.
mod the_checker {
    use super::*;

    fn rules(file: &str, text: &str) -> Vec<(usize, String)> {
        check(file, &format!("//! Doc.\n{text}"))
            .into_iter()
            .map(|b| (b.line, b.rule))
            .collect()
    }

    fn first_rule(file: &str, text: &str) -> String {
        let found = rules(file, text);
        assert_eq!(found.len(), 1, "{found:?}");
        found[0].1.clone()
    }

    #[test]
    fn sees_upward_imports_in_every_shape() {
        for text in [
            "use crate::scenario::load;",
            "use crate::{units, scenario::load};",
            "use crate::{units::{R_J, kelvin}, scenario};",
            "fn f() { crate::scenario::load() }",
            "mod tests { use super::super::scenario; }",
            "mod tests { fn f() { vec![crate::scenario::load()] } }",
            "use super::scenario;",
        ] {
            let rule = first_rule("solver/mod.rs", text);
            assert!(rule.contains("upwards"), "{text}: {rule}");
        }
        assert!(
            first_rule("solver/implicit.rs", "use super::super::scenario;").contains("upwards")
        );
    }

    #[test]
    fn sees_sideways_imports() {
        assert!(first_rule("simulate/run.rs", "use crate::scenario::load;").contains("sideways"));
        assert!(first_rule("feedstock/mod.rs", "use crate::chemistry::Ph;").contains("sideways"));
    }

    #[test]
    fn lets_downward_imports_comments_and_texts_pass() {
        let text = "\
            use crate::units::R_J;\n\
            use crate::kinetics::{self, Network};\n\
            use super::scenario;\n\
            // use crate::cli;\n\
            /// See [`crate::cli`].\n\
            const TEXT: &str = \"crate::cli::main\";\n\
            mod tests { use super::*; use super::super::scenario; }\n";
        assert_eq!(rules("digester/vessel.rs", text), vec![]);
    }

    #[test]
    fn names_the_line() {
        assert_eq!(rules("units.rs", "\n\nuse crate::cli;")[0].0, 4);
    }

    #[test]
    fn keeps_outside_crates_at_home() {
        for text in [
            "use clap::Parser;",
            "#[derive(clap::Args)] struct S;",
            "use clap;",
            "fn f() { clap::x() }",
        ] {
            assert!(first_rule("report/mod.rs", text).contains("clap"), "{text}");
            assert_eq!(rules("cli/run.rs", text), vec![]);
        }
        assert!(
            first_rule("report/present/run.rs", "use plotters::prelude::*;").contains("plotters")
        );
        assert_eq!(
            rules("report/render/svg.rs", "use plotters::prelude::*;"),
            vec![]
        );
        assert_eq!(
            rules(
                "report/mod.rs",
                "use self::render::plotters; fn f() { x.clap(); }"
            ),
            vec![]
        );
    }

    #[test]
    fn wants_a_purpose_and_short_files() {
        assert!(
            check("units.rs", "const A: u8 = 1;\n")[0]
                .rule
                .contains("//!")
        );
        let long = "//\n".repeat(LONGEST);
        assert!(first_rule("units.rs", &long).contains("split it"));
    }

    #[test]
    fn knows_no_module_without_a_layer() {
        assert!(first_rule("elsewhere.rs", "").contains("no layer"));
    }
}
