//! `--fault NAME` and `--fault NAME=SEVERITY`.

use crate::plain::plain;
use crate::simulated_bench::faults::{self, Fault, catalogue};

/// A fault with its severity.
#[derive(Clone, Copy, Debug)]
pub struct FaultChoice {
    /// The fault.
    pub fault: &'static Fault,
    /// Its severity, in the fault's own unit.
    pub severity: f64,
}

impl std::str::FromStr for FaultChoice {
    type Err = String;

    fn from_str(given: &str) -> Result<Self, String> {
        let (name, severity) = match given.split_once('=') {
            Some((name, severity)) => (name, Some(severity)),
            None => (given, None),
        };
        let fault = faults::find(name).ok_or_else(|| unknown(name))?;
        let severity = match severity {
            None => fault.default,
            Some(text) => text
                .trim()
                .parse()
                .ok()
                .filter(|s| (fault.minimum..=fault.maximum).contains(s))
                .ok_or_else(|| out_of_range(fault, text))?,
        };
        Ok(FaultChoice { fault, severity })
    }
}

/// `pier-03=contact-resistance=2`: which module, and its fault.
pub(super) fn of_module(text: &str) -> Result<(String, FaultChoice), String> {
    let (module, fault) = text.split_once('=').ok_or_else(|| {
        "say which module and which fault, such as pier-03=output-stuck".to_owned()
    })?;
    Ok((module.into(), fault.parse()?))
}

pub(super) fn unknown(name: &str) -> String {
    let name = plain(name);
    let near = catalogue().map(|f| f.name).filter(|n| !name.is_empty() && n.contains(&name));
    let near: Vec<&str> = near.collect();
    let hint = if near.is_empty() {
        "`musterbench faults` lists them".to_string()
    } else {
        format!("did you mean {}?", near.join(" or "))
    };
    format!("there is no fault {name:?}; {hint}")
}

fn out_of_range(fault: &Fault, given: &str) -> String {
    let unit = if fault.unit == "1" { String::new() } else { format!(" {}", fault.unit) };
    let point = if given.contains(',') { " with a decimal point" } else { "" };
    format!(
        "the severity of {} is a number{point} from {} to {}{unit}, not {:?}",
        fault.name,
        fault.minimum,
        fault.maximum,
        plain(given)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_takes_a_severity_within_its_range() {
        for fault in catalogue() {
            let usual: FaultChoice = fault.name.parse().expect(fault.name);
            assert_eq!(usual.severity, fault.default);
            let most: FaultChoice =
                format!("{}={}", fault.name, fault.maximum).parse().expect(fault.name);
            assert_eq!(most.severity, fault.maximum);
            for wrong in ["", "much", "NaN", "inf", &(fault.maximum * 1.01 + 1.0).to_string()] {
                let error =
                    format!("{}={wrong}", fault.name).parse::<FaultChoice>().expect_err(wrong);
                assert!(error.starts_with("the severity of "), "{error}");
            }
        }
        let error = "no\u{1b}such".parse::<FaultChoice>().expect_err("unknown");
        assert!(error.contains("`musterbench faults`") && !error.contains('\u{1b}'), "{error}");
    }
}
