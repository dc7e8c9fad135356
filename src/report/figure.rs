//! Figures as data: series, bands, shaded spans, axes with units, and the words around them.
//!
//! A figure says what is to be seen, never how it looks: [`Look`] only tells series apart, and the
//! renderers decide about colours, dashes and places.

use jiff::civil::Date;

/// A figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Name for files and anchors: lower-case letters, digits and hyphens.
    pub id: String,
    /// What is shown.
    pub title: String,
    /// How to read it, in one or two sentences.
    pub caption: String,
    /// The figure in words, for those who cannot see it.
    pub alt: String,
    /// The drawing.
    pub plot: Plot,
}

/// Kinds of drawings.
#[derive(Debug, Clone, PartialEq)]
pub enum Plot {
    /// One or more panels over one x axis.
    Panels(Panels),
    /// Named amounts as horizontal bars.
    Amounts(Amounts),
    /// A quantity over two others, as a grid of shaded cells.
    Map(Map),
}

/// A quantity over two others, with a border where something changes for the worse.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// What the shades show.
    pub title: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
    /// Columns of cells from left to right.
    pub x: MapAxis,
    /// Rows of cells from bottom to top.
    pub y: MapAxis,
    /// Cells row after row from the bottom, each row from left to right.
    pub cells: Vec<MapCell>,
    /// What lies beyond the border; none is drawn where it is empty.
    pub beyond: String,
    /// What hatched cells are.
    pub hatched: String,
}

/// One side of a map: a title with its unit and a label for each column or row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapAxis {
    /// Title with the unit.
    pub title: String,
    /// One label for each column or row.
    pub labels: Vec<String>,
}

/// One cell of a map.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MapCell {
    /// The value; the cell is hatched without a finite one.
    pub value: Option<f64>,
    /// Whether it lies beyond the border.
    pub beyond: bool,
}

/// Panels stacked over one x axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Panels {
    /// The shared axis.
    pub x: XAxis,
    /// From top to bottom; at least one.
    pub panels: Vec<Panel>,
    /// Shaded stretches of x, over all panels.
    pub spans: Vec<Span>,
    /// Named instants, over all panels.
    pub markers: Vec<Marker>,
}

/// The x axis.
#[derive(Debug, Clone, PartialEq)]
pub struct XAxis {
    /// Title with the unit; ignored when dates are shown.
    pub title: String,
    /// What the numbers are.
    pub kind: XKind,
    /// First and last value; taken from the data when `None`.
    pub range: Option<(f64, f64)>,
}

/// What the numbers of an x axis are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum XKind {
    /// Days since the start; shown as dates when the start's date is known.
    Days {
        /// Calendar date of day 0.
        start: Option<Date>,
    },
    /// Any other quantity.
    Number(Scale),
}

/// How an axis is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// Equal steps.
    #[default]
    Linear,
    /// Equal ratios; values at or below zero are left out.
    Log,
}

/// One panel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// What the y axis shows.
    pub title: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
    /// How the y axis is divided.
    pub scale: Scale,
    /// Values that the y axis must reach besides the data.
    pub include: Vec<f64>,
    /// Height against the other panels, 1 for a common one.
    pub height: f64,
    /// From back to front.
    pub layers: Vec<Layer>,
}

/// Something drawn in a panel.
#[derive(Debug, Clone, PartialEq)]
pub enum Layer {
    /// Straight lines between points; a point that is not finite makes a gap.
    Line(Series),
    /// Each value held until the next x.
    Step(Series),
    /// The space between the line and zero.
    Area(Series),
    /// Areas on top of each other; all series share their x values.
    Stack(Vec<Series>),
    /// Upright bars on top of each other, each from its x to the next; all series share their x values.
    Columns(Vec<Series>),
    /// Single points, for measured values.
    Dots(Series),
    /// Nested ranges around a middle line.
    Fan(Fan),
    /// A horizontal zone.
    Zone(Zone),
    /// A horizontal limit.
    Rule(Rule),
    /// A stretch of x with a meaning, behind everything.
    Stretch(Stretch),
}

/// A stretch of x with a meaning.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Start.
    pub from: f64,
    /// End.
    pub to: f64,
    /// Name in the legend; stretches of one name share an entry, and one without a name has none.
    pub name: String,
    /// What it means.
    pub tone: Tone,
}

/// Which of the telling-apart looks (hue, dash, mark) a series wears. The same number looks the
/// same in every figure; numbers beyond the renderer's stock start again at 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Look(pub usize);

/// Named points.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Name in the legend.
    pub name: String,
    /// How it is told apart.
    pub look: Look,
    /// (x, y), x rising.
    pub points: Vec<(f64, f64)>,
}

/// Nested ranges, for example percentiles.
#[derive(Debug, Clone, PartialEq)]
pub struct Fan {
    /// Name of the middle line.
    pub name: String,
    /// How it is told apart.
    pub look: Look,
    /// From the widest to the narrowest.
    pub ranges: Vec<FanRange>,
    /// The middle line.
    pub middle: Vec<(f64, f64)>,
}

/// One range of a fan.
#[derive(Debug, Clone, PartialEq)]
pub struct FanRange {
    /// Name in the legend, for example "8 of 10 cases".
    pub name: String,
    /// (x, lower, upper), x rising.
    pub edges: Vec<(f64, f64, f64)>,
}

/// A horizontal zone of meaning; an open side reaches the edge of the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Lower edge.
    pub from: Option<f64>,
    /// Upper edge.
    pub to: Option<f64>,
    /// A short word, drawn beside the panel.
    pub label: String,
    /// What it means.
    pub tone: Tone,
}

/// Meaning of a zone, from best to worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tone {
    /// As it should be.
    Good,
    /// Keep an eye on it.
    Watch,
    /// Do something.
    Act,
    /// Harm is done.
    Danger,
}

/// A horizontal limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Where.
    pub y: f64,
    /// A short word, drawn beside the panel.
    pub label: String,
}

/// A shaded stretch of x.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Start.
    pub from: f64,
    /// End.
    pub to: f64,
    /// What it is; spans of one name share a legend entry.
    pub name: String,
}

/// A named instant.
#[derive(Debug, Clone, PartialEq)]
pub struct Marker {
    /// Where.
    pub x: f64,
    /// A short word, drawn above the first panel.
    pub label: String,
}

/// Named amounts as horizontal bars, in the order given.
#[derive(Debug, Clone, PartialEq)]
pub struct Amounts {
    /// What the axis shows, with the unit.
    pub title: String,
    /// The bars from top to bottom.
    pub bars: Vec<Amount>,
    /// What the axis must reach besides the longest bar.
    pub reach: Option<f64>,
}

/// One bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// What it is.
    pub name: String,
    /// How it is told apart.
    pub look: Look,
    /// Its length in the axis's unit, at least 0.
    pub value: f64,
    /// The number as written at the bar's end.
    pub text: String,
}

impl Panels {
    /// First and last x: the set range, else that of all finite points; `None` without any.
    #[must_use]
    pub fn x_range(&self) -> Option<(f64, f64)> {
        if let Some(range) = self.x.range {
            return Some(range);
        }
        let xs = self.panels.iter().flat_map(|p| &p.layers);
        extent(xs.flat_map(Layer::xs))
    }
}

impl Layer {
    fn xs(&self) -> Vec<f64> {
        match self {
            Self::Line(s) | Self::Step(s) | Self::Area(s) | Self::Dots(s) => {
                s.points.iter().map(|p| p.0).collect()
            }
            Self::Stack(all) | Self::Columns(all) => {
                let points = all.iter().flat_map(|s| &s.points);
                points.map(|p| p.0).collect()
            }
            Self::Fan(fan) => fan.middle.iter().map(|p| p.0).collect(),
            Self::Zone(_) | Self::Rule(_) | Self::Stretch(_) => Vec::new(),
        }
    }

    /// The y values that an axis must reach, with those of stacked series added up.
    pub(crate) fn ys(&self) -> Vec<f64> {
        match self {
            Self::Line(s) | Self::Step(s) | Self::Dots(s) => s.points.iter().map(|p| p.1).collect(),
            Self::Area(s) => with_zero(s.points.iter().map(|p| p.1).collect()),
            Self::Stack(all) | Self::Columns(all) => with_zero(stacked_tops(all)),
            Self::Fan(fan) => {
                let edges = fan.ranges.iter().flat_map(|r| &r.edges);
                let edges = edges.flat_map(|e| [e.1, e.2]);
                edges.chain(fan.middle.iter().map(|p| p.1)).collect()
            }
            Self::Zone(_) | Self::Stretch(_) => Vec::new(),
            Self::Rule(rule) => vec![rule.y],
        }
    }
}

fn with_zero(mut ys: Vec<f64>) -> Vec<f64> {
    ys.push(0.0);
    ys
}

/// Sum over the series at each x; what is not finite counts as nothing.
fn stacked_tops(all: &[Series]) -> Vec<f64> {
    let n = all.iter().map(|s| s.points.len()).max().unwrap_or(0);
    let at = |s: &Series, i: usize| s.points.get(i).map_or(0.0, |p| p.1);
    let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
    (0..n)
        .map(|i| all.iter().map(|s| finite(at(s, i))).sum())
        .collect()
}

/// Smallest and largest finite value; `None` without any.
pub(crate) fn extent(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .into_iter()
        .filter(|v| v.is_finite())
        .fold(None, |range: Option<(f64, f64)>, v| {
            Some(range.map_or((v, v), |(low, high)| (low.min(v), high.max(v))))
        })
}
