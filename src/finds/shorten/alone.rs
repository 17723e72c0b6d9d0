//! What each step of a script alone finds: what is lost where it is left out.

use super::cases::Case;
use super::change::Change;
use super::draft::Draft;
use super::tried::{Kinds, Tried};
use crate::finds::spread::on_all_processors;
use core::sync::atomic::AtomicBool;

/// What a step is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Alone {
    /// Without it these faults are missed, by name; none where it finds nothing alone.
    Finds(Vec<&'static str>),
    /// Without it sound modules are rejected or left open.
    KeepsSoundOnes,
    /// Without it the others cannot be carried out.
    IsNeeded,
}

/// What each step of a draft is for, by these cases. `None` if it was stopped.
pub fn of_each_step(
    draft: &Draft,
    kinds: &Kinds,
    warnings: usize,
    cases: &[Case],
    stop: &AtomicBool,
    told: &mut dyn FnMut(usize, usize),
) -> Option<Vec<Alone>> {
    let count = draft.steps.len();
    let mut all = Vec::with_capacity(count);
    for at in 0..count {
        let without = Change::LeaveOut(at).made(draft);
        let Some(plans) = kinds.sound_plans(&without, warnings) else {
            all.push(Alone::IsNeeded);
            continue;
        };
        let plans = Tried::new(&plans);
        let held = on_all_processors(
            cases.len(),
            stop,
            |i| cases[i].is_held_by(&plans),
            |n| told(at * cases.len() + n, count * cases.len()),
        )?;
        let lost = cases.iter().zip(held).filter(|(_, held)| !held).map(|(case, _)| case.fault);
        let (mut names, mut sound) = (Vec::new(), false);
        for fault in lost {
            match fault {
                Some((fault, _)) if !names.contains(&fault.name) => names.push(fault.name),
                Some(_) => {}
                None => sound = true,
            }
        }
        let is_for_sound = names.is_empty() && sound;
        all.push(if is_for_sound { Alone::KeepsSoundOnes } else { Alone::Finds(names) });
    }
    Some(all)
}
