//! One clamp of the jig: its lead, voltmeter, shunt with its amplifier, switches and loads.
//!
//! The values are those of the jig's sheet `clamp`. The shunt's amplifier takes a current at each of its
//! inputs: that of the far one flows through the shunt, and not through the load. So does what charges the
//! capacitances behind the shunt.

use super::clamp_diode::ClampDiode;
use super::input::Input;
use crate::simulated_bench::loads::Resistor;
use crate::simulated_bench::loads::element::{Affine, Element};
use crate::simulated_bench::parts::Parts;

/// The voltmeter at each clamp, R402 and R403, siemens …
pub const METER_S: f64 = 1.0 / 1.2e6;
/// … and the voltage that its foot stands at.
pub const LIFT_V: f64 = 0.256;

/// Capacitance at the clamp: a metre of lead and the board, farads (from memory) …
const CLAMP_F: f64 = 150e-12;
/// … behind the shunt: the transistor of the jig's load, the open load switch, farads (from memory) …
const NODE_F: f64 = 250e-12;
/// … and with the load switch closed: the diode across the load, and the load's lead (from memory).
const LOAD_F: f64 = 400e-12;

/// What is over in less is over at once, seconds: the bench's clock knows no shorter time.
const AT_ONCE_S: f64 = 1e-6;
/// The instant of switching, to a capacitance, seconds.
const INSTANT_S: f64 = 1e-8;
/// A capacitance rests when it takes less, amperes: a thousandth of a converter's count …
const RESTS_A: f64 = 1e-7;
/// … and where it only follows what hangs beside it, a tenth of a count.
const FOLLOWS_A: f64 = 1e-5;
/// An open joint, ohms: well above what hangs on the clamp.
const PARTED_OHM: f64 = 1e9;
/// In one step of the trapezoidal rule they move no more than this, volts: a coil empties them at once.
const MOST_V: f64 = 2.0;
/// Steps to a time constant.
const STEPS: f64 = 20.0;

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
    /// The lead with its joint closed, ohms.
    sound_lead_ohm: f64,
    /// Its joint is open; the module is out of the jig.
    parted: bool,
    out: bool,
    shunt_ohm: f64,
    switch_ohm: f64,
    jig_load_s: f64,
    bypass_s: f64,
    /// What each input of the shunt's amplifier takes, siemens.
    input_s: f64,
    /// What is seen of the current besides itself, for each volt: what flows into the amplifier, and what
    /// its common mode makes of the voltage.
    beside_s: f64,
    elements: Vec<Box<dyn Element>>,
    /// The real load while a reference resistor stands in its place.
    taken_off: Option<Vec<Box<dyn Element>>>,
    /// The switches.
    pub switches: Switches,
    /// Whether contact or bypass joins it to the bus, and by it to other clamps.
    pub is_joined: bool,
    /// Whether the load supply drives it that way.
    pub is_driven: bool,
    /// Voltage at the clamp, volts.
    pub volt: Input,
    /// Current of what hangs on it, amperes.
    pub ampere: Input,
    /// What flows into the capacitances, as their companion, and now.
    capacitor: Affine,
    capacitor_a: f64,
    /// They are being charged or emptied.
    is_charging: bool,
    /// Voltage across the real load.
    real_v: f64,
    /// What hangs on the module's end of the lead, on the clamp's far side of the shunt, and the real load
    /// alone.
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
            sound_lead_ohm: parts.leads.clamp_ohm[lead],
            parted: false,
            out: false,
            shunt_ohm: parts.jig.shunt_ohm,
            switch_ohm: parts.jig.switch_ohm,
            jig_load_s: 1.0 / parts.jig.jig_load_ohm[i],
            bypass_s: 1.0 / parts.jig.bypass_ohm[i],
            input_s: parts.jig.input_s[i],
            beside_s: parts.jig.input_s[i],
            elements: with_diode(parts.loads[i].elements()),
            taken_off: None,
            switches: Switches::default(),
            is_joined: false,
            is_driven: false,
            volt: Input::at(LIFT_V * METER_S / (METER_S + 2.0 * parts.jig.input_s[i])),
            ampere: Input::default(),
            capacitor: Affine::default(),
            capacitor_a: 0.0,
            is_charging: false,
            real_v: 0.0,
            at_module: Affine::default(),
            network: Affine::default(),
            real: Affine::default(),
        }
    }

    /// Sets what is seen of the current besides itself, for each volt, amperes.
    pub fn set_seen_with_voltage(&mut self, siemens: f64) {
        self.beside_s = siemens;
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

    /// The joint of its lead opens or closes.
    pub fn set_parted(&mut self, parted: bool) {
        self.parted = parted;
        self.join();
    }

    /// The module at its end is taken out of the jig, or seated.
    pub fn set_out(&mut self, out: bool) {
        self.out = out;
        self.join();
    }

    fn join(&mut self) {
        let parted_ohm = if self.parted || self.out { PARTED_OHM } else { 0.0 };
        self.lead_ohm = self.sound_lead_ohm + parted_ohm;
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
        let moves_s = MOST_V * self.farad() / self.capacitor_a.abs();
        let own = self.is_charging.then(|| moves_s.min(self.charging_s() / STEPS));
        let of_loads = self.elements.iter().filter_map(|e| e.step_limit_s(self.real_v));
        of_loads.chain(own).min_by(f64::total_cmp)
    }

    /// What a converter sees of the current, so many seconds after the last step: with it, what flows into
    /// the amplifier and into the capacitances behind the shunt.
    pub fn seen_a(&self, seconds: f64) -> f64 {
        self.ampere.seen_after(seconds)
            + self.beside_s * self.volt.seen_after(seconds)
            + (self.farad() - CLAMP_F) * self.volt.slope_seen_after(seconds)
    }

    fn farad(&self) -> f64 {
        CLAMP_F + NODE_F + if self.switches.load { LOAD_F } else { 0.0 }
    }

    /// Voltmeter and both inputs of the amplifier.
    fn meters(&self) -> Affine {
        Affine { g: METER_S + 2.0 * self.input_s, i: -METER_S * LIFT_V }
    }

    /// Time constant of the capacitances while nothing drives the clamp, seconds.
    fn charging_s(&self) -> f64 {
        self.farad() / (self.network.g + self.meters().g)
    }

    /// The capacitances before a step of `h` seconds, or an instant of switching: by the trapezoidal rule;
    /// by Euler's rule backward where they are faster than the step, and over at its end. So they are
    /// where a few milliohms join them to those of other clamps: the trapezoidal rule would ring.
    pub fn hold_charge(&mut self, h: f64) {
        let is_slow = self.charging_s() > AT_ONCE_S.max(h)
            && self.capacitor_a.abs() * h < MOST_V * self.farad()
            && !self.is_joined;
        let held_v = self.volt.value;
        let euler = |farad_per_s: f64| Affine { g: farad_per_s, i: -farad_per_s * held_v };
        self.capacitor = match (h > 0.0, is_slow) {
            (true, true) => {
                let g = 2.0 * self.farad() / h;
                Affine { g, i: -g * held_v - self.capacitor_a }
            }
            (true, false) => euler(self.farad() / h),
            (false, _) if self.is_driven || self.charging_s() < AT_ONCE_S => Affine::default(),
            (false, _) => euler(self.farad() / INSTANT_S),
        };
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
        let mut all = self.network;
        all += self.meters();
        all += self.capacitor;
        self.at_module = all.behind(self.lead_ohm);
    }

    /// Takes the new voltage at the module's end of the lead; returns by how much the load's
    /// voltage moved.
    pub fn take(&mut self, end_v: f64) -> f64 {
        let volt = end_v - self.lead_ohm * self.at_module.at(end_v);
        let ampere = self.network.at(volt);
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
        self.capacitor_a = self.capacitor.at(self.volt.value);
        let mut beside = self.network;
        beside += self.meters();
        self.is_charging = !self.is_driven && beside.at(self.volt.value).abs() > RESTS_A;
    }

    /// Ends a step of `h` seconds.
    pub fn step(&mut self, h: f64) {
        let volt = self.real_v;
        self.elements.iter_mut().for_each(|e| e.step(volt, h));
        let rests_a = if self.charging_s() > AT_ONCE_S { RESTS_A } else { FOLLOWS_A };
        let before_a = self.capacitor_a;
        self.capacitor_a = self.capacitor.at(self.volt.value);
        // Once more when it is over: what is read between two steps goes on like the last one.
        let most_a = self.capacitor_a.abs().max(before_a.abs());
        self.is_charging = !self.is_driven && most_a > rests_a;
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
