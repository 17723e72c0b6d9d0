//! What a roll-call asks, in which order, before anything is known: the likely places, then passes
//! over every address.

use super::candidates::{Candidate, candidates};
use super::target::{GROUP, Target};
use super::times::Times;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::{Format, Position};

/// Targets that are asked in flight, one after the other without a pause. So many groups in a row
/// all begin with another first byte, so that no decoder may have to act on two of their packets
/// and no idle packet is needed between them; and it is a power of two, to be halved.
pub const BURST: usize = 64;

/// Copies of a command beyond the sheet's, for a module that wants more than its kind.
const MORE_COPIES: u8 = 4;

/// Commands that go out one after the other, all to the same position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Burst {
    /// Whom they are for, in order.
    pub targets: Vec<Target>,
    /// The position.
    pub to: Position,
    /// How often each is sent in a row.
    pub copies: u8,
}

/// One pair of every group of a format, to both positions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pass {
    /// The format.
    pub format: Format,
    /// The pair, 0 to 3.
    pub pair: u16,
    /// How often each command is sent in a row.
    pub copies: u8,
}

impl Pass {
    /// Its targets in order.
    pub fn targets(self) -> impl Iterator<Item = Target> {
        let Pass { format, pair, .. } = self;
        (pair..Target::count(format))
            .step_by(GROUP.into())
            .map(move |place| Target { format, place })
    }

    /// Whether it asks all that another one does, as often.
    pub fn covers(&self, other: &Pass) -> bool {
        (self.format, self.pair) == (other.format, other.pair) && self.copies >= other.copies
    }

    /// Its bursts: so many groups to `a`, then the same ones to `b`, since a module may stand in one
    /// of them already and then need not move.
    pub fn bursts(self) -> impl Iterator<Item = [Burst; 2]> {
        let targets: Vec<Target> = self.targets().collect();
        let chunks: Vec<Vec<Target>> = targets.chunks(BURST).map(<[Target]>::to_vec).collect();
        chunks.into_iter().map(move |targets| both_ways(targets, self.copies))
    }
}

/// The same targets to `a`, then to `b`.
pub fn both_ways(targets: Vec<Target>, copies: u8) -> [Burst; 2] {
    [Position::A, Position::B].map(|to| Burst { targets: targets.clone(), to, copies })
}

/// How often commands are sent in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Copies {
    /// In a sweep: as many as a module of this kind needs.
    pub sweep: u8,
    /// To one target alone: as many as the sheet sends, so that one that is missed does not matter.
    pub alone: u8,
    /// In a last sweep, and to what that finds.
    pub more: u8,
}

/// What a roll-call asks.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The expected target of output 1.
    pub expected: Target,
    /// How many outputs the module has.
    pub outputs: u8,
    /// Where else it answers likely.
    pub likely: Vec<Candidate>,
    /// The formats that are swept, the expected one first.
    pub formats: Vec<Format>,
    /// How often commands are sent.
    pub copies: Copies,
    /// Whether the other polarity of the feed is tried as well.
    pub both_polarities: bool,
    /// How long things take besides the commands.
    pub times: Times,
}

impl Plan {
    /// The plan for a module of this kind that should answer at `address`, which is `expected`.
    pub fn new(sheet: &ModuleSheet, address: u16, expected: Target, formats: &[Format]) -> Plan {
        let alone = sheet.repeat.max(sheet.packets_needed);
        let mut formats = formats.to_vec();
        formats.sort_by_key(|&format| format != expected.format);
        formats.dedup();
        Plan {
            likely: candidates(sheet, address, expected, &formats),
            expected,
            outputs: sheet.outputs,
            formats,
            copies: Copies {
                sweep: sheet.packets_needed.max(1),
                alone,
                more: alone.saturating_add(MORE_COPIES),
            },
            both_polarities: sheet.polarity_matters && sheet.try_inverted,
            times: Times::of(sheet),
        }
    }

    /// The targets of the module where it should be.
    pub fn expected_targets(&self) -> Vec<Target> {
        (0..i32::from(self.outputs)).filter_map(|k| self.expected.plus(k)).collect()
    }

    /// The likely first targets of each format, together.
    pub fn likely_targets(&self) -> impl Iterator<Item = Vec<Target>> + '_ {
        self.formats.iter().map(|&format| {
            let firsts = self.likely.iter().map(|c| c.first);
            firsts.filter(|target| target.format == format).collect()
        })
    }

    /// One pass for each pair of a group, that of output 1 first, the formats in turn: afterwards
    /// every address has been asked.
    pub fn passes(&self) -> impl Iterator<Item = Pass> + '_ {
        (0..GROUP).flat_map(move |by| {
            let pair = (self.expected.place + by) % GROUP;
            self.formats.iter().map(move |&format| Pass { format, pair, copies: self.copies.sweep })
        })
    }

    /// Those over the pair of output 1.
    pub fn first_passes(&self) -> impl Iterator<Item = Pass> + '_ {
        self.passes().take(self.formats.len())
    }

    /// Those over the other pairs.
    pub fn other_passes(&self) -> impl Iterator<Item = Pass> + '_ {
        self.passes().skip(self.formats.len())
    }

    /// Once more over output 1, with more copies.
    pub fn last_passes(&self) -> impl Iterator<Item = Pass> + '_ {
        let pair = self.expected.place % GROUP;
        self.formats.iter().map(move |&format| Pass { format, pair, copies: self.copies.more })
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::script::shipped;
    use crate::signal::dcc::may_share_decoder;
    use crate::signal::telegram::Telegram;
    use proptest::prelude::*;
    use std::collections::HashSet;

    /// The plan for a shipped kind at its usual address.
    pub fn plan(kind: &str) -> Plan {
        let sheet = shipped::module_sheet(kind).unwrap();
        let format = sheet.switches.usual_format;
        let expected = Target::of(format, sheet.numbering, sheet.try_address).unwrap();
        Plan::new(&sheet, sheet.try_address, expected, &sheet.switches.formats())
    }

    #[test]
    fn the_passes_ask_every_address_to_both_positions_once() {
        for kind in shipped::MODULE_SHEETS {
            let plan = plan(kind.name);
            let mut asked = HashSet::new();
            for burst in plan.passes().flat_map(Pass::bursts).flatten() {
                assert!(burst.targets.len() <= BURST);
                for target in burst.targets {
                    assert!(asked.insert((target, burst.to)), "{target:?} is asked twice");
                }
            }
            let all: usize = plan.formats.iter().map(|&f| usize::from(Target::count(f))).sum();
            assert_eq!(asked.len(), 2 * all);
        }
    }

    #[test]
    fn the_first_pass_asks_the_pair_of_output_1() {
        let plan = plan("pier-four");
        let first = plan.passes().next().unwrap();
        assert!(first.targets().any(|target| target == plan.expected));
        assert_eq!(first.targets().count(), 511);
    }

    /// S-9.2: a pause is due only between packets to one and the same decoder.
    #[test]
    fn no_burst_of_a_pass_needs_idle_packets() {
        let packet = |target: &Target| match target.telegram(Position::A, 0) {
            Telegram::Packet(packet) => packet,
            Telegram::Pulses(_) => panic!("not a packet"),
        };
        let plan = plan("quay-four");
        for burst in plan.passes().flat_map(Pass::bursts).flatten() {
            for (before, next) in burst.targets.iter().zip(&burst.targets[1..]) {
                assert!(!may_share_decoder(&packet(before), &packet(next)));
            }
        }
    }

    proptest! {
        /// Wherever a module with outputs in a row stands, the first pass asks one of them, if it
        /// has as many outputs as a group.
        #[test]
        fn one_pass_meets_every_module_of_a_whole_group(
            first in 0u16..2040, pair in 0u16..4,
        ) {
            let pass = Pass { format: Format::Dcc, pair, copies: 1 };
            let met = pass.targets().filter(|t| (first..first + 4).contains(&t.place)).count();
            prop_assert_eq!(met, 1);
        }
    }
}
