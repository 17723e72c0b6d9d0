//! Joints that come and go: each is closed for a while, open for a moment, and so on, as chance has it.
//!
//! How long each lasts is drawn from an exponential distribution, so that nothing tells beforehand when a
//! joint opens (common practice for what shakes and oxidises, no source).

use super::draw::Stream;
use super::parts::Parts;
use rand::RngExt;

/// For so long one stays open on average, microseconds: a speck of oxide, a strand that rattles (common
/// practice, no source).
const OPEN_US: f64 = 15_000.0;

/// A joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joint {
    /// In the feed.
    Feed,
    /// A contact of the module: output and position, from 0.
    Contact(usize, usize),
    /// That of the lead to one of the jig's clamps, from 0.
    Clamp(usize),
}

#[derive(Clone, Copy, Debug)]
struct Loose {
    joint: Joint,
    /// Share of the time in which it is open.
    share: f64,
    is_open: bool,
    next_us: u64,
}

/// All joints of a bench that are loose: none of a sound one.
#[derive(Clone, Debug, Default)]
pub struct LooseJoints {
    all: Vec<Loose>,
    rng: Option<Stream>,
}

impl LooseJoints {
    /// Those of these parts.
    pub fn new(parts: &Parts, rng: Stream) -> Self {
        let (outputs, leads) = (&parts.module.outputs, &parts.leads);
        let contacts =
            (0..8).map(|i| (Joint::Contact(i / 2, i % 2), outputs[i / 2].contact_loose[i % 2]));
        let clamps = (0..8).map(|i| (Joint::Clamp(leads.clamp_of[i]), leads.clamp_loose[i]));
        let feed = [(Joint::Feed, leads.feed_loose)];
        let all = contacts
            .chain(clamps)
            .chain(feed)
            .filter(|(_, share)| *share > 0.0)
            .map(|(joint, share)| Loose { joint, share, is_open: false, next_us: 0 })
            .collect();
        let mut joints = LooseJoints { all, rng: Some(rng) };
        // They begin as chance has it, closed ones as well as open ones.
        for i in 0..joints.all.len() {
            let share = joints.all[i].share;
            let is_open = share >= 1.0 || joints.drawn() < share;
            joints.all[i].is_open = !is_open;
        }
        joints
    }

    /// When one of them opens or closes next, microseconds.
    #[inline]
    pub fn next_us(&self) -> u64 {
        self.all.iter().map(|loose| loose.next_us).min().unwrap_or(u64::MAX)
    }

    /// The next one that is due, and whether it is open from now on.
    pub fn turn(&mut self, now_us: u64) -> Option<(Joint, bool)> {
        let due = self.all.iter().position(|loose| loose.next_us <= now_us)?;
        let drawn = self.drawn();
        let loose = &mut self.all[due];
        loose.is_open = !loose.is_open;
        let mean_us =
            if loose.is_open { OPEN_US } else { OPEN_US * (1.0 - loose.share) / loose.share };
        // The quantile of an exponential distribution.
        let lasts_us = ((-mean_us * (1.0 - drawn).ln()) as u64).max(1);
        let is_for_ever = loose.is_open && loose.share >= 1.0;
        loose.next_us = if is_for_ever { u64::MAX } else { now_us.saturating_add(lasts_us) };
        Some((loose.joint, loose.is_open))
    }

    /// Evenly from 0 on, below 1.
    fn drawn(&mut self) -> f64 {
        self.rng.as_mut().map_or(0.0, |rng| rng.random())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::LOAD_SUPPLY_V;
    use crate::simulated_bench::draw::{Purpose, stream};
    use crate::simulated_bench::kind::Kind;
    use crate::simulated_bench::loads::LoadModel;

    fn joints(share: f64) -> LooseJoints {
        let loads = [const { LoadModel::OPEN }; 8];
        let mut parts = Parts::draw(&Kind::example(), &loads, LOAD_SUPPLY_V, 1.into());
        parts.leads.feed_loose = share;
        LooseJoints::new(&parts, stream(1, Purpose::Joint))
    }

    /// A telegraph with exponential times is open for its share; the variance of the share over a time T is
    /// 2 s (1 - s)² t / T with openings of mean t (Papoulis, Probability, Random Variables and Stochastic
    /// Processes: the random telegraph's autocovariance is s (1 - s) e^(-|τ| (1/t + s/((1-s) t)))).
    #[test]
    fn is_open_for_its_share_of_the_time() {
        for share in [0.02, 0.3, 0.9] {
            let mut joints = joints(share);
            let (mut open_us, mut since_us, mut was_open) = (0, 0, false);
            const ALL_US: u64 = 2_000_000_000;
            while joints.next_us() < ALL_US {
                let now_us = joints.next_us();
                let (joint, is_open) = joints.turn(now_us).unwrap();
                assert_eq!(joint, Joint::Feed);
                if was_open {
                    open_us += now_us - since_us;
                }
                (since_us, was_open) = (now_us, is_open);
            }
            let found = open_us as f64 / ALL_US as f64;
            let rate = 1.0 / (OPEN_US * (1.0 - share));
            let deviation = (2.0 * share * (1.0 - share) / (rate * ALL_US as f64)).sqrt();
            assert!((found - share).abs() < 4.0 * deviation, "{found} not {share}");
        }
    }

    #[test]
    fn none_or_always() {
        assert_eq!(joints(0.0).next_us(), u64::MAX);
        let mut always = joints(1.0);
        assert_eq!(always.turn(0), Some((Joint::Feed, true)));
        assert_eq!((always.next_us(), always.turn(1_000_000_000)), (u64::MAX, None));
    }
}
