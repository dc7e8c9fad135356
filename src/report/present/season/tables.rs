//! Months, uses, cleaning, truths, chores, assumptions, balances.

use super::super::words::{bind, date_of, month_span, rough};
use super::Reading;
use crate::plant::residue::HygieneClass;
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, percent, power_of_ten, significant};
use crate::study::season::{Chore, Repeat, Season};

pub(super) fn tables(reading: &Reading<'_>) -> Vec<Table> {
    let mut tables = vec![
        months(reading),
        hours(reading),
        gains(reading),
        uses(reading),
        cleaning(reading),
        truths(reading),
        residue(reading),
        chores(reading),
        assumed(reading),
        balances(reading),
    ];
    tables.retain(|t| !t.rows.is_empty());
    tables
}

fn hygiene(season: &Season) -> &'static str {
    match season.hygiene.as_ref().map(|h| h.class) {
        None => "nothing fed",
        Some(HygieneClass::Treated) => "treated",
        Some(HygieneClass::Reduced) => "fewer germs",
        Some(HygieneClass::Raw) => "raw",
    }
}

/// The months, then the coldest three and the others as one line each.
fn lines(reading: &Reading<'_>, row: impl Fn(&Season) -> Vec<String>) -> Vec<Vec<String>> {
    let season = reading.season;
    let mut rows: Vec<Vec<String>> = season.months.iter().map(&row).collect();
    let others = if season.start_up.is_empty() {
        "the others"
    } else {
        "later others"
    };
    for (part, name) in [(&season.winter, "coldest 3"), (&season.rest, others)] {
        if let Some(part) = part {
            let mut row = row(part);
            name.clone_into(&mut row[0]);
            rows.push(row);
        }
    }
    rows
}

fn months(reading: &Reading<'_>) -> Table {
    let rows = lines(reading, |m| {
        vec![
            m.name.clone(),
            fixed(m.line_c, 0),
            fixed(m.liquor_c, 0),
            m.frost_days.to_string(),
            fixed(m.made_nl_d, 0),
            fixed(m.used_nl_d, 0),
            fixed(m.overflow_nl_d, 0),
            m.heating_share
                .map_or_else(|| "\u{2013}".into(), |s| percent(s, 0)),
        ]
    });
    Table {
        id: "months".into(),
        title: "Month by month".into(),
        columns: vec![
            Column::words("Month"),
            Column::number("Line", "\u{b0}C"),
            Column::number("Tank", "\u{b0}C"),
            Column::number("Frost", "nights"),
            Column::number("Made", "NL/d"),
            Column::number("Used", "NL/d"),
            Column::number("Over", "NL/d"),
            Column::number("Heater %", "of the gas"),
        ],
        rows,
        note: "Temperatures of the line (pipes, beds, store) and of the tank in \u{b0}C; nights on which the line falls below \
               freezing; gas made, used and overflown in \
               NL/d; the heater's share of the gas in %."
            .into(),
        weight: Weight::Story,
    }
}

fn hours(reading: &Reading<'_>) -> Table {
    let rows = lines(reading, |m| {
        let a_day = |hours: f64| {
            if m.wanted_h > 0.0 {
                fixed(hours / f64::from(m.days.max(1)), 2)
            } else {
                "\u{2013}".into()
            }
        };
        vec![
            m.name.clone(),
            fixed(m.made_nl_d, 0),
            a_day(m.wanted_h),
            a_day(m.served_h),
            a_day(m.short_h),
            a_day(m.no_flame_h + m.refused_h),
            if m.wanted_h > 0.0 {
                percent(m.served_h / m.wanted_h, 0)
            } else {
                "\u{2013}".into()
            },
        ]
    });
    let tightest = reading.season.tightest.as_ref();
    Table {
        id: "hours".into(),
        title: "Hours by month".into(),
        columns: vec![
            Column::words("Month"),
            Column::number("Gas made", "NL/d"),
            Column::number("Wanted", "h/d"),
            Column::number("Served", "h/d"),
            Column::number("Short", "h/d"),
            Column::number("Unlit", "h/d"),
            Column::number("Served", "%"),
        ],
        rows: if reading.season.uses.is_empty() {
            Vec::new()
        } else {
            rows
        },
        note: format!(
            "Hours a day of all lines of the timetable together. Unlit: the gas does not burn, or an engine refuses it.{}",
            tightest.map_or(String::new(), |name| format!(
                " {name} is the tightest month{}.",
                match reading.season.start_up.as_slice() {
                    [] => "",
                    _ => " after the start-up, which the last two lines leave out",
                }
            ))
        ),
        weight: Weight::Story,
    }
}

fn gains(reading: &Reading<'_>) -> Table {
    let rows = lines(reading, |m| {
        let dates =
            reading.season.changes.iter().filter(|c| {
                c.day >= f64::from(m.from_day) && c.day < f64::from(m.from_day + m.days)
            });
        let mut dates: Vec<String> = dates
            .map(|c| match date_of(c.day, reading.start) {
                Some(date) => date.day().to_string(),
                None => format!("day {}", fixed(c.day.floor(), 0)),
            })
            .collect();
        // Of more than a month a number says more than the days.
        if m.days > 31 && m.bed_changes > 0 {
            dates = vec![format!("{} in all", m.bed_changes)];
        }
        vec![
            m.name.clone(),
            fixed(m.heat_kwh, 0),
            fixed(m.electric_kwh, 1),
            fixed(m.residue_l, 0),
            fixed(1000.0 * m.nitrogen_kg, 0),
            if dates.is_empty() {
                "\u{2013}".into()
            } else {
                dates.join(", ")
            },
        ]
    });
    Table {
        id: "months-gains".into(),
        title: "Month by month: gains, residue, cleaning".into(),
        columns: vec![
            Column::words("Month"),
            Column::number("Heat", "kWh"),
            Column::number("Current", "kWh"),
            Column::number("Residue", "L"),
            Column::number("Nitrogen", "g"),
            Column::words("Beds spent on"),
        ],
        rows,
        note: "Heat and current in kWh, litres of residue and grams of nitrogen in it, and the days of the \
               month on which a bed is spent."
            .into(),
        weight: Weight::Story,
    }
}

fn uses(reading: &Reading<'_>) -> Table {
    let rows = reading.season.uses.iter().map(|line| {
        let s = &line.served;
        vec![
            format!(
                "{} {} for {} h{}",
                line.appliance,
                fixed(line.from_h, 1),
                significant(line.hours, 2),
                if line.months.iter().all(|m| *m) {
                    String::new()
                } else {
                    format!(", {}", month_span(&line.months))
                }
            ),
            fixed(s.wanted_h, 0),
            fixed(s.served_h, 0),
            fixed(s.short_h, 0),
            fixed(s.no_flame_h + s.refused_h, 0),
            fixed(s.heat_kwh, 0),
            fixed(s.electric_kwh, 1),
        ]
    });
    Table {
        id: "uses".into(),
        title: "What the timetable got".into(),
        columns: vec![
            Column::words("Line of the timetable"),
            Column::number("Wanted", "h"),
            Column::number("Served", "h"),
            Column::number("Short", "h"),
            Column::number("Unlit", "h"),
            Column::number("Heat", "kWh"),
            Column::number("Current", "kWh"),
        ],
        rows: rows.collect(),
        note: format!(
            "Hours, then kWh{}. Unlit: the gas does not burn, or an engine refuses it.",
            if reading.is_longer() {
                ", of the last 365 days"
            } else {
                ""
            }
        ),
        weight: Weight::Story,
    }
}

/// Which days the rates of the cleaning are of, where these are not all of the run.
fn of_days(reading: &Reading<'_>) -> String {
    let of = reading.season.stages_days;
    if of < reading.outcome.days {
        format!(
            "Of the last {of} days of the run: what ran it in does not count. How far a bed is loaded is told for its end. "
        )
    } else {
        String::new()
    }
}

fn cleaning(reading: &Reading<'_>) -> Table {
    let rows = reading.season.stages.iter().map(|s| {
        vec![
            s.name.clone(),
            s.days_per_filling
                .map_or_else(|| "\u{2013}".into(), |d| significant(d, 2)),
            significant(s.changes_per_year, 2),
            significant(s.material_kg_per_year, 2),
            significant(s.co2_taken_kg, 2),
            significant(1000.0 * s.h2s_taken_kg, 2),
            fixed(s.pressure_loss_pa, 0),
            percent(s.loaded_share, 0),
        ]
    });
    Table {
        id: "cleaning".into(),
        title: "Cleaning".into(),
        columns: vec![
            Column::words("Stage"),
            Column::number("Lasts", "d"),
            Column::number("Changes", "per year"),
            Column::number("Filling", "kg/yr"),
            Column::number("CO\u{2082}", "kg taken"),
            Column::number("H\u{2082}S", "g taken"),
            Column::number("Costs", "Pa"),
            Column::number("Loaded", "% at the end"),
        ],
        rows: rows.collect(),
        note: of_days(reading)
            + "Spent carbon and iron can heat up and smoulder in the air, lime burns skin and eyes, and a bed that is opened \
               gives off hydrogen sulphide: outdoors, goggles, gloves, upwind.",
        weight: Weight::Story,
    }
}

fn truths(reading: &Reading<'_>) -> Table {
    let rows = reading
        .season
        .truths
        .iter()
        .map(|t| vec![significant(t.value, 3), t.unit.to_owned(), bind(&t.words)]);
    Table {
        id: "truths".into(),
        title: "What surprises about cleaning".into(),
        columns: vec![
            Column::number("Figure", ""),
            Column::words("Unit"),
            Column::words("With this gas"),
        ],
        rows: rows.collect(),
        note: String::new(),
        weight: Weight::Story,
    }
}

fn residue(reading: &Reading<'_>) -> Table {
    let mut rows = Vec::new();
    if let Some(r) = &reading.season.residue {
        let mut row = |what: &str, value: String, unit: &str| {
            rows.push(vec![what.to_owned(), value, unit.to_owned()]);
        };
        row(
            if reading.is_longer() {
                "Residue of the last year"
            } else {
                "Residue of the run"
            },
            rough(r.litres),
            "L",
        );
        row("Nitrogen", significant(r.nitrogen_g_l, 2), "g/L");
        row(
            "Ammonium's share of it",
            percent(r.ammonium_share[1], 0),
            "%",
        );
        row("Phosphorus, by tables", rough(r.phosphorus_kg), "kg");
        row("Potassium, by tables", rough(r.potassium_kg), "kg");
        row("Area that a year of it feeds", rough(r.area_m2), "m\u{b2}");
        if let Some(dose) = r.dose_l_m2_yr {
            row("At most", significant(dose, 2), "L/m\u{b2} a year");
        }
        row("Methane still in it", rough(r.remaining_ch4_nl), "NL");
        for month in &reading.season.months {
            if let Some(h) = &month.hygiene {
                row(
                    &format!("Germs, {}", month.name),
                    fixed(h.decades_mixed, 1),
                    &format!("decades less; {}", hygiene(month)),
                );
            }
        }
    }
    Table {
        id: "residue".into(),
        title: "Residue".into(),
        columns: vec![
            Column::words("What"),
            Column::number("Value", ""),
            Column::words("Unit"),
        ],
        rows,
        note: "Germs: by how many powers of ten the slowest of the usual germs falls in a mixed tank at the month's \
               temperature and shortest retention. Raw: as raw manure, not on salad or what is eaten raw, three to four \
               months before a harvest. Rules for animal by-products may ask an hour at 70 C."
            .into(),
        weight: Weight::Folded,
    }
}

/// How a chore comes again, in words.
fn again(chore: &Chore) -> String {
    match chore.repeat {
        None => "once".into(),
        Some(Repeat::Days(1)) => "every day".into(),
        Some(Repeat::Days(7)) => "every week".into(),
        Some(Repeat::Days(n)) => format!("every {n} days"),
        Some(Repeat::Monthly) => "every month".into(),
    }
}

fn chores(reading: &Reading<'_>) -> Table {
    let rows = reading.season.chores.iter().map(|c| {
        vec![
            c.date.clone().unwrap_or_else(|| format!("day {}", c.day)),
            again(c),
            c.title.clone(),
        ]
    });
    Table {
        id: "chores".into(),
        title: "Chores".into(),
        columns: vec![
            Column::words("From"),
            Column::words("How often"),
            Column::words("What"),
        ],
        rows: rows.collect(),
        note: "Beds by the computed gas, the rest by common practice, no source. The same with what to mind stands in \
               chores.ics, where the scenario has a \"start_date\"."
            .into(),
        weight: Weight::Story,
    }
}

fn assumed(reading: &Reading<'_>) -> Table {
    let rows = reading.season.assumed.iter().map(|a| {
        vec![
            a.path.clone(),
            significant(a.value, 3),
            if a.unit.is_empty() {
                "share".into()
            } else {
                a.unit.clone()
            },
            a.standing.words().to_owned(),
            a.source.clone(),
        ]
    });
    Table {
        id: "assumed".into(),
        title: "Values that the scenario leaves to the program".into(),
        columns: vec![
            Column::words("Key"),
            Column::number("Taken", ""),
            Column::words("Unit"),
            Column::words("Standing"),
            Column::words("Source"),
        ],
        rows: rows.collect(),
        note: "Write the key into the scenario where you know better.".into(),
        weight: Weight::Folded,
    }
}

fn balances(reading: &Reading<'_>) -> Table {
    let rows = reading.season.closures.iter().map(|c| {
        vec![
            c.quantity.clone(),
            significant(c.entered, 5),
            significant(c.accounted, 5),
            c.unit.clone(),
            power_of_ten(c.relative_gap),
            power_of_ten(c.limit),
        ]
    });
    Table {
        id: "balances".into(),
        title: "Balances of the plant".into(),
        columns: vec![
            Column::words("Of"),
            Column::number("Entered", ""),
            Column::number("Accounted for", ""),
            Column::words("Unit"),
            Column::number("Gap", ""),
            Column::number("Limit", ""),
        ],
        rows: rows.collect(),
        note: "From the digester's outlet on: heater, beds, uses, overflow, seepage, store. The digester's own are in the \
               report of `run`."
            .into(),
        weight: Weight::Record,
    }
}
