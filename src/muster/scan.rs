//! Which module a scan means.

use crate::lot::standing::Lot;
use crate::record::names::is_same_name;

/// What a scan means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Scanned {
    /// This module is seated next.
    Module(String),
    /// This module, if somebody says yes to the question.
    Question(String, String),
    /// No module of this lot: why, in a sentence.
    Refused(String),
}

/// Which module a scan means. A label holds the serial, or lot and serial with a stroke between.
pub fn scanned(lot: &Lot, text: &str) -> Scanned {
    let name = lot.name();
    let serial = match text.split_once('/') {
        Some((other, _)) if !is_same_name(other.trim(), &name) => {
            return Scanned::Refused(format!("{text} is of another lot, not of {name}"));
        }
        Some((_, serial)) => serial.trim(),
        None => text,
    };
    let Ok(module) = lot.module_of(serial) else {
        return Scanned::Refused(format!("{serial} is no module of the lot {name}"));
    };
    let serial = module.serial.clone();
    if module.ruling.fate.is_settled() {
        let question = format!("{serial} is {} already: test it again?", module.ruling.fate);
        return Scanned::Question(serial, question);
    }
    Scanned::Module(serial)
}
