//! Physical quantities as people write them, and where in a file they stand.
//!
//! Stands on the ground. `load` and `script` read their TOML through it: [`source::Source`] reads a
//! file, [`table::Table`] and [`value::Value`] walk its keys, [`parse`] understands what stands in
//! them, and whatever is wrong comes back as one [`located::Located`] sentence.

pub mod located;
pub mod nearest;
pub mod origin;
pub mod parse;
pub mod range;
pub mod source;
pub mod table;
pub mod unit;
pub mod value;
pub mod write;
