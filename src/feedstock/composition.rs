//! Composition of one kilogram of fresh material, or of a mixture.

/// A value with the range that the sources leave open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Low end.
    pub low: f64,
    /// What is used when nothing else is said.
    pub typical: f64,
    /// High end.
    pub high: f64,
}

/// One value for each pool of volatile solids.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pools {
    /// Starch, sugars in cells.
    pub fast_carb: f64,
    /// Cellulose, hemicellulose.
    pub fibre: f64,
    /// Protein.
    pub protein: f64,
    /// Fat.
    pub fat: f64,
}

/// First-order hydrolysis constants at 35 C \[1/d\] of the degradable part of each pool.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoolRates {
    /// Starch, sugars in cells.
    pub fast_carb: Range,
    /// Cellulose, hemicellulose.
    pub fibre: Range,
    /// Protein.
    pub protein: Range,
    /// Fat.
    pub fat: Range,
}

/// Volatile acids already present \[kg acid per kg fresh\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Acids {
    /// Acetic acid.
    pub acetic: f64,
    /// Propionic acid.
    pub propionic: f64,
    /// Butyric acid and longer.
    pub butyric: f64,
}

/// Living groups \[kg COD per kg fresh\]; uncertain by a factor of about three either way.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Living {
    /// Sugar fermenters.
    pub su: f64,
    /// Amino-acid fermenters.
    pub aa: f64,
    /// Long-chain-acid degraders.
    pub fa: f64,
    /// Butyrate degraders.
    pub c4: f64,
    /// Propionate degraders.
    pub pro: f64,
    /// Acetate-using methanogens.
    pub ac: f64,
    /// Hydrogen-using methanogens.
    pub h2: f64,
}

/// What one kilogram of fresh material (or mixture) holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Composition {
    /// Total solids \[kg/kg fresh\].
    pub total_solids: f64,
    /// Volatile solids \[kg/kg fresh\].
    pub volatile_solids: f64,
    /// Mass of each pool \[kg/kg fresh\]; with `inert` they sum to the volatile solids.
    pub pools: Pools,
    /// Lignin and what it shields \[kg/kg fresh\].
    pub inert: f64,
    /// Share of each pool that a digester can reach at all, 0..1.
    pub degradable: Pools,
    /// Hydrolysis constants at 35 C and reference particle size \[1/d\].
    pub hydrolysis: PoolRates,
    /// Total carbon \[kg/kg fresh\].
    pub carbon: f64,
    /// Total nitrogen \[kg/kg fresh\].
    pub nitrogen: f64,
    /// Nitrogen already present as ammonium \[kg N/kg fresh\].
    pub ammonia_n: f64,
    /// Urea and uric acid nitrogen, ammonium within days \[kg N/kg fresh\].
    pub labile_n: f64,
    /// Total sulphur \[kg/kg fresh\].
    pub sulfur: f64,
    /// Acids already present.
    pub acids: Acids,
    /// Strong cations minus strong anions \[eq/kg fresh\].
    pub strong_ions: f64,
    /// pH of the fresh material, where it holds carbonate (manures, digestate); `None`: no carbonate.
    pub fresh_ph: Option<f64>,
    /// Living groups.
    pub living: Living,
    /// Measured methane potential \[NL CH4/kg VS\]; `None` for mixtures of unknowns.
    pub methane_potential: Option<Range>,
}
