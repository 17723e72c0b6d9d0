//! Whose fault it looks like, and what to do, in plain words.

use crate::judge::reading::{Blame, Verdict};
use crate::run::event::{Ending, Outcome};

/// Whose fault it looks like.
pub fn suspect(blame: Blame) -> &'static str {
    match blame {
        Blame::Module => "the module itself",
        Blame::Setting => "a setting: a switch, the slider, or the feed the wrong way round",
        Blame::Lead => "a lead or clamp between the jig and the module, not the module",
        Blame::Load => "a load, not the module",
        Blame::Jig => "the jig, not the module",
        Blame::Unsure => "cannot be told from these readings",
    }
}

/// What to do next.
pub fn next_step(outcome: &Outcome, is_simulated: bool) -> &'static str {
    if outcome.ending != Ending::Complete {
        return "put that right, then test the module again; what was read so far is kept";
    }
    match (outcome.verdict, outcome.blame) {
        (Verdict::Pass, _) if is_simulated => "nothing; it tells nothing about a real module",
        (Verdict::Pass, _) => "nothing; the module can go into service",
        (_, Some(Blame::Module)) => {
            "turn the power off, seat the module again and test it once more; \
             reject it only if it fails again in the same way"
        }
        (_, Some(Blame::Setting)) => {
            "turn the power off, check switches, slider and the two feed wires, then test again"
        }
        (_, Some(Blame::Lead)) => {
            "turn the power off, check the leads and clamps named above, then test again"
        }
        (_, Some(Blame::Load)) => {
            "turn the power off, let hot lamps cool, check the loads named above, then test again"
        }
        (_, Some(Blame::Jig)) => {
            "test a module that is known to be good; if that fails too, judge no modules on this \
             jig until it is put right"
        }
        (Verdict::Indeterminate, None | Some(Blame::Unsure)) => {
            "test again; if it stays uncertain, measure the values above with a better instrument"
        }
        (Verdict::Fail, None | Some(Blame::Unsure)) => {
            "turn the power off, seat the module again, check leads and loads, then test again"
        }
    }
}
