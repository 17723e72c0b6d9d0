//! A run and a reading for the tests of this room.

use super::facts::{FORMAT, Facts};
use super::journal::Head;
use super::row::KeptReading;
use super::run_record::{Closing, Planned, RunEnding, RunRecord};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Blame, Quantity, Reading, Traceability, Verdict};
use crate::measure::budget::{Budget, Source};
use crate::measure::uncertainty::Component;
use crate::procedure::self_test::{SelfTest, Zero};
use crate::signal::target::Position;

pub fn facts() -> Facts {
    Facts {
        format: FORMAT,
        module: "P4-017".into(),
        lot: "quay".into(),
        run: 3,
        started: "2026-01-05T09:00:00+00:00".into(),
        simulated: true,
        program: Some("0.1.0".into()),
        operator: "=Ines, the \"keeper\"".into(),
        jig: "SIM-7".into(),
        firmware: "1.0".into(),
        jig_calibration: None,
        script: "arrival".into(),
        script_digest: Some("sha256:0123456789ab".into()),
        rule: Some("guarded".into()),
        kind: Some("pier-four".into()),
        module_sheet: Some("pier-four".into()),
        module_sheet_digest: Some("sha256:ba9876543210".into()),
        load_sheet: None,
        load_sheet_digest: None,
        numbering: Some("rcn-213".into()),
        address_wanted: Some(41),
        address_found: None,
        command_format_wanted: None,
        command_format_found: None,
    }
}

fn self_test() -> SelfTest {
    SelfTest { result: 0, zeros: vec![Zero { channel: 2, ampere: -2.5e-5 }] }
}

pub fn head() -> Head {
    Head {
        facts: facts(),
        planned: Planned { steps: 40, seconds: 61.5 },
        self_test: Some(self_test()),
    }
}

pub fn closing(verdict: Verdict) -> Closing {
    Closing {
        verdict,
        blame: (verdict != Verdict::Pass).then_some(Blame::Lead),
        ending: RunEnding::Complete,
        reason: None,
        steps: 40,
        accepting_risk: Some(2.5e-4),
        rejecting_risk: None,
        address_found: Some(41),
        command_format_found: Some("dcc".into()),
        kind_found: None,
        finding: None,
        suspects: None,
    }
}

/// A run with so many readings of a verdict.
pub fn record(readings: usize, verdict: Verdict) -> RunRecord {
    let Head { facts, planned, self_test } = head();
    let blame = (verdict != Verdict::Pass).then_some(Blame::Lead);
    let kept = KeptReading::of(&reading(verdict, blame));
    let closing = Closing { command_format_found: None, ..closing(verdict) };
    RunRecord { facts, planned, self_test, readings: vec![kept; readings], closing }
}

pub fn reading(verdict: Verdict, blame: Option<Blame>) -> Reading {
    Reading {
        step: "output 2 to b, by command".into(),
        output: Some(2),
        position: Some(Position::B),
        time_s: Some(12.345678),
        quantity: Quantity::LoadCurrent,
        bound: None,
        value: Some(0.1 + 0.2),
        uncertainty: Some(1.5e-7),
        lower_limit: Some(-0.5),
        upper_limit: None,
        verdict,
        blame,
        note: "@seen\nagain".into(),
        traceability: Traceability::Calibration("SIM-7 2026-01-05T09:00:00+00:00".into()),
        budget: Some(Budget::of(&[Component::type_a(7.5e-8, 49.0).from(Source::Noise)])),
        limits_from: Some(LimitsFrom::ModuleSheet { key: "outputs.response".into() }),
        risk: Some(0.0125),
        guard_band: Some(1.5e-7),
        outside: Some(0.0125),
        settled_by: None,
    }
}
