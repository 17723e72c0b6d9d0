//! How often each thing is tried. It follows from the script alone: neither the machine nor its number
//! of processors changes a result.

use crate::script::plan::Plan;

/// A script that takes so long by the jig's clock, or less, is tried as often as is worth while, seconds.
const LONG_S: f64 = 100.0;
/// The fewest tries of anything.
const LEAST: f64 = 3.0;

/// How often each thing is tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Depth {
    /// Sound modules.
    pub sound: u32,
    /// At each of the first severities of a fault.
    pub first: u32,
    /// At each of those where its threshold lies, each time.
    pub close: u32,
    /// How often it is looked where that is.
    pub looks: u32,
}

impl Depth {
    /// The usual one for a plan: a long script is tried less often. `times` is how much deeper.
    pub fn of(plan: &Plan, times: f64) -> Self {
        let scale = times * (LONG_S / plan.duration().as_secs_f64()).min(1.0);
        let runs = |usual: f64| (scale * usual).round().max(LEAST) as u32;
        Depth { sound: runs(200.0), first: runs(6.0), close: runs(8.0), looks: 2 }
    }
}
