//! The measures of a label that its parts share.

use crate::label::svg::{Lettering, ORDINARY};

/// Width of a label, in millimetres.
pub const WIDTH_MM: f64 = 84.0;
/// Height of a label, in millimetres.
pub const HEIGHT_MM: f64 = 48.0;

/// Left edge of what is drawn.
pub const LEFT: f64 = 3.0;
/// Right edge of what is drawn.
pub const RIGHT: f64 = WIDTH_MM - 3.0;
/// Where the right-hand column begins.
pub const COLUMN: f64 = 43.0;

/// Bold letters.
pub const BOLD: Lettering = Lettering { bold: true, ..ORDINARY };
