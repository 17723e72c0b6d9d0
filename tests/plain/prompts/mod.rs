//! The program at a real terminal: what it asks, what it takes for an answer, and its last screen.

mod asked;
mod calibrated;
mod every_summary;
pub mod jig;
mod lamp;
mod last_screen;
mod muster;
mod sampled;
mod search;

pub use crate::kit::terminal;

/// Somebody stops at each of three questions, by `q` and by Ctrl-C. All at the same time: what takes long is
/// that people and jigs are waited for.
fn at_each_of_three(stopped_at: impl Fn(usize, &str) + Sync) {
    std::thread::scope(|scope| {
        for question in 0..3 {
            for stop in ["q\n", "\u{3}"] {
                let stopped_at = &stopped_at;
                scope.spawn(move || stopped_at(question, stop));
            }
        }
    });
}
