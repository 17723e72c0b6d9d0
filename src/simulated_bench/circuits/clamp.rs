//! One clamp of the jig: its lead, voltmeter, shunt, switches and loads.

use super::clamp_diode::ClampDiode;
use super::input::Input;
use crate::simulated_bench::loads::Resistor;
use crate::simulated_bench::loads::element::{Affine, Element};
use crate::simulated_bench::parts::Parts;

/// The voltmeter at each clamp, siemens.
pub const METER_S: f64 = 1e-6;

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

/// The clamp with its state.
#[derive(Clone, Debug)]
pub struct ClampCircuit {
    lead_ohm: f64,
    shunt_ohm: f64,
    switch_ohm: f64,
    jig_load_s: f64,
    bypass_s: f64,
    elements: Vec<Box<dyn Element>>,
    /// The real load while a reference resistor stands in its place.
    taken_off: Option<Vec<Box<dyn Element>>>,
    /// The switches.
    pub switches: Switches,
    /// Voltage at the clamp, volts.
    pub volt: Input,
    /// Current through the shunt, amperes.
    pub ampere: Input,
    /// Voltage across the real load.
    real_v: f64,
    /// What hangs on the module's end of the lead, on the clamp, and the real load alone.
    at_module: Affine,
    network: Affine,
    real: Affine,
}

impl ClampCircuit {
    /// Clamp `i` (from 0) with all switches open.
    pub fn new(parts: &Parts, i: usize) -> Self {
        let lead = parts.leads.clamp_of.iter().position(|&clamp| clamp == i).unwrap_or(i);
        ClampCircuit {
            lead_ohm: parts.leads.clamp_ohm[lead],
            shunt_ohm: parts.jig.shunt_ohm,
            switch_ohm: parts.jig.switch_ohm,
            jig_load_s: 1.0 / parts.jig.jig_load_ohm[i],
            bypass_s: 1.0 / parts.jig.bypass_ohm[i],
            elements: with_diode(parts.loads[i].elements()),
            taken_off: None,
            switches: Switches::default(),
            volt: Input::default(),
            ampere: Input::default(),
            real_v: 0.0,
            at_module: Affine::default(),
            network: Affine::default(),
            real: Affine::default(),
        }
    }

    /// Puts a reference resistor in place of the real load, or the load back.
    pub fn fit_reference(&mut self, ohm: Option<f64>) {
        let load = self.taken_off.take().unwrap_or_else(|| core::mem::take(&mut self.elements));
        match ohm {
            Some(ohm) => {
                self.elements = with_diode(vec![Box::new(Resistor::new(ohm))]);
                self.taken_off = Some(load);
            }
            None => self.elements = load,
        }
        self.real_v = 0.0;
    }

    /// Its lead, ohms.
    pub fn lead_ohm(&self) -> f64 {
        self.lead_ohm
    }

    /// Conductance of the bypass as it stands, siemens.
    pub fn bypass_s(&self) -> f64 {
        if self.switches.bypass { self.bypass_s } else { 0.0 }
    }

    /// What the module's end of the lead sees.
    pub fn at_module(&self) -> Affine {
        self.at_module
    }

    /// Whether its current is not a linear function of its voltage.
    pub fn is_curved(&self) -> bool {
        self.elements.iter().any(|e| e.is_curved())
    }

    /// The longest good step, seconds; `None` when nothing moves.
    pub fn step_limit_s(&self) -> Option<f64> {
        self.elements.iter().filter_map(|e| e.step_limit_s(self.real_v)).min_by(f64::total_cmp)
    }

    /// Takes what hangs on it near its present voltage, for a step of `h` seconds.
    pub fn linearise(&mut self, h: f64) {
        let volt = self.real_v;
        self.real = Affine::default();
        for element in &mut self.elements {
            self.real += element.affine(volt, h);
        }
        let mut behind = Affine::default();
        if self.switches.load {
            behind += self.real.behind(self.switch_ohm);
        }
        if self.switches.jig_load {
            behind += Affine { g: self.jig_load_s, i: 0.0 };
        }
        self.network = behind.behind(self.shunt_ohm);
        self.network.g += METER_S;
        self.at_module = self.network.behind(self.lead_ohm);
    }

    /// Takes the new voltage at the module's end of the lead; returns by how much the load's
    /// voltage moved.
    pub fn take(&mut self, end_v: f64) -> f64 {
        let volt = end_v - self.lead_ohm * self.at_module.at(end_v);
        let ampere = self.network.at(volt) - METER_S * volt;
        let behind_v = volt - self.shunt_ohm * ampere;
        self.volt.value = volt;
        self.ampere.value = ampere;
        let before = self.real_v;
        self.real_v = if self.switches.load {
            behind_v - self.switch_ohm * self.real.behind(self.switch_ohm).at(behind_v)
        } else if self.real.g > 0.0 {
            // Alone: the voltage at which no current flows.
            -self.real.i / self.real.g
        } else {
            0.0
        };
        (self.real_v - before).abs()
    }

    /// Something was switched: tells the elements the voltage that they start from.
    pub fn begin(&mut self) {
        let volt = self.real_v;
        self.elements.iter_mut().for_each(|e| e.begin(volt));
    }

    /// Ends a step of `h` seconds.
    pub fn step(&mut self, h: f64) {
        let volt = self.real_v;
        self.elements.iter_mut().for_each(|e| e.step(volt, h));
    }
}

/// What hangs at the clamp's terminals, with the jig's diode across it. Across nothing it would only
/// leak.
fn with_diode(mut elements: Vec<Box<dyn Element>>) -> Vec<Box<dyn Element>> {
    if !elements.is_empty() {
        elements.push(Box::new(ClampDiode::default()));
    }
    elements
}
