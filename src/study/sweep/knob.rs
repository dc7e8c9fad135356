//! What can be varied: any number that the scenario names, and things that people think in.

use std::fmt;

use serde_json::Value;

use crate::scenario::{self, Address, NumberError};

/// Likeness (Jaro-Winkler) from which a name is worth offering.
const LIKE: f64 = 0.72;
/// How many names are offered.
const OFFERED: usize = 3;

/// Something that can be varied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Knob {
    /// A number of the scenario by its address, such as `vessels[0].liquid_l`.
    Number(String),
    /// Something people think in.
    Named(Named),
}

/// Knobs that turn several numbers together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Named {
    /// Liquid of all vessels \[L\]; gas space and starter go along.
    Volume,
    /// Starter material \[kg\]; water makes up the rest of the filling.
    StarterMass,
    /// Temperature of all vessels \[C\], or the mean of its course.
    Temperature,
    /// Water in the recipes of the daily feeding \[% by mass\].
    WaterShare,
    /// Times the daily feeding of the scenario.
    Feed,
    /// Retention time \[d\] by feeding more or less of the same mixture.
    RetentionAtFixedRecipe,
    /// Retention time \[d\] by more or less water on the same materials.
    RetentionAtFixedLoading,
}

/// What there is to know about a named knob.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// The knob.
    pub knob: Named,
    /// Its name on the command line.
    pub name: &'static str,
    /// What its axis is called.
    pub label: &'static str,
    /// Unit of its values; empty for a pure number.
    pub unit: &'static str,
    /// What it does, in one sentence.
    pub does: &'static str,
}

/// All named knobs. The order is also that in which two of them are turned.
pub const NAMED: [About; 7] = [
    About {
        knob: Named::Volume,
        name: "volume",
        label: "Liquid volume",
        unit: "L",
        does: "Liquid of all vessels together; gas space and starter go along.",
    },
    About {
        knob: Named::StarterMass,
        name: "starter-mass",
        label: "Starter material",
        unit: "kg",
        does: "Starter materials together; water makes up the rest of the filling.",
    },
    About {
        knob: Named::Temperature,
        name: "temperature",
        label: "Temperature",
        unit: "C",
        does: "All vessels; a wave or points keep their shape and move to this mean.",
    },
    About {
        knob: Named::WaterShare,
        name: "water-share",
        label: "Water in the recipe",
        unit: "%",
        does: "Share by mass of the water in the daily recipes, on the same materials.",
    },
    About {
        knob: Named::Feed,
        name: "feed",
        label: "Feeding",
        unit: "times",
        does: "Multiplies the amount of every daily line.",
    },
    About {
        knob: Named::RetentionAtFixedRecipe,
        name: "retention-at-fixed-recipe",
        label: "Retention time",
        unit: "d",
        does: "More or less of the same mixture a day, so that it stays this long.",
    },
    About {
        knob: Named::RetentionAtFixedLoading,
        name: "retention-at-fixed-loading",
        label: "Retention time",
        unit: "d",
        does: "More or less water on the same materials, so that it stays this long.",
    },
];

/// Pairs that turn the same numbers, and why they cannot go together.
const CLASHES: [(Named, Named, &str); 3] = [
    (
        Named::Feed,
        Named::RetentionAtFixedRecipe,
        "both set how much is fed a day",
    ),
    (
        Named::RetentionAtFixedRecipe,
        Named::RetentionAtFixedLoading,
        "both set the retention time",
    ),
    (
        Named::WaterShare,
        Named::RetentionAtFixedLoading,
        "both set the water of the recipes",
    ),
];

/// Why something cannot be varied.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum KnobError {
    /// No knob of this name.
    #[error("`{name}` cannot be varied: it is neither a knob nor a number of the scenario.{near}")]
    Unknown {
        /// What was given.
        name: String,
        /// " Did you mean ...?", or nothing.
        near: String,
    },
    /// The address leads to no number.
    #[error("{source}{near}")]
    Number {
        /// What is wrong.
        source: NumberError,
        /// " Did you mean ...?", or nothing.
        near: String,
    },
    /// The same knob twice.
    #[error("`{0}` is varied twice; give two different knobs, or one")]
    Twice(String),
    /// Two knobs that turn the same numbers.
    #[error("`{first}` and `{second}` cannot be varied together: {why}")]
    Clash {
        /// First knob.
        first: String,
        /// Second knob.
        second: String,
        /// What they share.
        why: &'static str,
    },
}

impl Named {
    /// What there is to know about it.
    #[must_use]
    pub fn about(self) -> &'static About {
        // The table holds every knob; a test walks it.
        NAMED.iter().find(|a| a.knob == self).unwrap_or(&NAMED[0])
    }
}

impl Knob {
    /// A knob by its name, or a number of `scenario` by its address.
    ///
    /// # Errors
    /// [`KnobError::Unknown`] and [`KnobError::Number`], with the nearest names.
    pub fn find(name: &str, scenario: &Value) -> Result<Self, KnobError> {
        let name = name.trim();
        if let Some(about) = NAMED.iter().find(|a| a.name == name) {
            return Ok(Self::Named(about.knob));
        }
        match scenario::get_number(scenario, name) {
            // Written as the scenario's own list writes it, so that one number has one name.
            Ok(_) => Ok(Self::Number(
                name.parse::<Address>()
                    .map_or_else(|_| name.to_owned(), |address| address.to_string()),
            )),
            Err(source) => {
                let near = nearest(name, scenario);
                if name.contains(['.', '[']) || scenario.get(name).is_some() {
                    Err(KnobError::Number { source, near })
                } else {
                    let name = name.to_owned();
                    Err(KnobError::Unknown { name, near })
                }
            }
        }
    }

    /// What its axis is called.
    #[must_use]
    pub fn label(&self) -> &str {
        match self {
            Self::Number(path) => path,
            Self::Named(named) => named.about().label,
        }
    }

    /// Unit of its values, as far as it is known; a number's name ends in its unit.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        match self {
            Self::Number(path) => unit_of(path),
            Self::Named(named) => named.about().unit,
        }
    }

    /// Place in the order of turning: single numbers first.
    pub(super) fn rank(&self) -> Option<Named> {
        match self {
            Self::Number(_) => None,
            Self::Named(named) => Some(*named),
        }
    }

    /// Whether two knobs can be varied together.
    ///
    /// # Errors
    /// [`KnobError::Twice`] and [`KnobError::Clash`].
    pub fn agree(&self, other: &Self) -> Result<(), KnobError> {
        if self == other {
            return Err(KnobError::Twice(self.to_string()));
        }
        let (Self::Named(a), Self::Named(b)) = (self, other) else {
            return Ok(());
        };
        let clash = CLASHES
            .iter()
            .find(|(x, y, _)| (x, y) == (a, b) || (x, y) == (b, a));
        match clash {
            Some((_, _, why)) => Err(KnobError::Clash {
                first: self.to_string(),
                second: other.to_string(),
                why,
            }),
            None => Ok(()),
        }
    }
}

/// The name on the command line.
impl fmt::Display for Knob {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Number(path) => path,
            Self::Named(named) => named.about().name,
        })
    }
}

/// Endings of keys and the units they stand for.
const ENDINGS: [(&str, &str); 20] = [
    ("_l_per_d_per_mbar", "L/d/mbar"),
    ("_l_per_d", "L/d"),
    ("_kwh_per_m2_d", "kWh/m2/d"),
    ("_m_per_s", "m/s"),
    ("_per_d", "1/d"),
    ("_days", "d"),
    ("_pct", "%"),
    ("_cm", "cm"),
    ("_mm", "mm"),
    ("_m2", "m2"),
    ("_w", "W"),
    ("_mbar", "mbar"),
    ("_kg", "kg"),
    ("kg", "kg"),
    ("_l", "L"),
    ("l_per_d", "L/d"),
    ("_g", "g"),
    ("_c", "C"),
    ("_k", "K"),
    ("days", "d"),
];

fn unit_of(path: &str) -> &'static str {
    let key = path.rsplit('.').next().unwrap_or(path);
    ENDINGS
        .iter()
        .find(|(ending, _)| key.ends_with(ending))
        .map_or("", |(_, unit)| unit)
}

/// " Did you mean ...?" with the names most like `given`, the likest first; or nothing.
fn nearest(given: &str, scenario: &Value) -> String {
    let numbers = scenario::list_numbers(scenario);
    let names = NAMED
        .iter()
        .map(|a| a.name)
        .chain(numbers.iter().map(|(path, _)| path.as_str()));
    let lower = given.to_lowercase();
    let mut liked: Vec<(f64, &str)> = names
        .map(|name| {
            // A bare key is compared with the last key of an address as well.
            let last = name.rsplit('.').next().unwrap_or(name);
            let whole = strsim::jaro_winkler(&lower, name);
            (whole.max(0.98 * strsim::jaro_winkler(&lower, last)), name)
        })
        .filter(|(likeness, _)| *likeness >= LIKE)
        .collect();
    liked.sort_by(|a, b| b.0.total_cmp(&a.0));
    liked.truncate(OFFERED);
    let quoted: Vec<String> = liked.iter().map(|(_, name)| format!("`{name}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((only, [])) => format!(" Did you mean {only}?"),
        Some((last, rest)) => format!(" Did you mean {} or {last}?", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn scenario() -> Value {
        json!({"days": 10, "title": "x", "vessels": [{"liquid_l": 800, "temperature": {"constant_c": 30}}],
               "recipes": {"dung": {"water_l": 3}}})
    }

    #[test]
    fn every_named_knob_is_found_by_its_name_and_knows_itself() {
        for about in &NAMED {
            let knob = Knob::find(about.name, &scenario()).unwrap();
            assert_eq!(knob, Knob::Named(about.knob));
            assert_eq!(knob.to_string(), about.name);
        }
    }

    #[test]
    fn numbers_are_found_by_address_and_carry_their_unit() {
        for (path, unit) in [
            ("vessels[0].liquid_l", "L"),
            ("vessels[0].temperature.constant_c", "C"),
            ("recipes.dung.water_l", "L"),
            ("days", "d"),
        ] {
            let knob = Knob::find(path, &scenario()).unwrap();
            assert_eq!((knob.to_string().as_str(), knob.unit()), (path, unit));
        }
    }

    #[test]
    fn slips_bring_the_nearest_names() {
        for (slip, near) in [
            ("temprature", "`temperature`"),
            ("retention", "`retention-at-fixed-recipe`"),
            ("water_l", "`recipes.dung.water_l`"),
            ("vessels[0].liquid", "`vessels[0].liquid_l`"),
        ] {
            let told = Knob::find(slip, &scenario()).unwrap_err().to_string();
            assert!(told.contains(near), "{slip}: {told}");
        }
        let told = Knob::find("title", &scenario()).unwrap_err().to_string();
        assert!(told.contains("no number"), "{told}");
        let told = Knob::find("qqq", &scenario()).unwrap_err().to_string();
        assert!(!told.contains("Did you mean"), "{told}");
    }

    #[test]
    fn the_same_knob_twice_and_two_that_share_their_numbers_are_refused() {
        let find = |name: &str| Knob::find(name, &scenario()).unwrap();
        assert!(matches!(
            find("feed").agree(&find("feed")),
            Err(KnobError::Twice(_))
        ));
        let clash = find("retention-at-fixed-recipe")
            .agree(&find("feed"))
            .unwrap_err();
        assert!(clash.to_string().contains("how much is fed"), "{clash}");
        find("temperature").agree(&find("feed")).unwrap();
        find("temperature").agree(&find("days")).unwrap();
    }
}
