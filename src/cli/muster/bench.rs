//! Whether the bench itself is good: what the jig can check of itself, and a module that is known to be good.

use super::Muster;
use crate::cli::command_result::{CommandError, OrExit, bad_input};
use crate::cli::keys::Keys;
use crate::cli::lot::{Because, keep};
use crate::cli::output;
use crate::judge::reading::Verdict;
use crate::lot::decision::What;
use crate::muster::keys::Input;
use crate::procedure::bench::Bench;
use crate::run::event::Ending;
use core::time::Duration;
use std::time::Instant;

/// After so long a bench is looked at again.
pub const GOOD_FOR: Duration = Duration::from_secs(8 * 3600);

impl Muster<'_> {
    /// Looks whether the bench is good. One that is not ends the muster: every module that it has tested since
    /// it was last good waits again.
    ///
    /// # Errors
    /// When it is not good, with what to do.
    pub fn check_bench(&mut self, when: &str) -> Result<(), CommandError> {
        let (jig, trouble) = self.look_at_bench(when)?;
        let name = self.given.operator.clone();
        let Some(trouble) = trouble else {
            let because = Because { reason: format!("the bench is good, {when}"), by: name };
            let good = because.decision(What::BenchGood { jig, last: self.lot.last_runs() })?;
            self.bench_good = Instant::now();
            return keep(&mut self.lot, &[good]);
        };
        let runs = self.lot.runs_since_good(&jig);
        let because = Because { reason: trouble.clone(), by: name };
        let bad = because.decision(What::BenchFailed { jig, runs })?;
        keep(&mut self.lot, &[bad])?;
        Err(anyhow::anyhow!(
            "{trouble}; every module tested since the last good check waits again: put the bench right, then \
             go on with the same command"
        ))
        .or_bench()
    }

    /// The serial number of the jig, and what is wrong.
    fn look_at_bench(&mut self, when: &str) -> Result<(String, Option<String>), CommandError> {
        let mut jig = self.open_for(None)?;
        let serial = jig.identity().serial.clone();
        let tested = Bench::new(&mut jig, None, self.stop).self_test();
        jig.close();
        if let Err(error) = tested {
            return Ok((serial, Some(error.to_string())));
        }
        let Some(reference) = self.lot.order.reference.clone() else { return Ok((serial, None)) };
        output::ask(
            &format!(
                "\nThe bench, {when}: seat {reference}, which is known to be good, hands off, then press \
                 Enter: "
            ),
            !self.given.quiet,
        );
        loop {
            match Keys::begin(self.stop).next() {
                Ok(Input::Start) => break,
                Ok(Input::Key('q')) | Err(_) => {
                    return Err(bad_input("stopped before the bench was known to be good"));
                }
                Ok(_) => {}
            }
        }
        output::tell("");
        let tried = self.carry_out(&reference)?;
        let is_good = tried.verdict == Verdict::Pass && matches!(tried.ending, Ending::Complete);
        let why = || {
            format!(
                "the module {reference} is known to be good and does not pass: {}",
                tried.finding.sentence
            )
        };
        Ok((serial, (!is_good).then(why)))
    }
}
