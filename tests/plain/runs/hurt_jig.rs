//! Jigs that lose samples, or whose channels end too early: never the module's fault, never a pass.

use crate::kit::bench::{ARRIVAL, PIER, Run, plan, run_on, setup, sheet};
use musterbench::jig::board::{Board, FeedDrive, Supply, Unit};
use musterbench::judge::reading::{Blame, Quantity, Verdict};
use musterbench::run::event::Ending;
use musterbench::script::plan::Action;
use musterbench::simulated_bench::SimulatedBoard;
use musterbench::wire::channel::{CLAMP_CURRENT, Description, FEED_CURRENT, LOAD_VOLTAGE};
use std::time::Duration;

const SCRIPT: &str = r#"
title = "A short one"
steps = [
  { ask = "prepare", auxiliary = "off" },
  { measure = "hook-up" },
  { loads = "jig" },
  { feed = "on" },
  { send = "a" },
  { measure = "idle current" },
  { operate = ["b", "a"], outputs = [1, 2] },
  { loads = "off" },
  { feed = "off" },
]
"#;

/// What is wrong with the jig.
#[derive(Clone, Copy)]
enum Harm {
    /// A scan after this time is dropped, in the middle of a capture.
    LostScan(u64),
    /// A scan of the watch after this time is dropped.
    LostWatch(u64),
    /// A channel is scanned no higher than this.
    LowEnd(u16, f64),
    /// A channel that carries something stands at the upper end of its range.
    Saturated(u16),
    /// The feed is cut off at this time.
    CutOff(u64),
}

struct Hurt {
    board: SimulatedBoard,
    harm: Harm,
    done: bool,
    channels: Vec<Description>,
    scanned: [Vec<u16>; 2],
    scans: u32,
}

impl Hurt {
    fn new(board: SimulatedBoard, harm: Harm) -> Self {
        let mut channels = board.channels().to_vec();
        if let Harm::LowEnd(channel, end) = harm {
            channels.iter_mut().filter(|d| d.channel == channel).for_each(|d| d.maximum = end);
        }
        Hurt { board, harm, done: false, channels, scanned: Default::default(), scans: 0 }
    }

    fn cut(&self, channel: u16, count: i16) -> i16 {
        let described = self.channels.iter().find(|d| d.channel == channel);
        match (self.harm, described) {
            (Harm::LowEnd(low, end), Some(d)) if low == channel => {
                count.min(((end - d.offset) / d.scale).round() as i16)
            }
            (Harm::Saturated(high), Some(d)) if high == channel => {
                let end = ((d.maximum - d.offset) / d.scale).round() as i16;
                if count > end / 20 { end } else { count }
            }
            _ => count,
        }
    }
}

pass_on! { jumping board of Hurt }

impl Board for Hurt {
    pass_on! { board: identity, now_us, set_feed, set_inverted, set_soft_start_limit, set_load_supply, drive, drive_end_us, drive_clear, rest, set_switch, stop_scans, self_test, hand }

    fn channels(&self) -> &[Description] {
        &self.channels
    }
    fn cut_off(&mut self, supply: Supply) -> bool {
        match self.harm {
            Harm::CutOff(at_us) if !self.done && self.board.now_us() >= at_us => {
                self.board.set_feed(FeedDrive::Off);
                supply == Supply::Feed
            }
            _ => self.board.cut_off(supply),
        }
    }
    fn clear_cut_off(&mut self) {
        self.done |= matches!(self.harm, Harm::CutOff(at_us) if self.board.now_us() >= at_us);
        self.board.clear_cut_off();
    }
    fn sample(&mut self, channel: u16) -> i16 {
        let count = self.board.sample(channel);
        // The brain's own look at the feed current is left alone, else the feed trips.
        if channel == FEED_CURRENT { count } else { self.cut(channel, count) }
    }
    fn start_scans(&mut self, unit: Unit, channels: &[u16], interval_us: u32) {
        self.scanned[unit as usize] = channels.to_vec();
        self.scans = 0;
        self.board.start_scans(unit, channels, interval_us);
    }
    fn next_scan(&mut self, unit: Unit, counts: &mut [i16]) -> Option<u64> {
        let mut time_us = self.board.next_scan(unit, counts)?;
        self.scans += 1;
        let lost_us = match self.harm {
            Harm::LostScan(at_us) => Some(at_us),
            Harm::LostWatch(at_us) if unit == Unit::Watch => Some(at_us),
            _ => None,
        };
        if let Some(at_us) = lost_us
            && !self.done
            && time_us >= at_us
            && self.scans > 5
        {
            self.done = true;
            time_us = self.board.next_scan(unit, counts)?;
        }
        for (&channel, count) in self.scanned[unit as usize].iter().zip(counts) {
            *count = self.cut(channel, *count);
        }
        Some(time_us)
    }
}

fn hurt(harm: Harm) -> Run {
    hurt_in(SCRIPT, harm)
}

fn hurt_in(script: &str, harm: Harm) -> Run {
    let board = SimulatedBoard::new(setup(&sheet(PIER), &[], 1));
    run_on(&plan(PIER, script, None), Hurt::new(board, harm))
}

fn of(run: &Run, quantity: Quantity) -> impl Iterator<Item = (Verdict, Option<Blame>, &str)> {
    run.readings
        .iter()
        .filter(move |r| r.quantity == quantity)
        .map(|r| (r.verdict, r.blame, r.note.as_str()))
}

#[test]
fn a_sound_jig_passes_the_short_script() {
    let run = hurt(Harm::LostScan(u64::MAX));
    assert_eq!(run.outcome.verdict, Verdict::Pass, "{}", run.text());
}

#[test]
fn samples_that_are_lost_are_bench_trouble() {
    for at_us in [1_000_000, 3_000_000, 5_000_000] {
        let run = hurt(Harm::LostScan(at_us));
        let Ending::BenchTrouble(sentence) = &run.outcome.ending else { panic!("{}", run.text()) };
        assert!(sentence.contains("lost samples"), "{sentence}");
        assert_eq!(run.outcome.failed, 0, "{}", run.text());
        assert_eq!(run.outcome.verdict, Verdict::Indeterminate);
    }
}

#[test]
fn a_current_beyond_the_range_does_not_pass() {
    // Within the limits, but less than what this module's coils draw.
    let run = hurt(Harm::LowEnd(FEED_CURRENT, 0.1));
    assert!(of(&run, Quantity::CoilCurrent).count() > 0, "{}", run.text());
    for (verdict, blame, note) in of(&run, Quantity::CoilCurrent) {
        assert_eq!((verdict, blame), (Verdict::Indeterminate, Some(Blame::Jig)), "{}", run.text());
        assert!(note.contains("beyond the jig's range"), "{}", run.text());
    }
}

#[test]
fn no_current_flows_on_that_the_jig_cannot_see() {
    // Less than what this module draws at rest: the overload's limit lies within the range.
    let run = hurt(Harm::LowEnd(FEED_CURRENT, 0.018));
    assert!(of(&run, Quantity::StartCharge).count() > 0, "{}", run.text());
    for (verdict, _, note) in of(&run, Quantity::StartCharge) {
        assert_ne!(verdict, Verdict::Pass, "{}", run.text());
        assert!(note.contains("the feed has tripped"), "{}", run.text());
    }
}

#[test]
fn a_range_that_ends_beyond_the_limit_fails_all_the_same() {
    let run = hurt(Harm::Saturated(CLAMP_CURRENT + 1));
    let told = of(&run, Quantity::LoadCurrent).any(|(verdict, blame, note)| {
        (verdict, blame) == (Verdict::Fail, Some(Blame::Jig))
            && note.contains("beyond the jig's range")
    });
    assert!(told, "{}", run.text());
}

#[test]
fn a_supply_beyond_the_range_spoils_what_is_compared_by_it() {
    let run = hurt(Harm::Saturated(LOAD_VOLTAGE));
    for quantity in [Quantity::LoadCurrent, Quantity::ContactResistance] {
        assert!(of(&run, quantity).count() > 0, "{}", run.text());
        for (verdict, blame, note) in of(&run, quantity) {
            assert_eq!((verdict, blame), (Verdict::Indeterminate, Some(Blame::Jig)), "{note}");
        }
    }
}

#[test]
fn after_a_trip_of_the_feed_no_current_is_blamed_on_a_lead() {
    for at_us in [2_000_000, 2_500_000, 3_000_000] {
        let run = hurt(Harm::CutOff(at_us));
        assert!(matches!(run.outcome.ending, Ending::EndedEarly(_)), "{}", run.text());
        assert_eq!(run.outcome.verdict, Verdict::Fail, "{}", run.text());
        for reading in run.not_passed() {
            assert_ne!(reading.blame, Some(Blame::Lead), "{}", run.text());
            assert!(reading.note.contains("tripped"), "{}", run.text());
        }
    }
}

#[test]
fn a_watch_that_ends_early_is_used_as_far_as_it_goes() {
    let long = hurt_in(ARRIVAL, Harm::LostWatch(30_000_000));
    assert_eq!(long.outcome.verdict, Verdict::Pass, "{}", long.text());
    let short = hurt_in(ARRIVAL, Harm::LostWatch(4_000_000));
    for quantity in [Quantity::LampRate, Quantity::LampDuty] {
        assert!(of(&short, quantity).count() > 0, "{}", short.text());
        for (verdict, blame, note) in of(&short, quantity) {
            let wanted = (Verdict::Indeterminate, Some(Blame::Unsure));
            assert_eq!((verdict, blame), wanted, "{}", short.text());
            assert!(note.contains("ended its record early"), "{note}");
        }
    }
    assert_eq!(short.outcome.failed, 0, "{}", short.text());
}

#[test]
fn a_trip_in_the_middle_takes_the_lamp_with_it() {
    let plan = plan(PIER, ARRIVAL, None);
    let before = plan.steps.iter().take_while(|step| !matches!(step.action, Action::WatchLamp(_)));
    let watched: Duration = before.map(|step| step.duration).sum();
    // Too soon for the lamp to have shown its rhythm.
    let at = watched + Duration::from_millis(500);
    let run = hurt_in(ARRIVAL, Harm::CutOff(at.as_micros() as u64));
    for quantity in [Quantity::LampRate, Quantity::LampDuty, Quantity::IdleCurrent] {
        for (verdict, blame, note) in of(&run, quantity).filter(|r| r.0 != Verdict::Pass) {
            let wanted = (Verdict::Fail, Some(Blame::Module));
            assert_eq!((verdict, blame), wanted, "{}", run.text());
            assert!(note.contains("the feed has tripped"), "{note}");
        }
    }
    assert!(of(&run, Quantity::IdleCurrent).any(|r| r.0 == Verdict::Fail), "{}", run.text());
}
