//! Materials that go into a digester (layer 1): library, composition, mixtures, facts.

mod composition;

pub use composition::{Acids, Composition, Living, PoolRates, Pools, Range};
