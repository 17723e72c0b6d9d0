//! The muster: the modules of a lot, one after the other, with two acts a seating.
//!
//! | file | holds |
//! | --- | --- |
//! | [`keys`] | what somebody at the bench wants, from what the keyboard or a scanner sends: pure |
//! | [`practice`] | modules with hidden faults, to learn by |
//! | [`desk`], `outcomes`, `next` | all stations, and whoever sits at the keyboard: from what happens to orders |
//! | [`asking`], `typed` | keys, scans, and what is asked before something is decided |
//! | [`station`] | one jig, and what stands in it |
//! | [`happening`], [`tried`] | what passes between desk and jigs |
//! | [`told`] | what other programs are told |
//! | [`turn`] | whose turn it is: pure |
//! | [`scan`] | which module a scan means, and what is to be asked before it is taken: pure |

pub mod asking;
pub mod desk;
pub mod happening;
pub mod keys;
mod next;
mod outcomes;
pub mod practice;
pub mod scan;
pub mod station;
pub mod told;
pub mod tried;
pub mod turn;
mod typed;
