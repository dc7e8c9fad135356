//! Figures of the cautions: limits, poison, ventilation, weight of escaped methane.

use crate::table::assert_absolute;
use marshgas::plant::caution::{Place, cautions_at, sulphide_at_lower_limit_ppm};
use marshgas::plant::climate_weight::{
    GWP_20, GWP_100, break_even_share, ch4_kg_per_m3, saved_kg_per_m3, weigh,
};
use marshgas::plant::uses::ventilation_m3_h;

#[test]
fn escaped_methane_weighs_as_carbon_dioxide() {
    // Source: IPCC AR6: 27.0 over 100 years, 79.7 over 20 (from memory); 0.667 kg a m3 at 20 C: 18 and 53 kg (arithmetic).
    assert_absolute(ch4_kg_per_m3(), 0.667, 0.0005, "kg");
    let escaped = weigh(1000.0 * 273.15 / 293.15);
    assert_absolute(escaped.ch4_kg, 0.667, 0.0005, "kg");
    assert_absolute(escaped.co2e_100_kg, 18.0, 0.05, "100 years");
    assert_absolute(escaped.co2e_20_kg, 53.0, 0.2, "20 years");
    // Source: gas replaced saves 1.83 kg a m3; break-even at 9.2 and 3.3 % (arithmetic).
    assert_absolute(saved_kg_per_m3(), 1.83, 0.005, "saved");
    assert_absolute(break_even_share(GWP_100), 0.092, 0.0005, "100 years");
    assert_absolute(break_even_share(GWP_20), 0.033, 0.0005, "20 years");
}

#[test]
fn the_poison_comes_before_the_explosion() {
    // Source: 3000 ppm in gas of 60 %, thinned 1:12 to its lower limit: 250 ppm, above the 100 ppm that endanger life.
    assert_absolute(sulphide_at_lower_limit_ppm(0.6, 3000.0), 250.0, 0.5, "ppm");
}

#[test]
fn fresh_air_for_a_leak() {
    // Source: 25 L of methane an hour want 5 m3/h for a tenth of 5 % (arithmetic).
    assert_absolute(ventilation_m3_h(0.025), 5.0, 1e-9, "m3/h");
}

#[test]
fn cautions_tell_these_figures() {
    let all = |place| {
        cautions_at(place)
            .map(|caution| caution.text.as_str())
            .collect::<Vec<_>>()
            .join(" ")
    };
    for (place, words) in [
        (Place::Store, &["5 and 15 %", "5 kPa", "3 m"][..]),
        (Place::Cleaning, &["250 ppm", "76 % air", "goggles"]),
        (Place::Engine, &["5.7 m3", "carbon monoxide", "licensed"]),
        (
            Place::Residue,
            &["70 C for an hour", "52 C for ten", "17 g"],
        ),
        (Place::Leak, &["18 kg", "53 kg", "9 % (3 %", "soapy water"]),
        (Place::Pressure, &["5 kPa", "gas cylinders", "8 kPa"]),
    ] {
        for word in words {
            assert!(all(place).contains(word), "{place:?}: no {word}");
        }
    }
}
