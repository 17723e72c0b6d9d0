//! Whose turn it is.

use crate::lot::fate::Fate;
use crate::lot::standing::{Lot, Module};

/// The module that is to be seated next: the one that is to be repeated where it was seated last, else the
/// first that waits, else the first that is to be repeated. None: nothing is left to be done.
pub fn next<'l>(lot: &'l Lot, last: Option<&str>) -> Option<&'l Module> {
    let with = |fate: Fate| move |module: &&Module| module.ruling.fate == fate;
    let again = last.and_then(|serial| lot.module_of(serial).ok());
    again
        .filter(with(Fate::ToRepeat))
        .or_else(|| lot.modules.iter().find(with(Fate::Waiting)))
        .or_else(|| lot.modules.iter().find(with(Fate::ToRepeat)))
}

/// How many modules need nothing more on the bench, and of how many.
pub fn done(lot: &Lot) -> (usize, usize) {
    let settled = lot.modules.iter().filter(|module| module.ruling.fate.is_settled()).count();
    (settled, lot.modules.len())
}
