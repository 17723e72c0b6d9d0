//! The load supply, the module's change-overs, and what hangs on the eight clamps.
//!
//! For each output: supply → common lead → the contacts of the module → clamp leads → clamps of the
//! jig → shunt → load switch and real load, jig load. A bypass leads from the supply to the module's
//! end of a clamp lead: it drives lead and load past the contact.
//!
//! At every instant the network is a small linear one (elements with a curve are taken by their
//! tangent, Newton's method); it is solved by elimination, output by output.

use super::change_over::ChangeOver;
use super::clamp::{ClampCircuit, Switches};
use super::input::{FOLLOWED_US, Input};
use super::touching::{Touching, Voltages};
use crate::simulated_bench::loads::element::Affine;
use crate::simulated_bench::parts::Parts;

/// The load supply's cut-off trips above this current, amperes …
pub const CUT_OFF_A: f64 = 8.0;
/// … after this time, microseconds.
pub const CUT_OFF_US: u64 = 30;
/// The first step after a jump, as a share of the longest good one.
const FIRST_STEP: f64 = 0.1;

/// The circuit with its state.
#[derive(Clone, Debug)]
pub struct LoadCircuit {
    supply_v: f64,
    source_ohm: f64,
    outputs: [ChangeOver; 4],
    clamps: [ClampCircuit; 8],
    on: bool,
    bus_v: Input,
    total_a: Input,
    /// Length of the next step, and how much of it has passed, microseconds.
    planned_us: u64,
    pending_us: u64,
    /// Something was switched since the network was last solved.
    switched: bool,
    settled: bool,
    /// Something jumped, and the filters of the converters have yet to follow.
    followed: bool,
    curved: bool,
    /// Clamps of the module that touch.
    touching: Option<Touching>,
    over_us: u64,
    tripped: bool,
}

impl LoadCircuit {
    /// The circuit with everything off and open.
    pub fn new(parts: &Parts) -> Self {
        let clamps: [_; 8] = core::array::from_fn(|i| ClampCircuit::new(parts, i));
        LoadCircuit {
            supply_v: parts.jig.load_v,
            source_ohm: parts.jig.load_source_ohm,
            outputs: core::array::from_fn(|k| ChangeOver::new(parts, k)),
            curved: clamps.iter().any(ClampCircuit::is_curved),
            clamps,
            touching: Touching::of(&parts.leads.to_next_clamp_s),
            on: false,
            bus_v: Input::default(),
            total_a: Input::default(),
            planned_us: 1,
            pending_us: 0,
            switched: false,
            settled: true,
            followed: true,
            over_us: 0,
            tripped: false,
        }
    }

    /// Switches the supply.
    pub fn set_supply(&mut self, on: bool) {
        let on = on && !self.tripped;
        if on != self.on {
            self.switch();
            self.on = on;
        }
    }

    /// Opens or closes a contact of the module.
    pub fn set_contact(&mut self, output: usize, position: usize, closed: bool) {
        if closed != self.outputs[output].contacts[position].closed {
            self.switch();
            self.outputs[output].contacts[position].closed = closed;
        }
    }

    /// A closed contact of the module opens all the same, or closes again.
    pub fn set_contact_loose(&mut self, output: usize, position: usize, is_open: bool) {
        self.switch();
        self.outputs[output].contacts[position].loose = is_open;
    }

    /// The joint of the lead to a clamp opens or closes.
    pub fn set_parted(&mut self, clamp: usize, parted: bool) {
        self.switch();
        self.clamps[clamp].set_parted(parted);
    }

    /// The module is taken out of the jig, or seated.
    pub fn set_out(&mut self, out: bool) {
        self.switch();
        self.clamps.iter_mut().for_each(|clamp| clamp.set_out(out));
    }

    /// From the load supply's voltmeter to that of a clamp, through the contact that is wired to it
    /// as if it were closed: lead to the common, contact, and clamp lead, ohms.
    pub fn path_ohm(&self, clamp: usize) -> f64 {
        let own = |output: &ChangeOver| output.path_ohm(clamp);
        let before = self.outputs.iter().find_map(own).unwrap_or(f64::INFINITY);
        before + self.clamps[clamp].lead_ohm()
    }

    /// The jig's switches at a clamp.
    pub fn switches(&self, clamp: usize) -> Switches {
        self.clamps[clamp].switches
    }

    /// Sets the jig's switches at a clamp.
    pub fn set_switches(&mut self, clamp: usize, switches: Switches) {
        if switches != self.clamps[clamp].switches {
            self.switch();
            self.clamps[clamp].switches = switches;
        }
    }

    /// Sets what is seen of a clamp's current besides itself, for each volt there, amperes.
    pub fn set_seen_with_voltage(&mut self, clamp: usize, siemens: f64) {
        self.clamps[clamp].set_seen_with_voltage(siemens);
    }

    /// Puts a reference resistor in place of the real load at a clamp, or the load back.
    pub fn fit_reference(&mut self, clamp: usize, ohm: Option<f64>) {
        self.switch();
        self.clamps[clamp].fit_reference(ohm);
        self.curved = self.clamps.iter().any(ClampCircuit::is_curved);
    }

    /// Whether nothing moves.
    pub fn is_settled(&self) -> bool {
        self.settled && !self.switched
    }

    /// Whether the cut-off has tripped.
    pub fn is_tripped(&self) -> bool {
        self.tripped
    }

    /// Clears the cut-off.
    pub fn clear_trip(&mut self) {
        self.tripped = false;
        self.over_us = 0;
    }

    /// Voltage of the supply at the jig, volts.
    pub fn bus_v(&self) -> f64 {
        self.bus_v.after(self.pending_s())
    }

    /// Total current of all loads, which their common return carries, amperes.
    pub fn total_a(&self) -> f64 {
        self.total_a.after(self.pending_s())
    }

    /// Current of what hangs on a clamp, amperes.
    pub fn clamp_a(&self, clamp: usize) -> f64 {
        self.clamps[clamp].ampere.after(self.pending_s())
    }

    /// Voltage at a clamp, volts.
    pub fn clamp_v(&self, clamp: usize) -> f64 {
        self.clamps[clamp].volt.after(self.pending_s())
    }

    /// What a converter sees of the supply's voltage.
    pub fn seen_bus_v(&self) -> f64 {
        self.bus_v.seen_after(self.pending_s())
    }

    /// What a converter sees of the total current.
    pub fn seen_total_a(&self) -> f64 {
        self.total_a.seen_after(self.pending_s())
    }

    /// What a converter sees of the current at a clamp.
    pub fn seen_clamp_a(&self, clamp: usize) -> f64 {
        self.clamps[clamp].seen_a(self.pending_s())
    }

    /// What a converter sees of the voltage at a clamp.
    pub fn seen_clamp_v(&self, clamp: usize) -> f64 {
        self.clamps[clamp].volt.seen_after(self.pending_s())
    }

    /// Makes what flows right again after something was switched.
    pub fn refresh(&mut self) {
        if !self.switched {
            return;
        }
        self.switched = false;
        self.solve(0.0);
        self.clamps.iter_mut().for_each(ClampCircuit::begin);
        self.inputs(Input::hold);
        self.followed = false;
        // The first step after a jump is a short one, and tells how steep everything is.
        self.plan(FIRST_STEP);
    }

    /// Lets at most `span_us` pass; ends early when the cut-off trips. Returns how long passed.
    ///
    /// Steps have the length that the circuit asks for, whenever somebody looks; the currents that
    /// are read between two steps go on as steeply as over the last one.
    pub fn advance(&mut self, span_us: u64) -> u64 {
        self.refresh();
        let mut gone_us = 0;
        while gone_us < span_us && !self.settled {
            let part_us = (self.planned_us - self.pending_us).min(span_us - gone_us);
            self.pending_us += part_us;
            gone_us += part_us;
            if self.pending_us < self.planned_us {
                break;
            }
            let passed_us = self.pending_us;
            self.catch_up();
            if self.total_a.value <= CUT_OFF_A {
                self.over_us = 0;
            } else if self.watch_current(passed_us) {
                return gone_us;
            }
            self.plan(1.0);
        }
        span_us
    }

    /// Takes the step that is pending.
    fn catch_up(&mut self) {
        if self.pending_us == 0 {
            return;
        }
        let h = self.pending_us as f64 * 1e-6;
        self.pending_us = 0;
        self.solve(h);
        self.clamps.iter_mut().for_each(|clamp| clamp.step(h));
        self.inputs(|input| input.lean(h));
    }

    /// Something is about to be switched: what was before ends now.
    fn switch(&mut self) {
        self.catch_up();
        self.switched = true;
    }

    fn inputs(&mut self, each: impl Fn(&mut Input)) {
        each(&mut self.bus_v);
        each(&mut self.total_a);
        for clamp in &mut self.clamps {
            each(&mut clamp.volt);
            each(&mut clamp.ampere);
        }
    }

    fn pending_s(&self) -> f64 {
        self.pending_us as f64 * 1e-6
    }

    /// Plans the next step, a fraction of the longest good one.
    fn plan(&mut self, fraction: f64) {
        let limit_s =
            self.clamps.iter().filter_map(ClampCircuit::step_limit_s).min_by(f64::total_cmp);
        let over = self.on && self.total_a.value > CUT_OFF_A;
        let rests = limit_s.is_none() && !over;
        self.settled = rests && self.followed;
        let limit_us = (fraction * limit_s.unwrap_or(1.0) * 1e6) as u64;
        self.planned_us = match (over, rests) {
            (true, _) => limit_us.min(10),
            (_, true) => FOLLOWED_US,
            _ => limit_us,
        }
        .max(1);
        self.followed |= rests;
        if self.settled {
            self.inputs(Input::settle);
        }
    }

    fn watch_current(&mut self, h_us: u64) -> bool {
        self.over_us += h_us;
        if self.over_us < CUT_OFF_US {
            return false;
        }
        self.tripped = true;
        self.on = false;
        self.over_us = 0;
        self.switched = true;
        self.refresh();
        true
    }

    /// Solves the network at the end of a step of `h` seconds.
    fn solve(&mut self, h: f64) {
        for contact in self.outputs.iter().flat_map(|output| &output.contacts) {
            let clamp = &mut self.clamps[contact.clamp];
            clamp.is_joined = contact.conducts() || clamp.switches.bypass;
            clamp.is_driven = self.on && clamp.is_joined;
        }
        if let Some(touching) = &self.touching {
            touching.join(&self.outputs, &mut self.clamps);
        }
        self.clamps.iter_mut().for_each(|clamp| clamp.hold_charge(h));
        for _ in 0..40 {
            self.clamps.iter_mut().for_each(|clamp| clamp.linearise(h));
            let before_v = self.bus_v.value;
            let Voltages { bus_v, ends_v } = self.voltages();
            self.bus_v.value = bus_v;
            let mut moved = (bus_v - before_v).abs();
            let contacts = self.outputs.iter().flat_map(|output| &output.contacts);
            for (contact, end_v) in contacts.zip(ends_v) {
                moved = moved.max(self.clamps[contact.clamp].take(end_v));
            }
            if !self.curved || moved < 1e-7 {
                break;
            }
        }
        let loads_a = self.clamps.iter().map(|clamp| clamp.ampere.value).sum();
        self.total_a.value = if self.on { loads_a } else { 0.0 };
    }

    /// The voltages with every element as it was taken last: output by output, which meet only at the
    /// supply; all at once where clamps touch.
    fn voltages(&self) -> Voltages {
        if let Some(touching) = &self.touching {
            let supply = self.on.then_some((self.supply_v, self.source_ohm));
            return touching.voltages(supply, &self.outputs, &self.clamps);
        }
        let solved = self.outputs.each_ref().map(|output| output.solve(&self.clamps));
        let mut sum = Affine::default();
        solved.iter().for_each(|s| sum += s.taken);
        let bus_v = if self.on {
            (self.supply_v - self.source_ohm * sum.i) / (1.0 + self.source_ohm * sum.g)
        } else if sum.g > 0.0 {
            // The supply is cut: nothing flows into the bus.
            -sum.i / sum.g
        } else {
            0.0
        };
        Voltages { bus_v, ends_v: core::array::from_fn(|i| solved[i / 2].end_v(i % 2, bus_v)) }
    }
}

#[cfg(test)]
mod tests;
