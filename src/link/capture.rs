//! Captures as the host sees them: how one is set up, and what it brought.

use crate::wire::preamble::Preamble;
use core::fmt::Write;

/// What starts a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trigger {
    /// Nothing: it starts at once.
    Immediate,
    /// The end of the next command whose sending begins after arming.
    Sent,
    /// The start of the next timed contact closure.
    Contact,
}

/// How a capture is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaptureSetup {
    /// The channels of a scan, in order; at most `wire::preamble::SCAN_MAX`.
    pub scan: Vec<u16>,
    /// Time between scans, after averaging, in microseconds.
    pub interval_us: u32,
    /// Scans in all, those before the trigger included.
    pub points: u32,
    /// Scans before the trigger.
    pub pre_trigger: u32,
    /// Conversions averaged into one point.
    pub average: u16,
    /// What starts it.
    pub trigger: Trigger,
}

impl CaptureSetup {
    /// The program message that sets up and arms a capture.
    pub(super) fn units(&self, unit: u8) -> String {
        let source = match self.trigger {
            Trigger::Immediate => "IMM",
            Trigger::Sent => "SENT",
            Trigger::Contact => "CONT",
        };
        let scan: Vec<String> = self.scan.iter().map(u16::to_string).collect();
        let mut units = format!("ABOR{unit};:ROUT:SCAN{unit} (@{});", scan.join(","));
        // The offset goes to 0 first, since it must never reach beyond the points.
        let CaptureSetup { interval_us, points, average, .. } = self;
        let offset = -i64::from(self.pre_trigger);
        let written = write!(
            units,
            ":SENS{unit}:SWE:OFFS:POIN 0;:SENS{unit}:AVER:COUN {average};\
             :SENS{unit}:SWE:TINT {interval_us}E-6;POIN {points};OFFS:POIN {offset};\
             :TRIG{unit}:SOUR {source};:INIT{unit}"
        );
        debug_assert!(written.is_ok());
        units
    }
}

/// A capture's samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Captured {
    /// What one must know to read them.
    pub preamble: Preamble,
    /// `points × columns` counts, scan after scan.
    pub counts: Vec<i16>,
}

impl Captured {
    /// The counts of one column, in order of time.
    pub fn column(&self, index: usize) -> impl Iterator<Item = i16> + '_ {
        self.counts.iter().skip(index).step_by(self.preamble.columns.len().max(1)).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_setup_is_one_program_message() {
        let setup = CaptureSetup {
            scan: vec![101, 102, 2],
            interval_us: 200,
            points: 500,
            pre_trigger: 100,
            average: 1,
            trigger: Trigger::Sent,
        };
        assert_eq!(
            setup.units(1),
            "ABOR1;:ROUT:SCAN1 (@101,102,2);:SENS1:SWE:OFFS:POIN 0;:SENS1:AVER:COUN 1;\
             :SENS1:SWE:TINT 200E-6;POIN 500;OFFS:POIN -100;:TRIG1:SOUR SENT;:INIT1"
        );
        assert!(setup.units(1).len() < crate::wire::LINE_MAX);
    }
}
