//! Heat around a vessel: weather, soil, walls, sun.
