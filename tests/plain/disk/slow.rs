//! A disk that takes long for a sync costs no run and loses nothing. On a clock that jumps.

use crate::kit::disks::jumping_clock::JumpingClock;
use crate::kit::disks::slow::SlowDisk;
use crate::kit::recorded::{Told, go, recorder, short_plan};
use core::time::Duration;
use musterbench::judge::reading::Verdict;
use musterbench::record::disk::Disk;
use musterbench::record::folder::LotFolder;
use musterbench::record::recorder::Recorder;
use musterbench::record::{recover, report};
use musterbench::run::event::{Ending, Event, ListenError, Listener};
use musterbench::run::unattended::Readings;
use musterbench::script::plan::Plan;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Moves the disk's clock with the run's; while the run waits, to whatever it waits for.
struct Timed<'a> {
    recorder: &'a mut Recorder,
    clock: &'a JumpingClock,
    plan: &'a Plan,
    /// When the run was over.
    ended: Duration,
}

impl Listener for Timed<'_> {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::StepBegan { left, .. } => self.clock.at_least(self.plan.duration() - *left),
            Event::Ended(_) => self.ended = self.clock.now(),
            _ => {}
        }
        self.recorder.on_event(event)
    }

    fn settle(&mut self, _: Duration) -> Result<bool, ListenError> {
        while !self.recorder.settle(Duration::from_millis(1))? {
            self.clock.jump();
        }
        Ok(true)
    }
}

#[test]
fn a_slow_disk_costs_no_run_and_loses_nothing() {
    let plan = short_plan();
    let stop = AtomicBool::new(false);
    let mut clean = Readings::default();
    let (quick, quick_seconds) = go(&plan, &stop, &mut [&mut clean]);
    assert_eq!((&quick.ending, quick.verdict), (&Ending::Complete, Verdict::Pass));
    println!(
        "a sync takes   syncs in the run   readings   the run takes   the run waits at its end"
    );
    for delay in [0.0, 0.1, 1.0, 5.0, 30.0] {
        let folder = tempfile::tempdir().expect("a folder");
        let clock = Arc::new(JumpingClock::default());
        let slow = Arc::new(SlowDisk::new(&clock, Duration::from_secs_f64(delay)));
        let disk = Disk::of(slow.clone());
        // The folders are made before the run.
        slow_start(&clock, || drop(recorder(&disk, folder.path(), Box::new(()))));
        let told = Told::default();
        let mut recorder = recorder(&disk, folder.path(), Box::new(told.clone()));
        let before = slow.syncs.load(Ordering::Relaxed);
        let mut timed =
            Timed { recorder: &mut recorder, clock: &clock, plan: &plan, ended: Duration::ZERO };
        let mut read = Readings::default();
        let (outcome, seconds) = go(&plan, &stop, &mut [&mut timed, &mut read]);
        let waited = clock.now().saturating_sub(timed.ended);

        // The run is the same to the last bit, and takes no longer.
        assert_eq!(outcome, quick);
        assert_eq!(read.0, clean.0);
        assert!((seconds - quick_seconds).abs() < 1e-9, "{seconds} {quick_seconds}");
        // All of it was told, and is in the report.
        assert_eq!(*told.0.lock().expect("no panic"), clean.0);
        let kept = report::read(&recorder.report().expect("finished")).expect("whole");
        assert!(kept.is_proven);
        assert_eq!(kept.readings.len(), clean.0.len());
        let syncs = slow.syncs.load(Ordering::Relaxed) - before;
        println!(
            "{delay:>10} s {syncs:>18} {:>10} {seconds:>13.1} s {:>21.1} s",
            kept.readings.len(),
            waited.as_secs_f64()
        );
    }
}

/// Does something that may sleep, with nobody else to move the clock.
fn slow_start(clock: &Arc<JumpingClock>, what: impl FnOnce()) {
    let over = Arc::new(AtomicBool::new(false));
    let (its_clock, is_over) = (Arc::clone(clock), Arc::clone(&over));
    let ticks = std::thread::spawn(move || {
        while !is_over.load(Ordering::Relaxed) {
            its_clock.jump();
            std::thread::yield_now();
        }
    });
    what();
    over.store(true, Ordering::Relaxed);
    ticks.join().expect("no panic");
}

/// Lets the run begin on a disk that works, then has it hang; stops the run as soon as it waits at its end.
struct Hanging<'a> {
    timed: Timed<'a>,
    stop: &'a AtomicBool,
    over: bool,
    told_to_wait: bool,
}

impl Listener for Hanging<'_> {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::Ended(_) => self.over = true,
            Event::WaitsForRecord => {
                self.told_to_wait = true;
                self.stop.store(true, Ordering::Relaxed);
            }
            _ => {}
        }
        self.timed.recorder.on_event(event)
    }

    fn settle(&mut self, _: Duration) -> Result<bool, ListenError> {
        if self.over {
            return self.timed.recorder.settle(Duration::from_millis(1));
        }
        self.timed.settle(Duration::ZERO)
    }

    fn leave(&mut self) -> Option<ListenError> {
        self.timed.recorder.leave()
    }
}

#[test]
fn a_disk_that_never_comes_back_is_not_waited_for_for_ever() {
    let plan = short_plan();
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Arc::new(JumpingClock::default());
    let disk = Disk::of(Arc::new(SlowDisk::new(&clock, Duration::from_secs(10))));
    slow_start(&clock, || drop(recorder(&disk, folder.path(), Box::new(()))));
    let told = Told::default();
    let mut recorder = recorder(&disk, folder.path(), Box::new(told.clone()));
    let stop = AtomicBool::new(false);
    let timed =
        Timed { recorder: &mut recorder, clock: &clock, plan: &plan, ended: Duration::ZERO };
    let mut hanging = Hanging { timed, stop: &stop, over: false, told_to_wait: false };
    let (outcome, _) = go(&plan, &stop, &mut [&mut hanging]);
    assert!(hanging.told_to_wait);
    let Ending::BenchTrouble(why) = &outcome.ending else { panic!("{:?}", outcome.ending) };
    assert!(why.starts_with("nobody waited for the disk any longer: 0 readings are safe"), "{why}");
    assert_eq!(outcome.verdict, Verdict::Indeterminate);
    assert!(told.0.lock().expect("no panic").is_empty());
    // It does come back: all that it was given is done, as if nothing had been.
    drop(recorder);
    slow_start(&clock, || {
        while told.0.lock().expect("no panic").len() < outcome.readings {
            std::thread::yield_now();
        }
        // The journal is locked until its thread is through.
        let lot = || LotFolder::open(folder.path(), "quay").expect("there");
        while recover::lot(lot())
            .expect("looked")
            .fates
            .iter()
            .any(|fate| matches!(fate, recover::Fate::Living(_)))
        {
            std::thread::yield_now();
        }
    });
    let kept = report::read(&folder.path().join("quay/lock/run-001.csv")).expect("whole");
    assert_eq!(kept.readings.len(), outcome.readings);
}
