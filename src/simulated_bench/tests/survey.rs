//! What a look at every quantity of the bench gives: true values, before any converter.

use super::rig::{Rig, setup};
use crate::jig::board::{Board, FeedDrive, Supply};
use crate::jig::hand::{Hand, HandAct};
use crate::signal::pulse::Level;
use crate::signal::target::Position;
use crate::simulated_bench::faults::Fault;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;

/// A quantity, its value, and the difference that counts as one.
pub type Finding = (String, f64, f64);

const STEP_S: f64 = 0.000_2;

/// Looks at everything, in the order in which an acceptance test would.
pub fn survey(seed: u64, faults: Vec<(&'static Fault, f64)>) -> Vec<Finding> {
    let mut kind = Kind::example();
    kind.polarity_matters = true;
    let loads = core::array::from_fn(|_| LoadModel::resistor(120.0));
    let mut rig = Rig::of(setup(kind, seed, loads, faults));
    let mut s = Survey { found: Vec::new() };
    // The operator sets the bench as the script asks.
    rig.board.act(HandAct::Switches(super::rig::SWITCHES)).unwrap();
    rig.board.act(HandAct::Auxiliary(false)).unwrap();
    let ohm = rig.board.world().feed.resistance_ohm().min(30_000.0);
    s.note("feed resistance, log", ohm.ln(), 0.3);
    for (what, ohm) in [
        ("feed to commons, log", rig.board.world().insulation.feed_to_commons_ohm()),
        ("common to common, log", rig.board.world().insulation.common_to_common_ohm()),
    ] {
        s.note(what, ohm.min(30_000.0).ln(), 0.3);
    }
    s.power_up(&mut rig);
    s.feed(&mut rig);
    rig.jig_loads();
    for output in 1..=4 {
        rig.command(output, Position::A);
        rig.pass(0.3);
    }
    for to in [Position::B, Position::A, Position::B] {
        for output in 1..=4 {
            s.operate(&mut rig, output, to, false);
        }
    }
    for to in [Position::A, Position::B] {
        for output in 1..=4 {
            s.operate(&mut rig, output, to, true);
        }
    }
    for output in 1..=4 {
        let held = 200 + 2 * u16::from(output);
        rig.board.set_switch(held, true);
        rig.pass(0.05);
        rig.command(output, Position::A);
        rig.pass(0.2);
        s.note("still at b", f64::from(u8::from(rig.position(output) == Some(Position::B))), 0.5);
        rig.board.set_switch(held, false);
        for to in [Position::A, Position::B] {
            rig.command(output, to);
            rig.pass(0.15);
            let obeys = rig.position(output) == Some(to);
            s.note("free again", f64::from(u8::from(obeys)), 0.5);
        }
    }
    let before: Vec<_> = (1..=4).map(|k| rig.position(k)).collect();
    rig.power_down();
    s.power_up(&mut rig);
    let kept = (1..=4).filter(|&k| rig.position(k) == before[usize::from(k) - 1]).count();
    s.note("positions kept", kept as f64, 0.5);
    for clamp in 0..8 {
        rig.board.set_switch(321 + clamp, false);
        rig.board.set_switch(301 + clamp, true);
    }
    s.currents(&rig, 1.0);
    for output in 1..=4 {
        rig.command(output, Position::A);
        rig.pass(0.3);
    }
    s.currents(&rig, 1.0);
    s.held(&mut rig);
    s.found
}

struct Survey {
    found: Vec<Finding>,
}

impl Survey {
    fn note(&mut self, what: &str, value: f64, counts: f64) {
        self.found.push((what.to_owned(), value, counts));
    }

    fn power_up(&mut self, rig: &mut Rig) {
        rig.board.set_feed(FeedDrive::Limited);
        let mut charge_c = 0.0;
        for _ in 0..750 {
            rig.pass(STEP_S);
            charge_c += rig.board.world().feed.feed_a() * STEP_S;
        }
        self.note("start charge", charge_c, 0.001_5);
        rig.board.set_feed(FeedDrive::Full);
        rig.pass(0.6);
        let tripped = rig.board.cut_off(Supply::Feed);
        self.note("tripped", f64::from(u8::from(tripped)), 0.5);
    }

    fn feed(&mut self, rig: &mut Rig) {
        self.note("feed voltage", rig.board.world().feed.feed_v(), 0.5);
        let idle_a = self.lamp(rig);
        self.note("idle current", idle_a, 0.005);
        rig.board.act(HandAct::Auxiliary(true)).unwrap();
        rig.pass(0.1);
        let with_a = self.lamp(rig);
        self.note("auxiliary current", with_a - idle_a, 0.008);
        rig.board.act(HandAct::Auxiliary(false)).unwrap();
    }

    /// Mean feed current over two seconds; notes the lamp's changes.
    fn lamp(&mut self, rig: &mut Rig) -> f64 {
        let currents: Vec<f64> = (0..2_000)
            .map(|_| {
                rig.pass(0.001);
                rig.board.world().feed.feed_a()
            })
            .collect();
        let changes = currents.windows(6).filter(|w| (w[5] - w[0]).abs() > 0.003).count() as f64;
        self.note("lamp changes", changes, 3.5);
        currents.iter().sum::<f64>() / 2_000.0
    }

    /// What flows once the feed has rested at either level.
    fn held(&mut self, rig: &mut Rig) {
        for level in [Level::High, Level::Low] {
            rig.board.drive_clear();
            rig.board.rest(level);
            let end_us = rig.board.now_us() + 400_000;
            rig.board.advance_to(end_us);
            let held_a = rig.board.world().feed.feed_a();
            self.note(&format!("feed current, {level:?}"), held_a, 0.020);
        }
    }

    fn currents(&mut self, rig: &Rig, factor: f64) {
        for clamp in 0..8 {
            let world = rig.board.world();
            self.note(&format!("current {clamp}"), world.loads.clamp_a(clamp), 0.03 * factor);
        }
        let world = rig.board.world();
        self.note("load voltage", world.loads.bus_v(), 0.5);
    }

    fn operate(&mut self, rig: &mut Rig, output: u8, to: Position, by_contact: bool) {
        let new = 2 * (usize::from(output) - 1) + to.index();
        let old = 2 * (usize::from(output) - 1) + to.other().index();
        let idle_a = rig.board.world().feed.feed_a();
        let closer = 201 + new as u16;
        if by_contact {
            rig.board.set_switch(closer, true);
        } else {
            rig.command(output, to);
        }
        let (mut opened, mut closed, mut steady, mut peak_a) = (None, None, None, 0.0_f64);
        let mut was_closed = rig.board.world().loads.clamp_v(new) > 1.0;
        for n in 0..1_250 {
            rig.pass(STEP_S);
            let t = f64::from(n) * STEP_S;
            let world = rig.board.world();
            let is_closed = world.loads.clamp_v(new) > 1.0;
            if is_closed && closed.is_none() {
                closed = Some(t);
            }
            if is_closed != was_closed {
                steady = Some(t);
            }
            was_closed = is_closed;
            if world.loads.clamp_v(old) < 1.0 && opened.is_none() {
                opened = Some(t);
            }
            peak_a = peak_a.max(world.feed.feed_a() - idle_a);
        }
        rig.board.set_switch(closer, false);
        let missing = 9.0;
        let closed = closed.unwrap_or(missing);
        self.note("response", closed, 0.012);
        self.note("gap", closed - opened.unwrap_or(missing), 0.003);
        self.note("bounce", steady.unwrap_or(closed) - closed, 0.005);
        self.note("coil", peak_a, 0.020);
        self.currents(rig, 1.0);
        let world = rig.board.world();
        self.note("drop", world.loads.bus_v() - world.loads.clamp_v(new), 0.25);
    }
}
