//! Who a jig says it is.

use crate::wire::answers::{Answers, Field, Identification};

/// The model of a bench in software.
const SIMULATED: &str = "simulated bench";

/// What stands for a serial number where there is none (IEEE 488.2, 10.14).
const NO_SERIAL: &str = "0";

/// The answer to `*IDN?`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    /// `jig`, or `simulated bench`.
    pub model: String,
    /// Serial number.
    pub serial: String,
    /// Version of the firmware.
    pub firmware: String,
    /// Whether it is a simulated bench: what it measures was never real.
    pub simulated: bool,
}

impl Identity {
    /// Reads a line that may be the answer to `*IDN?`; `None` when it is anything else.
    pub fn parse(line: &str) -> Option<Identity> {
        Answers::only::<Identification>(line.trim().as_bytes()).ok().map(Identity::from)
    }

    /// Whether it has a serial number. One without cannot be told from another jig, and so has no
    /// calibration.
    pub fn has_serial(&self) -> bool {
        self.serial != NO_SERIAL
    }
}

impl From<Identification> for Identity {
    fn from(said: Identification) -> Self {
        let Identification { model, serial, firmware } = said;
        let simulated = model == SIMULATED;
        let text = |field: Field| field.as_str().to_owned();
        Identity { model: text(model), serial: text(serial), firmware: text(firmware), simulated }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_a_jig_and_a_simulated_bench() {
        let jig = Identity::parse("musterbench,jig,0042,1.3.0\r").unwrap();
        assert_eq!((jig.model.as_str(), jig.serial.as_str()), ("jig", "0042"));
        assert_eq!((jig.firmware.as_str(), jig.simulated), ("1.3.0", false));
        assert!(Identity::parse("musterbench,simulated bench,SIM-1,0.1.0").unwrap().simulated);
    }

    #[test]
    fn knows_a_jig_without_a_serial_number() {
        assert!(!Identity::parse("musterbench,jig,0,1.3.0").unwrap().has_serial());
        assert!(Identity::parse("musterbench,jig,0001,1.3.0").unwrap().has_serial());
    }

    #[test]
    fn refuses_anything_else() {
        for answer in [
            "",
            "harbour light controller",
            "somebody,jig,1,1",
            "musterbench,jig,1",
            "musterbench,jig,1,1,1",
            "musterbench,jig,,1",
            "musterbench,jig,\u{1b}[2J,1",
            "musterbench,jig,\u{202e}1,1",
        ] {
            assert_eq!(Identity::parse(answer), None, "{answer}");
        }
    }
}
