//! The plant by month, its alternatives and its neighbours.

use super::beside::clock;
use super::chosen::fares;
use super::story::breach_list;
use super::{heating_share, month, short_place, short_units, short_work, units, warmth};
use crate::report::document::{Column, Table, Weight};
use crate::report::numbers::{fixed, percent, significant};
use crate::report::present::words::{list, month_span, rough};
use crate::study::size::{Bound, MonthRow, Proof, SizeOutcome, SunChoice, Target, Tried};

/// A value of a day, litres or kilowatt-hours, that is nothing to speak of.
const LEAST: f64 = 1e-6;
/// Share of a column's largest value below which a value is shown as 0: it comes from rounding.
const NOTHING: f64 = 1e-6;

pub(super) fn tables(o: &SizeOutcome) -> Vec<Table> {
    [
        plant(o),
        months(o),
        hours(o),
        alternatives(o),
        placed(o),
        more_of_months(o),
        refused(o),
        neighbours(o),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn plant(o: &SizeOutcome) -> Option<Table> {
    let proof = o.plant.as_ref()?;
    let (tried, p) = (&proof.tried, &proof.tried.plant);
    let fed = tried.months.iter().map(|m| m.feed.kg_per_day);
    let water = tried
        .months
        .iter()
        .map(|m| m.feed.water_l_per_day)
        .fold(0.0, f64::max);
    let least = |of: &dyn Fn(&crate::study::size::MonthRow) -> Option<f64>| {
        tried
            .months
            .iter()
            .filter_map(of)
            .fold(f64::INFINITY, f64::min)
    };
    let retention = least(&|m| m.feed.retention_d);
    let row = |name: &str, value: String| vec![name.to_owned(), value];
    let mut rows = vec![
        row("Units", units(p)),
        row("Liquid", format!("{} L", fixed(p.liquid_l(), 0))),
        row(
            "First filling",
            format!(
                "{} L of digestate of a running digester (about as many kg)",
                fixed(p.liquid_l(), 0)
            ),
        ),
        row(
            "Insulation",
            if p.foam_cm > 0.0 {
                format!("{} cm of EPS foam on every face", p.foam_cm)
            } else {
                "none".to_owned()
            },
        ),
        row(
            "Sun and ground",
            match (p.window_m2(), p.sun) {
                (Some(m2), _) => format!(
                    "a dark window of {} m\u{b2} behind a pane, towards the sun; {}",
                    rough(m2),
                    ground(p.buried_cm)
                ),
                (None, SunChoice::Greenhouse) => format!(
                    "a greenhouse of film with half a metre of room around; {}",
                    ground(p.buried_cm)
                ),
                (None, _) => ground(p.buried_cm),
            },
        ),
        row(
            "Warmth",
            match p.set_c {
                Some(_) => format!(
                    "{}, heater of {} W a unit",
                    warmth(p.set_c),
                    fixed(tried.heater_w, 0)
                ),
                None => "unheated".to_owned(),
            },
        ),
        row(
            "Works",
            match p.rests {
                Some(_) => format!("{}, then rests", month_span(&p.working(&o.wish))),
                None => "all year".to_owned(),
            },
        ),
        row(
            "Feed",
            format!(
                "up to {} kg a day with {} L of water",
                rough(fed.fold(0.0, f64::max)),
                rough(water)
            ),
        ),
    ];
    if retention.is_finite() {
        rows.push(row(
            "Shortest retention",
            format!("{} d", fixed(retention, 0)),
        ));
    }
    if let Some(s) = &o.store {
        let times = |h: &crate::study::size::Hourly| -> String {
            let at: Vec<String> = h.used_at_h.iter().map(|h| clock(*h)).collect();
            format!(", gas used from {} on", list(&at))
        };
        let used = o.hourly.as_ref().map(times).unwrap_or_default();
        rows.push(row("Store", format!("{} L{used}", rough(s.volume_l))));
        let several = o.hourly.as_ref().filter(|h| h.burners > 1.0);
        rows.extend(several.map(|h| {
            row(
                "Burners",
                format!(
                    "{0} lit together; an hour of all of them counts as {0} hours of one",
                    fixed(h.burners, 0)
                ),
            )
        }));
    }
    if let Some(b) = &o.beds {
        rows.push(row(
            "Iron bed",
            format!(
                "{} kg of rusted wool, {} days",
                rough(b.iron_kg),
                rough(b.iron_days)
            ),
        ));
    }
    Some(Table {
        id: "plant".into(),
        title: "The plant".into(),
        columns: vec![Column::words("What"), Column::words("How")],
        rows,
        note: if tried.is_fit() {
            String::new()
        } else {
            format!("Not proposed for building: {}.", breach_list(o, tried))
        },
        weight: Weight::Story,
    })
}

fn ground(buried_cm: f64) -> String {
    if buried_cm > 0.0 {
        format!("{} cm in the ground", fixed(buried_cm, 0))
    } else {
        "on a pallet in the open".to_owned()
    }
}

fn bound_words(bound: Bound) -> &'static str {
    match bound {
        Bound::Scraps => "all",
        Bound::Wish => "as wished",
        Bound::Loading => "loading",
        Bound::Retention => "retention",
        Bound::Water => "water",
        Bound::Cold => "cold",
        Bound::Begins => "begins",
        Bound::Rests => "rests",
    }
}

/// Three letters, so that the table stays narrow.
fn short_month(number: usize) -> String {
    month(number).chars().take(3).collect()
}

/// A month's value, rough; what is nothing beside the largest of the year is 0.
fn of_year(months: &[MonthRow], m: &MonthRow, of: fn(&MonthRow) -> f64) -> String {
    let scale = months.iter().map(|m| of(m).abs()).fold(0.0, f64::max);
    let value = of(m);
    rough(if value.abs() < (NOTHING * scale).max(LEAST) {
        0.0
    } else {
        value
    })
}

fn months(o: &SizeOutcome) -> Option<Table> {
    let tried = &o.plant.as_ref()?.tried;
    if tried.months.is_empty() {
        return None;
    }
    let rows = tried.months.iter().map(|m| {
        vec![
            short_month(m.month),
            fixed(m.liquor_c, 0),
            significant(m.feed.kg_per_day, 2),
            of_year(&tried.months, m, |m| m.gas_l_d),
            of_year(&tried.months, m, |m| m.heating_kwh_d),
            of_year(&tried.months, m, |m| m.net_kwh_d),
            bound_words(m.feed.bound).to_owned(),
        ]
    });
    Some(Table {
        id: "months".into(),
        title: "Month by month, one run with typical values".into(),
        columns: vec![
            Column::words("Month"),
            Column::number("Liquor", "\u{b0}C"),
            Column::number("Feed", "kg/d"),
            Column::number("Gas read", "L/d"),
            Column::number("Heating", "kWh/d"),
            Column::number("For use", "kWh/d"),
            Column::words("Bound by"),
        ],
        rows: rows.collect(),
        note: "Bound by: what keeps the feed from being more. For use: methane of days on which the gas burns, less own gas \
               burnt for heat. Gas read is wet and as warm as it is read; the norm litres (NL) of `season` are dry and at 0 C, \
               about a tenth fewer."
            .into(),
        weight: Weight::Story,
    })
}

/// What could be burnt, was wanted, served and short, by month.
fn hours(o: &SizeOutcome) -> Option<Table> {
    let tried = &o.plant.as_ref()?.tried;
    let hourly = o.hourly.as_ref()?;
    let burner = matches!(o.wish.target, Target::BurnerHours(_));
    let rows = tried.months.iter().zip(&hourly.months).map(|(m, h)| {
        let a_day = |hours: f64| {
            if h.wanted_h > 0.0 {
                fixed(hours / f64::from(h.days.max(1)), 2)
            } else {
                "\u{2013}".to_owned()
            }
        };
        let mut row = vec![
            short_month(m.month),
            of_year(&tried.months, m, |m| m.gas_l_d),
            of_year(&tried.months, m, |m| m.net_kwh_d),
        ];
        if burner {
            row.push(fixed(m.net_kwh_d.max(0.0) / o.energy.burner_kw, 2));
        }
        row.extend([h.wanted_h, h.served_h, h.short_h].map(a_day));
        row
    });
    let mut columns = vec![
        Column::words("Month"),
        Column::number("Gas read", "L/d"),
        Column::number("For use", "kWh/d"),
    ];
    if burner {
        columns.push(Column::number("Could burn", "h/d"));
    }
    columns.extend(["Wanted", "Served", "Short"].map(|name| Column::number(name, "h/d")));
    let mut notes = o.tightest_month.map_or(String::new(), |m| {
        format!(" {} is the tightest month.", month(m))
    });
    if hourly.burners > 1.0 {
        notes.push_str(&format!(
            " An hour of {0} burners lit together counts as {0} hours{1}.",
            fixed(hourly.burners, 0),
            if hourly.burners_a_line > 1.0 {
                ", here and in the wish; season counts it as one"
            } else {
                ", here, in the wish and in season"
            }
        ));
    }
    Some(Table {
        id: "hours".into(),
        title: "Hours by month, run hour by hour".into(),
        columns,
        rows: rows.collect(),
        note: format!(
            "{}Wanted, served and short with the store proposed and no more used than wished.{notes}",
            if burner {
                "Hours of one burner. Could burn: all that is left for use, if all of it were burnt. "
            } else {
                ""
            }
        ),
        weight: Weight::Story,
    })
}

fn more_of_months(o: &SizeOutcome) -> Option<Table> {
    let tried = &o.plant.as_ref()?.tried;
    if tried.months.is_empty() {
        return None;
    }
    let rows = tried.months.iter().map(|m| {
        vec![
            short_month(m.month),
            fixed(m.air_c, 0),
            fixed(m.feed.water_l_per_day, 1),
            fixed(m.feed.loading, 2),
            fixed(m.loading_line, 2),
            m.feed
                .retention_d
                .map_or("\u{2013}".to_owned(), |d| fixed(d, 0)),
            fixed(m.retention_line_d, 0),
            of_year(&tried.months, m, |m| m.methane_kwh_d),
            m.burning_days.to_string(),
            fixed(m.acid_ratio, 2),
            fixed(m.residue_l_d, 1),
        ]
    });
    Some(Table {
        id: "lines".into(),
        title: "The same months beside the lines of practice".into(),
        columns: vec![
            Column::words("Month"),
            Column::number("Air", "\u{b0}C"),
            Column::number("Water", "L/d"),
            Column::number("Loading", "kg VS/m\u{b3}/d"),
            Column::number("at most", "kg VS/m\u{b3}/d"),
            Column::number("Retention", "d"),
            Column::number("at least", "d"),
            Column::number("Methane", "kWh/d"),
            Column::number("Burns", "days"),
            Column::number("Acid ratio", ""),
            Column::number("Residue", "L/d"),
        ],
        rows: rows.collect(),
        note:
            "Loading counts the vessel that is fed first. Acid ratio: the highest day of any unit."
                .into(),
        weight: Weight::Folded,
    })
}

fn row(o: &SizeOutcome, tried: &Tried, share: Option<f64>) -> Vec<String> {
    let p = &tried.plant;
    vec![
        short_work(p),
        short_units(p),
        short_place(p),
        p.foam_cm.to_string(),
        rough(tried.reach),
        if p.set_c.is_some() {
            percent(heating_share(tried), 0)
        } else {
            "0".into()
        },
        share.map_or("\u{2013}".to_owned(), |s| percent(s, 0)),
        fares(o, tried),
    ]
}

fn columns(o: &SizeOutcome) -> Vec<Column> {
    vec![
        Column::words("Warmth"),
        Column::words("Units"),
        Column::words("Place"),
        Column::number("Foam", "cm"),
        Column::number("Reaches", o.wish.target.unit()),
        Column::number("Heat", "%"),
        Column::number("Chance", "%"),
        Column::words("Verdict"),
    ]
}

fn proofs(o: &SizeOutcome, list: &[Proof]) -> Vec<Vec<String>> {
    list.iter()
        .map(|p| row(o, &p.tried, p.sureness.map(|s| s.share)))
        .collect()
}

fn alternatives(o: &SizeOutcome) -> Option<Table> {
    (!o.alternatives.is_empty()).then(|| Table {
        id: "alternatives".into(),
        title: "Smaller and warmer, or larger and cold".into(),
        columns: columns(o),
        rows: proofs(o, &o.alternatives),
        note: "For each warmth the smallest plant that reaches the wish; where none does, the one that comes nearest with typical values. Verdict: what speaks \
               against it, or what it takes more than the one proposed. Heat: its share of the gas over the whole year."
            .into(),
        weight: Weight::Story,
    })
}

/// The plant in every place that may be built.
fn placed(o: &SizeOutcome) -> Option<Table> {
    if o.placed.len() < 2 {
        return None;
    }
    let rows = o.placed.iter().map(|tried| {
        let by = |a: &&MonthRow, b: &&MonthRow| a.liquor_c.total_cmp(&b.liquor_c);
        let celsius =
            |row: Option<&MonthRow>| row.map_or("\u{2013}".to_owned(), |m| fixed(m.liquor_c, 0));
        let fed: f64 = tried.months.iter().map(|m| m.feed.kg_per_day).sum();
        vec![
            short_place(&tried.plant),
            celsius(tried.months.iter().min_by(by)),
            celsius(tried.months.iter().max_by(by)),
            rough(fed / 12.0),
            rough(tried.reach),
            fares(o, tried),
        ]
    });
    Some(Table {
        id: "placed".into(),
        title: "The same plant with and without sun and ground".into(),
        columns: vec![
            Column::words("Place"),
            Column::number("Coldest", "\u{b0}C"),
            Column::number("Warmest", "\u{b0}C"),
            Column::number("Feed", "kg/d"),
            Column::number("Reaches", o.wish.target.unit()),
            Column::words("Verdict"),
        ],
        rows: rows.collect(),
        note: "Liquor in the coldest and the warmest month, feed in the mean of the year. One run each; chances were not \
               drawn. Warmer liquor gives more gas, and practice lets more be fed."
            .into(),
        weight: Weight::Story,
    })
}

fn refused(o: &SizeOutcome) -> Option<Table> {
    (!o.refused.is_empty()).then(|| Table {
        id: "refused".into(),
        title: "Reached it in one run, and did not pass the proof".into(),
        columns: columns(o),
        rows: proofs(o, &o.refused),
        note: "Proof: the chance over the draws, then the margin to souring.".into(),
        weight: Weight::Folded,
    })
}

fn neighbours(o: &SizeOutcome) -> Option<Table> {
    (!o.neighbours.is_empty()).then(|| Table {
        id: "neighbours".into(),
        title: "One step away from the plant".into(),
        columns: columns(o),
        rows: o.neighbours.iter().map(|t| row(o, t, None)).collect(),
        note: "One thing changed at a time: size, foam, warmth, water, arrangement. One run each; chances were not drawn.".into(),
        weight: Weight::Folded,
    })
}
