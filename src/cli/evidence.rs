//! `marshgas evidence`: published check values beside what this build computes.

use serde_json::json;

use crate::study::evidence::{self, Check, Finding, Verdict};

use super::columns::{Side, lines, wrapped};
use super::failure::Failure;
use super::terminal::Terminal;

/// Compare published check values with what this build computes.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  marshgas evidence
  marshgas evidence --json > evidence.json

Every value is computed now, by this build. Known misses are shown with their size and cause. Exit status 1 if a value \
that is expected to agree does not.")]
pub(super) struct Options {}

/// Width of running text.
const WIDTH: usize = 80;

pub(super) fn run(_: &Options, terminal: &mut Terminal) -> Result<(), Failure> {
    let progress = terminal.progress("evidence");
    let findings = evidence::compute(&|share| progress.set(share)).map_err(Failure::Evidence)?;
    drop(progress);
    if terminal.wants_json() {
        terminal.print_json(&json!({ "evidence": findings }))?;
    } else {
        terminal.print(&text(&findings))?;
    }
    match findings.iter().find(|finding| finding.disagrees()) {
        None => Ok(()),
        Some(finding) => Err(Failure::Disagrees {
            what: finding.check.what.clone(),
            published: expected(finding.check),
            computed: finding.computed,
        }),
    }
}

fn text(findings: &[Finding]) -> String {
    let count = |verdict| findings.iter().filter(|f| f.verdict == verdict).count();
    let mut text = tables(findings);
    text.push_str(&wrapped(
        &format!(
            "{} agree, {} miss, {} were used to set an assumption and do not count.",
            count(Verdict::Agrees),
            count(Verdict::Misses),
            count(Verdict::SetBy)
        ),
        WIDTH,
        0,
    ));
    let told: Vec<&Finding> = findings
        .iter()
        .filter(|f| f.verdict != Verdict::Agrees && !f.check.cause.is_empty())
        .collect();
    if !told.is_empty() {
        text.push_str("\nWhy\n");
    }
    for (i, finding) in told.iter().enumerate() {
        // Neighbours with one cause are told together.
        let cause = &finding.check.cause;
        if told
            .get(i + 1)
            .is_some_and(|next| next.check.cause == *cause)
        {
            continue;
        }
        text.push_str(&wrapped(
            &format!("{}: {cause}", finding.check.what),
            WIDTH,
            2,
        ));
    }
    text.push_str("\nSources\n");
    let mut shown: Vec<&str> = Vec::new();
    for finding in findings {
        if !shown.contains(&finding.source_text) {
            shown.push(finding.source_text);
            let what = &finding.check.what;
            text.push_str(&wrapped(
                &format!("{what}: {}", finding.source_text),
                WIDTH,
                2,
            ));
        }
    }
    text
}

/// One table with a heading for each topic; all tables share their column widths.
fn tables(findings: &[Finding]) -> String {
    const SIDES: [Side; 5] = [Side::Left, Side::Right, Side::Right, Side::Left, Side::Left];
    let mut cells = vec![
        ["", "published", "this build", "", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    cells.extend(findings.iter().map(|f| {
        vec![
            format!("  {}", f.check.what),
            expected(f.check),
            shown(f.computed),
            f.check.unit.clone(),
            verdict(f),
        ]
    }));
    let table = lines(&SIDES, &cells);
    let mut rows = table.lines();
    let mut text = format!("{}\n", rows.next().unwrap_or_default());
    let mut topic = "";
    for (row, finding) in rows.zip(findings) {
        if finding.check.topic != topic {
            topic = &finding.check.topic;
            text.push_str(&format!("\n{topic}\n"));
        }
        text.push_str(&format!("{row}\n"));
    }
    text.push('\n');
    text
}

fn verdict(finding: &Finding) -> String {
    match finding.verdict {
        Verdict::Agrees => "agrees".to_owned(),
        Verdict::SetBy => "set by".to_owned(),
        Verdict::Misses if finding.disagrees() => {
            format!("DISAGREES by {}", shown(finding.gap))
        }
        Verdict::Misses => format!("misses by {}", shown(finding.gap)),
    }
}

/// The published value, or the band.
fn expected(check: &Check) -> String {
    match (check.published, check.low, check.high) {
        (Some(value), _, _) => shown(value),
        (None, Some(low), Some(high)) => format!("{} to {}", shown(low), shown(high)),
        (None, Some(low), None) => format!("from {}", shown(low)),
        (None, None, Some(high)) => format!("up to {}", shown(high)),
        (None, None, None) => String::new(),
    }
}

/// At most seven digits, as the published tables have, without needless zeros.
fn shown(value: f64) -> String {
    if value.is_infinite() {
        return "never".to_owned();
    }
    let size = value.abs();
    if size > 0.0 && size < 1e-3 {
        return format!("{value:.1e}");
    }
    let before = if value == 0.0 {
        0.0
    } else {
        size.log10().floor()
    };
    // A rounded logarithm of a finite number fits.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let decimals = (6.0 - before).clamp(0.0, 7.0) as usize;
    let long = format!("{value:.decimals$}");
    if long.contains('.') {
        long.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        long
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_at_most_seven_digits() {
        let seen: Vec<String> = [2955.703, 0.0, 7.465_538, 0.004_090_928, 50.0, 1e-4]
            .map(shown)
            .to_vec();
        assert_eq!(
            seen,
            ["2955.703", "0", "7.465538", "0.0040909", "50", "1.0e-4"]
        );
        assert_eq!(shown(f64::INFINITY), "never");
    }
}
