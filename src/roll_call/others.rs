//! Nothing answers as the kind that was asked for: the other kinds are asked as they want to be.
//!
//! First the likely places of each, which takes a second or two, before anything is swept; those kinds
//! first that would draw the current that is drawn.

use super::answer::RollCall;
use super::call_stop::CallStop;
use super::caller::Caller;
use super::kinds::Evidence;
use super::plan::{Pass, Plan};
use super::sweep::Found;
use super::{Question, sweep_first};
use crate::quantity::unit::Units;
use crate::script::module_sheet::ModuleSheet;

/// The other kinds, each with its plan, where it has one.
pub(super) struct Others<'a> {
    pub question: &'a Question<'a>,
    pub plans: &'a [Option<Plan>],
}

/// One of them.
type Other<'a> = (usize, &'a ModuleSheet, &'a Plan);

impl<'a> Others<'a> {
    /// The likely places of each.
    pub fn try_likely(
        &self,
        caller: &mut Caller<'_>,
        found: &mut Found,
        roll: &mut RollCall,
    ) -> Result<(), CallStop> {
        for other in self.likeliest_first(caller)? {
            if self.asked(other, caller, found, roll, |caller, found| caller.try_likely(found))? {
                break;
            }
        }
        Ok(())
    }

    /// Output 1 of every group, as each wants to be asked.
    pub fn sweep(
        &self,
        caller: &mut Caller<'_>,
        found: &mut Found,
        roll: &mut RollCall,
    ) -> Result<(), CallStop> {
        let mut asked: Vec<Pass> = caller.plan.first_passes().collect();
        for other in self.likeliest_first(caller)? {
            // What was asked with as many copies need not be asked again.
            let is_new = |pass: &Pass| !asked.iter().any(|before| before.covers(pass));
            let passes: Vec<Pass> = other.2.first_passes().filter(is_new).collect();
            asked.extend(&passes);
            let sweep = |caller: &mut Caller<'_>, found: &mut Found| {
                sweep_first(caller, passes.into_iter(), found)
            };
            if self.asked(other, caller, found, roll, sweep)? {
                break;
            }
        }
        Ok(())
    }

    /// Those first that would draw at rest what is drawn.
    fn likeliest_first(&self, caller: &mut Caller<'_>) -> Result<Vec<Other<'a>>, CallStop> {
        let each = self.question.kinds.iter().zip(self.plans).enumerate();
        let mut all: Vec<Other<'a>> =
            each.filter_map(|(at, (kind, plan))| Some((at, kind, plan.as_ref()?))).collect();
        if all.len() > 1 {
            let feed_a = caller.feed_current()?;
            all.sort_by_key(|(_, kind, _)| !draws(kind, feed_a));
        }
        Ok(all)
    }

    /// Asks as one of them wants to be asked. Whether something answered.
    fn asked(
        &self,
        (at, kind, plan): Other<'_>,
        caller: &mut Caller<'_>,
        found: &mut Found,
        roll: &mut RollCall,
        ask: impl FnOnce(&mut Caller<'_>, &mut Found) -> Result<(), CallStop>,
    ) -> Result<bool, CallStop> {
        let evidence = caller.as_kind(kind, plan, |caller| {
            caller.connect_loads()?;
            ask(caller, found)?;
            found.modules.first().map(|module| caller.evidence(module, self.question)).transpose()
        })?;
        let Some(evidence) = evidence else { return Ok(false) };
        roll.fits = evidence.fitting(self.question);
        roll.kind = self.kind_of(&evidence, &roll.fits, at);
        if roll.kind.is_some() {
            roll.copies = plan.copies;
            roll.likely.clone_from(&plan.likely);
        }
        roll.outputs = self.question.sheet_of(roll).outputs;
        Ok(true)
    }

    /// Which of the other kinds it is that answered as the one at a place does; `None`: the question's
    /// own.
    fn kind_of(&self, evidence: &Evidence, fits: &[String], at: usize) -> Option<usize> {
        if fits.is_empty() && evidence.may_stand_as(self.question.sheet) {
            // It wants more packets than any kind, and was heard since this one sends more.
            return None;
        }
        let does_fit = |kind: &ModuleSheet| fits.contains(&kind.kind);
        if self.question.kinds.get(at).is_some_and(does_fit) {
            Some(at)
        } else if does_fit(self.question.sheet) {
            None
        } else {
            self.question.kinds.iter().position(does_fit).or(Some(at))
        }
    }
}

/// Whether a module of this kind would draw so much at rest.
fn draws(kind: &ModuleSheet, feed_a: f64) -> bool {
    let idle = &kind.idle_current;
    idle.lower.is_none_or(|a| a.si() <= feed_a) && idle.upper.is_none_or(|a| feed_a <= a.si())
}
