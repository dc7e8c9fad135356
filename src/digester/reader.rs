//! Reads many states of one tank, several at once in the lanes of wide instructions.

use super::observe::Reading;
use super::tank::Tank;
use crate::lanes::{Lanes, Real, WIDTH, Wide, wide};
use crate::solver::RhsFailure;

/// How to read a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Whether gas was flowing to the store then.
    pub open: bool,
    /// Whether to titrate a sample, too.
    pub titrated: bool,
}

/// Reads states of a tank.
///
/// It keeps a liquor of its own to start from, so that what is read never depends on how the run came there: a run is
/// read to the same last bit alone and beside others.
#[derive(Debug, Clone)]
pub struct Reader {
    tanks: Tank<Lanes>,
    states: Vec<Lanes>,
}

impl Reader {
    /// A reader of a tank.
    #[must_use]
    pub fn new(of: &Tank) -> Self {
        Self {
            tanks: Tank::abreast(of),
            states: vec![Lanes::splat(0.0); of.layout().dim()],
        }
    }

    /// Reads states, one after the other in `states`, each as its look says; the volumes are those that the tank has now.
    /// `out` holds the readings in the same order; what is not titrated has alkalinities and acid ratio of 0.
    ///
    /// # Errors
    /// The place of the first state that allows no pH, and why.
    pub fn read(
        &mut self,
        of: &Tank,
        states: &[f64],
        looks: &[Look],
        out: &mut Vec<Reading>,
    ) -> Result<(), (usize, RhsFailure)> {
        self.tanks.resize(of);
        out.clear();
        let dim = self.states.len();
        let groups = states.chunks(WIDTH * dim).zip(looks.chunks(WIDTH));
        for (states, looks) in groups {
            let last = looks.len() - 1;
            for lane in 0..WIDTH {
                // Lanes without a state of their own look at the last one.
                let i = lane.min(last);
                self.tanks.set_lane_open(lane, looks[i].open);
                let state = &states[i * dim..][..dim];
                let own = self.states.iter_mut().zip(state);
                own.for_each(|(own, y)| own.put(lane, *y));
            }
            let (readings, refused) = wide(Group {
                tanks: &mut self.tanks,
                states: &self.states,
                titrated: looks.iter().any(|look| look.titrated),
            });
            for (lane, state) in states.chunks_exact(dim).enumerate() {
                out.push(if refused.has(lane) {
                    // Alone it says what is wrong.
                    of.clone()
                        .read(state)
                        .map_err(|failure| (out.len(), failure))?
                } else {
                    readings.lane(lane)
                });
            }
        }
        Ok(())
    }
}

/// As many states as there are lanes.
struct Group<'a> {
    tanks: &'a mut Tank<Lanes>,
    states: &'a [Lanes],
    titrated: bool,
}

impl Wide for Group<'_> {
    type Output = (Reading<Lanes>, crate::lanes::LaneSet);

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.tanks
            .read_lanes(Lanes::all(), self.states, self.titrated)
    }
}
