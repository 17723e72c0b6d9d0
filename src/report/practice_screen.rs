//! What the screen shows where somebody learns by modules with hidden faults.

use super::finding::Finding;
use super::large;
use super::screen::Screen;
use super::wrap::{fit, wrap};
use crate::judge::reading::Verdict;
use crate::muster::practice::MOST;

/// How far somebody is.
#[derive(Clone, Copy, Debug)]
pub struct At {
    /// The number of the module, from 1.
    pub number: usize,
    /// Of how many.
    pub of: usize,
    /// The points so far.
    pub points: u32,
}

/// How a run came out.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The verdict.
    pub verdict: Verdict,
    /// What was found, and what to do.
    pub finding: Finding,
}

/// The keys, in a line.
const KEYS: &str = "Enter put it away   x reject   h hold   r seat it again   q stop";

/// The verdict, and what somebody may do now. Lines ended.
pub fn verdict(tried: &Tried, at: At, screen: Screen) -> String {
    let width = usize::from(screen.width);
    let head = format!("Practice: module {} of {}, {} points so far", at.number, at.of, at.points);
    let mut text = fit(&head, width) + "\n";
    text.push_str(&(screen.warning("SIMULATED") + ": nothing is recorded\n\n"));
    text.push_str(&large::verdict(tried.verdict, screen));
    text.push_str(&(wrap(&tried.finding.sentence, width, 0) + "\n"));
    if tried.verdict != Verdict::Pass {
        text.push_str(&(wrap(&tried.finding.to_do, width, 0) + "\n"));
    }
    text + "\nREADY  what do you do with it?\n" + &fit(KEYS, width) + "\n"
}

/// The score. Lines ended.
pub fn end(modules: usize, points: u32, seed: u64) -> String {
    let most = MOST * u32::try_from(modules).unwrap_or(u32::MAX / MOST);
    format!(
        "SIMULATED practice: {points} of {most} points. The same modules again: --seed {seed}\n"
    )
}
