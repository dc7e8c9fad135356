//! Reads many states of one tank, several at once in the lanes of wide instructions.

use super::observe::Reading;
use super::tank::Tank;
use crate::lanes::{Lanes, Real, WIDTH, Wide, wide};
use crate::solver::RhsFailure;

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

    /// Reads states, one after the other in `states`; the volumes are those that the tank has now. `out` holds the readings
    /// in the same order. Only where `titrated` says so a sample is surely titrated; alkalinities and acid ratio of the
    /// others have no meaning.
    ///
    /// # Errors
    /// The place of the first state that allows no pH, and why.
    pub fn read(
        &mut self,
        of: &Tank,
        states: &[f64],
        titrated: &[bool],
        out: &mut Vec<Reading>,
    ) -> Result<(), (usize, RhsFailure)> {
        self.tanks.resize(of);
        out.clear();
        let dim = self.states.len();
        let groups = states.chunks(WIDTH * dim).zip(titrated.chunks(WIDTH));
        for (states, titrated) in groups {
            let last = titrated.len() - 1;
            for lane in 0..WIDTH {
                // Lanes without a state of their own look at the last one.
                let i = lane.min(last);
                let state = &states[i * dim..][..dim];
                let own = self.states.iter_mut().zip(state);
                own.for_each(|(own, y)| own.put(lane, *y));
            }
            let (readings, refused) = wide(Group {
                tanks: &mut self.tanks,
                states: &self.states,
                titrated: titrated.contains(&true),
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
