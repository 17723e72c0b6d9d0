//! The most that a roll-call ever sends, known before it begins.
//!
//! With `c` copies in the sweep, `r` to one target alone, `h` in the last sweep, `L` likely places
//! (the module's own outputs among them), `A` addresses, `n` outputs, `F` alarms, bursts of `B`, and
//! `P` polarities, it is
//!
//! `P · (2·c·L + 2·c·A + 2·r) + 2·h·A/4 + F·h·(B + 2) + 4·h·(3·n − 2)`
//!
//! packets: the likely places, every address to both positions, the broadcast; the last sweep over
//! one output of each group; the alarms, each of which is narrowed down from at most a burst; and
//! the proof of one module, where each of its addresses, and of those beside them, is asked both
//! ways and at most twice. Each further module costs one more alarm and one more proof.

use super::plan::{BURST, Pass, Plan};
use super::target::Target;
use crate::signal::target::{Format, Position};
use core::time::Duration;

/// So many alarms are looked into: the one that is right, and such as come to nothing.
pub const ALARMS: u64 = 9;

/// So many for each other kind that is tried.
pub const KIND_ALARMS: u64 = 3;
/// Questions that tell which kind it is: four addresses either way, and four times on up to four numbers of
/// packets.
const EVIDENCE: u64 = 24;

/// What goes out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Packets; in trinary, telegrams.
    pub packets: u64,
    /// What they take on the feed, with the idle packets between copies.
    pub wire: Duration,
}

impl core::ops::Add for Effort {
    type Output = Effort;

    fn add(self, other: Effort) -> Effort {
        Effort { packets: self.packets + other.packets, wire: self.wire + other.wire }
    }
}

impl Effort {
    /// So many times as much.
    fn times(self, count: u64) -> Effort {
        let factor = u32::try_from(count).unwrap_or(u32::MAX);
        Effort { packets: self.packets * count, wire: self.wire.saturating_mul(factor) }
    }

    /// What it takes to ask a target to one position.
    pub fn of(target: Target, to: Position, copies: u8) -> Effort {
        let wire_us = target.telegram(to, 0).sending_us(copies);
        Effort { packets: copies.into(), wire: Duration::from_micros(wire_us.into()) }
    }

    fn of_all(targets: impl Iterator<Item = Target>, copies: u8) -> Effort {
        let both = |target| {
            Effort::of(target, Position::A, copies) + Effort::of(target, Position::B, copies)
        };
        targets.map(both).fold(Effort::default(), |sum, one| sum + one)
    }
}

/// The most that a plan sends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bound {
    /// Whatever the module does.
    pub most: Effort,
    /// For a module that hears every packet and whose output 1 answers the right way round: the
    /// likely places and one pass.
    pub usual: Effort,
    /// The longest that all of it takes, by the jig's clock, on a line that is not slow.
    pub at_most: Duration,
}

/// Reckons it, for so many modules that may be found.
pub fn bound(plan: &Plan, modules: u64) -> Bound {
    let copies = plan.copies;
    let own = Effort::of_all(plan.expected_targets().into_iter(), copies.sweep);
    let others = Effort::of_all(plan.likely.iter().map(|c| c.first), copies.sweep);
    let all_of = |pass: Pass| Effort::of_all(pass.targets(), pass.copies);
    let sum = |all: &mut dyn Iterator<Item = Pass>| {
        all.map(all_of).fold(Effort::default(), |sum, one| sum + one)
    };
    let broadcasts = plan.formats.iter().filter(|&&format| format == Format::Dcc).count() as u64;
    let broadcast = longest(plan, copies.alone).times(2 * broadcasts);
    let polarities = if plan.both_polarities { 2 } else { 1 };
    let round = own + others + sum(&mut plan.passes()) + broadcast;
    let one = longest(plan, copies.more);
    let alarm = one.times(BURST as u64 + 2);
    let proof = one.times(4 * (3 * u64::from(plan.outputs) - 2));
    let most = round.times(polarities)
        + sum(&mut plan.last_passes())
        + alarm.times(ALARMS - 1 + modules)
        + proof.times(modules);
    let one = longest(plan, copies.alone);
    let usual = own
        + others
        + sum(&mut plan.passes().take(plan.formats.len()))
        + one.times(BURST as u64 + 2)
        + one.times(4 * (3 * u64::from(plan.outputs) - 2));
    let at_most = most.wire + beside(plan, modules, polarities);
    Bound { most, usual, at_most }
}

impl Bound {
    /// With another kind that is tried too.
    pub fn and(self, (most, at_most): (Effort, Duration)) -> Bound {
        Bound { most: self.most + most, at_most: self.at_most + at_most, ..self }
    }
}

/// The most that another kind is asked: the likely places, output 1 of every group, a few alarms, the
/// proof of one module, and what tells its kind. And the longest that this takes.
pub fn first_bound(plan: &Plan) -> (Effort, Duration) {
    let copies = plan.copies;
    let likely = plan.expected_targets().into_iter().chain(plan.likely.iter().map(|c| c.first));
    let passes = plan.first_passes();
    let swept = passes.map(|pass| Effort::of_all(pass.targets(), pass.copies));
    let alone = KIND_ALARMS * (BURST as u64 + 2) + 4 * (3 * u64::from(plan.outputs) - 2) + EVIDENCE;
    let most = swept.fold(Effort::of_all(likely, copies.sweep), |sum, one| sum + one)
        + longest(plan, copies.alone).times(alone);
    let outputs = u32::from(plan.outputs);
    let bursts = 2
        + 2 * plan.formats.len()
        + plan.first_passes().map(|pass| 2 * pass.targets().count().div_ceil(BURST)).sum::<usize>();
    let asked = KIND_ALARMS as u32 * (BURST.ilog2() + 4) + 4 * (3 * outputs - 2) + EVIDENCE as u32;
    let times = plan.times;
    let beside = u32::try_from(bursts).unwrap_or(u32::MAX) * (times.longest_move + LOOK)
        + asked * (times.rest + LOOK)
        + times.blink;
    (most, most.wire + beside)
}

/// A look at the loads and at what was recorded, after each burst.
const LOOK: Duration = Duration::from_millis(90);
/// Feed off, on again through the soft start, and a first look.
const POWER: Duration = Duration::from_millis(1_500);

/// The longest that a roll-call takes besides the commands: the windows after its bursts, the looks,
/// the rests, the power.
fn beside(plan: &Plan, modules: u64, polarities: u64) -> Duration {
    let times = plan.times;
    let count = |bursts: usize| u32::try_from(bursts).unwrap_or(u32::MAX);
    let of = |passes: &mut dyn Iterator<Item = Pass>| {
        passes.map(|pass| 2 * pass.targets().count().div_ceil(BURST)).sum::<usize>()
    };
    let (polarities, modules) = (count(polarities as usize), count(modules as usize));
    let bursts = 2 + 2 * plan.formats.len() + of(&mut plan.passes()) + 2;
    let swept = polarities * count(bursts) + count(of(&mut plan.last_passes()));
    let alarms = count(ALARMS as usize) - 1 + modules;
    let outputs = u32::from(plan.outputs);
    // An alarm is halved at most so often, and its last suspect asked twice.
    let alone = alarms * (BURST.ilog2() + 3) + modules * 4 * (3 * outputs - 2);
    let power = POWER + times.boot + times.blink;
    swept * (times.longest_move + LOOK)
        + (alone + alarms) * (times.rest + LOOK)
        + (polarities + 1) * power
        + 2 * outputs * (times.contact + LOOK)
        + RESISTANCES
}

/// The hook-up: each resistance on its own.
const RESISTANCES: Duration = Duration::from_secs(12);

/// The longest command of the plan's formats, once.
fn longest(plan: &Plan, copies: u8) -> Effort {
    let all = plan
        .formats
        .iter()
        .flat_map(|&format| (0..Target::count(format)).map(move |place| Target { format, place }));
    let wire = all.map(|target| Effort::of(target, Position::B, copies).wire).max();
    Effort { packets: copies.into(), wire: wire.unwrap_or_default() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::roll_call::plan::tests::plan;
    use crate::roll_call::plan::{Burst, both_ways};
    use crate::script::shipped;

    /// The formula at the head of this file, for each shipped kind.
    #[test]
    fn the_formula_gives_the_packets() {
        for kind in shipped::MODULE_SHEETS {
            let plan = plan(kind.name);
            let (c, r, h) = (plan.copies.sweep, plan.copies.alone, plan.copies.more);
            let [c, r, h] = [c, r, h].map(u64::from);
            let n = u64::from(plan.outputs);
            let likely = n + plan.likely.len() as u64;
            let addresses: u64 = plan.formats.iter().map(|&f| u64::from(Target::count(f))).sum();
            let polarities = if plan.both_polarities { 2 } else { 1 };
            let broadcasts = u64::from(plan.formats.contains(&Format::Dcc));
            let (f, b) = (ALARMS, BURST as u64);
            let want = polarities * (2 * c * likely + 2 * c * addresses + 2 * r * broadcasts)
                + 2 * h * addresses / 4
                + f * h * (b + 2)
                + 4 * h * (3 * n - 2);
            assert_eq!(bound(&plan, 1).most.packets, want, "{}", kind.name);
            let more = bound(&plan, 2).most.packets - want;
            assert_eq!(more, h * (b + 2) + 4 * h * (3 * n - 2));
        }
    }

    /// What the plan asks, burst by burst, is what the bound counts for it.
    #[test]
    fn the_bursts_add_up_to_the_bound() {
        for kind in shipped::MODULE_SHEETS {
            let plan = plan(kind.name);
            let own = both_ways(plan.expected_targets(), plan.copies.sweep);
            let likely = plan.likely_targets().flat_map(|t| both_ways(t, plan.copies.sweep));
            let passes = plan.passes().flat_map(Pass::bursts).flatten();
            let of = |burst: Burst| {
                let each = burst.targets.iter().map(|&t| Effort::of(t, burst.to, burst.copies));
                each.fold(Effort::default(), |sum, one| sum + one)
            };
            let sent = own.into_iter().chain(likely).chain(passes).map(of);
            let sent = sent.fold(Effort::default(), |sum, one| sum + one);
            let last = plan.last_passes().flat_map(Pass::bursts).flatten().map(of);
            let last = last.fold(Effort::default(), |sum, one| sum + one);
            let bound = bound(&plan, 1);
            let polarities = if plan.both_polarities { 2 } else { 1 };
            let whole = sent.times(polarities) + last;
            assert!(whole.packets < bound.most.packets && whole.wire < bound.most.wire);
            // What is left over is for the alarms and the proof, and no more than that.
            let one = longest(&plan, plan.copies.more);
            let n = u64::from(plan.outputs);
            let left = one.times(ALARMS * (BURST as u64 + 2) + 4 * (3 * n - 2))
                + longest(&plan, plan.copies.alone).times(4);
            assert!(bound.most.packets <= whole.packets + left.packets);
            assert!(bound.most.wire <= whole.wire + left.wire);
        }
    }

    /// A packet takes the time that the bits of S-9.1 and S-9.2 add up to.
    #[test]
    fn one_packet_on_the_feed() {
        let target = Target { format: Format::Dcc, place: 80 };
        let effort = Effort::of(target, Position::A, 1);
        // 10010100 11111000 01101100: 12 ones and 12 zeros, 14 ones of preamble, 3 start zeros and
        // an end one; a one lasts 116 µs, a zero 200 µs.
        assert_eq!(effort.wire, Duration::from_micros((12 + 14 + 1) * 116 + (12 + 3) * 200));
    }
}
