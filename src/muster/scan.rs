//! Which module a scan means.

use crate::label::code::{self, Scan};
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

/// Which module a scan means. A label holds the serial alone, or the code that this program prints.
pub fn scanned(lot: &Lot, text: &str) -> Scanned {
    let name = lot.name();
    let serial = match code::read(text) {
        Scan::Plain => text.to_owned(),
        Scan::Module { lot: other, serial } if is_same_name(&other, &name) => serial,
        Scan::Module { .. } => {
            return Scanned::Refused(format!("{text} is of another lot, not of {name}"));
        }
        Scan::Wrong => {
            return Scanned::Refused(format!(
                "{text} was not read as it was printed (its check character does not fit): scan it again"
            ));
        }
    };
    let Ok(module) = lot.module_of(&serial) else {
        return Scanned::Refused(format!("{serial} is no module of the lot {name}"));
    };
    let serial = module.serial.clone();
    if module.ruling.fate.is_settled() {
        let question = format!("{serial} is {} already: test it again?", module.ruling.fate);
        return Scanned::Question(serial, question);
    }
    Scanned::Module(serial)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::{FILE, Order};
    use crate::record::folder::LotFolder;

    #[test]
    fn the_code_on_a_label_chooses_its_module_and_a_damaged_one_none() {
        let records = tempfile::tempdir().expect("a folder");
        let folder = LotFolder::open(records.path(), "spring").expect("made");
        let order = Order::of("spring", "pier-four", 3, "muster", "thorough");
        std::fs::write(folder.path().join(FILE), order.to_toml()).expect("written");
        let lot = Lot::of(folder).expect("read");
        let text = code::write("spring", "spring-02");
        let module = Scanned::Module("spring-02".into());
        assert_eq!(scanned(&lot, &text), module);
        assert_eq!(scanned(&lot, &text.to_lowercase()), module);
        assert_eq!(scanned(&lot, "Spring-02"), module);
        let refused = |text: &str, words: &str| match scanned(&lot, text) {
            Scanned::Refused(why) => assert!(why.contains(words), "{why}"),
            other => panic!("{text}: {other:?}"),
        };
        refused(&text.replace("02", "03"), "check character does not fit");
        refused(&text.replace("02", "20"), "check character does not fit");
        refused(&code::write("autumn", "spring-02"), "of another lot");
        refused(&code::write("spring", "spring-77"), "no module of the lot");
        refused("spring-77", "no module of the lot");
    }
}
