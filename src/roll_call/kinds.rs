//! Which kind a module is of, by how it answers.

use super::Question;
use super::answer::Module;
use super::call_stop::CallStop;
use super::caller::Caller;
use super::target::Target;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::Position;

/// The most outputs that a module has.
const MOST_OUTPUTS: u8 = 4;
/// So often so many copies of a command are tried; half of them must be answered.
const TRIES: u8 = 4;

/// What a module was seen to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Evidence {
    /// Where its output 1 answers.
    first: Target,
    /// How many addresses in a row answer.
    outputs: u8,
    /// So many copies of a command are enough; `None`: none of those that some kind needs.
    needs: Option<u8>,
}

impl Caller<'_> {
    /// Looks how many addresses answer from a module's first one on, and on how many packets it acts, of
    /// those that these kinds need.
    pub fn evidence(
        &mut self,
        module: &Module,
        question: &Question<'_>,
    ) -> Result<Evidence, CallStop> {
        self.stage("which kind it is");
        let first = module.first_by_loads();
        let copies = module.copies;
        let mut outputs = 0;
        for by in 0..MOST_OUTPUTS {
            let Some(target) = first.plus(by.into()) else { break };
            let is_known = module.answers.iter().any(|answer| answer.target == target);
            // What its own kind has was asked already.
            let is_asked = by < self.plan.outputs;
            if is_known || !is_asked && self.answers(target, copies)? {
                outputs = by + 1;
            }
        }
        let whole = module.answers.iter().find(|answer| answer.only.is_none());
        let mut needed: Vec<u8> = question.all_kinds().map(packets_needed).collect();
        needed.sort_unstable();
        needed.dedup();
        let mut needs = None;
        if let Some(answer) = whole {
            for copies in needed {
                if self.acts_on(answer.target, copies)? {
                    needs = Some(copies);
                    break;
                }
            }
        }
        Ok(Evidence { first, outputs, needs })
    }

    /// Whether a target answers to so many copies of a command, most of the times.
    fn acts_on(&mut self, target: Target, copies: u8) -> Result<bool, CallStop> {
        let mut heard = 0;
        for nth in 0..TRIES {
            let to = if nth % 2 == 0 { Position::A } else { Position::B };
            heard += u8::from(!self.ask(&[target], to, copies)?.is_silent());
        }
        Ok(2 * heard >= TRIES)
    }

    /// Whether a target answers to one position or the other.
    fn answers(&mut self, target: Target, copies: u8) -> Result<bool, CallStop> {
        for to in [Position::A, Position::B] {
            if !self.ask(&[target], to, copies)?.is_silent() {
                return Ok(true);
            }
        }
        Ok(false)
    }
}

impl Evidence {
    /// The kinds that do just this; where none does, those of which some outputs may be dead.
    pub fn fitting(&self, question: &Question<'_>) -> Vec<String> {
        let named = |exactly: bool| -> Vec<String> {
            let fits = |kind: &&ModuleSheet| {
                self.may_be(kind) && (!exactly || kind.outputs == self.outputs)
            };
            question.all_kinds().filter(fits).map(|kind| kind.kind.clone()).collect()
        };
        let exact = named(true);
        if exact.is_empty() { named(false) } else { exact }
    }

    /// Whether a module of a kind may answer so, though some of its outputs may be dead.
    pub fn may_be(&self, kind: &ModuleSheet) -> bool {
        self.needs == Some(packets_needed(kind)) && self.may_stand_as(kind)
    }

    /// The same where it may also want more packets than its kind.
    pub fn may_stand_as(&self, kind: &ModuleSheet) -> bool {
        let format = self.first.format;
        let is_set = self
            .first
            .address(kind.numbering)
            .is_some_and(|address| kind.switches.switches_for(address, format).is_some());
        is_set && self.outputs <= kind.outputs
    }
}

fn packets_needed(kind: &ModuleSheet) -> u8 {
    kind.packets_needed.max(1)
}
