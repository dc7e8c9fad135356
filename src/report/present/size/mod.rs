//! What a sized plant has to show.

mod beside;
mod chosen;
mod figures;
mod story;
mod tables;
mod unmet;

use super::cautions::cautions;
use super::words::{MONTHS, bind, month_span, rough};
use crate::plant::caution::{Place, cautions_at, referral};
use crate::report::document::{Caution, Closing, Document, Facts, KeyNumber};
use crate::report::numbers::{fixed, percent};
use crate::study::size::{Plant, SizeOutcome, SunChoice, Target, Tried, Verdict};

/// Feeds that differ by less are alike.
const ALIKE: f64 = 1e-3;

/// How far the numbers can be trusted.
const TRUST: &str = "The biology is uncertain by tens of per cent; the chance beside the plant counts that, the table \
of months does not. Build the next larger size where the chance matters to you.";

/// What the search does not know.
const LIMITS: [&str; 7] = [
    "The run begins with the tank full of digestate of a running digester. From manure it takes weeks to months longer: \
     give the proposed scenario a starter of your own and ask `startup`.",
    "The year is a usual one: waves of air, sun and soil, no cold spell and no heat wave.",
    "Units that stand side by side are taken as equal, each with its own window or greenhouse, on a pallet or in the \
     ground, with foam on every face but the window. No shade is computed. Measured bags under a film tent were 2 K \
     colder than the model has them: give what hangs on a greenhouse some margin.",
    "The model does not know trace elements (cobalt, nickel, selenium, iron). Food without dung runs short of them: \
     half of the computed limit and the loadings of practice are kept for that.",
    "Sizes between those of the builder's list are not tried. What a month lacks is not made up by another month: \
     no store here holds gas for weeks.",
    "Cost, work and the building of it are not counted: smaller stands for both.",
    "A plant works all year, and own gas must pay for its heat in every month, also in those that the wish leaves \
     out; or it rests in these, and only the heat with which it begins again is bought. How well methane formers come through \
     a rest, above all a cold one, is little known: begin by the pH, not by the sheet. All scraps of a month are fed in \
     the proportion in which they are there.",
];

/// What is not known about the sun on a window.
fn window_limit(o: &SizeOutcome) -> &'static str {
    if o.wish.latitude_deg().is_some() {
        "An upright window gets the sun of its latitude under an even sky, towards the equator and without shade; what a pane \
         turns back at a flat angle is not counted, so that high summer is told a little too rich."
    } else {
        "The climate has no latitude, so an upright window takes the summer's share of the sun on level ground all year, and its \
         winter is told too poor."
    }
}

/// The document of one search.
#[must_use]
pub fn size(outcome: &SizeOutcome) -> Document {
    let bound = |pieces: Vec<String>| pieces.iter().map(|p| bind(p)).collect();
    Document {
        kind: "Size".into(),
        title: outcome.wish.title.clone(),
        about: about(outcome),
        story: bound(story::story(outcome)),
        advice: bound(story::advice(outcome)),
        key_numbers: key_numbers(outcome),
        trust: TRUST.into(),
        figures: figures::figures(outcome),
        tables: tables::tables(outcome),
        cautions: all_cautions(outcome),
        limits: std::iter::once(window_limit(outcome))
            .chain(LIMITS)
            .map(bind)
            .collect(),
        facts: facts(outcome),
        closing: closing(outcome),
        ..Document::default()
    }
}

fn about(o: &SizeOutcome) -> String {
    let place = o.wish.climate_name.as_deref().map_or_else(
        || "the climate given".to_owned(),
        |name| format!("the invented climate \"{name}\""),
    );
    format!("Wished: {}. Place: {place}.", wished(o))
}

/// The target in words.
fn wished(o: &SizeOutcome) -> String {
    let months = months_words(o);
    match o.wish.target {
        Target::BurnerHours(h) => format!("{} h a day of one burner{months}", h),
        Target::WinterHeat(kwh) => format!("{} kWh of useful heat over {}", kwh, winter(o)),
        Target::WinterCurrent(kwh) => format!(
            "{} kWh of current through a small engine over {}",
            kwh,
            winter(o)
        ),
        Target::Treat(kg) => format!("{} kg a day treated{months}", kg),
    }
}

/// Name of a month, 1 to 12.
fn month(number: usize) -> &'static str {
    MONTHS.get(number.wrapping_sub(1)).copied().unwrap_or("")
}

fn winter(o: &SizeOutcome) -> String {
    let [first, _, last] = o.wish.winter;
    format!("{} to {}", month(first + 1), month(last + 1))
}

fn months_words(o: &SizeOutcome) -> String {
    let counting: Vec<String> = (0..12)
        .filter(|m| o.wish.months[*m])
        .map(|m| month(m + 1).to_owned())
        .collect();
    if counting.len() == 12 {
        ", every month".to_owned()
    } else {
        format!(", in {}", super::words::list(&counting))
    }
}

/// The month that bounds what is reached, as it goes on after the amount; empty where no plant came through.
fn bounding(o: &SizeOutcome) -> String {
    let Some(leanest) = o.leanest_month else {
        return String::new();
    };
    let tightest = o.tightest_month.unwrap_or(leanest);
    match o.wish.target {
        Target::Treat(_) => {
            let rows = o.plant.iter().flat_map(|p| &p.tried.months);
            let counting = rows.filter(|row| o.wish.months[row.month - 1]);
            let fed: Vec<f64> = counting.map(|row| row.feed.kg_per_day).collect();
            let least = fed.iter().copied().fold(f64::INFINITY, f64::min);
            if fed.iter().all(|kg| *kg <= least * (1.0 + ALIKE)) {
                " in every month that counts".to_owned()
            } else {
                format!(
                    " in {}, the month that counts with the least feed",
                    month(leanest)
                )
            }
        }
        Target::BurnerHours(_) if leanest == tightest => {
            format!(" in {}, the tightest month that counts", month(leanest))
        }
        Target::BurnerHours(_) => format!(
            " in {}, the month that counts with the least gas (by its hours, which count the store too, the tightest is {})",
            month(leanest),
            month(tightest)
        ),
        Target::WinterHeat(_) | Target::WinterCurrent(_) => format!(
            " over the winter, of which {} is the tightest month",
            month(tightest)
        ),
    }
}

/// An amount in the unit of the target.
fn amount(o: &SizeOutcome, value: f64) -> String {
    format!("{} {}", rough(value), o.wish.target.unit())
}

/// "2 units of 1000 L side by side".
fn units(plant: &Plant) -> String {
    let size = fixed(plant.unit_l, 0);
    match (plant.units, plant.in_row) {
        (1, _) => format!("one unit of {size} L"),
        (n, true) => format!("{n} units of {size} L in a row"),
        (n, false) => format!("{n} units of {size} L side by side"),
    }
}

/// "unheated", "at 30 C".
fn warmth(set_c: Option<f64>) -> String {
    set_c.map_or_else(|| "unheated".to_owned(), |c| format!("held at {c} \u{b0}C"))
}

/// Where a unit stands and when it works, as it goes on after its warmth; empty for one in the open that works all year.
fn place(o: &SizeOutcome, plant: &Plant) -> String {
    let mut out = String::new();
    match (plant.sun, plant.window_m2()) {
        (SunChoice::Window, Some(m2)) => {
            out.push_str(&format!(", with a dark window of {} m\u{b2}", rough(m2)));
        }
        (SunChoice::Greenhouse, _) => out.push_str(", under a small greenhouse"),
        _ => {}
    }
    if plant.buried_cm > 0.0 {
        out.push_str(&format!(", {} cm in the ground", fixed(plant.buried_cm, 0)));
    }
    if plant.rests.is_some() {
        let resting = plant.working(&o.wish).map(|works| !works);
        out.push_str(&format!(", at rest from {}", month_span(&resting)));
    }
    out
}

/// The same in few words, for tables.
fn short_place(plant: &Plant) -> String {
    let sun = match plant.sun {
        SunChoice::None => "open",
        SunChoice::Window => "window",
        SunChoice::Greenhouse => "greenhouse",
    };
    if plant.buried_cm > 0.0 {
        format!("{sun}, {} cm deep", fixed(plant.buried_cm, 0))
    } else {
        sun.to_owned()
    }
}

/// Warmth and rest in few words, for tables.
fn short_work(plant: &Plant) -> String {
    if plant.rests.is_some() {
        format!("{}, rests", short_warmth(plant.set_c))
    } else {
        short_warmth(plant.set_c)
    }
}

/// Units in few words, for tables.
fn short_units(plant: &Plant) -> String {
    let size = fixed(plant.unit_l, 0);
    match (plant.units, plant.in_row) {
        (1, _) => format!("{size} L"),
        (n, true) => format!("{n} x {size} L, row"),
        (n, false) => format!("{n} x {size} L"),
    }
}

/// Warmth in few words, for tables.
fn short_warmth(set_c: Option<f64>) -> String {
    set_c.map_or_else(|| "unheated".to_owned(), |c| format!("{c} \u{b0}C"))
}

/// Share of a plant's gas that heating takes over the year.
fn heating_share(tried: &Tried) -> f64 {
    let sum =
        |of: fn(&crate::study::size::MonthRow) -> f64| tried.months.iter().map(of).sum::<f64>();
    sum(|m| m.heating_kwh_d) / sum(|m| m.methane_kwh_d).max(1e-9)
}

fn key_numbers(o: &SizeOutcome) -> Vec<KeyNumber> {
    let number = |label: &str, value: String, unit: &str, note: String| KeyNumber {
        label: label.into(),
        value,
        unit: unit.into(),
        note,
    };
    let mut out = Vec::new();
    if let Some(proof) = &o.plant {
        let plant = &proof.tried.plant;
        out.push(number(
            "Plant",
            fixed(plant.unit_l * plant.units as f64, 0),
            "L",
            format!(
                "{}, {}{}",
                units(plant),
                warmth(plant.set_c),
                place(o, plant)
            ),
        ));
        out.push(number(
            "Reaches",
            rough(proof.tried.reach),
            o.wish.target.unit(),
            format!(
                "wished {}{}",
                amount(o, o.wish.target.amount()),
                match bounding(o) {
                    words if words.is_empty() => "; nothing came through".to_owned(),
                    words => format!("; reached{words}"),
                }
            ),
        ));
        if let Some(s) = &proof.sureness {
            out.push(number(
                "Chance",
                percent(s.share, 0),
                "%",
                format!(
                    "{} of {} draws; {} to {} % with so few",
                    s.reached,
                    s.draws,
                    percent(s.between[0], 0),
                    percent(s.between[1], 0)
                ),
            ));
        }
    }
    if let Some(store) = &o.store {
        out.push(number(
            "Store",
            rough(store.volume_l),
            "L",
            format!("{} h without use", rough(store.hours)),
        ));
    }
    out.push(number(
        "Scraps hold",
        rough(o.energy.scraps_kwh_d),
        "kWh/d",
        "all methane that could ever be reached".into(),
    ));
    out
}

/// The usual cautions, and those of store, cleaning and engine where these are sized.
fn all_cautions(o: &SizeOutcome) -> Vec<Caution> {
    let mut out = cautions();
    let engine = matches!(o.wish.target, Target::WinterCurrent(_));
    let places = [
        (Place::Cleaning, "Cleaning beds", o.beds.is_some()),
        (Place::Engine, "Engine", engine),
    ];
    for (place, title, _) in places.into_iter().filter(|p| p.2) {
        let texts: Vec<&str> = cautions_at(place).map(|c| c.text.as_str()).collect();
        let sources: Vec<&str> = cautions_at(place).map(|c| c.source.as_str()).collect();
        out.push(Caution {
            title: title.into(),
            text: bind(&format!("{} {}", texts.join(" "), referral())),
            source: bind(&sources.join(" ")),
        });
    }
    out
}

fn facts(o: &SizeOutcome) -> Vec<Facts> {
    let row = |name: &str, value: String| (name.to_owned(), value);
    let r = &o.rules;
    vec![
        Facts {
            title: "Lines that are kept".into(),
            rows: vec![
                row(
                    "loading",
                    format!("{}. {}", r.loading.unit, r.loading.source),
                ),
                row(
                    "retention",
                    format!("{}. {}", r.retention.unit, r.retention.source),
                ),
                row(
                    "share of the computed limit",
                    format!("{}. {}", r.limit_share.value, r.limit_share.source),
                ),
                row("solids of the feed", r.feed_solids_pct.source.clone()),
                row(
                    "boiler",
                    format!("{}. {}", r.boiler_share.value, r.boiler_share.source),
                ),
                row(
                    "window",
                    format!("{}. {}", r.window_share.value, r.window_share.source),
                ),
                row(
                    "sun on a window",
                    match o.wish.latitude_deg() {
                        Some(degrees) => format!(
                            "by day of the year at {degrees} degrees: even sky (Liu and Jordan 1963), declination by Cooper (1969), \
                             diffuse share by Erbs, Klein and Duffie (1982, from memory), ground 0.2 (common practice, no source)"
                        ),
                        None => format!("{}. {}", r.upright_share.value, r.upright_share.source),
                    },
                ),
                row("greenhouse", r.greenhouse_gap_cm.source.clone()),
                row(
                    "beginning again after a rest",
                    format!("{}; {}", r.restart_share.source, r.warm_up_days.source),
                ),
                row("heat that is bought", r.bought_reserve.source.clone()),
                row("worth its work", r.least_gain.source.clone()),
                row("about as large", r.near_litres.source.clone()),
                row(
                    "liquid of a unit",
                    format!("{}. {}", r.liquid_share.value, r.liquid_share.source),
                ),
            ],
        },
        Facts {
            title: "How it was searched".into(),
            rows: vec![
                row("plants of the grid", o.effort.plants.to_string()),
                row("plants run through 16 months", o.effort.run.to_string()),
                row("draws for a chance", o.effort.draws.to_string()),
                row("seed", o.effort.seed.to_string()),
                row("wish", o.wish.file.clone()),
                row("marshgas", o.version.clone()),
            ],
        },
    ]
}

fn closing(o: &SizeOutcome) -> Closing {
    Closing {
        holds: !o.stopped,
        text: format!(
            "{} of {} plants were run, the rest only estimated. Balances closed in every run that counts.{}",
            o.effort.run,
            o.effort.plants,
            match o.verdict {
                Verdict::Met => "",
                Verdict::Unsure | Verdict::CannotBeMet => " No limit was relaxed.",
            }
        ),
    }
}
