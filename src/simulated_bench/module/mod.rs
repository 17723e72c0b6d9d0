//! The model module: it lives from its rail, reads its switches at boot, decodes the feed, and
//! moves its outputs.

pub mod input;
pub mod lamp;
pub mod mechanism;
pub mod receiver;
mod switch_bank;
mod warmth;

use super::circuits::feed::FeedCircuit;
use super::circuits::loads::LoadCircuit;
use super::draw::{Stream, happens};
use super::parts::{ModuleParts, Parts};
use super::truth::ContactChange;
use crate::signal::pulse::{Level, Stretch};
#[cfg(test)]
use crate::signal::target::Format;
use crate::signal::target::Position;
use lamp::StatusLamp;
use mechanism::{Effect, Mechanism};
use receiver::Receiver;
use warmth::Warmth;

const POSITIONS: [Position; 2] = [Position::A, Position::B];

/// A contact input hangs on a resistor of 10 kΩ to its supply and reads low up to 0.3 of that, high again
/// from 0.7 on, as the logic families with Schmitt triggers do (common practice, no source). Leakage to
/// ground below this, ohms, reads low by itself …
const READS_LOW_OHM: f64 = 10_000.0 * 0.3 / 0.7;
/// … and below this it stays low once it was.
const READS_HIGH_OHM: f64 = 10_000.0 * 0.7 / 0.3;

/// How far it has come since it got power.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Life {
    Dead,
    Booting {
        ready_us: u64,
    },
    Ready,
    /// It has power, and does nothing.
    Stuck,
}

/// The module with its state.
#[derive(Clone, Debug)]
pub struct Module {
    parts: ModuleParts,
    rng: Stream,
    life: Life,
    receiver: Receiver,
    lamp: StatusLamp,
    outputs: [Mechanism; 4],
    /// Closures of the contact inputs that the jig makes.
    closed: [bool; 8],
    /// Those that the module sees.
    held: [bool; 8],
    switches: u32,
    slider: bool,
    warmth: Warmth,
}

impl Module {
    /// A module without power.
    pub fn new(parts: &Parts, switches: u32, slider: bool, rng: Stream) -> Self {
        let parts = parts.module.clone();
        let kind = &parts.kind;
        Module {
            receiver: Receiver::new(kind, switches),
            lamp: StatusLamp::new(kind.lamp_a, parts.second_lamp_a, kind.lamp_duty),
            outputs: parts.outputs.clone().map(Mechanism::new),
            parts,
            rng,
            life: Life::Dead,
            closed: [false; 8],
            held: [false; 8],
            switches,
            slider,
            warmth: Warmth::default(),
        }
    }

    /// Puts the contacts into the network as they stand before any power.
    pub fn fit_contacts(&self, loads: &mut LoadCircuit) {
        for (k, output) in self.outputs.iter().enumerate().take(self.count()) {
            loads.set_contact(k, output.position().index(), true);
        }
    }

    /// Sets the switches; they are read at the next boot.
    pub fn set_switches(&mut self, switches: u32) {
        self.switches = switches;
    }

    /// Moves the slider of the auxiliary supply.
    pub fn set_slider(&mut self, on: bool, feed: &mut FeedCircuit) {
        self.slider = on;
        feed.set_load(self.drawn_a());
    }

    /// Where an output stands.
    pub fn position(&self, output: usize) -> Position {
        self.outputs[output].position()
    }

    /// Whether it listens to the feed.
    pub fn is_ready(&self) -> bool {
        self.life == Life::Ready
    }

    /// When it does something next by itself.
    pub fn next_us(&self) -> u64 {
        let life = match self.life {
            Life::Booting { ready_us } => ready_us,
            _ => u64::MAX,
        };
        self.outputs.iter().fold(life.min(self.lamp.next_us()), |t, o| t.min(o.next_us()))
    }

    /// The rail has come up or gone.
    pub fn set_power(&mut self, alive: bool, now_us: u64, feed: &mut FeedCircuit) {
        self.warmth.pass(now_us, self.life != Life::Dead);
        if alive {
            if self.life == Life::Dead {
                self.start(now_us);
            }
        } else if self.life != Life::Dead {
            self.life = Life::Dead;
            self.drop_all(now_us, feed);
        }
        feed.set_load(self.drawn_a());
    }

    /// The controller starts, or does not.
    fn start(&mut self, now_us: u64) {
        let boot_us = (self.parts.kind.boot_s * 1e6) as u64;
        let starts = !happens(&mut self.rng, self.parts.stays_dead);
        self.life = if starts { Life::Booting { ready_us: now_us + boot_us } } else { Life::Stuck };
    }

    /// The controller drives nothing any more, and knows nothing.
    fn drop_all(&mut self, now_us: u64, feed: &mut FeedCircuit) {
        self.lamp.off();
        self.held = [false; 8];
        for (k, output) in self.outputs.iter_mut().enumerate() {
            output.lose_power(now_us);
            feed.set_coil(2 * k, false);
            feed.set_coil(2 * k + 1, false);
        }
    }

    /// Takes a stretch of level from the feed, while ready; returns a command to one of its outputs.
    #[inline]
    pub fn listen(&mut self, stretch: Stretch) -> Option<(usize, Position)> {
        // Nearly all stretches are halves of bits that complete nothing.
        if self.receiver.stretch(stretch) { self.read(stretch) } else { None }
    }

    /// How long after the end of the present stretch it can hear something that concerns it at the
    /// earliest, microseconds.
    pub fn hears_no_sooner_us(&self) -> u64 {
        self.receiver.no_sooner_us()
    }

    fn read(&mut self, stretch: Stretch) -> Option<(usize, Position)> {
        let (rng, deaf) = (&mut self.rng, self.parts.deaf);
        let command = self.receiver.read(stretch.end_us, || !happens(rng, deaf));
        self.keep_rhythm(stretch.end_us);
        command
    }

    /// Looks at the level that the feed holds, and for how long it has.
    pub fn look(&mut self, level: Level, held_us: u64, now_us: u64) {
        if self.life == Life::Ready {
            self.receiver.look(level, held_us);
            self.keep_rhythm(now_us);
        }
    }

    /// Keeps the lamp's rhythm to how the feed looks.
    fn keep_rhythm(&mut self, now_us: u64) {
        let kind = &self.parts.kind;
        let inverted = self.receiver.is_inverted() && kind.polarity_matters;
        self.lamp.blink(if inverted { kind.lamp_inverted_hz } else { kind.lamp_hz }, now_us);
    }

    /// Carries out a command.
    pub fn command(&mut self, index: usize, to: Position, now_us: u64, feed: &FeedCircuit) {
        let vigour = self.vigour(feed);
        for k in 0..self.count() {
            let parts = self.outputs[k].parts();
            let (obeys, follows) = (parts.obeys == index, parts.follows);
            let after = (index + 1) % self.count() == k;
            let along = !obeys && after && happens(&mut self.rng, follows);
            if !obeys && !along {
                continue;
            }
            let to = if self.outputs[k].parts().swapped { to.other() } else { to };
            let other_held = self.held[2 * k + to.other().index()];
            if other_held && !happens(&mut self.rng, self.parts.ignores_held) {
                continue;
            }
            let response_s = self.outputs[k].parts().response_s + self.later_s(k, now_us);
            self.outputs[k].operate(to, response_s, vigour, now_us, &mut self.rng);
        }
    }

    /// By how much warmth makes an output later, seconds.
    fn later_s(&mut self, k: usize, now_us: u64) -> f64 {
        let later_s = self.outputs[k].parts().later_when_warm_s;
        if later_s == 0.0 {
            return 0.0;
        }
        self.warmth.pass(now_us, self.life != Life::Dead);
        later_s * self.warmth.share()
    }

    /// The jig closes or opens a contact input.
    pub fn set_closure(&mut self, input: usize, closed: bool, now_us: u64, feed: &FeedCircuit) {
        if self.closed[input] == closed {
            return;
        }
        self.closed[input] = closed;
        if self.life == Life::Ready {
            self.see_input(input, closed, now_us, feed);
        }
    }

    /// Whether the status lamp is lit.
    pub fn lamp_is_lit(&self) -> bool {
        self.lamp.is_lit()
    }

    /// Does what is due. Contacts that change are told in `changed`, where that is kept.
    pub fn turn(
        &mut self,
        now_us: u64,
        feed: &mut FeedCircuit,
        loads: &mut LoadCircuit,
        mut changed: Option<&mut Vec<ContactChange>>,
    ) {
        if matches!(self.life, Life::Booting { ready_us } if ready_us <= now_us) {
            self.boot(now_us, feed);
        }
        self.lamp.turn(now_us);
        for k in 0..self.count() {
            if self.outputs[k].next_us() > now_us {
                continue;
            }
            while let Some(effect) = self.outputs[k].next_effect(
                now_us,
                |p| feed.coil_a(2 * k + p.index()),
                &mut self.rng,
            ) {
                match effect {
                    Effect::Coil(p, on) => feed.set_coil(2 * k + p.index(), on),
                    Effect::Contact(position, closed) => {
                        loads.set_contact(k, position.index(), closed);
                        if let Some(changed) = &mut changed {
                            let output = k as u8 + 1;
                            changed.push(ContactChange { at_us: now_us, output, position, closed });
                        }
                    }
                    Effect::Leaves => {
                        if happens(&mut self.rng, self.parts.restarts) {
                            self.drop_all(now_us, feed);
                            self.start(now_us);
                        }
                    }
                    Effect::Done => {
                        feed.set_coil(2 * k, false);
                        feed.set_coil(2 * k + 1, false);
                        // A module that lets commands through against a held contact looks at
                        // its inputs only when they close.
                        if self.parts.ignores_held == 0.0 {
                            self.obey_held(k, now_us, feed);
                        }
                    }
                }
            }
        }
        feed.set_load(self.drawn_a());
    }

    fn count(&self) -> usize {
        usize::from(self.parts.kind.outputs).min(4)
    }

    /// What it draws from the rail besides the coils, amperes.
    fn drawn_a(&self) -> f64 {
        if self.life == Life::Dead {
            return 0.0;
        }
        let auxiliary_a = if self.slider { self.parts.kind.auxiliary_a } else { 0.0 };
        self.parts.kind.logic_a + self.lamp.drawn_a() + auxiliary_a
    }

    fn vigour(&self, feed: &FeedCircuit) -> f64 {
        feed.rail_v() / (self.parts.kind.feed_v - self.parts.rectifier_v)
    }

    fn boot(&mut self, now_us: u64, feed: &FeedCircuit) {
        self.life = Life::Ready;
        let parts = &self.parts;
        let switches = match parts.switch_stuck {
            Some((stuck, true)) => self.switches | 1 << stuck,
            Some((stuck, false)) => self.switches & !(1 << stuck),
            None => self.switches,
        };
        self.receiver =
            Receiver::with_faults(&parts.kind, switches, parts.address_shift, parts.extra_packets);
        let keeps = parts.kind.keeps_position;
        self.keep_rhythm(now_us);
        for k in 0..self.count() {
            // A coil whose driver lets enough through pulls by itself, before all else.
            let [a, b] = [0, 1].map(|p| feed.coil_a(2 * k + p));
            let pull_in_a = self.outputs[k].parts().pull_in_a;
            let pulled = [(Position::A, a - b), (Position::B, b - a)];
            let pulled = pulled.into_iter().find(|(_, by_a)| *by_a >= pull_in_a);
            if let Some((to, _)) = pulled {
                if self.position(k) != to {
                    self.move_now(k, to, now_us, feed);
                }
                continue;
            }
            if !keeps && self.position(k) == Position::B {
                self.move_now(k, Position::A, now_us, feed);
            }
            let share = self.outputs[k].parts().moves_at_boot;
            if happens(&mut self.rng, share) {
                self.move_now(k, self.position(k).other(), now_us, feed);
            }
        }
        for input in 0..8 {
            let parts = self.outputs[input / 2].parts();
            let (share, leak_ohm) =
                (parts.input_grounded[input % 2], parts.input_leak_ohm[input % 2]);
            let is_low = leak_ohm <= READS_LOW_OHM || happens(&mut self.rng, share);
            if self.closed[input] || is_low {
                self.see_input(input, true, now_us, feed);
            }
        }
    }

    fn move_now(&mut self, k: usize, to: Position, now_us: u64, feed: &FeedCircuit) {
        let (response_s, vigour) = (self.outputs[k].parts().response_s, self.vigour(feed));
        self.outputs[k].operate(to, response_s, vigour, now_us, &mut self.rng);
    }

    /// A contact input changes as the module sees it.
    fn see_input(&mut self, input: usize, closed: bool, now_us: u64, feed: &FeedCircuit) {
        let (k, p) = (input / 2, input % 2);
        let parts = self.outputs[k].parts();
        let (dead, grounded) = (parts.input_dead[p], parts.input_grounded[p]);
        let stays = grounded > 0.0 || parts.input_leak_ohm[p] < READS_HIGH_OHM;
        if closed && happens(&mut self.rng, dead) || !closed && stays && self.held[input] {
            return;
        }
        self.held[input] = closed;
        if closed {
            self.obey_held(k, now_us, feed);
        }
    }

    /// Moves an output to the position whose contact is held, if just one is.
    fn obey_held(&mut self, k: usize, now_us: u64, feed: &FeedCircuit) {
        if self.life != Life::Ready || k >= self.count() || self.outputs[k].is_moving() {
            return;
        }
        let [a, b] = POSITIONS.map(|p| self.held[2 * k + p.index()]);
        let to = match (a, b) {
            (true, false) => Position::A,
            (false, true) => Position::B,
            _ => return,
        };
        if self.position(k) != to {
            let response_s = self.outputs[k].parts().contact_response_s + self.later_s(k, now_us);
            let vigour = self.vigour(feed);
            self.outputs[k].operate(to, response_s, vigour, now_us, &mut self.rng);
        }
    }

    /// The format that it listens to; for tests.
    #[cfg(test)]
    pub fn address_and_format(&self) -> (i32, Format) {
        (self.receiver.first_address(), self.receiver.format())
    }
}
