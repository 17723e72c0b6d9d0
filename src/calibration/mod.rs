//! Calibration of the jig's current channels against a reference meter.
//!
//! [`straight_line`] fits, [`assess`] says whether a channel is linear enough, [`file`] keeps what
//! was found by the jig's serial number, [`correction`] is what a run makes of it, [`recheck`] tells
//! whether the jig has drifted since. Leans on `measure` and `quantity`; knows no wire and no jig.

pub mod assess;
pub mod channel;
pub mod correction;
pub mod file;
pub mod folder;
pub mod point;
pub mod recheck;
pub mod reference;
pub mod straight_line;
