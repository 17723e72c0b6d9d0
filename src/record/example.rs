//! A run and a reading for the tests of this room.

use super::report_csv::Facts;
use crate::judge::reading::{Blame, Quantity, Reading, Traceability, Verdict};
use crate::measure::budget::{Budget, Source};
use crate::measure::uncertainty::Component;
use crate::signal::target::Position;

pub fn facts() -> Facts {
    Facts {
        module: "P4-017".into(),
        lot: "quay".into(),
        run: 3,
        started: "2026-01-05T09:00:00+00:00".into(),
        operator: "=Ines, the \"keeper\"".into(),
        jig: "SIM-7".into(),
        firmware: "1.0".into(),
        simulated: true,
        script: "arrival".into(),
    }
}

pub fn reading(verdict: Verdict, blame: Option<Blame>) -> Reading {
    Reading {
        step: "output 2 to b, by command".into(),
        output: Some(2),
        position: Some(Position::B),
        quantity: Quantity::LoadCurrent,
        value: Some(0.1 + 0.2),
        uncertainty: Some(1.5e-7),
        lower_limit: Some(-0.5),
        upper_limit: None,
        verdict,
        blame,
        note: "@seen\nagain".into(),
        traceability: Traceability::Calibration("SIM-7 2026-01-05T09:00:00+00:00".into()),
        budget: Some(Budget::of(&[Component::type_a(7.5e-8, 49.0).from(Source::Noise)])),
        limits_from: "module sheet".into(),
        risk: Some(0.0125),
        guard_band: Some(1.5e-7),
        outside: Some(0.0125),
        settled_by: None,
    }
}
