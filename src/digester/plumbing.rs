//! Volumes, pipes and streams of a tank.

use crate::lanes::Real;

/// Volumes, pipes and streams of a tank.
#[derive(Debug, Clone, PartialEq)]
pub struct Plumbing<R = f64> {
    /// Gas transfer coefficient \[1/d\].
    pub kla: R,
    /// Ambient pressure \[bar\].
    pub ambient_bar: R,
    /// Pressure of the store above ambient \[bar\].
    pub back_pressure_bar: R,
    /// Conductance of the gas pipe \[m3/d/bar\].
    pub pipe: R,
    /// Whether gas can flow back.
    pub returns: bool,
    /// Leak \[m3/d at the store's pressure\].
    pub leak: R,
    /// Steady stream: flow \[m3/d\] and concentration of each component.
    pub inflow: Option<(R, Vec<R>)>,
    /// Share of the particles that a steady stream leaves behind.
    pub held_back: R,
}

impl<R: Real> Plumbing<R> {
    /// The same in every lane.
    #[must_use]
    pub fn splat(of: &Plumbing) -> Self {
        let all = |c: &Vec<f64>| c.iter().map(|c| R::splat(*c)).collect();
        Self {
            kla: R::splat(of.kla),
            ambient_bar: R::splat(of.ambient_bar),
            back_pressure_bar: R::splat(of.back_pressure_bar),
            pipe: R::splat(of.pipe),
            returns: of.returns,
            leak: R::splat(of.leak),
            inflow: of.inflow.as_ref().map(|(q, c)| (R::splat(*q), all(c))),
            held_back: R::splat(of.held_back),
        }
    }

    /// Sets one lane; `false` if only one of the two has a steady stream or an outlet that gives gas back.
    pub fn put(&mut self, lane: usize, of: &Plumbing) -> bool {
        self.kla.put(lane, of.kla);
        self.ambient_bar.put(lane, of.ambient_bar);
        self.back_pressure_bar.put(lane, of.back_pressure_bar);
        self.pipe.put(lane, of.pipe);
        self.leak.put(lane, of.leak);
        self.held_back.put(lane, of.held_back);
        if let (Some((q, own)), Some((new_q, new))) = (&mut self.inflow, &of.inflow) {
            q.put(lane, *new_q);
            own.iter_mut()
                .zip(new)
                .for_each(|(own, new)| own.put(lane, *new));
        }
        self.inflow.is_some() == of.inflow.is_some() && self.returns == of.returns
    }
}
