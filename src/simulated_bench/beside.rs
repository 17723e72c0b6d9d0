//! More modules on the same feed, beside the one that is tested.
//!
//! Each has a rectifier, a reservoir, a mechanism and a decoder of its own, and no loads: it shows
//! in the feed current alone. All see the same supply; what one draws does not pull down the voltage
//! of the others, since the source is stiff against what a few modules take.

use super::draw::{self, Purpose};
use super::kind::Kind;
use super::loads::LoadModel;
use super::loose_joints::LooseJoints;
use super::parts::Parts;
use super::world::World;
use crate::jig::board::FeedDrive;
use crate::signal::pulse::{Level, Pulse};

/// A module beside the one that is tested.
#[derive(Clone, Debug)]
pub struct Neighbour {
    /// Its kind.
    pub kind: Kind,
    /// Its address switches, bit 0 is switch 1.
    pub switches: u32,
}

/// All of them, each in a world of its own.
#[derive(Clone, Debug)]
pub(super) struct Beside(Vec<World>);

impl Beside {
    /// Draws them, each in its own way; so much is added to the resistance of their feed, ohms.
    pub fn draw(neighbours: &[Neighbour], seed: u64, added_ohm: f64) -> Self {
        let world = |(place, neighbour): (u64, &Neighbour)| {
            let own_seed = seed.wrapping_add(NEXT_SEED.wrapping_mul(place + 1));
            let loads = [const { LoadModel::OPEN }; 8];
            let mut parts = Parts::draw(&neighbour.kind, &loads, 0.0, own_seed.into());
            parts.leads.feed_ohm += added_ohm;
            let behaviour = draw::stream(own_seed, Purpose::Behaviour);
            World::new(&parts, neighbour.switches, false, behaviour, LooseJoints::default())
        };
        Beside((0..).zip(neighbours).map(world).collect())
    }

    /// What a converter sees of what they draw from the feed together, amperes.
    pub fn seen_feed_a(&self) -> f64 {
        self.0.iter().map(|world| world.feed.seen_a()).sum()
    }

    /// Lets time pass up to `to_us`.
    pub fn advance(&mut self, to_us: u64) {
        self.0.iter_mut().for_each(|world| world.advance(to_us));
    }

    /// Before this time nothing changes that can be measured.
    pub fn still_until_us(&self) -> u64 {
        self.0.iter().map(World::still_until_us).min().unwrap_or(u64::MAX)
    }

    /// Drives the feed.
    pub fn set_drive(&mut self, drive: FeedDrive) {
        self.0.iter_mut().for_each(|world| world.set_drive(drive));
    }

    /// Swaps the wires of the feed.
    pub fn set_inverted(&mut self, inverted: bool) {
        self.0.iter_mut().for_each(|world| world.set_inverted(inverted));
    }

    /// Sets the limit of the soft start for each, amperes.
    pub fn set_limit(&mut self, limit_a: f64) {
        self.0.iter_mut().for_each(|world| world.feed.set_limit(limit_a));
    }

    /// Each in a world of its own.
    pub fn worlds(&self) -> impl Iterator<Item = &World> {
        self.0.iter()
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.0.len()
    }

    /// Appends pulses to what they hear.
    pub fn append(&mut self, pulses: &[Pulse], now_us: u64) {
        for world in &mut self.0 {
            world.line_mut().append(pulses, now_us);
        }
    }

    /// Throws away what is queued.
    pub fn clear(&mut self, now_us: u64) {
        self.0.iter_mut().for_each(|world| world.line_mut().clear(now_us));
    }

    /// The level while the queue is dry.
    pub fn rest(&mut self, level: Level, now_us: u64) {
        self.0.iter_mut().for_each(|world| world.line_mut().set_rest(level, now_us));
    }

    /// Whether one of them has tripped the fast cut-off.
    pub fn is_tripped(&self) -> bool {
        self.0.iter().any(|world| world.feed.is_tripped())
    }

    /// Clears the fast cut-off.
    pub fn clear_trip(&mut self) {
        self.0.iter_mut().for_each(|world| world.feed.clear_trip());
    }
}

/// Keeps the seeds of neighbours away from those of benches, which are small.
const NEXT_SEED: u64 = 0x5851_F42D_4C95_7F2D;
