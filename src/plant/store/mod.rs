//! Gas store: floating bell and bag, their pressure, level, permeation; temperature's effect on the reading.

mod bag;
mod bell;
mod level;
mod material;
mod reading;

pub use bag::{BagSettings, permeation};
pub use bell::{BellSettings, ballast_for_pressure_kg, submerged_weight_share};
pub use level::{Level, Store, StoreHour, StoreSettings};
pub use material::{
    Film, FilmRow, Permeability, Shell, film_row, film_rows, seal_margin, shell_row, shell_rows,
};
pub use reading::{bell_change_per_k, rigid_change_pa_per_k};
