//! The load supply, the module's change-overs, and what hangs on the eight clamps.
//!
//! For each output: supply → common lead → the contacts of the module → clamp leads → clamps of the
//! jig → shunt → load switch and real load, jig load. A bypass leads from the supply to the module's
//! end of a clamp lead: it drives lead and load past the contact.
//! At every instant the network is a small linear one (elements with a curve are taken by their
//! tangent, Newton's method); it is solved by elimination, output by output.

use super::element::{Affine, Element};
use crate::simulated_bench::parts::Parts;

/// The load supply's cut-off trips above this current, amperes …
pub const CUT_OFF_A: f64 = 8.0;
/// … after this time, microseconds.
pub const CUT_OFF_US: u64 = 30;
/// The voltmeter at each clamp, siemens.
const METER_S: f64 = 1e-6;

/// The first step after a jump, as a share of the longest good one.
const FIRST_STEP: f64 = 0.1;

/// A value and how steeply it went over the last step.
#[derive(Clone, Copy, Debug, Default)]
struct Trend {
    value: f64,
    before: f64,
    slope: f64,
}

impl Trend {
    fn after(self, seconds: f64) -> f64 {
        self.value + self.slope * seconds
    }

    fn lean(&mut self, h: f64) {
        self.slope = (self.value - self.before) / h;
        self.before = self.value;
    }

    fn hold(&mut self) {
        self.slope = 0.0;
        self.before = self.value;
    }
}

/// The switches of the jig at one clamp.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Switches {
    /// The real load is connected.
    pub load: bool,
    /// The clamp is driven past the module.
    pub bypass: bool,
    /// The jig's own load is connected.
    pub jig_load: bool,
}

#[derive(Clone, Debug)]
struct ClampCircuit {
    elements: Vec<Element>,
    lead_ohm: f64,
    jig_load_s: f64,
    bypass_s: f64,
    switches: Switches,
    /// Voltage at the clamp.
    volt: f64,
    /// Voltage across the real load.
    real_v: f64,
    /// Current through the shunt.
    ampere: Trend,
    /// What hangs on the module's end of the lead, on the clamp, and the real load alone.
    at_module: Affine,
    network: Affine,
    real: Affine,
}

#[derive(Clone, Copy, Debug)]
struct Contact {
    closed: bool,
    ohm: f64,
    clamp: usize,
}

/// The circuit with its state.
#[derive(Clone, Debug)]
pub struct LoadCircuit {
    supply_v: f64,
    source_ohm: f64,
    shunt_ohm: f64,
    switch_ohm: f64,
    common_s: [f64; 4],
    contacts: [[Contact; 2]; 4],
    clamps: [ClampCircuit; 8],
    on: bool,
    bus_v: f64,
    total_a: Trend,
    /// Length of the next step, and how much of it has passed, microseconds.
    planned_us: u64,
    pending_us: u64,
    /// Something was switched since the network was last solved.
    switched: bool,
    settled: bool,
    curved: bool,
    over_us: u64,
    tripped: bool,
}

impl LoadCircuit {
    /// The circuit with everything off and open.
    pub fn new(parts: &Parts) -> Self {
        let mut clamps: [ClampCircuit; 8] = core::array::from_fn(|i| {
            let mut elements = Vec::new();
            Element::of(&parts.loads[i], &mut elements);
            ClampCircuit {
                elements,
                lead_ohm: 0.0,
                jig_load_s: 1.0 / parts.jig.jig_load_ohm[i],
                bypass_s: 1.0 / parts.jig.bypass_ohm[i],
                switches: Switches::default(),
                volt: 0.0,
                real_v: 0.0,
                ampere: Trend::default(),
                at_module: Affine::default(),
                network: Affine::default(),
                real: Affine::default(),
            }
        });
        for (&clamp, &ohm) in parts.leads.clamp_of.iter().zip(&parts.leads.clamp_ohm) {
            clamps[clamp].lead_ohm = ohm;
        }
        let contacts = core::array::from_fn(|k| {
            core::array::from_fn(|p| Contact {
                closed: false,
                ohm: parts.module.outputs[k].contact_ohm[p],
                clamp: parts.leads.clamp_of[2 * k + p],
            })
        });
        let mut circuit = LoadCircuit {
            supply_v: parts.jig.load_v,
            source_ohm: parts.jig.load_source_ohm,
            shunt_ohm: parts.jig.shunt_ohm,
            switch_ohm: parts.jig.switch_ohm,
            common_s: parts.leads.common_ohm.map(|ohm| 1.0 / ohm),
            contacts,
            clamps,
            on: false,
            bus_v: 0.0,
            total_a: Trend::default(),
            planned_us: 1,
            pending_us: 0,
            switched: false,
            settled: true,
            curved: false,
            over_us: 0,
            tripped: false,
        };
        circuit.curved = circuit.clamps.iter().flat_map(|c| &c.elements).any(Element::is_curved);
        circuit
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
        if closed != self.contacts[output][position].closed {
            self.switch();
            self.contacts[output][position].closed = closed;
        }
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
        self.bus_v
    }

    /// Total current of the supply, amperes.
    pub fn total_a(&self) -> f64 {
        self.total_a.after(self.pending_s())
    }

    /// Current at a clamp, amperes.
    pub fn clamp_a(&self, clamp: usize) -> f64 {
        self.clamps[clamp].ampere.after(self.pending_s())
    }

    /// Voltage at a clamp, volts.
    pub fn clamp_v(&self, clamp: usize) -> f64 {
        self.clamps[clamp].volt
    }

    /// Makes what flows right again after something was switched.
    pub fn refresh(&mut self) {
        if !self.switched {
            return;
        }
        self.switched = false;
        self.solve(0.0);
        for clamp in &mut self.clamps {
            let volt = clamp.real_v;
            clamp.elements.iter_mut().for_each(|e| e.begin(volt));
        }
        self.hold();
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
        for clamp in &mut self.clamps {
            let volt = clamp.real_v;
            clamp.elements.iter_mut().for_each(|e| e.step(volt, h));
        }
        self.trends(|trend| trend.lean(h));
    }

    /// Something is about to be switched: what was before ends now.
    fn switch(&mut self) {
        self.catch_up();
        self.switched = true;
    }

    /// What is read stays as it is.
    fn hold(&mut self) {
        self.trends(Trend::hold);
    }

    fn trends(&mut self, each: impl Fn(&mut Trend)) {
        each(&mut self.total_a);
        for clamp in &mut self.clamps {
            each(&mut clamp.ampere);
        }
    }

    fn pending_s(&self) -> f64 {
        self.pending_us as f64 * 1e-6
    }

    /// Plans the next step, a fraction of the longest good one.
    fn plan(&mut self, fraction: f64) {
        let limit_s = self
            .clamps
            .iter()
            .flat_map(|c| c.elements.iter().map(|e| e.step_limit_s(c.real_v)))
            .flatten()
            .min_by(f64::total_cmp);
        let over = self.on && self.total_a.value > CUT_OFF_A;
        self.settled = limit_s.is_none() && !over;
        let limit_us = (fraction * limit_s.unwrap_or(1.0) * 1e6) as u64;
        self.planned_us = if over { limit_us.min(10) } else { limit_us }.max(1);
        if self.settled {
            self.hold();
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
        for _ in 0..40 {
            for clamp in &mut self.clamps {
                clamp.update(self.shunt_ohm, self.switch_ohm, h);
            }
            let mut sum = Affine::default();
            for k in 0..4 {
                sum += self.output(k).seen;
            }
            let before_v = self.bus_v;
            let bus_v = if self.on {
                (self.supply_v - self.source_ohm * sum.i) / (1.0 + self.source_ohm * sum.g)
            } else if sum.g > 0.0 {
                // The supply is cut: nothing flows into the bus.
                -sum.i / sum.g
            } else {
                0.0
            };
            self.bus_v = bus_v;
            self.total_a.value = if self.on { sum.at(bus_v) } else { 0.0 };
            let mut moved = (bus_v - before_v).abs();
            for k in 0..4 {
                let solved = self.output(k);
                for p in 0..2 {
                    let volt = solved.end_v(p, bus_v);
                    let clamp = &mut self.clamps[self.contacts[k][p].clamp];
                    moved = moved.max(clamp.settle(volt, self.shunt_ohm, self.switch_ohm));
                }
            }
            if !self.curved || moved < 1e-7 {
                break;
            }
        }
    }

    /// Eliminates the three nodes of one output: its common and both ends of the clamp leads.
    fn output(&self, k: usize) -> Output {
        let mut out = Output::default();
        // Each end as a function of the common and the bus: v = x·common + b·bus + c.
        let mut common = Affine { g: self.common_s[k], i: 0.0 };
        let mut common_from_bus = self.common_s[k];
        for p in 0..2 {
            let contact = self.contacts[k][p];
            let clamp = &self.clamps[contact.clamp];
            let through = if contact.closed { 1.0 / contact.ohm } else { 0.0 };
            let past = if clamp.switches.bypass { clamp.bypass_s } else { 0.0 };
            let whole = through + past + clamp.at_module.g;
            out.ends[p] = [through / whole, past / whole, -clamp.at_module.i / whole];
            let [x, b, c] = out.ends[p];
            common.g += through * (1.0 - x);
            common.i -= through * c;
            common_from_bus += through * b;
            out.through[p] = through;
            out.past[p] = past;
        }
        // common.g × V_common + common.i = common_from_bus × V_bus
        out.common = [common_from_bus / common.g, -common.i / common.g];
        // What the output takes from the bus.
        let [a, c] = out.common;
        out.seen = Affine { g: self.common_s[k] * (1.0 - a), i: -self.common_s[k] * c };
        for p in 0..2 {
            let [x, b, c0] = out.ends[p];
            out.seen +=
                Affine { g: out.past[p] * (1.0 - x * a - b), i: -out.past[p] * (x * c + c0) };
        }
        out
    }
}

/// One output, solved as a function of the bus voltage.
#[derive(Clone, Copy, Debug, Default)]
struct Output {
    /// Voltage at the module's end of a clamp lead = `[0]`·common + `[1]`·bus + `[2]`.
    ends: [[f64; 3]; 2],
    /// Common voltage = `[0]`·bus + `[1]`.
    common: [f64; 2],
    through: [f64; 2],
    past: [f64; 2],
    /// Current taken from the bus.
    seen: Affine,
}

impl Output {
    fn end_v(&self, position: usize, bus_v: f64) -> f64 {
        let common_v = self.common[0] * bus_v + self.common[1];
        let [x, b, c] = self.ends[position];
        x * common_v + b * bus_v + c
    }
}

impl ClampCircuit {
    /// What hangs on the clamp, near its present voltage.
    fn update(&mut self, shunt_ohm: f64, switch_ohm: f64, h: f64) {
        let volt = self.real_v;
        self.real = Affine::default();
        for element in &mut self.elements {
            self.real += element.affine(volt, h);
        }
        let mut behind = Affine::default();
        if self.switches.load {
            behind += self.real.behind(switch_ohm);
        }
        if self.switches.jig_load {
            behind += Affine { g: self.jig_load_s, i: 0.0 };
        }
        self.network = behind.behind(shunt_ohm);
        self.network.g += METER_S;
        self.at_module = self.network.behind(self.lead_ohm);
    }

    /// Takes the new voltage at the module's end of the lead; returns by how much the load's
    /// voltage moved.
    fn settle(&mut self, end_v: f64, shunt_ohm: f64, switch_ohm: f64) -> f64 {
        let volt = end_v - self.lead_ohm * self.at_module.at(end_v);
        let ampere = self.network.at(volt) - METER_S * volt;
        let behind_v = volt - shunt_ohm * ampere;
        self.volt = volt;
        self.ampere.value = ampere;
        let before = self.real_v;
        self.real_v = if self.switches.load {
            behind_v - switch_ohm * self.real.behind(switch_ohm).at(behind_v)
        } else if self.real.g > 0.0 {
            // Alone: the voltage at which no current flows.
            -self.real.i / self.real.g
        } else {
            0.0
        };
        (self.real_v - before).abs()
    }
}

#[cfg(test)]
mod tests;
