//! Volumes, pipes and streams of a tank.

/// Volumes, pipes and streams of a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Plumbing {
    /// Gas transfer coefficient \[1/d\].
    pub kla: f64,
    /// Ambient pressure \[bar\].
    pub ambient_bar: f64,
    /// Pressure of the store above ambient \[bar\].
    pub back_pressure_bar: f64,
    /// Conductance of the gas pipe \[m3/d/bar\].
    pub pipe: f64,
    /// Whether gas can flow back.
    pub returns: bool,
    /// Leak \[m3/d at the store's pressure\].
    pub leak: f64,
    /// Steady stream: flow \[m3/d\] and concentration of each component.
    pub inflow: Option<(f64, Vec<f64>)>,
    /// Share of the particles that a steady stream leaves behind.
    pub held_back: f64,
}
