//! The muster: the modules of a lot, one after the other, with two acts a seating.
//!
//! | file | holds |
//! | --- | --- |
//! | [`keys`] | what somebody at the bench wants, from what the keyboard or a scanner sends: pure |
//! | [`practice`] | modules with hidden faults, to learn by |
//! | [`turn`] | whose turn it is: pure |
//! | [`scan`] | which module a scan means, and what is to be asked before it is taken: pure |

pub mod keys;
pub mod practice;
pub mod scan;
pub mod turn;
