//! Whose turn it is.

use crate::lot::fate::Fate;
use crate::lot::standing::{Lot, Module};
use crate::lot::tries::Showed;
use crate::record::names::is_same_name;

/// The modules that are left to be seated, in their order: the one that is to be repeated where it was seated
/// last, then one whose last run was cut short, then those that wait, then the others that are to be repeated.
pub fn left<'l>(lot: &'l Lot, last: Option<&str>) -> Vec<&'l Module> {
    let with = |fate: Fate| lot.modules.iter().filter(move |module| module.ruling.fate == fate);
    let is_last = |module: &Module| last.is_some_and(|last| is_same_name(&module.serial, last));
    let again = || with(Fate::ToRepeat);
    let first = again().filter(|module| is_last(module));
    let others = again().filter(|module| !is_last(module));
    let was_cut = |module: &&Module| {
        matches!(module.tries.last().map(|one| &one.showed), Some(Showed::CutShort))
    };
    let cut = with(Fate::Waiting).filter(was_cut);
    let waiting = with(Fate::Waiting).filter(move |module| !was_cut(module));
    first.chain(cut).chain(waiting).chain(others).collect()
}

/// How many modules need nothing more on the bench, and of how many.
pub fn done(lot: &Lot) -> (usize, usize) {
    let settled = lot.modules.iter().filter(|module| module.ruling.fate.is_settled()).count();
    (settled, lot.modules.len())
}
