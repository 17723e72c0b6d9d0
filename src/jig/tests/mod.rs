//! The brain over a small board whose clock and currents are scripted.

mod any_bytes;
mod button;
mod captures;
mod feed;
mod lines;
mod overrange;
mod rig;
mod safety;
mod sealed;
mod switches;
mod turns;
