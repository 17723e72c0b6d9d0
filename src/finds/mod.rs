//! What a script finds: it is carried out on simulated benches, sound and with every fault.
//!
//! Leans on `run` and the simulated bench. From the bottom up:
//!
//! | file | holds |
//! | --- | --- |
//! | [`trial_run`] | one run on one drawn bench, and what it showed |
//! | [`share`] | so many of so many, and what that leaves open |
//! | [`threshold`] | from which severity on nearly all are found |
//! | [`spread`] | runs side by side on all processors, the same whatever their number |
//! | [`depth`] | how often each thing is tried |
//! | [`severities`] | one fault at one severity after the other |
//! | [`steps`] | which lines of the script find it |
//! | [`survey`] | all of it |
//! | [`shorten`] | a script that finds the same in less time |

pub mod depth;
pub mod severities;
pub mod share;
pub mod shorten;
pub mod spread;
pub mod steps;
pub mod survey;
pub mod threshold;
pub mod trial_run;
