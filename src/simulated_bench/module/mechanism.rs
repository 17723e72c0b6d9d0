//! One output: coil pulse, armature, contacts.

use crate::signal::target::Position;
use crate::simulated_bench::draw::{Stream, happens, spread};
use crate::simulated_bench::parts::OutputParts;
use rand::RngExt;

/// From the decision to the coil's driver, microseconds.
const DRIVER_US: u64 = 300;
/// How long the coil is held after the bounce has died away, microseconds.
const HOLD_US: u64 = 8_000;

/// What happens next in an operation.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Act {
    CoilOn,
    /// The armature leaves, if the coil pulls.
    Leave,
    Contact(Position, bool),
    CoilOff,
}

/// What the rest of the bench must be told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Effect {
    /// A coil is switched.
    Coil(Position, bool),
    /// A contact opens or closes.
    Contact(Position, bool),
    /// The armature leaves: its coil draws what it can.
    Leaves,
    /// The operation is over.
    Done,
}

/// One output of the module.
#[derive(Clone, Debug)]
pub struct Mechanism {
    parts: OutputParts,
    /// Where the armature stands.
    position: Position,
    /// Where the running operation leads.
    target: Option<Position>,
    /// In order of time.
    acts: Vec<(u64, Act)>,
}

impl Mechanism {
    /// An output at rest in its initial position.
    pub fn new(parts: OutputParts) -> Self {
        Mechanism { position: parts.initial, parts, target: None, acts: Vec::with_capacity(24) }
    }

    /// Its parts.
    pub fn parts(&self) -> &OutputParts {
        &self.parts
    }

    /// Where the armature stands.
    pub fn position(&self) -> Position {
        self.position
    }

    /// Whether it is busy with an operation.
    pub fn is_moving(&self) -> bool {
        self.target.is_some()
    }

    /// When something happens next.
    pub fn next_us(&self) -> u64 {
        self.acts.first().map_or(u64::MAX, |a| a.0)
    }

    /// Begins an operation whose first closure comes `response_s` from now at the coil's nominal
    /// voltage; `vigour` is the actual over the nominal coil voltage. Ignored while moving.
    pub fn operate(
        &mut self,
        to: Position,
        response_s: f64,
        vigour: f64,
        now_us: u64,
        rng: &mut Stream,
    ) {
        if self.is_moving() {
            return;
        }
        self.target = Some(to);
        let us = |s: f64| (s.max(0.0) * 1e6) as u64;
        // A weak coil takes longer until the armature leaves.
        let response_s = spread(rng, response_s, 0.01) / vigour.clamp(0.5, 1.2).sqrt();
        let gap_s = spread(rng, self.parts.gap_s, 0.02);
        let bounce_s = spread(rng, self.parts.bounce_s, 0.08);
        let on_us = now_us + DRIVER_US;
        let close_us = (now_us + us(response_s)).max(on_us + 1_000);
        let open_us = if gap_s >= 0.0 {
            close_us.saturating_sub(us(gap_s)).max(on_us + 500)
        } else {
            close_us + us(-gap_s)
        };
        self.acts.push((on_us, Act::CoilOn));
        self.acts.push((close_us.min(open_us), Act::Leave));
        let settled_us = close_us.max(open_us) + us(bounce_s);
        if to != self.position {
            let from = to.other();
            self.acts.push((open_us, Act::Contact(from, false)));
            if !happens(rng, self.parts.contact_misses[to.index()]) {
                self.acts.push((close_us, Act::Contact(to, true)));
                self.bounce(to, close_us, us(bounce_s), rng);
            }
        }
        self.acts.push((settled_us + HOLD_US, Act::CoilOff));
        self.acts.sort_by_key(|a| a.0);
    }

    /// Openings and closings after the first closure; the last one closes at the bounce's end.
    fn bounce(&mut self, at: Position, close_us: u64, bounce_us: u64, rng: &mut Stream) {
        if bounce_us < 50 {
            return;
        }
        let rebounds = rng.random_range(1..=3);
        let mut times: Vec<u64> =
            (0..2 * rebounds - 1).map(|_| rng.random_range(1..bounce_us)).collect();
        times.push(bounce_us);
        times.sort_unstable();
        for (i, t) in times.into_iter().enumerate() {
            self.acts.push((close_us + t, Act::Contact(at, i % 2 == 1)));
        }
    }

    /// The supply of the coils is gone: the armature goes on by itself if it has left.
    pub fn lose_power(&mut self, now_us: u64) {
        let left = !self.acts.iter().any(|a| a.1 == Act::Leave);
        if self.target.is_some() {
            if !left {
                self.acts.clear();
            }
            self.acts.retain(|a| a.1 != Act::CoilOn && a.1 != Act::CoilOff);
            let end_us = self.acts.iter().map(|a| a.0).max().unwrap_or(now_us).max(now_us);
            self.acts.push((end_us, Act::CoilOff));
        }
    }

    /// Carries out the next thing that is due, if there is one.
    pub fn next_effect(
        &mut self,
        now_us: u64,
        coil_a: impl Fn(Position) -> f64,
        rng: &mut Stream,
    ) -> Option<Effect> {
        loop {
            if self.next_us() > now_us {
                return None;
            }
            let (_, act) = self.acts.remove(0);
            let to = self.target?;
            match act {
                Act::CoilOn => {
                    if happens(rng, self.parts.driver_open[to.index()]) {
                        continue;
                    }
                    return Some(Effect::Coil(to, true));
                }
                Act::Leave => {
                    // The other coil, where its driver lets current through, pulls against it.
                    let pulls_a = coil_a(to) - coil_a(to.other());
                    let is_held =
                        to != self.position && happens(rng, self.parts.welded[to.other().index()]);
                    if pulls_a < self.parts.pull_in_a || happens(rng, self.parts.stuck) || is_held {
                        self.acts.retain(|a| a.1 == Act::CoilOff);
                    } else {
                        self.position = to;
                    }
                    return Some(Effect::Leaves);
                }
                Act::Contact(position, closed) => return Some(Effect::Contact(position, closed)),
                Act::CoilOff => {
                    self.target = None;
                    return Some(Effect::Done);
                }
            }
        }
    }
}
