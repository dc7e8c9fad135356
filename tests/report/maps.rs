//! Maps: shaded cells, a border, hatched cells.

use crate::pictures::check;
use marshgas::report::{Figure, Map, MapAxis, MapCell, Plot, Theme, svg};
use proptest::prelude::*;

fn map(columns: usize, rows: usize, cells: Vec<MapCell>) -> Figure {
    let side = |n: usize| MapAxis {
        title: "side <&> (unit)".into(),
        labels: (0..n).map(|i| format!("{i}.25")).collect(),
    };
    Figure {
        id: "map".into(),
        title: "A map".into(),
        caption: String::new(),
        alt: "Nothing to see.".into(),
        plot: Plot::Map(Map {
            title: "value".into(),
            unit: "unit".into(),
            x: side(columns),
            y: side(rows),
            cells,
            beyond: "lost".into(),
            hatched: "no result".into(),
        }),
    }
}

fn cell(value: f64, beyond: bool) -> MapCell {
    MapCell {
        value: Some(value),
        beyond,
    }
}

#[test]
fn border_and_hatching_are_drawn_and_explained_only_where_there_are_any() {
    let plain = svg(
        &map(2, 1, vec![cell(1.0, false), cell(2.0, false)]),
        Theme::Light,
    );
    assert!(
        !plain.contains("border to") && !plain.contains("no result") && !plain.contains("<pattern")
    );
    let lost = svg(
        &map(2, 1, vec![cell(1.0, true), cell(2.0, false)]),
        Theme::Light,
    );
    assert!(lost.contains("border to lost"));
    let open = svg(
        &map(2, 1, vec![MapCell::default(), cell(2.0, false)]),
        Theme::Light,
    );
    assert!(open.contains("no result") && open.contains("<pattern"));
}

#[test]
fn the_first_row_of_cells_lies_at_the_bottom() {
    let text = svg(
        &map(1, 2, vec![cell(111.0, false), cell(222.0, false)]),
        Theme::Light,
    );
    let document = roxmltree::Document::parse(&text).unwrap();
    let y = |said: &str| -> f64 {
        let node = document
            .descendants()
            .find(|n| n.is_element() && n.text().is_some_and(|t| t.trim() == said))
            .unwrap();
        node.attribute("y").unwrap().parse().unwrap()
    };
    assert!(y("111") > y("222"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_map_stays_on_its_sheet(
        columns in 1usize..40,
        rows in 1usize..40,
        values in prop::collection::vec((prop::option::of(prop::num::f64::ANY), any::<bool>()), 0..200),
    ) {
        let cells: Vec<MapCell> = values
            .into_iter()
            .map(|(value, beyond)| MapCell { value, beyond })
            .collect();
        let figure = map(columns, rows, cells);
        for theme in [Theme::Light, Theme::Dark] {
            check(&svg(&figure, theme));
        }
    }
}
