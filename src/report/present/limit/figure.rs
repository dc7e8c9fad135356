//! The branch as a figure: pH and acids over the parameter, with the limit, today and the slack.

use super::{today, with_unit};
use crate::report::figure::{
    Figure, Layer, Look, Marker, Panel, Panels, Plot, Scale, Series, Stretch, Tone, XAxis, XKind,
};
use crate::study::limit::{LimitOutcome, Over, Piece, PieceKind, Practice, SteadyPoint};

/// Kinds with name and look.
const KINDS: [(PieceKind, &str, Look); 3] = [
    (PieceKind::Healthy, "healthy, stable", Look(0)),
    (PieceKind::Unstable, "watershed, unstable", Look(1)),
    (PieceKind::Failed, "sour or without gas, stable", Look(7)),
];
/// The drawing reaches this far beyond limit and today.
const BEYOND: f64 = 1.5;

/// All figures.
pub(super) fn figures(o: &LimitOutcome) -> Vec<Figure> {
    let now = today(o);
    let limit = o.limit.map(|l| l.at.p);
    let x = match o.over {
        Over::Feed => "Feed of the scenario's mixture, without its water (kg/d)",
        Over::Retention => "Retention time (d)",
        Over::Temperature => "Temperature (\u{b0}C)",
    };
    let range = match (o.over, limit) {
        (Over::Feed, Some(l)) => Some((0.0, BEYOND * l.max(now))),
        (Over::Feed, None) => Some((0.0, o.searched_to)),
        (Over::Retention, Some(l)) => Some((0.0, BEYOND * l.max(now))),
        (Over::Retention, None) => Some((0.0, BEYOND * now)),
        (Over::Temperature, _) => None,
    };
    let mut markers = vec![Marker {
        x: now,
        label: "today".into(),
    }];
    let mut slack: Option<(f64, f64)> = None;
    let mut practice = None;
    if let Some(l) = o.limit {
        markers.push(Marker {
            x: l.at.p,
            label: "turns".into(),
        });
        if l.slack > 0.0 {
            slack = Some((now, l.at.p));
        }
    }
    // Where practice ends, as far as the drawing reaches.
    if !o.feed.is_stream {
        let times = |p: &Practice| p.loading[0] / o.feed.loading_kg_vs_m3_d;
        let drawn = |x: f64| range.is_none_or(|(low, high)| (low..=high).contains(&x));
        let at = o.practice.iter().filter_map(|p| match o.over {
            Over::Feed => Some(times(p) * o.feed.kg_per_day),
            Over::Retention => Some(o.feed.retention_d / times(p)),
            Over::Temperature => None,
        });
        let at: Vec<f64> = at.filter(|x| drawn(*x)).collect();
        practice = at.first().copied();
        markers.extend(at.into_iter().map(|x| Marker {
            x,
            label: "practice ends".into(),
        }));
    }
    let panel = |title: &str, unit: &str, of: fn(&SteadyPoint) -> f64| Panel {
        title: title.into(),
        unit: unit.into(),
        height: 1.0,
        layers: KINDS
            .iter()
            .filter_map(|(kind, name, look)| {
                let points = course(&o.pieces, *kind, range, of);
                (!points.is_empty()).then(|| {
                    Layer::Line(Series {
                        name: (*name).into(),
                        look: *look,
                        points,
                    })
                })
            })
            .collect(),
        ..Panel::default()
    };
    let turns = o.limit.map_or_else(
        || format!("no end is met up to {}", with_unit(o.over, o.searched_to)),
        |l| format!("the healthy line ends at {}", with_unit(o.over, l.at.p)),
    );
    vec![Figure {
        id: "branch".into(),
        title: "Where the lasting state ends".into(),
        caption: "Each point is a state that lasts under the averaged feed. The tank returns to a stable one after a \
                  small disturbance. The unstable line is the watershed: beyond it the tank runs away to the sour side. \
                  Practice ends where the loading reaches what plants of this kind are not fed beyond."
            .into(),
        alt: format!(
            "pH, volatile acids and methane of the steady states; {turns}, today is {}.",
            with_unit(o.over, now)
        ),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: x.into(),
                kind: XKind::Number(Scale::Linear),
                range,
            },
            panels: [
                panel("pH", "", |p| p.ph),
                panel("Volatile acids", "g/L", |p| p.acids_mg_l / 1000.0),
                panel("Methane", "norm L/d", |p| p.ch4_nl_d),
            ]
            .into_iter()
            .enumerate()
            .map(|(i, mut panel)| {
                let stretches = slack.map_or_else(Vec::new, |slack| parted(slack, practice));
                let drawn = stretches.into_iter().map(|(from, to, name, tone)| {
                    Layer::Stretch(Stretch {
                        from,
                        to,
                        // Its name stands once, above the first panel.
                        name: if i == 0 { name.into() } else { String::new() },
                        tone,
                    })
                });
                panel.layers.splice(0..0, drawn);
                panel
            })
            .collect(),
            spans: Vec::new(),
            markers,
        }),
    }]
}

/// The slack, parted where practice ends: (from, to, name, tone).
fn parted(
    (today, limit): (f64, f64),
    practice: Option<f64>,
) -> Vec<(f64, f64, &'static str, Tone)> {
    let sorted = |a: f64, b: f64| (a.min(b), a.max(b));
    let (low, high) = sorted(today, limit);
    match practice {
        None => vec![(low, high, "slack", Tone::Good)],
        Some(end) if (low..=high).contains(&end) => {
            let (near, far) = (sorted(today, end), sorted(end, limit));
            vec![
                (near.0, near.1, "slack to practice", Tone::Good),
                (far.0, far.1, "slack of the model only", Tone::Watch),
            ]
        }
        // Today is beyond practice already, or practice ends beyond the limit.
        Some(end) if (end - today) * (limit - today) < 0.0 => {
            vec![(low, high, "slack of the model only", Tone::Watch)]
        }
        Some(_) => vec![(low, high, "slack", Tone::Good)],
    }
}

/// All points of one kind with x rising, gaps between stretches.
fn course(
    pieces: &[Piece],
    kind: PieceKind,
    range: Option<(f64, f64)>,
    of: fn(&SteadyPoint) -> f64,
) -> Vec<(f64, f64)> {
    let (low, high) = range.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
    let mut out: Vec<(f64, f64)> = Vec::new();
    for piece in pieces.iter().filter(|p| p.kind == kind) {
        for stretch in monotone(&piece.points) {
            let mut line: Vec<(f64, f64)> = stretch
                .iter()
                .filter(|p| (low..=high).contains(&p.p))
                .map(|p| (p.p, of(p)))
                .collect();
            if line.len() < 2 {
                continue;
            }
            if line[0].0 > line[line.len() - 1].0 {
                line.reverse();
            }
            if !out.is_empty() {
                out.push((f64::NAN, f64::NAN));
            }
            out.extend(line);
        }
    }
    out
}

/// Stretches in which the parameter runs one way; neighbours share a point.
fn monotone(points: &[SteadyPoint]) -> Vec<&[SteadyPoint]> {
    let mut out = Vec::new();
    let mut start = 0;
    for i in 1..points.len().saturating_sub(1) {
        let turns = (points[i].p - points[i - 1].p) * (points[i + 1].p - points[i].p) < 0.0;
        if turns {
            out.push(&points[start..=i]);
            start = i;
        }
    }
    out.push(&points[start..]);
    out
}
