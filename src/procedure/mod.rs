//! What is done on a bench, written once: for a run, for a roll-call, for a calibration.
//!
//! Leans on `link`, `signal` and `script`, on `calibration` for what corrects readings, and on
//! `measure` for records. A [`bench::Bench`] is the jig in the hands of a procedure. The words that
//! the jig is given stand in [`orders`]; what keeps a procedure from its end is a
//! [`error::BenchError`].
//!
//! | file | holds |
//! | --- | --- |
//! | [`supplies`], [`loads`] | feed, load supply, and which loads are connected |
//! | [`commands`] | commands and contacts that move outputs |
//! | [`captures`], [`samples`] | captures, and the records made of them |
//! | [`seat`] | whether a module is seated, and the start button |
//! | [`self_test`] | whether the jig is sound, and its zeros |
//! | [`positions`] | where outputs stand |
//! | [`references`] | reference resistors and known loads, past any module |
//! | [`calibration_points`] | the points of a calibration, each with a reference resistor |
//! | [`simulated_set_up`] | what stands on a simulated bench, from sheets |
//! | [`orders`], [`numbers`] | what is said to the jig, and the values that it answers |
//! | [`channels`] | what is known of a jig's channels |

pub mod bench;
pub mod calibration_points;
pub mod captures;
pub mod channels;
pub mod commands;
pub mod error;
pub mod loads;
pub mod numbers;
pub mod orders;
pub mod positions;
pub mod references;
pub mod samples;
pub mod seat;
pub mod self_test;
pub mod simulated_set_up;
pub mod supplies;
