//! One change-over of the module as a part of the load network.

use super::clamp::ClampCircuit;
use crate::simulated_bench::loads::element::Affine;
use crate::simulated_bench::parts::Parts;

/// A contact of the module.
#[derive(Clone, Copy, Debug)]
pub struct Contact {
    /// Whether the armature holds it closed.
    pub closed: bool,
    /// Whether it is open all the same.
    pub loose: bool,
    /// Its resistance when closed, ohms.
    pub ohm: f64,
    /// The jig's clamp that it is wired to.
    pub clamp: usize,
}

impl Contact {
    /// Whether it conducts.
    pub fn conducts(&self) -> bool {
        self.closed && !self.loose
    }

    /// Its conductance as it stands, siemens.
    pub fn through_s(&self) -> f64 {
        if self.conducts() { 1.0 / self.ohm } else { 0.0 }
    }
}

/// The common lead of an output and its two contacts.
#[derive(Clone, Debug)]
pub struct ChangeOver {
    /// Lead to the common, siemens.
    pub(super) common_s: f64,
    /// The contacts at `a` and `b`.
    pub contacts: [Contact; 2],
}

/// The change-over solved as a function of the bus voltage.
#[derive(Clone, Copy, Debug, Default)]
pub struct Solved {
    /// Voltage at the module's end of each clamp lead = `[0]`·common + `[1]`·bus + `[2]`.
    ends: [[f64; 3]; 2],
    /// Voltage at the common = `[0]`·bus + `[1]`.
    common: [f64; 2],
    /// Current taken from the bus.
    pub taken: Affine,
}

impl ChangeOver {
    /// Output `k` (from 0) with both contacts open.
    pub fn new(parts: &Parts, k: usize) -> Self {
        let contact = |p: usize| Contact {
            closed: false,
            loose: false,
            ohm: parts.module.outputs[k].contact_ohm[p],
            clamp: parts.leads.clamp_of[2 * k + p],
        };
        ChangeOver { common_s: 1.0 / parts.leads.common_ohm[k], contacts: [contact(0), contact(1)] }
    }

    /// Lead to the common and contact, where one of its contacts is wired to this clamp, ohms.
    pub fn path_ohm(&self, clamp: usize) -> Option<f64> {
        let contact = self.contacts.iter().find(|c| c.clamp == clamp)?;
        Some(1.0 / self.common_s + contact.ohm)
    }

    /// Eliminates its three nodes: the common and both ends of the clamp leads.
    pub fn solve(&self, clamps: &[ClampCircuit; 8]) -> Solved {
        let mut solved = Solved::default();
        let mut pasts = [0.0; 2];
        // Currents out of the common: g × common + i = from_bus × bus.
        let mut common = Affine { g: self.common_s, i: 0.0 };
        let mut from_bus = self.common_s;
        for (p, contact) in self.contacts.iter().enumerate() {
            let clamp = &clamps[contact.clamp];
            let through = contact.through_s();
            let past = clamp.bypass_s();
            let load = clamp.at_module();
            let whole = through + past + load.g;
            let [x, b, c] = [through / whole, past / whole, -load.i / whole];
            solved.ends[p] = [x, b, c];
            common.g += through * (1.0 - x);
            common.i -= through * c;
            from_bus += through * b;
            pasts[p] = past;
        }
        let [a, c] = [from_bus / common.g, -common.i / common.g];
        solved.common = [a, c];
        solved.taken = Affine { g: self.common_s * (1.0 - a), i: -self.common_s * c };
        for (past, [x, b, c0]) in pasts.into_iter().zip(solved.ends) {
            solved.taken += Affine { g: past * (1.0 - x * a - b), i: -past * (x * c + c0) };
        }
        solved
    }
}

impl Solved {
    /// Voltage at the module's end of a clamp lead.
    pub fn end_v(&self, position: usize, bus_v: f64) -> f64 {
        let common_v = self.common[0] * bus_v + self.common[1];
        let [x, b, c] = self.ends[position];
        x * common_v + b * bus_v + c
    }
}
