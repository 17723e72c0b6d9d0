//! What labels are made of.

pub mod fit;
pub mod svg;
