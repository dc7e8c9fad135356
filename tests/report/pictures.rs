//! Figures as SVG and PNG.

use crate::fixture::{Shape, bands, outcome};
use marshgas::report::{
    Amount, Amounts, Fan, FanRange, Figure, Layer, Look, Marker, Panel, Panels, Plot, Rule, Scale,
    Series, Span, Theme, Tone, XAxis, XKind, Zone, png, run, svg,
};
use proptest::prelude::*;
use roxmltree::Document;

/// Twenty years of days must still load at once on a telephone.
const LARGEST: usize = 300_000;

fn series(points: Vec<(f64, f64)>) -> Series {
    Series {
        name: "a series".into(),
        look: Look(0),
        points,
    }
}

fn figure(x: XKind, range: Option<(f64, f64)>, panels: Vec<Panel>) -> Figure {
    Figure {
        id: "test".into(),
        title: "A test <&> figure".into(),
        caption: String::new(),
        alt: "Nothing to see.".into(),
        plot: Plot::Panels(Panels {
            x: XAxis {
                title: "x (unit)".into(),
                kind: x,
                range,
            },
            panels,
            spans: vec![Span {
                from: 1.0,
                to: f64::NAN,
                name: "span".into(),
            }],
            markers: vec![
                Marker {
                    x: f64::INFINITY,
                    label: "never".into(),
                },
                Marker {
                    x: 2.0,
                    label: "here".into(),
                },
            ],
        }),
    }
}

fn panel(scale: Scale, layers: Vec<Layer>) -> Panel {
    Panel {
        title: "y".into(),
        unit: "unit".into(),
        scale,
        layers,
        ..Panel::default()
    }
}

/// All coordinates of a drawing lie on its sheet, give or take the width of a line.
pub(crate) fn check(text: &str) {
    let document = Document::parse(text).unwrap();
    let root = document.root_element();
    let sheet: Vec<f64> = root
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|v| v.parse().unwrap())
        .collect();
    let inside = |v: f64, size: f64| v.is_finite() && (-60.0..=size + 60.0).contains(&v);
    for node in document.descendants() {
        let points = node.attribute("points").unwrap_or("");
        for pair in points.split_whitespace() {
            let (x, y) = pair.split_once(',').unwrap();
            assert!(
                inside(x.parse().unwrap(), sheet[2]) && inside(y.parse().unwrap(), sheet[3]),
                "{pair}"
            );
        }
        for (name, size) in [
            ("x", sheet[2]),
            ("cx", sheet[2]),
            ("y", sheet[3]),
            ("cy", sheet[3]),
        ] {
            if let Some(v) = node.attribute(name) {
                assert!(inside(v.parse().unwrap(), size), "{name}={v}");
            }
        }
    }
    // The stand-ins under which the backend carries inks look like `#0?..5A`.
    let mut colours = text.split("\"#").skip(1).filter_map(|rest| rest.get(..6));
    assert!(
        !colours.any(|c| c.starts_with('0') && c.ends_with("5A")),
        "an ink was left without a colour"
    );
}

#[test]
fn standalone_figures_are_whole_in_light_and_dark() {
    for figure in run(&outcome(&Shape::default()), &bands()).figures {
        for theme in [Theme::Light, Theme::Dark] {
            let text = svg(&figure, theme);
            check(&text);
            assert!(text.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""));
            assert!(!text.contains("class=") && !text.contains("var("));
            assert!(text.contains(&format!("<title id=\"{}-title\">", figure.id)));
        }
        assert_ne!(svg(&figure, Theme::Light), svg(&figure, Theme::Dark));
    }
}

#[test]
fn twenty_years_stay_small() {
    let sour = (0..20).map(|i| (i * 365 + 200, i * 365 + 230)).collect();
    let outcome = outcome(&Shape {
        days: 7305,
        sour,
        ..Shape::default()
    });
    for figure in run(&outcome, &bands()).figures {
        let text = svg(&figure, Theme::Light);
        assert!(
            text.len() < LARGEST,
            "{} takes {} bytes",
            figure.id,
            text.len()
        );
        check(&text);
    }
}

#[test]
fn values_that_are_not_numbers_make_gaps() {
    let points = vec![
        (0.0, 1.0),
        (1.0, 2.0),
        (2.0, f64::NAN),
        (3.0, f64::INFINITY),
        (4.0, 2.0),
        (5.0, 1.0),
        (6.0, f64::NAN),
        (7.0, 3.0),
    ];
    let fig = figure(
        XKind::Number(Scale::Linear),
        None,
        vec![panel(Scale::Linear, vec![Layer::Line(series(points))])],
    );
    let text = svg(&fig, Theme::Light);
    check(&text);
    // Two pieces of line in the look's blue, and one mark for the point that stands alone.
    assert_eq!(
        text.matches("<polyline fill=\"none\" stroke=\"#0072B2\"")
            .count(),
        2 + 1,
        "legend and two pieces"
    );
    assert_eq!(text.matches("<circle").count(), 2, "a mark and its rim");
}

#[test]
fn empty_and_hopeless_figures_say_so() {
    for points in [
        vec![],
        vec![(0.0, f64::NAN)],
        vec![(f64::NAN, 1.0)],
        vec![(f64::INFINITY, f64::NEG_INFINITY)],
    ] {
        for scale in [Scale::Linear, Scale::Log] {
            for kind in [XKind::Days { start: None }, XKind::Number(Scale::Log)] {
                let fig = figure(
                    kind,
                    None,
                    vec![panel(scale, vec![Layer::Line(series(points.clone()))])],
                );
                check(&svg(&fig, Theme::Light));
            }
        }
    }
    let fig = figure(XKind::Days { start: None }, None, vec![]);
    check(&svg(&fig, Theme::Light));
    let fig = figure(
        XKind::Days { start: None },
        None,
        vec![panel(Scale::Linear, vec![])],
    );
    assert!(svg(&fig, Theme::Light).contains("no values"));
    let bars = Amounts {
        reach: None,
        title: "kg".into(),
        bars: vec![],
    };
    let fig = Figure {
        plot: Plot::Amounts(bars),
        ..fig
    };
    assert!(svg(&fig, Theme::Light).contains("no values"));
}

#[test]
fn amounts_that_are_not_numbers_have_no_length() {
    let bar = |value| Amount {
        name: "a name that is long enough to need more than one line of its column".into(),
        look: Look(99),
        value,
        text: "text".into(),
    };
    let bars = Amounts {
        reach: None,
        title: "kg".into(),
        bars: vec![bar(3.0), bar(f64::NAN), bar(-1.0), bar(f64::INFINITY)],
    };
    let fig = figure(XKind::Days { start: None }, None, vec![]);
    check(&svg(
        &Figure {
            plot: Plot::Amounts(bars),
            ..fig
        },
        Theme::Dark,
    ));
}

#[test]
fn a_picture_is_a_png_of_twice_the_size_and_not_blank() {
    let document = run(&outcome(&Shape::default()), &bands());
    let bytes = png(&document.figures[0]).unwrap();
    assert_eq!(&bytes[..8], b"\x89PNG\r\n\x1a\n");
    let width = u32::from_be_bytes(bytes[16..20].try_into().unwrap());
    assert_eq!(width, 1520);
    // A blank sheet of this size packs into a few kilobytes; text and lines do not.
    assert!(bytes.len() > 30_000, "{}", bytes.len());
}

fn any_layer() -> impl Strategy<Value = Layer> {
    let value = prop_oneof![8 => -1e6f64..1e6, 1 => prop::num::f64::ANY, 1 => Just(0.0)];
    let points = prop::collection::vec(value, 0..40);
    (points, 0usize..9, 0usize..20).prop_map(|(ys, kind, look)| {
        let points: Vec<_> = (0..).map(f64::from).zip(ys).collect();
        let series = Series {
            name: "s".into(),
            look: Look(look),
            points: points.clone(),
        };
        match kind {
            0 => Layer::Line(series),
            1 => Layer::Step(series),
            2 => Layer::Area(series),
            3 => Layer::Stack(vec![series.clone(), series]),
            4 => Layer::Columns(vec![series]),
            5 => Layer::Dots(series),
            6 => Layer::Rule(Rule {
                y: points.first().map_or(0.0, |p| p.1),
                label: "rule".into(),
            }),
            7 => Layer::Zone(Zone {
                from: points.first().map(|p| p.1),
                to: points.last().map(|p| p.1),
                label: "zone".into(),
                tone: Tone::Act,
            }),
            _ => Layer::Fan(Fan {
                name: "fan".into(),
                look: Look(look),
                ranges: vec![FanRange {
                    name: "r".into(),
                    edges: points.iter().map(|p| (p.0, p.1 - 1.0, p.1 + 1.0)).collect(),
                }],
                middle: points,
            }),
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]
    #[test]
    fn any_figure_is_drawn_on_its_sheet(
        layers in prop::collection::vec(any_layer(), 0..5), log: bool, days: bool, low in -10f64..10.0, high in prop::num::f64::ANY,
    ) {
        let scale = if log { Scale::Log } else { Scale::Linear };
        let kind = if days { XKind::Days { start: Some(jiff::civil::date(2027, 1, 31)) } } else { XKind::Number(scale) };
        let range = high.is_finite().then_some((low, high));
        let fig = figure(kind, range, vec![panel(scale, layers.clone()), panel(Scale::Linear, layers)]);
        check(&svg(&fig, Theme::Light));
    }
}
