//! Components of a network and what one unit of each holds.

/// Absolute tolerance of dissolved hydrogen \[kg COD/m3\], a 1400th of its half-saturation. It follows its sources within
/// seconds, so that a finer one buys nothing but short steps after every dose.
pub(super) const H2_TOLERANCE: f64 = 5e-9;

/// What kind of matter a component is; used for bookkeeping, never in a rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
pub enum Group {
    /// Degradable particles.
    Degradable,
    /// Dissolved organic matter and dissolved gas.
    Dissolved,
    /// Living groups.
    Living,
    /// Inert matter.
    Inert,
    /// Inorganic carbon, nitrogen, sulphur.
    Inorganic,
    /// Strong ions.
    Ion,
}

/// A component: its unit is kg COD/m3 for organic matter and kmol/m3 for the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Scientific name, such as `S_ac`.
    pub name: &'static str,
    /// Name for people.
    pub words: &'static str,
    /// Kind of matter.
    pub group: Group,
    /// Whether it settles with the particles.
    pub particulate: bool,
    /// Oxygen demand \[kg COD per unit\], sulphide counted as zero.
    pub cod: f64,
    /// Carbon \[kmol per unit\].
    pub carbon: f64,
    /// Nitrogen \[kmol per unit\].
    pub nitrogen: f64,
    /// Sulphur \[kmol per unit\].
    pub sulfur: f64,
    /// Strong charge \[kmol charge per unit\]; acids and bases are written in their neutral form and hold none.
    pub charge: f64,
    /// Absolute tolerance of the integrator \[unit\].
    pub tolerance: f64,
}

impl Component {
    /// Organic matter of 1 kg COD per unit.
    pub(crate) fn organic(
        name: &'static str,
        words: &'static str,
        group: Group,
        c: f64,
        n: f64,
        s: f64,
    ) -> Self {
        let particulate = name.starts_with("X_");
        Self {
            name,
            words,
            group,
            particulate,
            cod: 1.0,
            carbon: c,
            nitrogen: n,
            sulfur: s,
            charge: 0.0,
            tolerance: 1e-5,
        }
    }

    /// Inorganic matter in kmol.
    pub(crate) fn inorganic(
        name: &'static str,
        words: &'static str,
        c: f64,
        n: f64,
        s: f64,
    ) -> Self {
        Self {
            group: Group::Inorganic,
            cod: 0.0,
            tolerance: 1e-6,
            ..Self::organic(name, words, Group::Inorganic, c, n, s)
        }
    }

    /// Strong ions in kmol charge.
    pub(crate) fn ion(name: &'static str, words: &'static str, charge: f64) -> Self {
        Self {
            group: Group::Ion,
            charge,
            ..Self::inorganic(name, words, 0.0, 0.0, 0.0)
        }
    }

    /// The same with another integrator tolerance.
    pub(crate) fn tolerance(self, tolerance: f64) -> Self {
        Self { tolerance, ..self }
    }
}
