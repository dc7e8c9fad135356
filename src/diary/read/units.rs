//! Quantities of a record, the units people write them in, and how far each may go.

/// What a number measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Quantity {
    /// Mass \[kg\].
    Mass,
    /// Volume of water \[L\].
    Water,
    /// Volume of gas \[L\].
    Gas,
    /// Temperature of the tank \[C\].
    Tank,
    /// Temperature of the gas \[C\].
    GasTemperature,
    /// Pressure above the air \[mbar\].
    Pressure,
    /// pH.
    Ph,
    /// Share \[%\].
    Percent,
    /// Acids \[mg/L\].
    Acids,
    /// Alkalinity \[mg CaCO3/L\].
    Alkalinity,
}

/// A unit: as it is written, factor and offset to the unit of the record.
type Unit = (&'static str, f64, f64);

/// Factor of a degree Fahrenheit, and what is added after it.
const FAHRENHEIT: (f64, f64) = (5.0 / 9.0, -160.0 / 9.0);

const MASS: &[Unit] = &[
    ("kg", 1.0, 0.0),
    ("kilo", 1.0, 0.0),
    ("kilos", 1.0, 0.0),
    ("g", 0.001, 0.0),
    ("gram", 0.001, 0.0),
    ("grams", 0.001, 0.0),
    // International pound, exact by definition (1959).
    ("lb", 0.453_592_37, 0.0),
    ("lbs", 0.453_592_37, 0.0),
];
const VOLUME: &[Unit] = &[
    ("l", 1.0, 0.0),
    ("litre", 1.0, 0.0),
    ("litres", 1.0, 0.0),
    ("liter", 1.0, 0.0),
    ("liters", 1.0, 0.0),
    ("ml", 0.001, 0.0),
    ("m3", 1000.0, 0.0),
    ("m\u{b3}", 1000.0, 0.0),
];
const TEMPERATURE: &[Unit] = &[
    ("c", 1.0, 0.0),
    ("\u{b0}c", 1.0, 0.0),
    ("degc", 1.0, 0.0),
    ("celsius", 1.0, 0.0),
    ("\u{b0}", 1.0, 0.0),
    ("f", FAHRENHEIT.0, FAHRENHEIT.1),
    ("\u{b0}f", FAHRENHEIT.0, FAHRENHEIT.1),
    ("fahrenheit", FAHRENHEIT.0, FAHRENHEIT.1),
];
const PRESSURE: &[Unit] = &[
    ("mbar", 1.0, 0.0),
    ("hpa", 1.0, 0.0),
    ("kpa", 10.0, 0.0),
    ("pa", 0.01, 0.0),
    // A column of water at 4 C, conventional: 98.0665 Pa a centimetre.
    ("cm", 0.980_665, 0.0),
    ("mm", 0.098_066_5, 0.0),
];
const SHARE: &[Unit] = &[("%", 1.0, 0.0), ("pct", 1.0, 0.0), ("percent", 1.0, 0.0)];
const DISSOLVED: &[Unit] = &[
    ("mg/l", 1.0, 0.0),
    ("mgl", 1.0, 0.0),
    ("ppm", 1.0, 0.0),
    ("g/l", 1000.0, 0.0),
];
/// Alkalinity also comes as milliequivalents: 50.043 mg of calcium carbonate each (half of 100.086 g/mol).
const ALKALINITY: &[Unit] = &[
    ("mg/l", 1.0, 0.0),
    ("mgl", 1.0, 0.0),
    ("ppm", 1.0, 0.0),
    ("g/l", 1000.0, 0.0),
    ("meq/l", 50.043, 0.0),
    ("mmol/l", 50.043, 0.0),
];

/// How far a number may go. Beyond `possible` it is left out, beyond `likely` it is kept and doubted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reach {
    /// Lowest and highest that can be at all.
    pub(crate) possible: (f64, f64),
    /// Lowest and highest at a hand-fed digester. Assumption of this project.
    pub(crate) likely: (f64, f64),
    /// Unit as people read it.
    pub(crate) unit: &'static str,
    /// Why nothing lies beyond what is possible: a clause, where that is not plain.
    pub(crate) beyond: Option<&'static str>,
}

impl Quantity {
    fn units(self) -> &'static [Unit] {
        match self {
            Self::Mass => MASS,
            Self::Water | Self::Gas => VOLUME,
            Self::Tank | Self::GasTemperature => TEMPERATURE,
            Self::Pressure => PRESSURE,
            Self::Ph => &[],
            Self::Percent => SHARE,
            Self::Acids => DISSOLVED,
            Self::Alkalinity => ALKALINITY,
        }
    }

    /// Factor and offset of a unit; `None` where this quantity has no such unit.
    pub(crate) fn unit(self, word: &str) -> Option<(f64, f64)> {
        let word = word.trim_end_matches('.').to_lowercase();
        self.units()
            .iter()
            .find(|(name, _, _)| *name == word)
            .map(|(_, factor, offset)| (*factor, *offset))
    }

    /// Whether it is a temperature.
    pub(crate) fn is_warmth(self) -> bool {
        matches!(self, Self::Tank | Self::GasTemperature)
    }

    /// Whether any quantity has such a unit.
    pub(crate) fn any_unit(word: &str) -> bool {
        [MASS, VOLUME, TEMPERATURE, PRESSURE, SHARE, ALKALINITY]
            .iter()
            .any(|units| units.iter().any(|(name, _, _)| *name == word))
    }

    /// How far it may go.
    pub(crate) fn reach(self) -> Reach {
        let (possible, likely, unit) = match self {
            Self::Mass => ((0.0, 1e6), (0.0, 500.0), "kg"),
            Self::Water => ((0.0, 1e6), (0.0, 1000.0), "L"),
            Self::Gas => ((0.0, 1e7), (0.0, 20_000.0), "L"),
            // Dissolved salts let liquor freeze at -1 to -2 C (1.86 K for each mol/kg, Raoult's law, from memory); above is
            // the range that the equations know.
            Self::Tank => ((-2.0, 60.0), (0.0, 55.0), "C"),
            Self::GasTemperature => ((-40.0, 80.0), (-20.0, 60.0), "C"),
            Self::Pressure => ((-500.0, 1000.0), (0.0, 50.0), "mbar"),
            Self::Ph => ((0.0, 14.0), (4.0, 9.5), ""),
            Self::Percent => ((0.0, 100.0), (0.0, 90.0), "%"),
            Self::Acids => ((0.0, 1e5), (0.0, 30_000.0), "mg/L"),
            Self::Alkalinity => ((0.0, 1e5), (0.0, 30_000.0), "mg/L"),
        };
        let beyond = match self {
            Self::Tank => Some("colder, liquor is ice; hotter, the equations end"),
            _ => None,
        };
        Reach {
            possible,
            likely,
            unit,
            beyond,
        }
    }
}
