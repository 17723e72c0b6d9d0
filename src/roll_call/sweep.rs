//! Asks place after place until something stirs, and looks into it.

use super::answer::Module;
use super::bound::Effort;
use super::call_stop::CallStop;
use super::caller::Caller;
use super::narrow::Split;
use super::plan::{Burst, Pass, both_ways};
use super::target::Target;
use super::watch::Heard;

/// What has been found so far, and whether that is enough.
#[derive(Debug)]
pub(super) struct Found {
    pub modules: Vec<Module>,
    /// Go on after the first one.
    pub all: bool,
    /// The feed is the other way round.
    pub inverted: bool,
    /// What was sent until the first one was found, its proof not counted.
    pub effort: Option<Effort>,
}

impl Found {
    pub fn is_enough(&self) -> bool {
        !self.all && !self.modules.is_empty()
    }

    fn has(&self, target: Target) -> bool {
        self.modules.iter().flat_map(|m| &m.answers).any(|answer| answer.target == target)
    }

    /// Takes a module in. One that stands there already gains what is new.
    fn add(&mut self, mut module: Module, effort: Effort) {
        self.effort.get_or_insert(effort);
        module.inverted = self.inverted;
        match self.modules.iter_mut().find(|m| m.first == module.first) {
            Some(known) => {
                let new = module.answers.into_iter();
                let is_known = |t: Target| known.answers.iter().any(|a| a.target == t);
                let new: Vec<_> = new.filter(|a| !is_known(a.target)).collect();
                known.answers.extend(new);
                known.answers.sort_by_key(|answer| answer.target);
            }
            None => self.modules.push(module),
        }
    }
}

impl Caller<'_> {
    /// The expected place, then the likely ones.
    pub fn try_likely(&mut self, found: &mut Found) -> Result<(), CallStop> {
        let copies = self.plan.copies;
        self.stage("the expected address");
        let own = self.plan.expected_targets();
        let mut stirs = false;
        for burst in both_ways(own, copies.sweep) {
            stirs |= !self.call(&burst)?.is_silent();
        }
        if stirs && self.may_look() {
            // No need to narrow down: the proof asks them one by one.
            self.settle()?;
            let effort = self.effort;
            match self.prove(self.plan.expected, copies.alone)? {
                Some(module) => found.add(module, effort),
                None => self.alarms_left -= 1,
            }
            if found.is_enough() {
                return Ok(());
            }
        }
        self.stage("the likely addresses");
        let likely: Vec<Vec<Target>> = self.plan.likely_targets().collect();
        for targets in likely {
            self.sweep(both_ways(targets, copies.sweep), found)?;
            if found.is_enough() {
                break;
            }
        }
        Ok(())
    }

    /// Passes over every address.
    pub fn sweep_passes(
        &mut self,
        passes: impl Iterator<Item = Pass>,
        found: &mut Found,
    ) -> Result<(), CallStop> {
        for pass in passes {
            for bursts in pass.bursts() {
                self.stage(&format!("every address, format {}", pass.format));
                self.sweep(bursts, found)?;
                if found.is_enough() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// Both bursts of the same targets; what is known already is left out.
    fn sweep(&mut self, bursts: [Burst; 2], found: &mut Found) -> Result<(), CallStop> {
        for mut burst in bursts {
            burst.targets.retain(|&target| !found.has(target));
            let heard = self.call(&burst)?;
            self.look_into(&burst, &heard, found)?;
            if found.is_enough() {
                break;
            }
        }
        Ok(())
    }

    /// Narrows each alarm of a burst down and proves what is found.
    fn look_into(
        &mut self,
        burst: &Burst,
        heard: &Heard,
        found: &mut Found,
    ) -> Result<(), CallStop> {
        if heard.is_silent() {
            return Ok(());
        }
        let copies = burst.copies.max(self.plan.copies.alone);
        let alarms: Vec<(Vec<Target>, Split)> = if heard.coils.is_empty() {
            vec![(burst.targets.clone(), Split::Halves)]
        } else {
            heard.coils.iter().map(|c| (c.suspects.clone(), Split::FirstAlone)).collect()
        };
        for (mut suspects, split) in alarms {
            suspects.retain(|&target| !found.has(target));
            if suspects.is_empty() || !self.may_look() || found.is_enough() {
                continue;
            }
            self.stage("something stirs: which address is it");
            self.settle()?;
            let target = self.narrow(&suspects, split, burst.to, copies)?;
            let effort = self.effort;
            let module = match target {
                Some(target) => self.prove(target, copies)?,
                None => None,
            };
            match module {
                Some(module) => found.add(module, effort),
                None => self.alarms_left -= 1,
            }
        }
        Ok(())
    }

    /// Whether one more alarm may be looked into.
    fn may_look(&self) -> bool {
        self.alarms_left > 0
    }

    /// Lets whatever moves come to rest, and looks where it stands.
    fn settle(&mut self) -> Result<(), CallStop> {
        let rest = self.plan.times.rest;
        self.bench.pause(rest)?;
        self.glance()?;
        Ok(())
    }
}
