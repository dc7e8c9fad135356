//! Materials that go into a digester (layer 1): library, composition, mixtures, facts.

mod assumed;
mod class;
mod composition;
mod facts;
mod library;
mod mixture;
pub mod own;
mod particle_size;
mod pools;
mod provenance;
mod records;
pub mod theory;
mod triple;
mod warnings;

pub use class::MaterialClass;
pub use composition::{Acids, Composition, Living, PoolRates, Pools, Range};
pub use facts::{Facts, GasPotential, released_share};
pub use library::{Entry, Kind, Library, Suitability, library};
pub use mixture::{mix, water};
pub use particle_size::PieceSize;
pub use provenance::{Group, How, Provenance, Reference};
pub use warnings::{Sound, Threshold, Warning, WarningKind, thresholds, warnings};
