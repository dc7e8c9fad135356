//! The plant behind the digester: gas cleaning, store, use, residue.
