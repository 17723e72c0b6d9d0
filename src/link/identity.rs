//! Who a jig says it is.

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
    /// Reads `musterbench,<model>,<serial>,<firmware>`; `None` when it is anything else.
    pub fn parse(answer: &str) -> Option<Identity> {
        let mut fields = answer.trim().split(',').map(str::trim);
        if fields.next() != Some("musterbench") {
            return None;
        }
        let mut field = || fields.next().filter(|f| is_plain(f)).map(String::from);
        let (model, serial, firmware) = (field()?, field()?, field()?);
        if fields.next().is_some() {
            return None;
        }
        let simulated = model == "simulated bench";
        Some(Identity { model, serial, firmware, simulated })
    }

    /// Whether it has a serial number. One without cannot be told from another jig, and so has no
    /// calibration.
    pub fn has_serial(&self) -> bool {
        self.serial != NO_SERIAL
    }
}

/// Short printable ASCII: fit for records and for the terminal.
fn is_plain(field: &str) -> bool {
    (1..=40).contains(&field.len()) && field.bytes().all(|b| b == b' ' || b.is_ascii_graphic())
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
