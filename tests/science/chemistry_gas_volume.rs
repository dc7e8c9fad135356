//! Norm volumes and meter readings.

use crate::table::{assert_relative, rows};
use marshgas::chemistry::{dry_volume_at, moist_volume, norm_dry_from_wet, norm_wet_from_wet};
use marshgas::units::{ATM_BAR, kelvin};

#[test]
fn volumes_meet_the_table() {
    for row in rows("chemistry/gas_volume.csv") {
        let volume = row.number("V_m3");
        let t_k = row.kelvin("T_C");
        let p_bar = row.number("p_abs_kPa") / 100.0;
        let humidity = row.number("RH");

        let dry = norm_dry_from_wet(volume, t_k, p_bar, humidity);
        assert_relative(dry, row.number("V_N_dry_m3"), 1e-4, "dry");
        let wet = norm_wet_from_wet(volume, t_k, p_bar);
        assert_relative(wet, row.number("V_N_wet_m3"), 1e-4, "wet");
        let at_15 = dry_volume_at(volume, t_k, p_bar, humidity, kelvin(15.0), ATM_BAR);
        assert_relative(at_15, row.number("V_15_dry_m3"), 1e-4, "at 15 C");

        let reading = moist_volume(row.number("V_N_dry_m3"), t_k, p_bar, humidity).unwrap();
        assert_relative(reading, volume, 1e-4, "reading");
        assert_relative(
            moist_volume(dry, t_k, p_bar, humidity).unwrap(),
            volume,
            1e-14,
            "back",
        );
    }
}

#[test]
fn a_norm_volume_of_dry_gas_is_itself() {
    assert_relative(
        norm_dry_from_wet(2.5, kelvin(0.0), ATM_BAR, 0.0),
        2.5,
        1e-15,
        "norm",
    );
}

#[test]
fn vapour_alone_leaves_no_dry_gas() {
    // At 90 C water boils below 0.7 bar.
    assert_eq!(norm_dry_from_wet(1.0, kelvin(90.0), 0.5, 1.0), 0.0);
    assert_eq!(moist_volume(1.0, kelvin(90.0), 0.5, 1.0), None);
}
