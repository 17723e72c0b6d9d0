//! What joins wires that must not be joined, and the jig's ohmmeter that looks for it with
//! everything off.
//!
//! Feed and load supply float against each other: one wire between them carries nothing under
//! power. Two of them, one on either feed wire, are a short of the feed. The four commons hang on
//! one supply, so what joins two of them carries next to nothing.

/// Highest voltage of the jig's ohmmeter, volts.
pub const TEST_V: f64 = 5.0;
/// Highest current of the jig's ohmmeter, amperes.
pub const TEST_A: f64 = 0.010;

/// The nodes: two feed wires, four commons.
const FEED: [usize; 2] = [0, 1];
const COMMONS: [usize; 4] = [2, 3, 4, 5];
const NODES: usize = 6;

/// Conductances between the feed wires and the commons, at the module's end of their leads.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Insulation([[f64; NODES]; NODES]);

impl Insulation {
    /// A feed wire (from 0) touches the common of an output (from 0).
    pub fn join_feed(&mut self, wire: usize, output: usize, ohm: f64) {
        self.join(FEED[wire], COMMONS[output], 1.0 / ohm);
    }

    /// The commons of two outputs (from 0) touch.
    pub fn join_commons(&mut self, one: usize, other: usize, ohm: f64) {
        self.join(COMMONS[one], COMMONS[other], 1.0 / ohm);
    }

    fn join(&mut self, p: usize, q: usize, siemens: f64) {
        self.0[p][q] += siemens;
        self.0[q][p] += siemens;
    }

    /// What lies across the feed, by way of the commons that their supply joins, siemens.
    pub fn across_feed_s(&self) -> f64 {
        let [one, other] = FEED.map(|wire| COMMONS.iter().map(|&c| self.0[wire][c]).sum::<f64>());
        if one + other > 0.0 { one * other / (one + other) } else { 0.0 }
    }

    /// Resistance between both feed wires together and all commons together, ohms.
    pub fn feed_to_commons_ohm(&self) -> f64 {
        let siemens: f64 =
            FEED.iter().flat_map(|&f| COMMONS.iter().map(move |&c| self.0[f][c])).sum();
        1.0 / siemens
    }

    /// The lowest resistance between two commons, with the jig's wires to them parted, ohms.
    pub fn common_to_common_ohm(&self) -> f64 {
        let mut highest_s = 0.0_f64;
        for (n, &p) in COMMONS.iter().enumerate() {
            for &q in &COMMONS[n + 1..] {
                highest_s = highest_s.max(self.between(p, q));
            }
        }
        1.0 / highest_s
    }

    /// Conductance between two nodes: all others are taken out one by one, each replaced by what it
    /// joins (star to mesh).
    fn between(&self, p: usize, q: usize) -> f64 {
        let mut g = self.0;
        for n in (0..NODES).filter(|&n| n != p && n != q) {
            let taken = g[n];
            let sum: f64 = taken.iter().sum();
            if sum == 0.0 {
                continue;
            }
            for i in 0..NODES {
                for j in 0..NODES {
                    if i != j && i != n && j != n {
                        g[i][j] += taken[i] * taken[j] / sum;
                    }
                }
                g[i][n] = 0.0;
            }
            g[n] = [0.0; NODES];
        }
        g[p][q]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sound_wires_are_apart() {
        let sound = Insulation::default();
        assert_eq!(sound.across_feed_s(), 0.0);
        assert_eq!(sound.feed_to_commons_ohm(), f64::INFINITY);
        assert_eq!(sound.common_to_common_ohm(), f64::INFINITY);
    }

    #[test]
    fn one_wire_between_two_floating_supplies_carries_nothing() {
        let mut joined = Insulation::default();
        joined.join_feed(1, 2, 4.0);
        assert_eq!(joined.across_feed_s(), 0.0);
        assert_eq!(joined.feed_to_commons_ohm(), 4.0);
        assert_eq!(joined.common_to_common_ohm(), f64::INFINITY);
        // A second one on the other feed wire closes the loop: 4 and 6 ohms in series.
        joined.join_feed(0, 3, 6.0);
        assert!((1.0 / joined.across_feed_s() - 10.0).abs() < 1e-12);
    }

    /// Three equal resistors in a triangle: between two corners two thirds of one.
    #[test]
    fn ways_round_count_too() {
        let mut joined = Insulation::default();
        joined.join_commons(0, 1, 3.0);
        assert!((joined.common_to_common_ohm() - 3.0).abs() < 1e-12);
        joined.join_commons(1, 2, 3.0);
        joined.join_commons(0, 2, 3.0);
        assert!((joined.common_to_common_ohm() - 2.0).abs() < 1e-12);
        // Two commons that touch one feed wire touch each other.
        let mut joined = Insulation::default();
        joined.join_feed(0, 1, 5.0);
        joined.join_feed(0, 3, 5.0);
        assert!((joined.common_to_common_ohm() - 10.0).abs() < 1e-12);
    }
}
