//! How the current rose at the contact that closed: what the transition says beside its times.

use super::operation::OperationCapture;
use super::untrusted::Untrusted;
use crate::measure::step::{Look, NoStep};
use crate::measure::transition::{Transition, transition};
use crate::signal::target::Clamp;
use crate::wire::channel::CLAMP_CURRENT;

/// A rise that takes no longer than so many points is an edge.
const EDGE_POINTS: f64 = 4.0;
/// An aberration below this share of the step is nothing to speak of.
const NOTABLE: f64 = 0.1;

/// The transition of the current at a clamp that has closed, or why it cannot be measured. `least_a`
/// is the least current that says that the contact is closed.
pub fn current_rise(
    capture: &OperationCapture,
    clamp: Clamp,
    least_a: f64,
) -> Option<Result<Transition, NoStep>> {
    let trace = capture.record.trace(clamp.channel(CLAMP_CURRENT))?;
    let look = Look {
        start: capture.start,
        least: least_a / trace.scale.per_count,
        resolution: 1.0,
        range: (trace.ends.low, trace.ends.high),
    };
    Some(transition(&trace.counts, &look))
}

/// What a level that cannot be trusted makes of all that is measured against it. Where there is no
/// transition at all, the change-over tells so.
pub fn untrusted(why: NoStep) -> Option<Untrusted> {
    match why {
        NoStep::Clipped(_) => Some(Untrusted::PartBeyond),
        NoStep::NeverSettled { .. } => Some(Untrusted::Unsettled),
        NoStep::NeverStill { .. } => Some(Untrusted::Restless),
        NoStep::TooShort | NoStep::NoNumber | NoStep::NeverCame => None,
    }
}

/// What is worth telling of a transition, for the note; empty for a plain edge.
pub fn in_words(transition: &Transition, interval_us: u32) -> String {
    let ms = |points: f64| points * f64::from(interval_us) * 1e-3;
    let notable = NOTABLE.max(transition.band);
    let mut said = Vec::new();
    if let Some(duration) = transition.duration().filter(|&d| d > EDGE_POINTS) {
        said.push(format!("rises in {:.1} ms", ms(duration)));
    }
    let stirs = transition.before.over.max(transition.before.under);
    if stirs > notable {
        said.push(format!("stirs before by {:.0} %", 100.0 * stirs));
    }
    match transition.after {
        None => said.push("peak beyond the jig's range".into()),
        Some(after) => {
            if after.over > notable {
                said.push(format!("peak {:.1} times the final current", 1.0 + after.over));
            }
            if after.under > notable {
                said.push(format!("swings back by {:.0} %", 100.0 * after.under));
            }
        }
    }
    if let Some(settling) = transition.settling().filter(|_| !said.is_empty()) {
        said.push(format!("settled after {:.1} ms", ms(settling)));
    }
    said.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::Verdict;
    use crate::judge::verdict::Side;

    const START: usize = 200;

    fn of(course: impl Fn(usize) -> f32) -> NoStep {
        let values: Vec<f32> = (0..2000).map(course).collect();
        let look = Look { start: START, least: 0.05, resolution: 1e-4, range: (-0.2, 2.5) };
        transition(&values, &look).expect_err("there is nothing to be measured")
    }

    #[test]
    fn a_record_that_cannot_be_trusted_says_why_and_never_passes() {
        let after = |i: usize| i.saturating_sub(START + 100) as f32;
        for (why, sentence) in [
            (of(|i| (3.0 * after(i)).min(2.5)), "beyond the jig's range"),
            (of(|i| 0.001 * after(i)), "had not settled at the end of the record"),
            (of(|i| (0.002 * i as f32).min(1.0)), "moved already before"),
        ] {
            let untrusted = untrusted(why).expect("it is not to be trusted");
            assert!(untrusted.in_words().contains(sentence), "{why:?}: {}", untrusted.in_words());
            assert_eq!(untrusted.decide(Verdict::Pass, Side::Inside), Verdict::Indeterminate);
        }
    }

    /// The change-over tells it: there is no closure, no value, and the reading fails.
    #[test]
    fn a_step_that_never_comes_is_no_reason_for_distrust() {
        let why = of(|_| 0.0);
        assert_eq!((why, untrusted(why)), (NoStep::NeverCame, None));
        assert_eq!(why.to_string(), "the step never came: the level is the same before and after");
    }
}
