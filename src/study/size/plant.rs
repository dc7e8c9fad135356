//! A plant that could be built, and the grid of all that may be.

use std::cmp::Ordering;

use serde::Serialize;

use super::draft;
use super::rules::rules;
use super::wish::{Arrangements, HeaterChoice, SunChoice, Wish};
use super::year::MONTHS;

/// Months before the wish counts at which a plant that rested may begin again. Assumption of this project.
const LEADS: [usize; 3] = [1, 2, 3];
/// Months in a row without work below which a rest is not worth a new beginning. Assumption of this project.
const LEAST_REST: usize = 3;

/// A plant that could be built.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Plant {
    /// Whole volume of one unit \[L\].
    pub unit_l: f64,
    /// Number of units.
    pub units: usize,
    /// Whether the overflow of one feeds the next; otherwise each is fed by itself.
    pub in_row: bool,
    /// Insulation on all faces \[cm\].
    pub foam_cm: f64,
    /// Set point of the heater; `None` without one \[C\].
    pub set_c: Option<f64>,
    /// Water for each kilogram of material \[L\].
    pub water_per_kg: f64,
    /// Total solids of the mixture fed \[%\].
    pub solids_pct: f64,
    /// Share of the line of loading that is used: 1 unless more would bring it too close to souring.
    pub line_share: f64,
    /// What catches the sun.
    pub sun: SunChoice,
    /// How deep its bottom lies below the ground \[cm\]; 0 on a pallet.
    pub buried_cm: f64,
    /// Rests in the months that do not count, unfed and with its heater off, and begins again so many months before they
    /// do; `None`: works all year.
    pub rests: Option<usize>,
}

/// What a month is to a plant that rests in others.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Season {
    /// Fed and, where it has a heater, heated.
    Works,
    /// Heated from its first day on, fed a share from its middle on.
    Begins,
    /// Neither.
    Rests,
}

impl Plant {
    /// Liquid of one unit \[L\].
    #[must_use]
    pub fn unit_liquid_l(&self) -> f64 {
        self.unit_l * rules().liquid_share.value
    }

    /// Liquid of all units \[L\].
    #[must_use]
    pub fn liquid_l(&self) -> f64 {
        self.unit_liquid_l() * self.units as f64
    }

    /// Liquid that the whole feed meets first \[L\].
    #[must_use]
    pub fn first_liquid_l(&self) -> f64 {
        if self.in_row {
            self.unit_liquid_l()
        } else {
            self.liquid_l()
        }
    }

    /// What a month is to it, 0 for January.
    pub(super) fn season(&self, wish: &Wish, month: usize) -> Season {
        let Some(lead) = self.rests else {
            return Season::Works;
        };
        let works = |m: usize| works(wish, lead, m);
        match (works(month), works(month + MONTHS - 1)) {
            (true, true) => Season::Works,
            (true, false) => Season::Begins,
            (false, _) => Season::Rests,
        }
    }

    /// Whether it is heated and fed in each month, January first.
    #[must_use]
    pub fn working(&self, wish: &Wish) -> [bool; MONTHS] {
        std::array::from_fn(|m| self.season(wish, m) != Season::Rests)
    }

    /// Window of one unit \[m2\]; `None` without one.
    #[must_use]
    pub fn window_m2(&self) -> Option<f64> {
        (self.sun == SunChoice::Window).then(|| draft::window_m2(self.unit_l, self.buried_cm))
    }

    /// How many things more are built for sun or ground.
    pub(super) fn extras(&self) -> usize {
        usize::from(self.sun != SunChoice::None) + usize::from(self.buried_cm > 0.0)
    }

    /// Smaller first: volume, then units, then the simpler of two: unheated, resting where it may, no window and no pit,
    /// less foam, side by side, less water.
    #[must_use]
    pub fn smaller(&self, other: &Self) -> Ordering {
        let whole = |p: &Self| p.unit_l * p.units as f64;
        whole(self)
            .total_cmp(&whole(other))
            .then(self.units.cmp(&other.units))
            .then(self.set_c.is_some().cmp(&other.set_c.is_some()))
            .then(self.rests.is_none().cmp(&other.rests.is_none()))
            .then(self.extras().cmp(&other.extras()))
            .then(self.foam_cm.total_cmp(&other.foam_cm))
            .then(self.sun.cmp(&other.sun))
            .then(self.buried_cm.total_cmp(&other.buried_cm))
            .then(self.rests.cmp(&other.rests))
            .then(self.in_row.cmp(&other.in_row))
            .then(self.water_per_kg.total_cmp(&other.water_per_kg))
            .then(
                self.set_c
                    .unwrap_or(0.0)
                    .total_cmp(&other.set_c.unwrap_or(0.0)),
            )
    }
}

/// Whether a plant that begins `lead` months before the wish counts works in a month.
fn works(wish: &Wish, lead: usize, month: usize) -> bool {
    (0..=lead).any(|ahead| wish.months[(month + ahead) % MONTHS])
}

/// Months before the wish counts at which a plant of it may begin again; none where it would rest too shortly then.
fn leads(wish: &Wish) -> Vec<usize> {
    LEADS
        .into_iter()
        .filter(|lead| wish.builder.pause && longest_rest(wish, *lead) >= LEAST_REST)
        .collect()
}

/// Most months in a row, over the end of the year, in which a plant that begins so early does not work; none where the
/// wish counts in no month.
fn longest_rest(wish: &Wish, lead: usize) -> usize {
    let (mut longest, mut now) = (0, 0);
    for month in (0..2 * MONTHS).map(|m| m % MONTHS) {
        now = if works(wish, lead, month) { 0 } else { now + 1 };
        longest = longest.max(now);
    }
    longest % (2 * MONTHS)
}

/// Everything that the builder could build, and what was left out for lack of water.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    /// The plants, smallest first.
    pub(super) plants: Vec<Plant>,
    /// Whether some thinner mixture was left out because the whole feed would need more water than there is.
    pub(super) short_of_water: bool,
}

/// All plants of a wish, fed up to a share of the line of loading.
pub(super) fn grid(wish: &Wish, line_share: f64) -> Grid {
    let builder = &wish.builder;
    let mut warmths = vec![None];
    if builder.heater != HeaterChoice::None {
        warmths.extend(builder.set_c.iter().copied().map(Some));
    }
    let mut sets = Vec::new();
    for set_c in warmths {
        sets.push((set_c, None));
        sets.extend(leads(wish).into_iter().map(|lead| (set_c, Some(lead))));
    }
    let places = |unit_l: f64| {
        let all = builder.sun.iter().flat_map(|sun| {
            let deep = builder.buried_cm.iter();
            deep.map(|buried_cm| (*sun, *buried_cm))
        });
        all.filter(move |(sun, buried_cm)| draft::stands(unit_l, *sun, *buried_cm))
    };
    let rows: &[bool] = match builder.arrangement {
        Arrangements::Either => &[false, true],
        Arrangements::Parallel => &[false],
        Arrangements::Row => &[true],
    };
    let (waters, short_of_water) = waters(wish);
    let mut plants = Vec::new();
    for &unit_l in &builder.unit_sizes_l {
        for units in 1..=builder.most_units {
            // One unit is neither in a row nor side by side.
            let rows = if units == 1 { &[false][..] } else { rows };
            for &in_row in rows {
                for &foam_cm in &builder.foam_cm {
                    for &(set_c, rests) in &sets {
                        for &(water_per_kg, solids_pct) in &waters {
                            plants.extend(places(unit_l).map(|(sun, buried_cm)| Plant {
                                unit_l,
                                units,
                                in_row,
                                foam_cm,
                                set_c,
                                water_per_kg,
                                solids_pct,
                                line_share,
                                sun,
                                buried_cm,
                                rests,
                            }));
                        }
                    }
                }
            }
        }
    }
    // Own gas pays for thin foam by itself; of bought heat the plan with the least comes first among equals.
    let bought = builder.heater == HeaterChoice::Mains;
    plants.sort_by(|a, b| {
        let thrift = |p: &Plant| match p.set_c {
            Some(set_c) if bought => (f64::from(u8::from(p.rests.is_none())), set_c, -p.foam_cm),
            _ => (0.0, 0.0, 0.0),
        };
        let size = |p: &Plant| (p.unit_l, p.units, p.set_c.is_some());
        if bought && size(a) == size(b) {
            let (x, y) = (thrift(a), thrift(b));
            let by_heat = x.0.total_cmp(&y.0).then(x.1.total_cmp(&y.1));
            let by_heat = by_heat.then(x.2.total_cmp(&y.2));
            return by_heat.then(a.smaller(b));
        }
        a.smaller(b)
    });
    Grid {
        plants,
        short_of_water,
    }
}

/// (water for a kilogram \[L\], solids of the mixture \[%\]) of the thicknesses that are tried. A feed thinner than
/// asked for stays as it is. Water short for the thickest mixture bounds the feed, not the thickness: see
/// [`super::feed`].
fn waters(wish: &Wish) -> (Vec<(f64, f64)>, bool) {
    let solids = wish.composition(None).total_solids;
    let most_kg = (0..MONTHS).map(|m| wish.kg(m)).fold(0.0, f64::max);
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut short = false;
    for (i, pct) in rules().feed_solids_pct.values.iter().enumerate() {
        let water = (solids * 100.0 / pct - 1.0).max(0.0);
        let too_much = wish
            .builder
            .water_l_per_day
            .is_some_and(|limit| water * most_kg > limit * (1.0 + 1e-9));
        short |= too_much;
        if i > 0 && too_much {
            continue;
        }
        if out.iter().all(|(w, _)| (w - water).abs() > 1e-9) {
            out.push((water, 100.0 * solids / (1.0 + water)));
        }
    }
    (out, short)
}
