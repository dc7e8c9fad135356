//! What can be wrong with a user's own figures.

use thiserror::Error;

/// One figure that cannot be right.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("`{field}` is {value} {unit}: {} (allowed {low} to {high}). {}", cause.words(), cause.mend())]
pub struct OwnProblem {
    /// Name of the figure.
    pub field: &'static str,
    /// What was given, or what follows from it.
    pub value: f64,
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
    /// Unit of all three.
    pub unit: &'static str,
    /// What is wrong.
    pub cause: Cause,
}

impl OwnProblem {
    /// What to do about it.
    #[must_use]
    pub fn mend(&self) -> &'static str {
        self.cause.mend()
    }
}

/// Kinds of faults.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// Not a finite number.
    NotANumber,
    /// Outside what such a material can have.
    OutOfRange,
    /// The shares of the volatile solids do not add up to one.
    SharesDoNotAddUp,
    /// Low, typical and high are not in this order.
    RangeOutOfOrder,
    /// A part is larger than the whole it belongs to.
    PartAboveWhole,
    /// The nitrogen does not fit the protein.
    NitrogenDoesNotFit,
    /// More methane than the organic matter can give.
    AboveTheory,
    /// A pH was given, but the acids leave no room for the carbonate that it implies.
    NoRoomForCarbonate,
}

impl Cause {
    /// What is wrong, for people.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NotANumber => "not a finite number",
            Self::OutOfRange => "outside the possible range",
            Self::SharesDoNotAddUp => "the shares do not add up to one",
            Self::RangeOutOfOrder => "low, typical and high are not in this order",
            Self::PartAboveWhole => "a part is larger than its whole",
            Self::NitrogenDoesNotFit => "the nitrogen does not fit the protein share",
            Self::AboveTheory => "more methane than the organic matter can give",
            Self::NoRoomForCarbonate => "acids outweigh strong ions and ammonium",
        }
    }

    /// What to do about it.
    #[must_use]
    pub fn mend(self) -> &'static str {
        match self {
            Self::NotANumber => "Give a plain number.",
            Self::OutOfRange => "Check the figure and its unit.",
            Self::SharesDoNotAddUp => {
                "Scale the five shares so that they add up to 1; what no analysis names is inert."
            }
            Self::RangeOutOfOrder => "Order the three values.",
            Self::PartAboveWhole => "Check which of the two figures is wrong.",
            Self::NitrogenDoesNotFit => {
                "Protein holds 16 % nitrogen: correct the share, or count urea and uric acid as labile nitrogen."
            }
            Self::AboveTheory => {
                "Check that the figure is methane, not biogas, per kg volatile solids."
            }
            Self::NoRoomForCarbonate => {
                "Lower the acids, raise the strong ions, or leave the pH out if the material holds no carbonate."
            }
        }
    }
}

/// Gathers problems, so that a user sees all of them at once.
#[derive(Debug, Default)]
pub(crate) struct Problems(Vec<OwnProblem>);

impl Problems {
    /// Asks for a finite value within bounds.
    pub(crate) fn within(
        &mut self,
        field: &'static str,
        value: f64,
        (low, high): (f64, f64),
        unit: &'static str,
    ) {
        if !value.is_finite() {
            self.note(field, value, (low, high), unit, Cause::NotANumber);
        } else if !(low..=high).contains(&value) {
            self.note(field, value, (low, high), unit, Cause::OutOfRange);
        }
    }

    /// The same for a figure that may be missing.
    pub(crate) fn within_if(
        &mut self,
        field: &'static str,
        value: Option<f64>,
        bounds: (f64, f64),
        unit: &'static str,
    ) {
        if let Some(value) = value {
            self.within(field, value, bounds, unit);
        }
    }

    /// Records a problem.
    pub(crate) fn note(
        &mut self,
        field: &'static str,
        value: f64,
        (low, high): (f64, f64),
        unit: &'static str,
        cause: Cause,
    ) {
        self.0.push(OwnProblem {
            field,
            value,
            low,
            high,
            unit,
            cause,
        });
    }

    /// All that was found, if anything.
    pub(crate) fn finish(self) -> Result<(), Vec<OwnProblem>> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err(self.0)
        }
    }
}
