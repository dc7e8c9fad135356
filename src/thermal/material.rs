//! Conductivities of walls and insulation, with how they became known.

use std::sync::LazyLock;

use crate::embedded;

/// A material that conducts heat.
#[derive(Debug, Clone, PartialEq, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Name in a scenario.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Conductivity \[W/m/K\].
    pub w_per_m_k: f64,
    /// Whether it insulates (else it is a wall).
    pub insulates: bool,
    /// Where the value comes from.
    pub source: String,
}

static TABLE: LazyLock<Vec<Material>> =
    LazyLock::new(|| embedded::read("materials.json", include_str!("data/materials.json")));

/// All of them.
#[must_use]
pub fn materials() -> &'static [Material] {
    &TABLE
}

/// The one of this name.
#[must_use]
pub fn material(id: &str) -> Option<&'static Material> {
    TABLE.iter().find(|m| m.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_read_and_every_row_is_sound() {
        assert!(materials().len() >= 8);
        for m in materials() {
            assert!(m.w_per_m_k > 0.01 && m.w_per_m_k < 100.0, "{}", m.id);
            assert!(!m.source.is_empty() && !m.name.is_empty(), "{}", m.id);
        }
    }
}
