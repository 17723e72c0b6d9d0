//! The jig's firmware, the very code for its processor, proved in an emulator.
//!
//! The program tests modules on the emulated jig over a pseudo-terminal; other tests look at the pins.
//! All times are the emulator's. `--nocapture` shows what was measured.

mod ailing;
mod bench;
mod client;
mod cold_start;
mod cut_offs;
mod damaged;
mod electronics;
mod event;
mod held_back;
mod jig;
mod operator;
mod pulses;
mod rig;
mod runs;
mod safety;
mod self_test;
mod silence;
mod tools;
mod unnumbered;
mod usb;
