//! Everything electrical on the bench as time goes on.

use super::circuits::feed::FeedCircuit;
use super::circuits::loads::LoadCircuit;
use super::draw::Stream;
use super::insulation::Insulation;
use super::loose_joints::{Joint, LooseJoints};
use super::module::Module;
use super::parts::Parts;
use super::pulse_line::PulseLine;
use super::truth::{Order, Truth};
use crate::jig::board::FeedDrive;
use crate::signal::pulse::Level;
use crate::signal::target::Position;

/// The world.
#[derive(Clone, Debug)]
pub struct World {
    /// Time, microseconds.
    now_us: u64,
    /// The feed up to the module's rail.
    pub feed: FeedCircuit,
    /// The load supply up to the loads.
    pub loads: LoadCircuit,
    /// What joins feed wires and commons.
    pub insulation: Insulation,
    /// The module.
    pub module: Module,
    /// The pulses on the feed. The module hears them late where they cannot yet mean anything.
    line: PulseLine,
    /// Whether the jig swaps the wires.
    inverted: bool,
    /// Whether somebody swapped them on the way.
    swapped: bool,
    /// The joints that come and go.
    joints: LooseJoints,
    /// Whether the module is out of the jig.
    is_out: bool,
    /// Whether the jig's start button is held down.
    button: bool,
    /// What truly happened, where somebody wants to know.
    truth: Option<Box<Truth>>,
}

impl World {
    /// A world at rest at time zero.
    pub fn new(
        parts: &Parts,
        switches: u32,
        slider: bool,
        rng: Stream,
        joints: LooseJoints,
    ) -> Self {
        let mut loads = LoadCircuit::new(parts);
        let module = Module::new(parts, switches, slider, rng);
        module.fit_contacts(&mut loads);
        World {
            now_us: 0,
            feed: FeedCircuit::new(parts),
            loads,
            insulation: parts.leads.insulation.clone(),
            module,
            line: PulseLine::new(),
            inverted: false,
            swapped: parts.leads.feed_swapped,
            joints,
            is_out: false,
            button: false,
            truth: None,
        }
    }

    /// Time, microseconds.
    pub fn now_us(&self) -> u64 {
        self.now_us
    }

    /// The pulses on the feed.
    pub fn line(&self) -> &PulseLine {
        &self.line
    }

    /// The pulses on the feed, to be changed from now on.
    pub fn line_mut(&mut self) -> &mut PulseLine {
        self.hear_out();
        &mut self.line
    }

    /// Drives the feed.
    pub fn set_drive(&mut self, drive: FeedDrive) {
        self.hear_out();
        let through_c = self.feed.through_c();
        if let Some(truth) = &mut self.truth
            && drive != self.feed.drive()
        {
            truth.started(self.now_us, through_c);
            if drive == FeedDrive::Limited {
                truth.starts(self.now_us, through_c);
            }
        }
        self.feed.set_drive(drive);
    }

    /// Keeps note of what truly happens from now on.
    pub fn keep_truth(&mut self) {
        self.truth = Some(Box::default());
    }

    /// What truly happened since it was kept.
    pub fn truth(&self) -> Option<&Truth> {
        self.truth.as_deref()
    }

    /// Swaps the wires of the feed at the jig.
    pub fn set_inverted(&mut self, inverted: bool) {
        self.hear_out();
        self.inverted = inverted;
        self.keep_level();
    }

    /// The jig closes or opens a contact input.
    pub fn set_closure(&mut self, input: usize, closed: bool) {
        self.module.set_closure(input, closed, self.now_us, &self.feed);
        if closed {
            let to = if input.is_multiple_of(2) { Position::A } else { Position::B };
            self.note_order(self.now_us, input / 2, to, true);
        }
    }

    /// Moves the slider of the auxiliary supply.
    pub fn set_slider(&mut self, on: bool) {
        self.module.set_slider(on, &mut self.feed);
    }

    /// Seats the module in the jig, or takes it out: its feed and all its clamps part.
    pub fn set_seated(&mut self, seated: bool) {
        self.hear_out();
        self.is_out = !seated;
        self.feed.set_out(self.is_out);
        self.loads.set_out(self.is_out);
        self.loads.refresh();
    }

    /// Whether the jig is empty.
    pub fn is_out(&self) -> bool {
        self.is_out
    }

    /// Whether the jig's start button is held down.
    pub fn button_is_down(&self) -> bool {
        self.button
    }

    /// Presses the jig's start button, or lets it go.
    pub fn set_button(&mut self, down: bool) {
        self.button = down;
    }

    /// Resistance between both feed wires together and all commons together, ohms.
    pub fn feed_to_commons_ohm(&self) -> f64 {
        if self.is_out { f64::INFINITY } else { self.insulation.feed_to_commons_ohm() }
    }

    /// The lowest resistance between two commons, ohms.
    pub fn common_to_common_ohm(&self) -> f64 {
        if self.is_out { f64::INFINITY } else { self.insulation.common_to_common_ohm() }
    }

    /// Puts a reference resistor where the current of a clamp flows, or that of the feed; or takes it
    /// away again.
    pub fn fit_reference(&mut self, clamp: Option<usize>, ohm: Option<f64>) {
        match clamp {
            Some(clamp) => {
                self.loads.fit_reference(clamp, ohm);
                self.loads.refresh();
            }
            None => {
                self.hear_out();
                self.feed.fit_reference(ohm);
            }
        }
    }

    /// Lets time pass up to `to_us`.
    pub fn advance(&mut self, to_us: u64) {
        self.note();
        self.pass(to_us);
        self.note();
    }

    fn pass(&mut self, to_us: u64) {
        if to_us < self.still_until_us() {
            // What flows goes on; nothing else does.
            self.feed.advance(to_us.saturating_sub(self.now_us));
            self.now_us = to_us.max(self.now_us);
            return;
        }
        loop {
            let mut until_us = to_us.min(self.module.next_us()).min(self.joints.next_us());
            if self.feed.minds_level() {
                until_us = until_us.min(self.line.next_us());
            }
            until_us = until_us.max(self.now_us);
            let command = self.listen(until_us);
            if let Some((at_us, ..)) = command {
                until_us = at_us.max(self.now_us);
            }
            let span_us = until_us - self.now_us;
            let alive = self.feed.is_alive();
            let gone_us = self.feed.advance(span_us);
            self.pass_loads(gone_us);
            self.now_us += gone_us;
            if self.feed.is_alive() != alive {
                self.module.set_power(!alive, self.now_us, &mut self.feed);
            }
            if gone_us < span_us {
                // The feed ended the step early: the command, if any, is lost with the power.
                continue;
            }
            if let Some((_, output, to)) = command {
                self.module.command(output, to, self.now_us, &self.feed);
                self.note_order(self.now_us, output, to, false);
            }
            self.keep_level();
            while let Some((joint, is_open)) = self.joints.turn(self.now_us) {
                match joint {
                    Joint::Feed => self.feed.set_parted(is_open),
                    Joint::Contact(output, p) => self.loads.set_contact_loose(output, p, is_open),
                    Joint::Clamp(clamp) => self.loads.set_parted(clamp, is_open),
                }
            }
            if self.module.next_us() <= self.now_us {
                let (level, since_us) = self.level();
                self.module.look(level, self.now_us.saturating_sub(since_us), self.now_us);
                self.note();
                let contacts = self.truth.as_mut().map(|truth| &mut truth.contacts);
                self.module.turn(self.now_us, &mut self.feed, &mut self.loads, contacts);
                if let Some(truth) = &mut self.truth {
                    truth.lamp(self.now_us, self.module.lamp_is_lit());
                    self.loads.refresh();
                }
                self.note();
            } else if self.now_us >= to_us {
                self.loads.refresh();
                return;
            }
        }
    }

    /// Before this time nothing changes that can be measured, unless somebody changes it; now when
    /// something moves.
    pub fn still_until_us(&self) -> u64 {
        if !self.feed.is_settled() || !self.loads.is_settled() {
            return self.now_us;
        }
        let heard_us = if self.hears() {
            self.line.next_us().saturating_add(self.module.hears_no_sooner_us())
        } else {
            u64::MAX
        };
        let level_us = if self.feed.minds_level() { self.line.next_us() } else { u64::MAX };
        heard_us.min(level_us).min(self.module.next_us()).min(self.joints.next_us())
    }

    /// The level that the module has heard last, and since when.
    fn level(&self) -> (Level, u64) {
        let (level, since_us) = self.line.standing();
        (if self.inverted != self.swapped { level.inverted() } else { level }, since_us)
    }

    /// Whether the pulses on the feed reach the module's decoder.
    fn hears(&self) -> bool {
        self.feed.drive() != FeedDrive::Off && !self.feed.is_parted() && self.module.is_ready()
    }

    /// Lets the module hear what it may have left for later.
    fn hear_out(&mut self) {
        let heard = self.listen(self.now_us);
        debug_assert!(heard.is_none(), "a command was heard too late");
        self.keep_level();
    }

    /// Tells the rectifier the level of the feed, where that makes a difference to it.
    #[inline]
    fn keep_level(&mut self) {
        if self.feed.minds_level() && self.level().1 <= self.now_us {
            self.feed.set_level(self.level().0);
        }
    }

    /// Takes note of what flows now, where that is kept.
    #[inline]
    fn note(&mut self) {
        if let Some(truth) = &mut self.truth {
            truth.see(self.now_us, &self.feed, &self.loads);
        }
    }

    fn note_order(&mut self, at_us: u64, output: usize, to: Position, by_contact: bool) {
        if let Some(truth) = &mut self.truth {
            truth.orders.push(Order { at_us, output: output as u8 + 1, to, by_contact });
        }
    }

    fn pass_loads(&mut self, span_us: u64) {
        let mut gone_us = self.loads.advance(span_us);
        while gone_us < span_us {
            gone_us += self.loads.advance(span_us - gone_us);
        }
    }

    /// Lets the module hear the feed up to `until_us`; stops at the first command.
    fn listen(&mut self, until_us: u64) -> Option<(u64, usize, Position)> {
        let hears = self.hears();
        let swap = self.inverted != self.swapped;
        while let Some(mut stretch) = self.line.next_stretch(until_us) {
            if !hears {
                continue;
            }
            if swap {
                stretch.level = stretch.level.inverted();
            }
            if let Some((output, to)) = self.module.listen(stretch) {
                return Some((stretch.end_us, output, to));
            }
        }
        None
    }
}
