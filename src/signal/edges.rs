//! Level changes with their times in, stretches of constant level out, glitches left out.

use super::pulse::{Level, Stretch};

/// A level held for less than this is a glitch, in microseconds.
///
/// Half a period of 100 kHz: a receiver must read in spite of noise above that frequency (S-9.1,
/// from memory). The shortest pulse of either format is more than twice as long.
pub const GLITCH_US: u32 = 5;

/// A change of the level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edge {
    /// When, in microseconds of whatever clock runs on.
    pub at_us: u64,
    /// The level from then on.
    pub to: Level,
}

/// Joins what a glitch has cut in two.
///
/// A stretch is told one edge late, since only then it is sure that its end was no glitch: or by
/// [`Edges::pass`], once the new level has lasted. Edges to the level that stands anyhow, as after
/// one that was missed, change nothing.
#[derive(Clone, Debug, Default)]
pub struct Edges {
    /// The level that stands, and since when; `None` before the first edge.
    standing: Option<(Level, u64)>,
    /// When the level last left the standing one, which may yet prove a glitch.
    left_us: Option<u64>,
}

impl Edges {
    /// Nothing heard so far: the stretch that ends with the first edge has an unknown beginning, and
    /// is never told.
    pub const fn new() -> Self {
        Edges { standing: None, left_us: None }
    }

    /// Takes an edge; returns the stretch that has thereby proved to have ended before it. With a
    /// clock that has gone back, all begins anew.
    #[inline]
    pub fn edge(&mut self, edge: Edge) -> Option<Stretch> {
        let Some((level, since_us)) = self.standing else {
            self.begin(edge);
            return None;
        };
        if edge.at_us < self.left_us.unwrap_or(since_us) {
            self.begin(edge);
            return None;
        }
        let Some(left_us) = self.left_us else {
            if edge.to != level {
                self.left_us = Some(edge.at_us);
            }
            return None;
        };
        if edge.to != level {
            return None;
        }
        if edge.at_us - left_us < u64::from(GLITCH_US) {
            self.left_us = None;
            return None;
        }
        self.standing = Some((level.inverted(), left_us));
        self.left_us = Some(edge.at_us);
        Some(stretch(level, since_us, left_us))
    }

    /// Says that no further edge has come until `now_us`; returns the stretch that has thereby
    /// proved to have ended.
    pub fn pass(&mut self, now_us: u64) -> Option<Stretch> {
        let ((level, since_us), left_us) = (self.standing?, self.left_us?);
        if now_us.saturating_sub(left_us) < u64::from(GLITCH_US) {
            return None;
        }
        self.standing = Some((level.inverted(), left_us));
        self.left_us = None;
        Some(stretch(level, since_us, left_us))
    }

    fn begin(&mut self, edge: Edge) {
        *self = Edges { standing: Some((edge.to, edge.at_us)), left_us: None };
    }
}

#[inline]
fn stretch(level: Level, since_us: u64, end_us: u64) -> Stretch {
    let duration_us = u32::try_from(end_us - since_us).unwrap_or(u32::MAX);
    Stretch { level, duration_us, end_us }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Level::{High, Low};

    /// Edges at these times, the first one to high, alternating; what they tell.
    fn told(times_us: &[u64]) -> Vec<(Level, u32)> {
        let mut edges = Edges::new();
        let mut level = Low;
        let mut all = Vec::new();
        for &at_us in times_us {
            level = level.inverted();
            all.extend(edges.edge(Edge { at_us, to: level }));
        }
        all.extend(edges.pass(u64::MAX));
        all.into_iter().map(|s| (s.level, s.duration_us)).collect()
    }

    #[test]
    fn clean_edges_are_stretches() {
        assert_eq!(told(&[1_000, 1_058, 1_116, 1_216]), [(High, 58), (Low, 58), (High, 100)]);
        assert_eq!(told(&[7]), []);
        assert_eq!(told(&[]), []);
    }

    #[test]
    fn spikes_within_a_stretch_are_left_out() {
        assert_eq!(told(&[0, 20, 24, 58, 116]), [(High, 58), (Low, 58)]);
        assert_eq!(told(&[0, 20, 22, 30, 34, 58, 116]), [(High, 58), (Low, 58)]);
        // As long as the limit is no glitch any more.
        assert_eq!(told(&[0, 20, 25, 58]), [(High, 20), (Low, 5), (High, 33)]);
    }

    #[test]
    fn a_bouncing_edge_is_one_edge() {
        assert_eq!(told(&[0, 58, 60, 62, 64, 66, 116]), [(High, 66), (Low, 50)]);
        // A stray edge just before or after the true one shifts it by no more than it lasts.
        assert_eq!(told(&[0, 55, 56, 58, 116]), [(High, 58), (Low, 58)]);
    }

    #[test]
    fn an_edge_to_where_the_level_stands_changes_nothing() {
        let mut edges = Edges::new();
        let mut told = Vec::new();
        for (at_us, to) in [(0, High), (10, High), (58, Low), (80, Low), (116, High), (200, High)] {
            told.extend(edges.edge(Edge { at_us, to }));
        }
        assert_eq!(told, [Stretch { level: High, duration_us: 58, end_us: 58 }]);
    }

    #[test]
    fn passing_time_tells_once() {
        let mut edges = Edges::new();
        assert_eq!(edges.pass(50), None);
        edges.edge(Edge { at_us: 100, to: High });
        edges.edge(Edge { at_us: 113, to: Low });
        assert_eq!(edges.pass(117), None);
        let told = Stretch { level: High, duration_us: 13, end_us: 113 };
        assert_eq!(edges.pass(118), Some(told));
        assert_eq!(edges.pass(500), None);
        assert_eq!(edges.edge(Edge { at_us: 600, to: High }), None);
        assert_eq!(edges.pass(700), Some(Stretch { level: Low, duration_us: 487, end_us: 600 }));
    }

    #[test]
    fn with_a_clock_that_has_gone_back_all_begins_anew() {
        assert_eq!(told(&[100, 90, 80, 70]), []);
        assert_eq!(told(&[1_000, 0, 58, 116]), [(Low, 58), (High, 58)]);
        assert_eq!(told(&[u64::MAX, 0, 7_000_000_000]), [(Low, u32::MAX)]);
    }
}
