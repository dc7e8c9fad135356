//! Ranges of a sweep, read from short text.
//!
//! | text | means |
//! |---|---|
//! | `2..8 in 7` | 7 values in equal steps, both ends among them |
//! | `1..100 in 9 geometric` | 9 values in equal ratios, both ends among them |
//! | `10, 20, 30` | these values |
//! | `10` | this value |
//!
//! Values always grow, so that whatever is drawn or searched over them needs no sorting.

use std::fmt;
use std::str::FromStr;

/// Most points of a sweep: of one axis, and of all its axes together.
pub const MAX_POINTS: usize = 20_000;

/// The values a quantity takes in a sweep, in the unit of the quantity.
#[derive(Debug, Clone, PartialEq)]
pub enum Axis {
    /// Equal steps.
    Linear {
        /// First value.
        from: f64,
        /// Last value, above the first.
        to: f64,
        /// How many, 2..=[`MAX_POINTS`].
        count: usize,
    },
    /// Equal ratios.
    Geometric {
        /// First value, above 0.
        from: f64,
        /// Last value, above the first.
        to: f64,
        /// How many, 2..=[`MAX_POINTS`].
        count: usize,
    },
    /// Given one by one, growing, 1..=[`MAX_POINTS`] of them.
    List(Vec<f64>),
}

/// What is wrong with a range.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AxisError {
    /// Nothing given.
    #[error("the range is empty; write it like `2..8 in 7` or `10,20,30`")]
    Empty,
    /// A value or an end is missing.
    #[error("`{0}` lacks a value; write a range like `2..8 in 7` or a list like `10,20,30`")]
    Gap(String),
    /// Not a number.
    #[error("`{0}` is not a number; write it like 2.5 or 1e-3, with a point")]
    NotANumber(String),
    /// Two numbers with a dash between them.
    #[error("`{text}` is no number; write a range as `{from}..{to} in 7`")]
    Dash {
        /// As given.
        text: String,
        /// Number before the dash.
        from: f64,
        /// Number after it.
        to: f64,
    },
    /// Not a finite number.
    #[error("`{0}` is not a finite number")]
    NotFinite(String),
    /// A decimal comma in a range.
    #[error("`{0}` has a comma; write decimals with a point, and do not mix a range with a list")]
    Comma(String),
    /// Two ends and no number of values.
    #[error("the range does not say how many values; write `{0} in 7`")]
    NoCount(String),
    /// A number of values that is no whole number.
    #[error("`{0}` is no number of values; write a whole number, as in `2..8 in 7`")]
    BadCount(String),
    /// No values.
    #[error("a range of 0 values holds nothing; ask for 2 or more")]
    ZeroCount,
    /// One value between two ends.
    #[error("one value cannot hold both ends; write the value alone, or ask for 2 or more")]
    OneValue,
    /// More values than a sweep may have.
    #[error("{0} points are too many; a sweep takes up to {MAX_POINTS}, so ask for fewer values")]
    TooMany(String),
    /// A word after the number of values that means nothing.
    #[error("`{0}` is not understood after the number of values; write `geometric` or nothing")]
    Word(String),
    /// Ends in the wrong order.
    #[error("the range runs backwards; write `{to}..{from}`")]
    Reversed {
        /// First value as given.
        from: f64,
        /// Last value as given.
        to: f64,
    },
    /// Both ends the same.
    #[error("both ends are {0}; write the value alone")]
    NoWidth(f64),
    /// Equal ratios from zero or below.
    #[error("equal ratios cannot begin at {0}; begin above 0, or leave out `geometric`")]
    GeometricStart(f64),
    /// Ends whose distance or ratio is no finite number.
    #[error("{from} and {to} are too far apart")]
    TooWide {
        /// First value.
        from: f64,
        /// Last value.
        to: f64,
    },
    /// Ends so close that neighbours are the same number.
    #[error("{from} and {to} are too close for {count} different values; ask for fewer")]
    TooFine {
        /// First value.
        from: f64,
        /// Last value.
        to: f64,
        /// How many.
        count: usize,
    },
    /// A list that does not grow.
    #[error("{next} comes after {before}; write a list in growing order, each value once")]
    NotGrowing {
        /// Earlier value.
        before: f64,
        /// The value after it.
        next: f64,
    },
}

impl Axis {
    /// The values, growing. Each comes from its index alone, so errors do not add up, and both ends are exact. Those
    /// between are rounded, by less than 1e-13 of the larger end for equal steps and by less than 1e-11 of themselves for
    /// equal ratios, so that 0.3 is 0.3, 0 is 0, and the last digits are the same on every machine.
    ///
    /// # Errors
    /// What is wrong with the range.
    pub fn values(&self) -> Result<Vec<f64>, AxisError> {
        match *self {
            Self::Linear { from, to, count } => {
                check_ends(from, to, count)?;
                let last = (count - 1) as f64;
                if !((to - from) * last).is_finite() {
                    return Err(AxisError::TooWide { from, to });
                }
                let places = decimals(from, to);
                spread(from, to, count, |index| {
                    let value = from + (to - from) * index / last;
                    format!("{value:.places$}")
                })
            }
            Self::Geometric { from, to, count } => {
                check_ends(from, to, count)?;
                if from <= 0.0 {
                    return Err(AxisError::GeometricStart(from));
                }
                let ratio = to / from;
                if !ratio.is_finite() {
                    return Err(AxisError::TooWide { from, to });
                }
                let last = (count - 1) as f64;
                let places = GEOMETRIC_DIGITS - 1;
                spread(from, to, count, |index| {
                    let value = from * libm::pow(ratio, index / last);
                    format!("{value:.places$e}")
                })
            }
            Self::List(ref values) => check_list(values).map(|()| values.clone()),
        }
    }
}

/// Number of points of all axes together.
///
/// # Errors
/// What is wrong with one of them, [`AxisError::Empty`] for none, [`AxisError::TooMany`] above [`MAX_POINTS`].
pub fn grid_points(axes: &[Axis]) -> Result<usize, AxisError> {
    if axes.is_empty() {
        return Err(AxisError::Empty);
    }
    let mut points: usize = 1;
    for axis in axes {
        points = points.saturating_mul(axis.values()?.len());
    }
    if points > MAX_POINTS {
        return Err(AxisError::TooMany(points.to_string()));
    }
    Ok(points)
}

fn check_ends(from: f64, to: f64, count: usize) -> Result<(), AxisError> {
    for end in [from, to] {
        if !end.is_finite() {
            return Err(AxisError::NotFinite(end.to_string()));
        }
    }
    match count {
        0 => return Err(AxisError::ZeroCount),
        1 => return Err(AxisError::OneValue),
        2..=MAX_POINTS => {}
        _ => return Err(AxisError::TooMany(count.to_string())),
    }
    if from > to {
        return Err(AxisError::Reversed { from, to });
    }
    if from == to {
        return Err(AxisError::NoWidth(from));
    }
    Ok(())
}

fn check_list(values: &[f64]) -> Result<(), AxisError> {
    if values.is_empty() {
        return Err(AxisError::Empty);
    }
    if values.len() > MAX_POINTS {
        return Err(AxisError::TooMany(values.len().to_string()));
    }
    if let Some(value) = values.iter().find(|value| !value.is_finite()) {
        return Err(AxisError::NotFinite(value.to_string()));
    }
    match values.windows(2).find(|pair| pair[0] >= pair[1]) {
        Some(pair) => Err(AxisError::NotGrowing {
            before: pair[0],
            next: pair[1],
        }),
        None => Ok(()),
    }
}

/// Values of the indices, those between the ends as the rounded text that `inner` makes of them.
fn spread(
    from: f64,
    to: f64,
    count: usize,
    inner: impl Fn(f64) -> String,
) -> Result<Vec<f64>, AxisError> {
    let mut values = vec![from];
    for index in 1..count - 1 {
        // Adding 0 makes 0 of -0.
        values.push(number(&inner(index as f64))? + 0.0);
    }
    values.push(to);
    if values.windows(2).all(|pair| pair[0] < pair[1]) {
        Ok(values)
    } else {
        Err(AxisError::TooFine { from, to, count })
    }
}

/// Digits kept of equal steps, counted from the first digit of the larger end: the sum is good to about 15.
const LINEAR_DIGITS: i32 = 14;
/// Digits kept of equal ratios: over the widest range of floats the power is good to about 13.
const GEOMETRIC_DIGITS: usize = 12;

/// Decimal places that keep [`LINEAR_DIGITS`] of the larger end.
fn decimals(from: f64, to: f64) -> usize {
    let larger = from.abs().max(to.abs());
    let before_the_point = libm::floor(libm::log10(larger)) as i32 + 1;
    usize::try_from(LINEAR_DIGITS - before_the_point).unwrap_or(0)
}

impl FromStr for Axis {
    type Err = AxisError;

    fn from_str(text: &str) -> Result<Self, AxisError> {
        let text = text.trim();
        let axis = match text.split_once("..") {
            Some((from, rest)) => range(text, from.trim(), rest.trim())?,
            None if text.is_empty() => return Err(AxisError::Empty),
            None => {
                let values = text.split(',').map(|item| value(text, item));
                Self::List(values.collect::<Result<_, _>>()?)
            }
        };
        axis.values()?;
        Ok(axis)
    }
}

fn range(text: &str, from: &str, rest: &str) -> Result<Axis, AxisError> {
    if text.contains(',') {
        return Err(AxisError::Comma(text.to_owned()));
    }
    let mut words = rest.split_whitespace();
    let from = value(text, from)?;
    let to = value(text, words.next().unwrap_or_default())?;
    let count = match (words.next(), words.next()) {
        (Some("in"), Some(count)) => count_of(count)?,
        // Growing, so that what is offered is no fault again.
        _ => {
            return Err(AxisError::NoCount(format!(
                "{}..{}",
                from.min(to),
                from.max(to)
            )));
        }
    };
    let shape = words.next();
    if let Some(word) = words.next() {
        return Err(AxisError::Word(word.to_owned()));
    }
    match shape {
        None => Ok(Axis::Linear { from, to, count }),
        Some("geometric") => Ok(Axis::Geometric { from, to, count }),
        Some(word) => Err(AxisError::Word(word.to_owned())),
    }
}

/// A value as the user wrote it somewhere in `whole`.
fn value(whole: &str, text: &str) -> Result<f64, AxisError> {
    match text.trim() {
        "" => Err(AxisError::Gap(whole.to_owned())),
        text => number(text),
    }
}

fn number(text: &str) -> Result<f64, AxisError> {
    let number: f64 = text
        .parse()
        .map_err(|_| dashed(text).unwrap_or_else(|| AxisError::NotANumber(text.to_owned())))?;
    if number.is_finite() {
        Ok(number)
    } else {
        Err(AxisError::NotFinite(text.to_owned()))
    }
}

/// What is meant where two numbers have a dash between them.
fn dashed(text: &str) -> Option<AxisError> {
    let dash = text.char_indices().skip(1).find(|(_, c)| *c == '-')?.0;
    let (from, to) = (text.get(..dash)?, text.get(dash + 1..)?);
    let (from, to): (f64, f64) = (from.trim().parse().ok()?, to.trim().parse().ok()?);
    (from < to && to.is_finite()).then(|| AxisError::Dash {
        text: text.to_owned(),
        from,
        to,
    })
}

fn count_of(text: &str) -> Result<usize, AxisError> {
    let digits = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits {
        return Err(AxisError::BadCount(text.to_owned()));
    }
    // Digits alone that still do not fit are a number, only far too large.
    text.parse()
        .map_err(|_| AxisError::TooMany(text.to_owned()))
}

/// The text that reads back as the same axis.
impl fmt::Display for Axis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Linear { from, to, count } => write!(f, "{from}..{to} in {count}"),
            Self::Geometric { from, to, count } => write!(f, "{from}..{to} in {count} geometric"),
            Self::List(values) => {
                for (index, value) in values.iter().enumerate() {
                    let comma = if index == 0 { "" } else { "," };
                    write!(f, "{comma}{value}")?;
                }
                Ok(())
            }
        }
    }
}
