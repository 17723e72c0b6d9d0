//! The verdict by the jig's light and sounder, told apart by their count and length: for people who do not see the
//! screen, do not see colours, or do not hear.

use crate::judge::reading::Verdict;
use crate::link::client::Jig;
use crate::muster::told::Told;
use crate::procedure::bench::Bench;
use crate::procedure::error::BenchError;
use crate::procedure::orders;
use crate::run::event::{Ending, Outcome};
use crate::wire::channel::{SIGNAL_LIGHT, SOUNDER};
use core::time::Duration;
use std::sync::atomic::AtomicBool;

/// A short and a long sign, and the pause after each.
const SHORT: Duration = Duration::from_millis(150);
const LONG: Duration = Duration::from_millis(700);
const PAUSE: Duration = Duration::from_millis(200);

/// One long sign: it passes. Long and short: it stays open. Three long ones: the bench is in trouble. Four short
/// ones: it fails. Their count alone tells them apart.
fn signs(outcome: &Outcome) -> &'static [Duration] {
    match (&outcome.ending, outcome.verdict) {
        (Ending::Complete | Ending::EndedEarly(_), Verdict::Pass) => &[LONG],
        (Ending::Complete | Ending::EndedEarly(_), Verdict::Fail) => &[SHORT; 4],
        (Ending::Complete | Ending::EndedEarly(_), Verdict::Indeterminate) => &[LONG, SHORT],
        (Ending::BenchTrouble(_) | Ending::Unrecorded(_), _) => &[LONG; 3],
        (Ending::Stopped, _) => &[],
    }
}

/// So often the terminal's bell rings for an event: as many times as the jig gives signs.
pub fn bells(told: &Told) -> u32 {
    let Told::Verdict { ending, verdict, .. } = told else { return 0 };
    match (*ending, verdict.as_str()) {
        ("whole", "pass") => 1,
        ("whole", "indeterminate") => 2,
        ("whole", _) => 4,
        ("cut-short", _) => 3,
        _ => 0,
    }
}

/// Gives the signs of a verdict, as far as the jig has a light and a sounder. The feed is off. A jig that is gone
/// gives none: that is told already.
pub fn signal(jig: &mut Jig, outcome: &Outcome, stop: &AtomicBool, quiet: bool) {
    let mut bench = Bench::new(jig, None, stop);
    let mut channels = vec![SIGNAL_LIGHT];
    if !quiet {
        channels.push(SOUNDER);
    }
    channels.retain(|channel| bench.has(*channel));
    if channels.is_empty() {
        return;
    }
    let mut give = |sign: Duration| -> Result<(), BenchError> {
        bench.send(&orders::close(&channels))?;
        bench.pause(sign)?;
        bench.send(&orders::open(&channels))?;
        bench.pause(PAUSE)
    };
    for sign in signs(outcome) {
        if give(*sign).is_err() {
            let _ = bench.send(&orders::open(&channels));
            return;
        }
    }
}
