//! The plan for the wall: a sheet to print, week by week, with the checks and what to do when one fails.

use super::{AIM, Reading, against_practice, kept, short};
use crate::digester::Bands;
use crate::report::document::{Closing, Column, Document, Facts, Table, Weight};
use crate::report::numbers::{fixed, percent};
use crate::report::present::cautions::cautions;
use crate::report::present::words::{bind, date_of, day_name, rough};
use crate::study::startup::{Begin, Cold, Feeding, MilestoneKind, Startup};

const WEEK_D: u32 = 7;
/// Weeks on the sheet after the whole feed is reached.
const WEEKS_AFTER: u32 = 4;
/// Alkalinity that one rescue adds \[mg CaCO3/L\]. Assumption of this project: about a fifth of what a healthy digester
/// holds, so that one rescue cannot do harm.
const RESCUE_MG_L: f64 = 500.0;
/// Sodium bicarbonate per alkalinity as calcium carbonate \[g/g\]: 84.007 g/mol over 100.087/2 g/eq. Source: IUPAC
/// standard atomic weights.
const BICARBONATE: f64 = 84.007 / (100.087 / 2.0);
/// Days for which an owner waits for the checks after a fixed first day, or after nearly all that ever pass have passed. Common practice, no source.
const PATIENCE_D: u32 = 14;
/// A box to tick.
const BOX: &str = "[ ]";

/// Sheet of the plan; `None` where no plan was found, or the study was stopped before it was checked.
#[must_use]
pub fn startup_wall(found: &Startup, bands: &Bands) -> Option<Document> {
    let feeding = found.feeding.as_ref().filter(|f| f.checked.is_some())?;
    let start = found.start_date.as_deref().and_then(|d| d.parse().ok());
    let reading = Reading {
        found,
        bands,
        start,
    };
    Some(Document {
        kind: "Feeding plan for the wall".into(),
        title: found.title.clone(),
        about: bind(&about(&reading, feeding)),
        advice: how(found, feeding).iter().map(|p| bind(p)).collect(),
        tables: vec![weeks(&reading, feeding), checks(&reading)],
        cautions: cautions(),
        facts: vec![Facts {
            title: "Where this sheet comes from".into(),
            rows: vec![
                ("Scenario".into(), found.file.clone()),
                ("marshgas".into(), found.version.clone()),
                ("Seed".into(), found.seed.to_string()),
            ],
        }],
        closing: Closing {
            holds: feeding.checked.is_some_and(|t| t.holds.share >= AIM),
            text: "A computed plan, not a promise. What you see at the digester overrules it."
                .into(),
        },
        ..Document::default()
    })
}

fn about(reading: &Reading<'_>, feeding: &Feeding) -> String {
    let share = feeding.checked.map_or_else(String::new, |t| {
        let apart = super::apart(&t);
        format!(
            " In {} % of {} computed digesters this plan stayed below an acid-to-alkalinity ratio of {} and above pH \
             {}{}.{apart}",
            kept(t.holds.share, 1),
            t.fed,
            reading.found.limits.acid_ratio_below,
            reading.found.limits.ph_above,
            if t.holds.share < AIM {
                ": less than the 95 % asked for: go slower"
            } else {
                ""
            }
        )
    });
    let size = if feeding.size < 1.0 {
        format!(
            " It ends at {} % of the wanted feed: more is not safe with this start.",
            percent(feeding.size, 0)
        )
    } else {
        String::new()
    };
    let begin = match feeding.begin {
        Begin::Fixed => "Day 0 is the day of filling.".to_owned(),
        Begin::WhenChecksPass { start } => format!(
            "Day 0 is the first morning after three mornings running on which the gas burns and the pH is above {}. Feed \
             nothing before. It comes about day {} after the filling{}.",
            reading.found.limits.ph_check,
            start
                .p50
                .map_or_else(|| "(unknown)".into(), |d| fixed(d.floor(), 0)),
            start.p95.map_or_else(String::new, |d| format!(
                ", seldom after day {}",
                fixed(d, 0)
            ))
        ),
    };
    let loading = against_practice(reading.found, feeding);
    format!("{begin}{share}{size} {loading}")
}

fn how(found: &Startup, feeding: &Feeding) -> Vec<String> {
    let flame = found
        .milestones
        .iter()
        .find(|m| m.kind == MilestoneKind::SteadyFlame)
        .and_then(|m| m.days.p75.or(m.days.p50));
    let first: String = match feeding.begin {
        Begin::Fixed => format!(
            "Until the first feed: feed nothing. The first gas holds air: let it go outdoors and never light it. Before the \
             first feed the pH must pass; if not, wait, and move all later days. {}",
            flame.map_or_else(
                || "The flame check counts once the gas has burnt for three days.".into(),
                |d| format!(
                    "The flame check counts from about day {} on.",
                    fixed(d.ceil(), 0)
                )
            )
        ),
        Begin::WhenChecksPass { .. } => {
            "Until the checks pass: feed nothing. The first gas holds air: let it go outdoors \
             and never light it."
                .into()
        }
    };
    let mut all = vec![first, if_never(found, feeding)];
    if let Some(cold) = &found.cold {
        all.push(pause(found, cold));
    }
    all.extend([
        "Check in the morning before feeding, at least on the first day of each line. All three pass: go on. One fails: \
         do what the second table says, and move all later lines by the days lost. Never catch up."
            .into(),
        "Weigh the feed and measure the water once; after that the same bucket with a mark will do.".into(),
    ]);
    all
}

/// What to do where the checks do not pass.
fn if_never(found: &Startup, feeding: &Feeding) -> String {
    let late = match feeding.begin {
        Begin::Fixed => feeding.plan.first_day().map(|d| d + PATIENCE_D),
        // Whole days of a run.
        Begin::WhenChecksPass { .. } => found
            .stuck
            .and_then(|s| s.late_day)
            .map(|d| d.ceil() as u32 + PATIENCE_D),
    };
    let waits = feeding.begin != Begin::Fixed;
    let how_many = found
        .stuck
        .filter(|s| waits && s.never > 0)
        .map_or_else(String::new, |s| {
            format!(
                " In {} of {} computed starts they never do{}.",
                s.never,
                s.draws,
                if 2 * s.sour >= s.never {
                    ", most of them sour on the filling alone"
                } else {
                    ""
                }
            )
        });
    format!(
        "If the checks have not passed by day {} after the filling: still feed nothing, waiting longer seldom helps.{how_many} Take \
         out a third of the liquor and fill up with digestate from a running digester; where there is none, with warm water, \
         to thin the acids. Warm or insulate the tank if it is below 20 \u{b0}C. Then measure every morning; if nothing has \
         changed after four weeks, empty it and begin anew with more digestate (common practice, no source).",
        late.unwrap_or(found.days)
    )
}

/// What the cold asks for.
fn pause(found: &Startup, cold: &Cold) -> String {
    let start = found.start_date.as_deref().and_then(|d| d.parse().ok());
    format!(
        "PAUSE, whatever line you are at, from {} on, counted from the filling: feed nothing until the liquor is at {} \u{b0}C again{}. \
         Then begin again with the first amount and with the checks.",
        day_name(f64::from(cold.pause_from), start),
        fixed(cold.pause_c, 0),
        cold.warm_again.map_or_else(String::new, |day| format!(
            ", about {}",
            day_name(f64::from(day), start)
        ))
    )
}

/// What a bucket can be filled to, never more than what was computed \[kg\].
fn by_bucket(kg: f64) -> String {
    const ROUND_OFF: f64 = 1e-9;
    let steps = [(10.0, 0.5, 1), (1.0, 0.1, 1), (0.2, 0.05, 2)];
    let (step, decimals) = steps
        .into_iter()
        .find(|(from, _, _)| kg >= *from)
        .map_or((0.01, 2), |(_, step, decimals)| (step, decimals));
    fixed((kg / step + ROUND_OFF).floor().max(1.0) * step, decimals)
}

/// Lines of the sheet: at most a week long, cut where the amount changes.
fn lines(feeding: &Feeding) -> Vec<(u32, u32, f64)> {
    let full = feeding.plan.full_day().unwrap_or(0);
    let end = full + WEEKS_AFTER * WEEK_D;
    let mut cuts: Vec<u32> = feeding.plan.steps.iter().map(|s| s.from_day).collect();
    let first = feeding.plan.first_day().unwrap_or(0);
    cuts.extend((0..first).step_by(WEEK_D as usize));
    cuts.extend((full..=end).step_by(WEEK_D as usize));
    cuts.sort_unstable();
    cuts.dedup();
    cuts.windows(2)
        .map(|w| (w[0], w[1] - 1, feeding.plan.share(w[0]) * feeding.size))
        .collect()
}

fn weeks(reading: &Reading<'_>, feeding: &Feeding) -> Table {
    let wanted = &reading.found.wanted;
    let dated = reading.start.filter(|_| feeding.begin == Begin::Fixed);
    let mut columns = vec![Column::words("Days")];
    if dated.is_some() {
        columns.push(Column::words("From"));
    }
    columns.extend(
        wanted
            .materials
            .iter()
            .map(|(name, _)| Column::number(&short(name), "kg")),
    );
    columns.push(Column::number("Water", "kg"));
    columns.extend(["pH", "flame", "smell"].map(Column::words));
    let rows = lines(feeding).into_iter().map(|(from, to, share)| {
        let mut row = vec![if from == to {
            from.to_string()
        } else {
            format!("{from}\u{a0}to\u{a0}{to}")
        }];
        if dated.is_some() {
            let date = date_of(f64::from(from), dated);
            row.push(date.map(|d| d.to_string()).unwrap_or_default());
        }
        let amount = |kg: f64| {
            if share > 0.0 {
                by_bucket(kg * share)
            } else {
                "nothing".into()
            }
        };
        row.extend(wanted.materials.iter().map(|(_, kg)| amount(*kg)));
        row.push(amount(wanted.water_kg));
        row.extend([BOX; 3].map(str::to_owned));
        row
    });
    let every = if wanted.every_days > 1.05 {
        format!(
            "Amounts are those of one feeding, about every {} days.",
            rough(wanted.every_days)
        )
    } else {
        "Amounts are those of one day.".into()
    } + " They are rounded down to what a bucket can be filled to; plan.csv has them exactly.";
    Table {
        id: "weeks".into(),
        title: "What to feed".into(),
        columns,
        rows: rows.collect(),
        note: every,
        weight: Weight::Story,
    }
}

/// What one rescue takes \[g of sodium bicarbonate\].
fn rescue_g(reading: &Reading<'_>) -> f64 {
    RESCUE_MG_L * BICARBONATE * reading.found.filling.liquid_l / 1000.0
}

fn checks(reading: &Reading<'_>) -> Table {
    let limits = &reading.found.limits;
    let bands = &reading.bands.acid_ratio;
    let soda = rough(rescue_g(reading));
    let day = rough(rescue_g(reading) / 3.0);
    let columns = ["Check", "Passes", "If not"].map(Column::words).to_vec();
    let rows = [
        [
            "pH strip in fresh overflow or a sample",
            &format!("{} or more", limits.ph_check),
            &format!(
                "Down to {}: do not raise the feed until it passes on three mornings. Below {}: pause. If it stays below \
                 for two days, dissolve {day} g of baking soda (sodium bicarbonate) in warm water and stir it in, on \
                 three days, {soda} g in all, and measure every morning. Then feed half of the last amount for a week.",
                limits.ph_above, limits.ph_above
            ),
        ],
        [
            "Flame test outdoors, at a burner away from the digester, behind a water seal",
            "Lights, and burns on",
            "Lifts off or goes out: do not raise the feed. No flame on two days running: pause until it burns again, then \
             half of the last amount for a week. Never test at the digester, never before the air is out.",
        ],
        [
            "Smell of the overflow, outdoors, never of the gas",
            "Earth, tar, stable",
            "Vinegar or rancid butter: half of the amount for a week, and the pH strip every morning. Never smell at the gas \
             or over an opening: hydrogen sulphide kills and dulls the nose.",
        ],
        [
            "Acid ratio by titration, for those who can",
            &format!("below {}", bands.good),
            &format!(
                "Up to {}: do not raise. Above {}: half. Above {}: pause.",
                bands.watch, bands.watch, bands.danger
            ),
        ],
    ];
    Table {
        id: "checks".into(),
        title: "The checks, and what to do when one fails".into(),
        columns,
        rows: rows.map(|row| row.map(bind).to_vec()).to_vec(),
        note: bind(&format!(
            "{soda} g of soda adds about {} mg/L of alkalinity to {} L; not more than twice a month. Steps when a check \
             fails: common practice, no source.",
            fixed(RESCUE_MG_L, 0),
            rough(reading.found.filling.liquid_l)
        )),
        weight: Weight::Story,
    }
}

/// The sheet as plain text, at most `width` columns wide where its tables allow.
#[must_use]
pub fn startup_wall_text(sheet: &Document, width: usize) -> String {
    let mut out = format!("{}: {}\n\n", sheet.kind, sheet.title);
    let mut say = |first: &str, rest: &str, text: &str| {
        for (i, line) in wrapped(text, width.saturating_sub(rest.len()))
            .iter()
            .enumerate()
        {
            out.push_str(if i == 0 { first } else { rest });
            out.push_str(line);
            out.push('\n');
        }
    };
    say("", "", &sheet.about);
    say("", "", "");
    for (i, piece) in sheet.advice.iter().enumerate() {
        say(&format!("{}. ", i + 1), "   ", piece);
    }
    for table in &sheet.tables {
        say("", "", "");
        say("", "", &table.title.to_uppercase());
        say("", "", "");
        if table.id == "checks" {
            for row in &table.rows {
                if let [check, passes, otherwise] = row.as_slice() {
                    say(&format!("{BOX} "), "    ", &format!("{check}: {passes}."));
                    say("    ", "    ", &format!("If not: {otherwise}"));
                }
            }
        } else {
            for line in grid(table) {
                say("", "", &line);
            }
        }
        say("", "", "");
        say("", "", &table.note);
    }
    say("", "", "");
    say("", "", "WHAT CAN HURT");
    say("", "", "");
    for caution in &sheet.cautions {
        say("! ", "  ", &format!("{}. {}", caution.title, caution.text));
    }
    say("", "", "");
    say("", "", &sheet.closing.text);
    // A text file stays readable on any printer.
    out.replace(['\u{a0}', '\u{202f}'], " ")
}

/// Columns that line up, heads first.
fn grid(table: &Table) -> Vec<String> {
    let head: Vec<String> = table
        .columns
        .iter()
        .map(|c| match c.unit.as_str() {
            "" => c.name.clone(),
            unit => format!("{}, {unit}", c.name),
        })
        .collect();
    let all = || std::iter::once(&head).chain(&table.rows);
    let widths: Vec<usize> = (0..head.len())
        .map(|i| {
            all()
                .filter_map(|r| r.get(i))
                .map(|c| c.chars().count())
                .max()
                .unwrap_or(0)
        })
        .collect();
    all()
        .map(|row| {
            let cells = row.iter().zip(&widths).zip(&table.columns);
            let cells: Vec<String> = cells
                .map(|((cell, &width), column)| {
                    if column.numeric {
                        format!("{cell:>width$}")
                    } else {
                        format!("{cell:<width$}")
                    }
                })
                .collect();
            // Narrow no-break spaces keep a line of the grid in one piece.
            cells.join("  ").trim_end().replace(' ', "\u{a0}")
        })
        .collect()
}

/// Words on lines; an empty text is one empty line.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let last = lines.len() - 1;
        let line = &mut lines[last];
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_owned());
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}
