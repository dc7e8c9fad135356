//! Which column holds what: names are own, and forgiving about case, spaces and units.

use super::bytes::Refusal;
use super::materials;
use super::units::Quantity;

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Column {
    Date,
    Time,
    /// Amounts and names, or names alone.
    Fed,
    /// Amount of what the column of feeds names.
    Kg,
    /// Amount of one material, which the heading names.
    KgOf(String),
    Water,
    Tank,
    /// Gas since the reading before.
    Gas,
    /// The count of a meter that runs on.
    Meter,
    GasTemperature,
    GasPressure,
    Wet,
    Lime,
    Ph,
    Methane,
    Burns,
    Acids,
    Alkalinity,
    Remark,
}

/// A column and the unit that its heading gives.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Placed {
    pub(crate) column: Column,
    /// Factor and offset to the unit of the record.
    pub(crate) unit: Option<(f64, f64)>,
}

/// The heading that this program writes for each column, and other names that people use.
const NAMES: &[(Column, &str, &[&str])] = &[
    (
        Column::Date,
        "date",
        &["day", "when", "date time", "datetime", "date and time"],
    ),
    (Column::Time, "time", &["hour", "clock", "time h", "at"]),
    (
        Column::Fed,
        "fed",
        &[
            "feed",
            "feeding",
            "material",
            "materials",
            "what",
            "what fed",
            "fed what",
            "food",
            "substrate",
            "input",
        ],
    ),
    (
        Column::Kg,
        "fed_kg",
        &[
            "fed",
            "feed",
            "amount",
            "mass",
            "weight",
            "fed amount",
            "feed amount",
            "",
        ],
    ),
    (
        Column::Water,
        "water_l",
        &["water", "water added", "added water"],
    ),
    (
        Column::Tank,
        "tank_c",
        &[
            "tank",
            "temp",
            "temperature",
            "tank temp",
            "tank temperature",
            "digester",
            "digester temperature",
            "liquor",
            "slurry",
            "inside",
            "t tank",
        ],
    ),
    (
        Column::Gas,
        "gas_l",
        &[
            "gas",
            "biogas",
            "gas read",
            "gas reading",
            "gas volume",
            "gas since last reading",
            "bell",
            "volume",
        ],
    ),
    (
        Column::Meter,
        "meter_l",
        &[
            "meter",
            "gas meter",
            "meter reading",
            "counter",
            "gas counter",
            "gas total",
            "total gas",
        ],
    ),
    (
        Column::GasTemperature,
        "gas_c",
        &[
            "gas",
            "gas temp",
            "gas temperature",
            "bell",
            "bell temperature",
            "meter",
            "meter temperature",
            "air",
        ],
    ),
    (
        Column::GasPressure,
        "gas_mbar",
        &[
            "gas",
            "gas pressure",
            "pressure",
            "bell",
            "bell pressure",
            "overpressure",
        ],
    ),
    (
        Column::Wet,
        "gas_wet",
        &[
            "wet",
            "moist",
            "gas moist",
            "wet or dry",
            "wet dry",
            "humid",
        ],
    ),
    (
        Column::Lime,
        "after_lime",
        &["lime", "scrubbed", "washed", "before or after lime"],
    ),
    (Column::Ph, "ph", &["ph value", "acidity"]),
    (
        Column::Methane,
        "methane_pct",
        &["methane", "ch4", "methane share", "methane content"],
    ),
    (
        Column::Burns,
        "burns",
        &[
            "flame",
            "burn",
            "burnt",
            "burned",
            "flame test",
            "does it burn",
            "lit",
        ],
    ),
    (
        Column::Acids,
        "acids_mg_l",
        &[
            "acids",
            "acid",
            "volatile acids",
            "vfa",
            "fos",
            "fatty acids",
            "volatile fatty acids",
        ],
    ),
    (
        Column::Alkalinity,
        "alkalinity_mg_l",
        &["alkalinity", "alk", "tac", "buffer", "total alkalinity"],
    ),
    (
        Column::Remark,
        "remark",
        &[
            "remarks",
            "note",
            "notes",
            "comment",
            "comments",
            "about",
            "observation",
            "observations",
        ],
    ),
];

/// Likeness from which a name is worth offering (0 nothing alike, 1 equal).
const LIKE: f64 = 0.8;

impl Column {
    /// What its numbers measure; `None` for words, days and hours.
    pub(crate) fn quantity(&self) -> Option<Quantity> {
        Some(match self {
            Self::Kg | Self::KgOf(_) => Quantity::Mass,
            Self::Water => Quantity::Water,
            Self::Tank => Quantity::Tank,
            Self::Gas | Self::Meter => Quantity::Gas,
            Self::GasTemperature => Quantity::GasTemperature,
            Self::GasPressure => Quantity::Pressure,
            Self::Ph => Quantity::Ph,
            Self::Methane => Quantity::Percent,
            Self::Acids => Quantity::Acids,
            Self::Alkalinity => Quantity::Alkalinity,
            Self::Date
            | Self::Time
            | Self::Fed
            | Self::Wet
            | Self::Lime
            | Self::Burns
            | Self::Remark => {
                return None;
            }
        })
    }

    /// The heading that this program writes.
    pub(crate) fn heading(&self) -> &str {
        NAMES
            .iter()
            .find(|(column, _, _)| column == self)
            .map_or("fed_kg", |(_, heading, _)| heading)
    }

    /// What it is, in words.
    pub(crate) fn words(&self) -> String {
        let words = match self {
            Self::Date => "day",
            Self::Time => "hour of the day",
            Self::Fed => "what was fed",
            Self::Kg => "how much was fed",
            Self::KgOf(material) => return format!("how much {material} was fed"),
            Self::Water => "water put in",
            Self::Tank => "temperature of the tank",
            Self::Gas => "gas since the reading before",
            Self::Meter => "count of the gas meter",
            Self::GasTemperature => "temperature of the gas read",
            Self::GasPressure => "pressure of the gas read",
            Self::Wet => "whether the gas read was wet",
            Self::Lime => "whether it was read after the lime",
            Self::Ph => "pH",
            Self::Methane => "methane share",
            Self::Burns => "whether it burnt",
            Self::Acids => "volatile acids",
            Self::Alkalinity => "alkalinity",
            Self::Remark => "remark",
        };
        words.to_owned()
    }
}

/// The words of a heading, in lower case.
fn words(heading: &str) -> Vec<String> {
    heading
        .to_lowercase()
        .split(|c: char| {
            c.is_whitespace() || matches!(c, '_' | '-' | '(' | ')' | '[' | ']' | ',' | ':' | '.')
        })
        .filter(|w| !w.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The unit at the end of a heading, and the words before it. `acids mg l` ends in `mg/l`.
fn unit_of(words: &[String]) -> Option<(String, &[String])> {
    let (last, before) = words.split_last()?;
    if last == "l"
        && let Some((mass, front)) = before.split_last()
        && matches!(mass.as_str(), "mg" | "g" | "meq" | "mmol")
    {
        return Some((format!("{mass}/l"), without_in(front)));
    }
    Quantity::any_unit(last).then(|| (last.clone(), without_in(before)))
}

fn without_in(words: &[String]) -> &[String] {
    match words.split_last() {
        Some((last, front)) if last == "in" => front,
        _ => words,
    }
}

/// What a heading means; `None` where it is not known.
pub(crate) fn placed(heading: &str) -> Option<Placed> {
    let all = words(heading);
    let name = all.join(" ");
    let listed = |name: &str| {
        let name = name.to_owned();
        NAMES
            .iter()
            .filter(move |(_, heading, others)| {
                heading.replace('_', " ") == name
                    || (!name.is_empty() && others.contains(&name.as_str()))
            })
            .map(|(column, _, _)| column)
    };
    let plain = |column: &Column| Placed {
        column: column.clone(),
        unit: None,
    };
    if let Some((unit, front)) = unit_of(&all) {
        let front = front.join(" ");
        let mass = Quantity::Mass.unit(&unit);
        if front.is_empty() && mass.is_some() {
            return Some(Placed {
                column: Column::Kg,
                unit: mass,
            });
        }
        let with_unit = listed(&front).find_map(|column| {
            let unit = column.quantity()?.unit(&unit)?;
            Some(Placed {
                column: column.clone(),
                unit: Some(unit),
            })
        });
        if with_unit.is_some() {
            return with_unit;
        }
        if mass.is_some() && materials::known(&front).is_some() {
            return Some(Placed {
                column: Column::KgOf(materials::name(&front)),
                unit: mass,
            });
        }
    }
    listed(&name).next().map(plain).or_else(|| {
        materials::known(&name).map(|_| Placed {
            column: Column::KgOf(materials::name(&name)),
            unit: None,
        })
    })
}

/// The heading most like an unknown one, as a question; empty where none is like it.
pub(crate) fn did_you_mean(heading: &str) -> String {
    let name = words(heading).join(" ");
    let candidates = NAMES.iter().flat_map(|(_, main, others)| {
        let likeness = |n: &&str| strsim::jaro_winkler(&name, &n.replace('_', " "));
        let best = std::iter::once(main)
            .chain(*others)
            .map(likeness)
            .fold(0.0, f64::max);
        (best >= LIKE).then_some((best, main))
    });
    candidates
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map_or_else(String::new, |(_, main)| format!("Did you mean \"{main}\"?"))
}

/// Unknown headings in quotes, each with the name it is most like.
pub(crate) fn offered(headings: &[&str]) -> String {
    let one = |heading: &&str| {
        let quoted = super::rows::quoted(heading);
        match did_you_mean(heading).as_str() {
            "" => quoted,
            meant => format!("{quoted} ({})", meant.replacen("Did", "did", 1)),
        }
    };
    let each: Vec<String> = headings.iter().map(one).collect();
    each.join(", ")
}

/// The names that this program writes, for a message.
pub(crate) fn known_names() -> String {
    let names: Vec<&str> = NAMES.iter().map(|(_, heading, _)| *heading).collect();
    names.join(", ")
}

/// The columns of a heading, one entry for each cell; `None` where the name is not known.
///
/// # Errors
/// [`Refusal::NoDate`], [`Refusal::Twice`].
pub(crate) fn columns(headings: &[String]) -> Result<Vec<Option<Placed>>, Refusal> {
    let mut found: Vec<Option<Placed>> = headings.iter().map(|h| placed(h)).collect();
    // A second "feed" beside one that is taken already is the amount.
    let kinds = |found: &[Option<Placed>], column: &Column| -> Vec<usize> {
        let same = |p: &Option<Placed>| p.as_ref().is_some_and(|p| p.column == *column);
        (0..found.len())
            .filter(|i| found.get(*i).is_some_and(same))
            .collect()
    };
    for (column, _, _) in NAMES {
        if let [first, second, ..] = kinds(&found, column).as_slice() {
            return Err(Refusal::Twice {
                first: headings.get(*first).cloned().unwrap_or_default(),
                second: headings.get(*second).cloned().unwrap_or_default(),
            });
        }
    }
    if kinds(&found, &Column::Date).is_empty() {
        let pairs = headings.iter().zip(&found);
        let unknown = pairs.filter(|(heading, placed)| placed.is_none() && !heading.is_empty());
        let unknown: Vec<&str> = unknown.map(|(heading, _)| heading.as_str()).collect();
        let mut day = unknown
            .iter()
            .filter(|heading| did_you_mean(heading).contains("\"date\""));
        let day = day.next().map_or_else(
            || "Every line needs its day.".to_owned(),
            |heading| format!("Is \"{heading}\" it? Rename it."),
        );
        let all = match unknown.is_empty() {
            true => String::new(),
            false => format!(" Names that are not known: {}.", offered(&unknown)),
        };
        return Err(Refusal::NoDate {
            mend: format!("{day}{all} Known names: {}.", known_names()),
        });
    }
    // A running count and the gas since last time say the same thing; the latter wins, the former is not read.
    if !kinds(&found, &Column::Gas).is_empty() {
        for i in kinds(&found, &Column::Meter) {
            if let Some(cell) = found.get_mut(i) {
                *cell = None;
            }
        }
    }
    Ok(found)
}

/// The headings of an empty record.
pub(crate) const STANDARD: [Column; 16] = [
    Column::Date,
    Column::Time,
    Column::Fed,
    Column::Water,
    Column::Tank,
    Column::Gas,
    Column::GasTemperature,
    Column::GasPressure,
    Column::Wet,
    Column::Lime,
    Column::Ph,
    Column::Methane,
    Column::Burns,
    Column::Acids,
    Column::Alkalinity,
    Column::Remark,
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_in_many_shapes() {
        for (heading, column) in [
            ("date", Column::Date),
            ("Date", Column::Date),
            ("Fed (kg)", Column::Kg),
            ("kg", Column::Kg),
            ("Feed", Column::Fed),
            ("Water [L]", Column::Water),
            ("Tank temperature in \u{b0}C", Column::Tank),
            ("temp", Column::Tank),
            ("gas_l", Column::Gas),
            ("Gas (L)", Column::Gas),
            ("gas c", Column::GasTemperature),
            ("Gas temperature", Column::GasTemperature),
            ("gas_mbar", Column::GasPressure),
            ("Meter (m3)", Column::Meter),
            ("pH", Column::Ph),
            ("CH4 %", Column::Methane),
            ("methane_pct", Column::Methane),
            ("Acids (mg/L)", Column::Acids),
            ("acids_mg_l", Column::Acids),
            ("Remarks", Column::Remark),
            ("Kitchen scraps (kg)", Column::KgOf("kitchen-scraps".into())),
            ("cattle-dung", Column::KgOf("cattle-dung".into())),
        ] {
            assert_eq!(placed(heading).map(|p| p.column), Some(column), "{heading}");
        }
        assert_eq!(placed("colour"), None);
        assert_eq!(placed(""), None);
    }

    #[test]
    fn every_standard_heading_means_its_own_column() {
        for column in STANDARD {
            let found = placed(column.heading()).map(|p| p.column);
            assert_eq!(found.as_ref(), Some(&column), "{}", column.heading());
        }
    }

    #[test]
    fn units_of_headings_convert() {
        let (factor, offset) = placed("Tank (F)").unwrap().unit.unwrap();
        assert!((32.0 * factor + offset).abs() < 1e-12);
        assert_eq!(placed("Gas (m3)").unwrap().unit, Some((1000.0, 0.0)));
    }

    #[test]
    fn slips_are_offered_the_right_name() {
        assert!(did_you_mean("temprature").contains("tank_c"));
        assert!(did_you_mean("remrak").contains("remark"));
        assert_eq!(did_you_mean("xyzzy"), "");
        let refused = columns(&["dat".into(), "ph".into()]).unwrap_err();
        assert!(refused.to_string().contains("Is \"dat\" it?"), "{refused}");
        let twice = columns(&["date".into(), "temp".into(), "Tank (C)".into()]);
        assert!(matches!(twice, Err(Refusal::Twice { .. })), "{twice:?}");
    }
}
