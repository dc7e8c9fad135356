//! Heat: temperatures, flows, what heating takes of the gas.

use super::figures::over_days;
use super::reading::Reading;
use crate::plant::uses::EngineKind;
use crate::report::document::{Column, KeyNumber, Table, Weight};
use crate::report::figure::{Figure, Layer, Look, Panel, Rule, Series, extent};
use crate::report::numbers::{fixed, percent};
use crate::simulate::{HeatDay, HeatSeries, HeaterSource};
use crate::study::foam::FoamRow;
use crate::thermal::METHANE_KWH_PER_NORM_L;

use super::super::words::{list, rough};

/// Runs longer than this show means of so many days.
const SMOOTHED_FROM: usize = 60;
const SMOOTH_D: usize = 7;
/// The cold season in which the heating share is told apart \[d\].
const COLDEST_D: usize = 28;
/// Share of the gas from which heating is worth advice: it takes more than it leaves.
const MUCH: f64 = 0.5;
/// Energy not worth a line \[kWh\].
const WORTH_KWH: f64 = 0.5;
const AIR: Look = Look(5);
const SOIL: Look = Look(2);

/// (name in a legend, name of a row, look, value).
type Flow = (&'static str, Look, fn(&HeatDay) -> f64);
const FLOWS: [Flow; 7] = [
    ("walls to the air", Look(5), |d| d.air_kwh),
    ("ground", Look(2), |d| d.ground_kwh),
    ("sun", Look(3), |d| d.sun_kwh),
    ("heater", Look(1), |d| d.heater_kwh),
    ("feed", Look(4), |d| d.feed_kwh),
    ("life in the liquor", Look(0), |d| d.reaction_kwh),
    ("evaporation", Look(7), |d| d.evaporation_kwh),
];

fn series<'a>(reading: &'a Reading<'_>) -> Vec<(&'a str, &'a HeatSeries)> {
    reading
        .outcome
        .vessels
        .iter()
        .filter_map(|v| Some((v.name.as_str(), v.heat.as_ref()?)))
        .collect()
}

/// The days of all vessels with a heat balance, flows added up.
///
/// The methane is that of the whole plant: a vessel held warm by other means gives gas for the boiler too.
fn plant(reading: &Reading<'_>, all: &[(&str, &HeatSeries)]) -> Vec<HeatDay> {
    let Some((_, first)) = all.first() else {
        return Vec::new();
    };
    let mut days = first.days.clone();
    for (_, other) in &all[1..] {
        for (sum, d) in days.iter_mut().zip(&other.days) {
            sum.air_kwh += d.air_kwh;
            sum.ground_kwh += d.ground_kwh;
            sum.sun_kwh += d.sun_kwh;
            sum.heater_kwh += d.heater_kwh;
            sum.fuel_kwh += d.fuel_kwh;
            sum.evaporation_kwh += d.evaporation_kwh;
            sum.reaction_kwh += d.reaction_kwh;
            sum.feed_kwh += d.feed_kwh;
            sum.stored_kwh += d.stored_kwh;
        }
    }
    for (sum, row) in days.iter_mut().zip(reading.rows()) {
        sum.methane_kwh = row.ch4_nl * METHANE_KWH_PER_NORM_L;
    }
    days
}

/// Two figures where a vessel keeps a heat balance, else none.
pub(super) fn figures(reading: &Reading<'_>) -> Vec<Figure> {
    let all = series(reading);
    if all.is_empty() {
        return Vec::new();
    }
    vec![
        temperatures(reading, &all),
        flows(reading, &plant(reading, &all)),
    ]
}

fn line(name: &str, look: Look, days: &[HeatDay], of: impl Fn(&HeatDay) -> f64) -> Layer {
    let width = if days.len() > SMOOTHED_FROM {
        SMOOTH_D
    } else {
        1
    };
    let points = (0..days.len()).map(|i| {
        // Even on both sides, or the ends would bend.
        let half = (width / 2).min(i).min(days.len() - 1 - i);
        let around = &days[i - half..=i + half];
        let mean = around.iter().map(&of).sum::<f64>() / around.len() as f64;
        (f64::from(days[i].day) + 0.5, mean)
    });
    Layer::Line(Series {
        name: name.into(),
        look,
        points: points.collect(),
    })
}

fn temperatures(reading: &Reading<'_>, all: &[(&str, &HeatSeries)]) -> Figure {
    let (_, first) = all[0];
    let mut layers = Vec::new();
    for (i, (name, heat)) in all.iter().enumerate() {
        let name = if all.len() == 1 { "liquor" } else { name };
        // The look of warmth first, then others that neither air nor soil wears.
        let look = Look([1, 0, 3, 4, 6, 7][i % 6]);
        layers.push(line(name, look, &heat.days, |d| d.liquor_c));
    }
    layers.push(line("air", AIR, &first.days, |d| d.air_c));
    let soil = format!("soil, {} m deep", fixed(first.soil_depth_m, 1));
    layers.push(line(&soil, SOIL, &first.days, |d| d.soil_c));
    if let Some(set_c) = first.set_c {
        layers.push(Layer::Rule(Rule {
            y: set_c,
            label: "set".into(),
        }));
    }
    let range = |of: fn(&HeatDay) -> f64| {
        let (low, high) = extent(first.days.iter().map(of)).unwrap_or((f64::NAN, f64::NAN));
        format!("{} and {}", fixed(low, 0), fixed(high, 0))
    };
    let panel = Panel {
        title: "Temperature".into(),
        unit: unit_of("\u{b0}C, daily mean", first.days.len()),
        height: 1.4,
        layers,
        ..Panel::default()
    };
    Figure {
        id: "heat-temperatures".into(),
        title: "Liquor, air and soil".into(),
        caption: "How far the liquor stands above the air is what walls, ground, sun and heater make of it; how far \
                  it lags behind is its mass against its walls."
            .into(),
        alt: format!(
            "Lines over time. The liquor goes between {} degrees Celsius, the air between {}, the soil between {}.",
            range(|d| d.liquor_c),
            range(|d| d.air_c),
            range(|d| d.soil_c)
        ),
        plot: over_days(reading, vec![panel]),
    }
}

fn unit_of(unit: &str, days: usize) -> String {
    if days > SMOOTHED_FROM {
        format!("{unit}, over {SMOOTH_D} days")
    } else {
        unit.into()
    }
}

fn flows(reading: &Reading<'_>, days: &[HeatDay]) -> Figure {
    let shown = FLOWS
        .iter()
        .filter(|(_, _, of)| days.iter().any(|d| of(d) != 0.0));
    let layers = shown.map(|(name, look, of)| line(name, *look, days, of));
    let flows = Panel {
        title: "Heat into the liquor".into(),
        unit: unit_of("kWh per day", days.len()),
        include: vec![0.0],
        height: 1.6,
        layers: layers.collect(),
        ..Panel::default()
    };
    let energy = Panel {
        title: "Energy of the methane, and what heating takes".into(),
        unit: unit_of("kWh per day", days.len()),
        include: vec![0.0],
        layers: vec![
            line("methane", Look(0), days, |d| d.methane_kwh),
            line("taken for heat", Look(1), days, |d| d.fuel_kwh),
        ],
        ..Panel::default()
    };
    let told: Vec<String> = FLOWS
        .iter()
        .map(|(name, _, of)| format!("{name} {}", rough(mean(days, *of))))
        .collect();
    let mut panels = vec![flows];
    if days.iter().any(|d| d.fuel_kwh > 0.0) {
        panels.push(energy);
    }
    Figure {
        id: "heat-flows".into(),
        title: "Where the heat comes from and goes".into(),
        caption: "Above zero the liquor is warmed, below it is cooled. The largest line below zero is where foam, \
                  shelter or warmer feed pays first."
            .into(),
        alt: format!(
            "Lines over time. Means over the run in kilowatt-hours a day: {}.",
            told.join("; ")
        ),
        plot: over_days(reading, panels),
    }
}

fn mean(days: &[HeatDay], of: impl Fn(&HeatDay) -> f64) -> f64 {
    days.iter().map(of).sum::<f64>() / days.len().max(1) as f64
}

/// What heating takes of the methane's energy; `None` without a heater or without methane.
fn share(days: &[HeatDay]) -> Option<f64> {
    let sum = |of: fn(&HeatDay) -> f64| days.iter().map(of).sum::<f64>();
    let share = sum(|d| d.fuel_kwh) / sum(|d| d.methane_kwh);
    share.is_finite().then_some(share)
}

/// Share of the gas of the last `last` days that a heater on own gas leaves to use; `None` without such a heater.
///
/// Summed over these days: a store may carry gas from one of them to the next.
pub(super) fn left(reading: &Reading<'_>, last: usize) -> Option<f64> {
    let all = series(reading);
    all.iter()
        .find(|(_, h)| h.source == Some(HeaterSource::OwnGas))?;
    let days = plant(reading, &all);
    let late = &days[days.len().saturating_sub(last)..];
    share(late).map(|taken| (1.0 - taken).max(0.0))
}

/// What to do where heating takes much of the gas that is there; nothing where it does not, and where it lacks gas
/// ([`advice`] tells that).
pub(super) fn appetite(reading: &Reading<'_>) -> Option<String> {
    if lacks_gas(reading) {
        return None;
    }
    let all = series(reading);
    let source = all.iter().find_map(|(_, h)| h.source)?;
    heating_advice(source, share(&plant(reading, &all))?)
}

/// The same for a heater that takes `taken` of the methane's energy.
pub(in super::super) fn heating_advice(source: HeaterSource, taken: f64) -> Option<String> {
    let mend = "More foam and no gaps first (`marshgas run --foam` tells what each 5 cm is worth), then warmer feed, and a tank held a few \
                kelvins cooler with more time.";
    match source {
        HeaterSource::OwnGas if taken > MUCH => Some(format!(
            "Heating takes {} % of the gas's energy, more than it leaves. {mend}",
            percent(taken, 0)
        )),
        HeaterSource::Mains if taken > 1.0 => Some(format!(
            "The heater takes {} % of the methane's energy from outside: this digester costs more energy than it gives. \
             {mend} Or let it follow the seasons, unheated.",
            percent(taken, 0)
        )),
        HeaterSource::OwnGas | HeaterSource::Mains | HeaterSource::EngineWaste => None,
    }
}

/// The four weeks with the coldest air, as far as the run has them.
fn coldest(days: &[HeatDay]) -> &[HeatDay] {
    days.windows(COLDEST_D.min(days.len()).max(1))
        .min_by(|a, b| mean(a, |d| d.air_c).total_cmp(&mean(b, |d| d.air_c)))
        .unwrap_or_default()
}

/// Numbers to take home.
pub(super) fn key_numbers(reading: &Reading<'_>) -> Vec<KeyNumber> {
    let all = series(reading);
    let days = plant(reading, &all);
    let Some((_, first)) = all.first() else {
        return Vec::new();
    };
    let number = KeyNumber::new;
    let mut out = Vec::new();
    let lowest = first
        .days
        .iter()
        .min_by(|a, b| a.liquor_c.total_cmp(&b.liquor_c));
    if let Some(day) = lowest {
        out.push(number(
            "Coldest liquor",
            fixed(day.liquor_c, 1),
            "\u{b0}C",
            format!(
                "daily mean, day {}; the air had {} \u{b0}C",
                day.day,
                fixed(day.air_c, 1)
            ),
        ));
    }
    if all.iter().any(|(_, h)| h.source.is_some())
        && let Some(whole) = share(&days)
    {
        let cold = coldest(&days);
        let cold = match share(cold) {
            Some(cold) => format!("{} % in the coldest four weeks", percent(cold, 0)),
            None => "no gas in the coldest four weeks".to_owned(),
        };
        out.push(number(
            "Heating takes",
            percent(whole, 0),
            "%",
            format!("{} whole run; {cold}", of_what(&all)),
        ));
    }
    let bought = bought(reading, &all);
    if bought > WORTH_KWH {
        out.push(number(
            "Heat bought",
            rough(bought),
            "kWh",
            "what the heater asked for beyond the gas of its day; from outside, or the tank is colder than computed"
                .into(),
        ));
    }
    out
}

/// Energy that heaters on own gas ask for beyond the gas of the day \[kWh\]: the equations give the heat all the same.
fn bought(reading: &Reading<'_>, all: &[(&str, &HeatSeries)]) -> f64 {
    let own = all
        .iter()
        .filter(|(_, h)| h.source == Some(HeaterSource::OwnGas));
    let mut asked = vec![0.0; reading.rows().len()];
    for (_, heat) in own {
        for (sum, day) in asked.iter_mut().zip(&heat.days) {
            *sum += day.fuel_kwh;
        }
    }
    let gas = reading
        .rows()
        .iter()
        .map(|row| row.ch4_nl * METHANE_KWH_PER_NORM_L);
    asked
        .iter()
        .zip(gas)
        .map(|(a, g)| (a - g.max(0.0)).max(0.0))
        .sum()
}

fn of_what(all: &[(&str, &HeatSeries)]) -> &'static str {
    match all.iter().find_map(|(_, h)| h.source) {
        Some(HeaterSource::OwnGas) | None => "of the methane's energy, boiler losses included;",
        Some(HeaterSource::Mains) => "against the methane's energy, bought from outside;",
        Some(HeaterSource::EngineWaste) => {
            "against the methane's energy, as an engine's waste heat;"
        }
    }
}

/// What heating means for the gas, in a sentence; empty without a heater.
pub(super) fn story(reading: &Reading<'_>) -> String {
    let all = series(reading);
    let Some((_, first)) = all.first() else {
        return String::new();
    };
    let above = mean(&first.days, |d| d.liquor_c - d.air_c);
    let mut text = format!(
        "The temperature was computed from the weather: on the mean the liquor stood {} K above the air.",
        fixed(above, 1)
    );
    for bound in bounds(reading) {
        let (device, what) = match bound.source {
            HeaterSource::EngineWaste => {
                ("the engine", "heat than that day's gas leaves an engine")
            }
            HeaterSource::OwnGas | HeaterSource::Mains => ("the boiler", "gas than the day gave"),
        };
        let whole = percent(bound.whole, 0);
        let of = bound.of();
        text += &if bound.lacks() {
            format!(
                " This warmth cannot be held: it takes {whole} % of {of} over the run, and the computed heater is not bound by \
                 it."
            )
        } else {
            format!(" Heating takes {whole} % of {of} over the run.")
        };
        if bound.short > 0 {
            text += &format!(
                " On {} of {} days {device} was asked for more {what}; the rest has to come from a store or from outside.",
                bound.short, bound.days
            );
        }
    }
    text
}

/// What the digester's own gas can give a heater, against what the computed heater took.
struct Bound {
    source: HeaterSource,
    /// Taken over what there was, whole run.
    whole: f64,
    /// The same over the last four weeks.
    lately: f64,
    /// Days that asked for more than they gave.
    short: usize,
    days: usize,
}

impl Bound {
    /// Whether the heat cannot have come from the gas.
    fn lacks(&self) -> bool {
        self.whole > 1.0 || self.lately > 1.0
    }

    fn of(&self) -> String {
        match self.source {
            HeaterSource::EngineWaste => format!(
                "the heat that an engine leaves when it burns all the gas ({} % of the gas's energy)",
                percent(engine_share(), 0)
            ),
            HeaterSource::OwnGas | HeaterSource::Mains => "the gas's energy".into(),
        }
    }
}

/// Share of its gas that a small engine gives as heat, where jacket and exhaust are recovered.
fn engine_share() -> f64 {
    EngineKind::Piston.row().heat_share.typical()
}

/// One for each kind of heater that lives on the gas.
fn bounds(reading: &Reading<'_>) -> Vec<Bound> {
    let all = series(reading);
    let gas: Vec<f64> = reading
        .rows()
        .iter()
        .map(|row| row.ch4_nl * METHANE_KWH_PER_NORM_L)
        .collect();
    let kinds = [
        (HeaterSource::OwnGas, 1.0),
        (HeaterSource::EngineWaste, engine_share()),
    ];
    let of_kind = |(source, share): (HeaterSource, f64)| {
        let mut taken = vec![0.0; gas.len()];
        let mut heats = all
            .iter()
            .filter(|(_, h)| h.source == Some(source))
            .peekable();
        heats.peek()?;
        for (_, heat) in heats {
            for (sum, day) in taken.iter_mut().zip(&heat.days) {
                *sum += day.fuel_kwh;
            }
        }
        let ratio = |from: usize| {
            let sum = |of: &[f64]| of.iter().skip(from).sum::<f64>();
            match (sum(&taken), share * sum(&gas)) {
                (taken, _) if taken <= 0.0 => 0.0,
                (taken, given) => taken / given,
            }
        };
        Some(Bound {
            source,
            whole: ratio(0),
            lately: ratio(gas.len().saturating_sub(COLDEST_D)),
            short: taken
                .iter()
                .zip(&gas)
                .filter(|(t, g)| **t > share * **g)
                .count(),
            days: gas.len(),
        })
    };
    kinds.into_iter().filter_map(of_kind).collect()
}

/// Whether a heater took more than the gas can give it.
pub(super) fn lacks_gas(reading: &Reading<'_>) -> bool {
    bounds(reading).iter().any(Bound::lacks)
}

/// What to do where the gas does not give the heat that was computed with; empty else.
pub(super) fn advice(reading: &Reading<'_>) -> Vec<String> {
    bounds(reading)
        .iter()
        .filter(|bound| bound.lacks())
        .map(|bound| {
            let worst = bound.whole.max(bound.lately);
            format!(
                "Do not count on this warmth or its gas: heating takes {} % of {} ({} of {} days are short), so the tank \
                 cools and gives less than computed here. More foam, a warmer feed or a lower set point brings it down \
                 (`marshgas run --foam` tells what foam is worth); else the heat must come from outside.",
                percent(worst, 0),
                bound.of(),
                bound.short,
                bound.days
            )
        })
        .collect()
}

/// Sums of the run by kind.
pub(super) fn table(reading: &Reading<'_>) -> Option<Table> {
    let all = series(reading);
    let days = plant(reading, &all);
    if days.is_empty() {
        return None;
    }
    let row = |name: &str, of: fn(&HeatDay) -> f64| {
        let sum: f64 = days.iter().map(of).sum();
        vec![
            name.to_owned(),
            fixed(sum, 0),
            fixed(mean(&days, of), 2),
            fixed(mean(coldest(&days), of), 2),
        ]
    };
    let mut rows: Vec<_> = FLOWS
        .iter()
        .filter(|(_, _, of)| days.iter().any(|d| of(d) != 0.0))
        .map(|(name, _, of)| row(name, *of))
        .collect();
    rows.push(row("left in the liquor", |d| d.stored_kwh));
    let bought = bought(reading, &all);
    if bought > WORTH_KWH {
        let none = || "\u{2013}".to_owned();
        rows.push(vec![
            "asked of own gas beyond the day's".to_owned(),
            fixed(bought, 0),
            fixed(bought / days.len().max(1) as f64, 2),
            none(),
        ]);
    }
    Some(Table {
        id: "heat".into(),
        title: "Heat into the liquor".into(),
        columns: vec![
            Column::words("From"),
            Column::number("Whole run", "kWh"),
            Column::number("Mean", "kWh/d"),
            Column::number("Coldest four weeks", "kWh/d"),
        ],
        rows,
        note: "Negative is lost. Feed is counted against the liquor that it displaces. Wall films, conductivities and \
               absorptances are handbook values from memory; change them in the scenario where you know better."
            .into(),
        weight: Weight::Folded,
    })
}

/// What each thickness of foam is worth, as a table; `kept` names what has its own insulation and keeps it.
#[must_use]
pub fn foam_table(rows: &[FoamRow], kept: &[String]) -> Table {
    let mut before: Option<&FoamRow> = None;
    let lines = rows
        .iter()
        .map(|row| {
            let gain = match before.replace(row) {
                Some(thinner) => {
                    format!("{:+.2}", row.usable_kwh_d() - thinner.usable_kwh_d())
                }
                None => String::new(),
            };
            vec![
                fixed(row.foam_cm, 0),
                fixed(row.mean_c, 1),
                fixed(row.coldest_c, 1),
                fixed(row.ch4_nl_d, 0),
                fixed(row.methane_kwh_d, 2),
                fixed(row.fuel_kwh_d, 2),
                fixed(row.usable_kwh_d(), 2),
                gain,
                if row.held { "yes" } else { "no" }.to_owned(),
            ]
        })
        .collect();
    let mut note = "The same scenario with other insulation, means over the whole run. Left is the gas's energy less what \
                    boilers on own gas burn, and worth is what the last 5 cm add to it. Held: no means that the boiler \
                    asks for more than all the gas, so that this warmth and this gas never come about."
        .to_owned();
    if !kept.is_empty() {
        note += &format!(" These keep their own insulation: {}.", list(kept));
    }
    Table {
        id: "foam".into(),
        title: "What each 5 cm of foam is worth".into(),
        columns: vec![
            Column::number("Foam", "cm"),
            Column::number("Mean", "\u{b0}C"),
            Column::number("Coldest", "\u{b0}C"),
            Column::number("Methane", "norm L/d"),
            Column::number("Energy", "kWh/d"),
            Column::number("Heating", "kWh/d"),
            Column::number("Left", "kWh/d"),
            Column::number("Worth", "kWh/d"),
            Column::words("Held"),
        ],
        rows: lines,
        note,
        weight: Weight::Story,
    }
}
