//! Which fault it is: what a run showed, against runs on simulated benches.
//!
//! Leans on `run`, `finds` and the simulated bench. From the bottom up:
//!
//! | file | holds |
//! | --- | --- |
//! | [`seen`] | what a run showed, in a form that runs can be compared in |
//! | [`cause`] | what may be the matter, and how severe |
//! | [`bench`] | runs on simulated benches, each made once |
//! | [`shrinkage`] | a covariance from fewer runs than there are readings |
//! | [`sound`] | how sound modules scatter |
//! | [`likelihood`] | how well a cause explains what was seen |
//! | [`odds`] | how often what is the matter, beforehand |
//! | [`places`] | where a fault is looked for first |
//! | [`search`] | all causes at few severities, then the best of them closer |
//! | [`posterior`] | how likely each cause is, and none of them |
//! | [`settling`] | which one test would settle it |
//! | [`reasoned`] | all of it, as a run asks for it |

pub mod bench;
pub mod cause;
pub mod likelihood;
pub mod odds;
pub mod places;
pub mod posterior;
pub mod reasoned;
pub mod search;
pub mod seen;
pub mod settling;
pub mod shrinkage;
pub mod sound;
