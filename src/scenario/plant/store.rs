//! The gas store.

use std::f64::consts::PI;

use super::Desk;
use crate::case::GasSide;
use crate::plant::Standing;
use crate::plant::store::{
    BagSettings, BellSettings, Film, Shell, StoreSettings, film_row, seal_margin, shell_row,
};
use crate::scenario::address::Address;
use crate::scenario::schema::{RawBell, RawFilm, RawGasBag, RawShell, RawStore};

const PA_PER_BAR: f64 = 1e5;
/// Wall of a bell \[mm\], of steel and of anything else. Common practice, no source.
const STEEL_MM: f64 = 1.0;
const OTHER_MM: f64 = 4.0;
/// Water at 20 C \[kg/m3\]. Standard tables.
const WATER_KG_M3: f64 = 998.2;
/// Film of a bag \[mm\]. Common practice, no source.
const FILM_MM: f64 = 0.5;

/// Checks the store.
pub(super) fn store(
    desk: &mut Desk<'_>,
    at: &Address,
    raw: Option<&RawStore>,
    gas: &GasSide,
) -> Option<StoreSettings> {
    match raw {
        None => {
            desk.checker.missing(
                at,
                "Choose one: \"bell\": { \"diameter_cm\": 100, \"skirt_cm\": 100 } or \"bag\": { \"volume_l\": 500 }.",
            );
            None
        }
        Some(RawStore::Bell(raw)) => bell(desk, &at.key("bell"), raw, gas),
        Some(RawStore::Bag(raw)) => bag(desk, &at.key("bag"), raw, gas),
    }
}

fn bell(desk: &mut Desk<'_>, at: &Address, raw: &RawBell, gas: &GasSide) -> Option<StoreSettings> {
    let diameter = desk.needed(
        &at.key("diameter_cm"),
        raw.diameter_cm,
        "Give the inner diameter in centimetres.",
    );
    let skirt = desk.needed(
        &at.key("skirt_cm"),
        raw.skirt_cm,
        "Give the height from rim to roof in centimetres.",
    );
    let (diameter_cm, skirt_cm) = (diameter?, skirt?);
    let shell = match raw.shell {
        Some(RawShell::Steel) => Shell::Steel,
        Some(RawShell::Polyethylene) | None => Shell::Polyethylene,
        Some(RawShell::Pvc) => Shell::Pvc,
        Some(RawShell::Fibreglass) => Shell::Fibreglass,
    };
    let wall = if shell == Shell::Steel {
        STEEL_MM
    } else {
        OTHER_MM
    };
    let practice = Standing::CommonPractice;
    let mut bell = BellSettings {
        diameter_cm,
        skirt_cm,
        wall_mm: desk.or(
            &at.key("wall_mm"),
            raw.wall_mm,
            (wall, "mm"),
            practice,
            "usual sheet or drum",
        ),
        shell_density_kg_m3: desk.or_figure(&at.key("shell"), None, &shell_row(shell).density),
        shell_mass_kg: raw.shell_mass_kg,
        ballast_kg: raw.ballast_kg.unwrap_or(0.0),
        seal_depth_cm: raw.seal_depth_cm.unwrap_or(skirt_cm),
        liquid_density_kg_m3: desk.or(
            &at.key("liquid_density_kg_m3"),
            raw.liquid_density_kg_m3,
            (WATER_KG_M3, "kg/m3"),
            Standing::Derived,
            "water at 20 C, standard tables",
        ),
        margin_cm: desk.or_figure(&at.key("margin_cm"), raw.margin_cm, seal_margin()),
        relief: raw.relief.unwrap_or(false),
    };
    if raw.ballast_kg.is_none() {
        bell = bell.ballasted(gas.back_pressure_bar * PA_PER_BAR);
        desk.assume(
            &at.key("ballast_kg"),
            bell.ballast_kg,
            "kg",
            Standing::Derived,
            "gives gas.store_pressure_mbar at half its rise",
        );
    }
    let settings = StoreSettings::Bell(bell);
    desk.pass(settings.check(&at.to_string()));
    Some(settings)
}

fn bag(desk: &mut Desk<'_>, at: &Address, raw: &RawGasBag, gas: &GasSide) -> Option<StoreSettings> {
    let volume_l = desk.needed(
        &at.key("volume_l"),
        raw.volume_l,
        "Give the volume of the full bag in litres.",
    )?;
    let film = match raw.film {
        Some(RawFilm::Ldpe) => Film::Ldpe,
        Some(RawFilm::Hdpe) => Film::Hdpe,
        Some(RawFilm::SoftPvc) | None => Film::SoftPvc,
        Some(RawFilm::RigidPvc) => Film::RigidPvc,
        Some(RawFilm::NaturalRubber) => Film::NaturalRubber,
        Some(RawFilm::Butyl) => Film::Butyl,
        Some(RawFilm::Epdm) => Film::Epdm,
        Some(RawFilm::Pet) => Film::Pet,
    };
    // A tube of length 3 d: V = 3 pi d3 / 4, A = 3.5 pi d2.
    let d = (4.0 * volume_l.max(0.0) / 1000.0 / (3.0 * PI)).cbrt();
    let settings = StoreSettings::Bag(BagSettings {
        volume_l,
        pressure_pa: raw
            .pressure_pa
            .unwrap_or(gas.back_pressure_bar * PA_PER_BAR),
        area_m2: desk.or(
            &at.key("area_m2"),
            raw.area_m2,
            (3.5 * PI * d * d, "m2"),
            Standing::Assumed,
            "a tube three times as long as wide",
        ),
        thickness_mm: desk.or(
            &at.key("thickness_mm"),
            raw.thickness_mm,
            (FILM_MM, "mm"),
            Standing::CommonPractice,
            "usual tarpaulin",
        ),
        permeability: film_row(film).typical(),
    });
    desk.assume(
        &at.key("film"),
        film_row(film).typical().ch4_barrer,
        "barrer of methane",
        film_row(film).ch4.standing,
        &film_row(film).ch4.source,
    );
    desk.pass(settings.check(&at.to_string()));
    Some(settings)
}
