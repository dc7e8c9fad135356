//! (placeholder)
