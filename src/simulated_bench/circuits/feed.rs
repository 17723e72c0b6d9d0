//! The feed: supply, bridge and leads of the jig, rectifier and reservoir of the module, and what
//! hangs on its rail.

use super::coil_branch::CoilBranch;
use super::input::{FOLLOWED_US, Input};
use crate::jig::board::FeedDrive;
use crate::signal::pulse::Level;
use crate::simulated_bench::insulation::{TEST_A, TEST_V};
use crate::simulated_bench::parts::{Parts, RectifierHalf};
use core::ops::Range;

/// The logic lives from this rail voltage on, volts.
pub const POWER_UP_V: f64 = 6.0;
/// Below this rail voltage it dies, volts.
pub const BROWN_OUT_V: f64 = 5.0;
/// The fast cut-off trips above this current, amperes …
pub const CUT_OFF_A: f64 = 3.0;
/// … after this time, microseconds.
pub const CUT_OFF_US: u64 = 30;

/// The reservoir counts as full when it takes less than this share of what the rail draws …
const STILL: f64 = 5e-5;
/// … and as empty when it moves more slowly than this, volts a second.
const STILL_V_PER_S: f64 = 0.01;

/// The coils on the rail: one for each output and position.
pub const COILS: usize = 8;

/// What flows at one instant.
#[derive(Clone, Copy, Debug, Default)]
struct Flow {
    feed_a: f64,
    rectifier_a: f64,
    terminal_v: f64,
    /// Whether the rectifier conducts without the current limit: then the rail has a time constant.
    conducts: bool,
}

/// Drop of one diode of the rectifier (common practice, no source), volts.
const DIODE_V: f64 = 0.7;

/// Source and line as the rectifier sees them while the feed has one level.
#[derive(Clone, Copy, Debug)]
struct Way {
    /// What lies across the terminals, siemens, above a drop.
    short_s: f64,
    short_v: f64,
    /// Source, line and short seen from the terminals: a voltage behind a resistance. They are kept,
    /// since every step asks for them.
    open_v: f64,
    open_ohm: f64,
    rectifier_v: f64,
    /// Whether the rectifier lets anything through.
    passes: bool,
}

/// The circuit with its state.
#[derive(Clone, Debug)]
pub struct FeedCircuit {
    supply_v: f64,
    /// From the jig's voltmeter to the module's terminals.
    line_ohm: f64,
    /// Source and line.
    outer_ohm: f64,
    /// The way through the rectifier as the feed stands now, and for each of its levels.
    way: Way,
    ways: [Way; 2],
    level: Level,
    /// Whether the two differ.
    minds_level: bool,
    /// A joint of the feed is open.
    parted: bool,
    /// The module is out of the jig.
    out: bool,
    /// Rectifier and series resistance of the reservoir.
    inner_ohm: f64,
    /// Time constant of the rail while the rectifier conducts, seconds.
    tau_s: f64,
    esr_ohm: f64,
    reservoir_f: f64,
    bleeder_s: f64,
    /// What flows past the driver of each coil that is off, siemens, and past all of them.
    leaks_s: [f64; COILS],
    leak_s: f64,
    /// A reference resistor in place of the module, siemens.
    reference_s: Option<f64>,

    drive: FeedDrive,
    limit_a: f64,
    load_a: f64,
    coils: [CoilBranch; COILS],
    /// What the coils take from the rail together, and between which two those at work stand: hardly
    /// ever more than one is.
    coils_a: f64,
    active: Range<usize>,

    capacitor_v: f64,
    flow: Flow,
    /// Voltage and current at the jig with the filters of their converters, and how long those still
    /// follow, microseconds.
    volt: Input,
    ampere: Input,
    follows_us: u64,
    alive: bool,
    settled: bool,
    over_us: u64,
    tripped: bool,
    /// Charge that has gone through the jig since boot, coulombs.
    through_c: f64,
}

impl FeedCircuit {
    /// The circuit with everything off and the reservoir empty.
    pub fn new(parts: &Parts) -> Self {
        let module = &parts.module;
        let line_ohm = parts.jig.bridge_ohm + parts.leads.feed_ohm;
        let outer_ohm = parts.jig.feed_source_ohm + line_ohm;
        let short_s = module.short_s + parts.leads.insulation.across_feed_s();
        let inner_ohm = module.rectifier_ohm + module.reservoir_esr_ohm;
        let ways = [0, 1].map(|half| {
            let [own, other] = [module.rectifier[half], module.rectifier[1 - half]];
            Way::new(parts.jig.feed_v, outer_ohm, short_s, module.rectifier_v, own, other)
        });
        let leaks_s = core::array::from_fn(|i| {
            let output = &module.outputs[i / 2];
            output.driver_leak[i % 2] / output.coil_ohm[i % 2]
        });
        FeedCircuit {
            supply_v: parts.jig.feed_v,
            line_ohm,
            outer_ohm,
            way: ways[1],
            ways,
            level: Level::Low,
            minds_level: module.rectifier.iter().any(|half| *half != RectifierHalf::default()),
            parted: false,
            out: false,
            inner_ohm,
            tau_s: (outer_ohm + inner_ohm) * module.kind.reservoir_f,
            esr_ohm: module.reservoir_esr_ohm,
            reservoir_f: module.kind.reservoir_f,
            bleeder_s: module.bleeder_s,
            leaks_s,
            leak_s: leaks_s.iter().sum(),
            reference_s: None,
            drive: FeedDrive::Off,
            limit_a: 0.25,
            load_a: 0.0,
            coils: core::array::from_fn(|i| {
                let output = &module.outputs[i / 2];
                CoilBranch::new(output.coil_ohm[i % 2], output.coil_tau_s)
            }),
            coils_a: 0.0,
            active: 0..0,
            capacitor_v: 0.0,
            flow: Flow::default(),
            volt: Input::default(),
            ampere: Input::default(),
            follows_us: 0,
            alive: false,
            settled: true,
            over_us: 0,
            tripped: false,
            through_c: 0.0,
        }
    }

    /// Drives the feed.
    pub fn set_drive(&mut self, drive: FeedDrive) {
        if drive != self.drive && !(self.tripped && drive != FeedDrive::Off) {
            self.drive = drive;
            self.over_us = 0;
            self.disturb();
        }
    }

    /// Puts a reference resistor in place of the module, whose reservoir runs down; or the module
    /// back.
    pub fn fit_reference(&mut self, ohm: Option<f64>) {
        self.reference_s = ohm.map(|ohm| 1.0 / ohm);
        self.capacitor_v = 0.0;
        self.disturb();
    }

    /// Whether it makes a difference which of the wires is the higher one.
    #[inline]
    pub fn minds_level(&self) -> bool {
        self.minds_level
    }

    /// The feed has this level at the module from now on.
    pub fn set_level(&mut self, level: Level) {
        if level != self.level {
            self.level = level;
            self.way = self.ways[usize::from(level == Level::Low)];
            self.disturb();
        }
    }

    /// A joint between jig and module opens or closes.
    pub fn set_parted(&mut self, parted: bool) {
        self.parted = parted;
        self.disturb();
    }

    /// The module is taken out of the jig, or seated.
    pub fn set_out(&mut self, out: bool) {
        self.out = out;
        self.disturb();
    }

    /// Whether nothing goes to the module.
    pub fn is_parted(&self) -> bool {
        self.parted || self.out
    }

    /// How the feed is driven.
    pub fn drive(&self) -> FeedDrive {
        self.drive
    }

    /// Sets the limit of the soft start, amperes.
    pub fn set_limit(&mut self, limit_a: f64) {
        self.limit_a = limit_a;
        self.disturb();
    }

    /// Sets what the rail feeds besides the coils, amperes.
    pub fn set_load(&mut self, load_a: f64) {
        if load_a != self.load_a {
            self.load_a = load_a;
            self.disturb();
        }
    }

    /// Switches a coil.
    pub fn set_coil(&mut self, index: usize, on: bool) {
        let rail_v = self.rail_v();
        self.coils[index].drive(on);
        self.coils[index].begin(rail_v);
        // A driver that is on takes what would leak past it.
        let leaks = (0..COILS).filter(|&i| !self.coils[i].is_driven()).map(|i| self.leaks_s[i]);
        self.leak_s = leaks.sum();
        self.sum_coils();
        self.disturb();
    }

    /// Current through a coil, amperes.
    pub fn coil_a(&self, index: usize) -> f64 {
        self.coils[index].current_a().max(self.leaks_s[index] * self.rail_v())
    }

    /// Feed current at the jig, amperes.
    pub fn feed_a(&self) -> f64 {
        self.flow.feed_a
    }

    /// Feed voltage at the jig, on the direct-current side of the bridge, volts.
    pub fn feed_v(&self) -> f64 {
        match self.drive {
            FeedDrive::Off => 0.0,
            _ => self.flow.terminal_v + self.line_ohm * self.flow.feed_a,
        }
    }

    /// Charge that has gone through the jig since boot, coulombs.
    pub fn through_c(&self) -> f64 {
        self.through_c
    }

    /// Voltage on the module's rail, volts.
    pub fn rail_v(&self) -> f64 {
        (self.capacitor_v + self.esr_ohm * (self.flow.rectifier_a - self.drawn_a())).max(0.0)
    }

    /// Whether the module's logic has the voltage that it needs.
    pub fn is_alive(&self) -> bool {
        self.alive
    }

    /// What a converter sees of the feed current.
    pub fn seen_a(&self) -> f64 {
        self.ampere.seen_after(0.0)
    }

    /// What a converter sees of the feed voltage.
    pub fn seen_v(&self) -> f64 {
        self.volt.seen_after(0.0)
    }

    /// Whether nothing moves.
    pub fn is_settled(&self) -> bool {
        self.settled && self.follows_us == 0
    }

    /// Whether the fast cut-off has tripped.
    pub fn is_tripped(&self) -> bool {
        self.tripped
    }

    /// Clears the fast cut-off.
    pub fn clear_trip(&mut self) {
        self.tripped = false;
        self.over_us = 0;
    }

    /// Resistance between the feed wires as the jig measures it with everything off, ohms: long
    /// enough for the reservoir to fill.
    pub fn resistance_ohm(&self) -> f64 {
        if self.out {
            return f64::INFINITY;
        }
        let (volt, ampere) = self.ohmmeter();
        if ampere <= 0.0 { f64::INFINITY } else { volt / ampere + self.line_ohm }
    }

    /// Voltage and current that the jig's ohmmeter then puts to the terminals, volts and amperes.
    pub fn ohmmeter(&self) -> (f64, f64) {
        let inner_s = 1.0 / (1.0 / self.bleeder_s + self.inner_ohm);
        // The rectifier conducts only where the terminals stand above its drop.
        let Way { rectifier_v, short_s, short_v, passes, .. } = self.way;
        let inner_s = if passes { inner_s } else { 0.0 };
        let conducting_a = (TEST_V - rectifier_v).max(0.0) * inner_s;
        let ampere = conducting_a + (TEST_V - short_v).max(0.0) * short_s;
        if ampere <= TEST_A {
            return (TEST_V, ampere);
        }
        let volt = short_v + TEST_A / short_s.max(1e-12);
        if volt > rectifier_v && passes {
            let both_a = TEST_A + rectifier_v * inner_s + short_v * short_s;
            (both_a / (inner_s + short_s), TEST_A)
        } else {
            (volt, TEST_A)
        }
    }

    /// Lets at most `span_us` pass. Ends early, at the instant when the logic gets or loses its
    /// voltage or the fast cut-off trips. Returns how long passed.
    pub fn advance(&mut self, span_us: u64) -> u64 {
        let mut gone_us = 0;
        while gone_us < span_us {
            if self.settled {
                self.through_c += (span_us - gone_us) as f64 * 1e-6 * self.flow.feed_a;
                self.follow(span_us - gone_us);
                return span_us;
            }
            let h_us = self.step_us().min(span_us - gone_us);
            let before_a = self.flow.feed_a;
            self.step(h_us);
            self.through_c += h_us as f64 * 1e-6 * 0.5 * (before_a + self.flow.feed_a);
            gone_us += h_us;
            let alive = self.rail_v() > if self.alive { BROWN_OUT_V } else { POWER_UP_V };
            let changed = alive != self.alive;
            self.alive = alive;
            if self.watch_current(h_us) || changed {
                return gone_us;
            }
        }
        gone_us
    }

    fn disturb(&mut self) {
        self.settled = false;
        self.flow = self.flow();
        self.inputs(Input::hold);
    }

    /// Hands voltage and current to the inputs of their converters, whose filters have yet to follow.
    fn inputs(&mut self, each: impl Fn(&mut Input)) {
        (self.volt.value, self.ampere.value) = (self.feed_v(), self.flow.feed_a);
        [&mut self.volt, &mut self.ampere].into_iter().for_each(each);
        self.follows_us = FOLLOWED_US;
    }

    /// The filters follow what has settled.
    fn follow(&mut self, span_us: u64) {
        let left_us = self.follows_us.saturating_sub(span_us);
        if self.follows_us > 0 {
            let h = span_us as f64 * 1e-6;
            self.inputs(|input| if left_us == 0 { input.settle() } else { input.lean(h) });
        }
        self.follows_us = left_us;
    }

    fn drawn_a(&self) -> f64 {
        self.load_a + self.coils_a + (self.bleeder_s + self.leak_s) * self.capacitor_v
    }

    fn sum_coils(&mut self) {
        let is_active = CoilBranch::is_active;
        let begin = self.coils.iter().position(is_active).unwrap_or(0);
        let end = self.coils.iter().rposition(is_active).map_or(0, |last| last + 1);
        self.active = begin..end;
        self.add_coils();
    }

    /// The same after a step, in which none begins to work.
    fn add_coils(&mut self) {
        let active = &self.coils[self.active.clone()];
        self.coils_a = active.iter().map(CoilBranch::drawn_a).sum();
        if !active.iter().any(CoilBranch::is_active) {
            self.active = 0..0;
        }
    }

    /// What flows with the present charge and loads.
    fn flow(&self) -> Flow {
        if self.drive == FeedDrive::Off {
            return Flow::default();
        }
        if let Some(siemens) = self.reference_s {
            return self.reference_flow(siemens);
        }
        if self.is_parted() {
            return Flow { terminal_v: self.supply_v, ..Flow::default() };
        }
        let Way { short_s, short_v, open_v, open_ohm, rectifier_v, passes } = self.way;
        // The rail seen from the terminals: a voltage behind a resistance, through the rectifier.
        let behind_v = rectifier_v + self.capacitor_v - self.esr_ohm * self.drawn_a();
        let rectifier_a = match passes {
            true => ((open_v - behind_v) / (open_ohm + self.inner_ohm)).max(0.0),
            false => 0.0,
        };
        let terminal_v = open_v - open_ohm * rectifier_a;
        let feed_a = rectifier_a + short_s * (terminal_v - short_v);
        if self.drive == FeedDrive::Limited && feed_a > self.limit_a {
            let inner_s = 1.0 / self.inner_ohm;
            let both_a = self.limit_a + inner_s * behind_v + short_s * short_v;
            let mut terminal_v = both_a / (short_s + inner_s);
            if terminal_v < behind_v || !passes {
                terminal_v = short_v + self.limit_a / short_s;
            }
            let rectifier_a = (self.limit_a - short_s * (terminal_v - short_v)).max(0.0);
            return Flow { feed_a: self.limit_a, rectifier_a, terminal_v, conducts: false };
        }
        Flow { feed_a, rectifier_a, terminal_v, conducts: rectifier_a > 0.0 }
    }

    /// What flows through a reference resistor, the module taken off.
    fn reference_flow(&self, siemens: f64) -> Flow {
        let feed_a = self.supply_v * siemens / (1.0 + self.outer_ohm * siemens);
        let is_limited = self.drive == FeedDrive::Limited && feed_a > self.limit_a;
        let feed_a = if is_limited { self.limit_a } else { feed_a };
        Flow { feed_a, rectifier_a: 0.0, terminal_v: feed_a / siemens, conducts: false }
    }

    /// The next step: a fraction of the smallest time constant that is at work.
    fn step_us(&self) -> u64 {
        let mut h = if self.flow.conducts {
            self.tau_s / 6.0
        } else {
            // A ramp: no more than 50 mV.
            let slope_a = (self.flow.rectifier_a - self.drawn_a()).abs();
            (0.05 * self.reservoir_f / slope_a.max(1e-9)).min(0.002)
        };
        for coil in self.coils[self.active.clone()].iter().filter(|c| c.is_active()) {
            h = h.min(coil.tau_s() / 10.0);
        }
        if self.flow.feed_a > CUT_OFF_A {
            h = h.min(10e-6);
        }
        ((h * 1e6) as u64).max(1)
    }

    /// One step: linearly implicit trapezoid for the reservoir, trapezoid for the coils.
    fn step(&mut self, h_us: u64) {
        let h = h_us as f64 * 1e-6;
        let mut slope = (self.flow.rectifier_a - self.drawn_a()) / self.reservoir_f;
        let any_active = !self.active.is_empty();
        if any_active {
            // The coils' currents move within the step: half of it has what they draw at its end.
            let rail_v = self.rail_v();
            let active = self.coils[self.active.clone()].iter().filter(|coil| coil.is_active());
            self.coils_a = active.map(|coil| coil.drawn_after_a(h, rail_v)).sum();
            let end = self.flow();
            slope = 0.5 * (slope + (end.rectifier_a - self.drawn_a()) / self.reservoir_f);
            self.flow = end;
        }
        let damping = if self.flow.conducts { h / (2.0 * self.tau_s) } else { 0.0 };
        self.capacitor_v = (self.capacitor_v + h * slope / (1.0 + damping)).max(0.0);
        let rail_v = self.rail_v();
        let mut moving = false;
        if any_active {
            for coil in self.coils[self.active.clone()].iter_mut().filter(|c| c.is_active()) {
                coil.step(h, rail_v);
                moving |= coil.is_moving(rail_v, 0.01);
            }
            self.add_coils();
        }
        self.flow = self.flow();
        self.inputs(|input| input.lean(h));
        let drawn_a = self.drawn_a();
        let into_a = self.flow.rectifier_a - drawn_a;
        let still = if self.flow.conducts {
            into_a.abs() < STILL * drawn_a
        } else {
            (into_a / self.reservoir_f).abs() < STILL_V_PER_S
                || (self.capacitor_v == 0.0 && into_a < 0.0)
        };
        self.settled = still && !moving && self.flow.feed_a <= CUT_OFF_A;
    }

    /// Times an over-current; `true` when the cut-off trips.
    fn watch_current(&mut self, h_us: u64) -> bool {
        if self.drive != FeedDrive::Full || self.flow.feed_a <= CUT_OFF_A {
            self.over_us = 0;
            return false;
        }
        self.over_us += h_us;
        if self.over_us < CUT_OFF_US {
            return false;
        }
        self.tripped = true;
        self.drive = FeedDrive::Off;
        self.disturb();
        true
    }
}

impl Way {
    /// That of a half of the rectifier, with the other half beside it. `short_s` lies across the terminals
    /// whatever their level.
    fn new(
        supply_v: f64,
        outer_ohm: f64,
        short_s: f64,
        rectifier_v: f64,
        own: RectifierHalf,
        other: RectifierHalf,
    ) -> Self {
        // A diode that is a resistance lies, in its own half, across what conducts anyhow. In the other half
        // it joins the higher wire to the lower one, by way of the diode beside it.
        let diode_s = other.shorted_s;
        let (short_s, short_v) =
            (short_s + diode_s, DIODE_V * diode_s / (short_s + diode_s).max(1e-12));
        let divided = 1.0 / (1.0 + outer_ohm * short_s);
        Way {
            short_s,
            short_v,
            open_v: (supply_v + outer_ohm * short_s * short_v) * divided,
            open_ohm: outer_ohm * divided,
            rectifier_v,
            passes: !own.open,
        }
    }
}

#[cfg(test)]
mod tests;
