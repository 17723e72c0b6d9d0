//! When a contact truly changed: its first change into a state and its last one, whether or not any
//! conversion fell in between.

use super::window::Window;
use musterbench::signal::target::Clamp;
use musterbench::simulated_bench::truth::Truth;

/// The first and the last change into a contact's final state, microseconds.
#[derive(Clone, Copy, Debug)]
pub struct Ends {
    pub first_us: u64,
    pub last_us: u64,
}

/// The closings of the contact at a clamp.
pub fn closings(window: &Window, truth: &Truth, clamp: Clamp) -> Option<Ends> {
    changes(window, truth, clamp, true)
}

/// Its openings.
pub fn openings(window: &Window, truth: &Truth, clamp: Clamp) -> Option<Ends> {
    changes(window, truth, clamp, false)
}

fn changes(window: &Window, truth: &Truth, clamp: Clamp, to: bool) -> Option<Ends> {
    let (from_us, end_us) = window.whole();
    let mut into = truth
        .contacts
        .iter()
        .filter(|c| (c.output, c.position, c.closed) == (clamp.output, clamp.position, to))
        .map(|c| c.at_us)
        .filter(|at_us| (from_us..end_us).contains(at_us));
    let first_us = into.next()?;
    Some(Ends { first_us, last_us: into.next_back().unwrap_or(first_us) })
}

/// From one instant to another, seconds.
pub fn seconds(from_us: u64, to_us: u64) -> f64 {
    1e-6 * (to_us as f64 - from_us as f64)
}
