//! `marshgas manual`: the manual pages.

use std::fs;
use std::io;
use std::path::PathBuf;

use clap::CommandFactory as _;
use clap_mangen::Man;
use serde_json::json;

use super::args::Args;
use super::failure::Failure;
use super::folder::Folder;
use super::terminal::Terminal;

/// Print the manual page, or write one page per command.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas manual | man -l -
  marshgas manual --out ~/.local/share/man/man1")]
pub(super) struct Options {
    /// Folder for one page per command [default: print the main page].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

pub(super) fn run(options: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let mut main = Args::command();
    main.build();
    let Some(out) = &options.out else {
        let page = page(main).map_err(Failure::Output)?;
        if terminal.wants_json() {
            return terminal.print_json(&json!({ "page": page }));
        }
        return terminal.print(&page);
    };
    let folder = Folder::prepare(out)?;
    let mut written = Vec::new();
    let commands: Vec<clap::Command> = main.get_subcommands().cloned().collect();
    for command in std::iter::once(main).chain(commands) {
        let name = command
            .get_display_name()
            .unwrap_or_else(|| command.get_name())
            .to_owned();
        let path = folder.path().join(format!("{name}.1"));
        page(command)
            .and_then(|page| fs::write(&path, page))
            .map_err(|e| Failure::Write {
                path: path.clone(),
                why: e.to_string(),
            })?;
        written.push(path.display().to_string());
    }
    folder.keep();
    if terminal.wants_json() {
        return terminal.print_json(&json!({ "files": written }));
    }
    terminal.print(&written.join("\n"))
}

fn page(command: clap::Command) -> io::Result<String> {
    let mut roff = Vec::new();
    Man::new(command).render(&mut roff)?;
    Ok(String::from_utf8_lossy(&roff).into_owned())
}
