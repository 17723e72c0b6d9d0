//! Many drawn jigs: calibrated, their readings are nearer to the truth, and the stated interval still
//! holds it.

use super::program::{calibrate, read};
use musterbench::jig::board::Board;
use musterbench::link::client::Jig;
use musterbench::link::simulated::{JumpingBoard, SimulatedTransport};
use musterbench::procedure::bench::Bench;
use musterbench::procedure::references::{Place, Powered, WINDOW};
use musterbench::script::shipped;
use musterbench::signal::target::Clamp;
use musterbench::simulated_bench::SimulatedBoard;
use std::cell::RefCell;
use std::rc::Rc;
use std::sync::atomic::AtomicBool;

/// How many jigs.
const JIGS: u64 = 200;

/// The true currents of the feed, the load supply, and clamp 1a.
type Truth = Rc<RefCell<[f64; 3]>>;

/// A bench whose true currents can be looked at.
struct Transparent {
    board: SimulatedBoard,
    truth: Truth,
}

impl JumpingBoard for Transparent {
    fn advance_to(&mut self, t_us: u64) {
        self.board.advance_to(t_us);
        let world = self.board.world();
        *self.truth.borrow_mut() =
            [world.feed.feed_a(), world.loads.total_a(), world.loads.clamp_a(0)];
    }
}

impl Board for Transparent {
    pass_on! { board: identity, now_us, channels, set_feed, set_inverted, set_soft_start_limit,
    set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch,
    sample, start_scans, next_scan, stop_scans, self_test, hand }
}

/// Readings of one channel.
#[derive(Default)]
struct Tally {
    readings: usize,
    inside: [usize; 2],
    error: [f64; 2],
    stated: [f64; 2],
}

/// Drawn from a seed, each jig reads currents that were no points of its calibration, with it and
/// without.
#[test]
fn calibrated_jigs_read_nearer_to_the_truth_and_say_so_honestly() {
    let folder = tempfile::tempdir().expect("a folder");
    let channels = [2, 4, 101];
    let mut tallies: [Tally; 3] = Default::default();
    for seed in 0..JIGS {
        let ran = calibrate(folder.path(), seed, &["--channels", "1a,total,feed"]);
        assert_eq!(ran.code, 0, "a sound jig is refused: {ran:?}");
        let now = "2026-01-05T09:00:00Z".parse().expect("a time");
        let corrections = read(folder.path(), seed).corrections(now);
        measure(seed, &[150.0, 33.0, 15.0], &[700.0, 150.0, 64.0], |channel, truth, bench| {
            let tally = &mut tallies[channels.iter().position(|&c| c == channel).expect("ours")];
            tally.readings += 1;
            for (at, corrected) in [None, Some(&corrections)].into_iter().enumerate() {
                let mut bench = Bench::new(bench.jig, corrected, bench.stop);
                let record = bench.sample(vec![channel], WINDOW).expect("samples");
                let trace = record.trace(channel).expect("the channel");
                let reading = trace.mean(..).expect("values").estimate(&trace.class);
                let error = (reading.value - truth).abs();
                tally.error[at] += error;
                tally.stated[at] += reading.expanded();
                tally.inside[at] += usize::from(error <= reading.expanded());
            }
        });
    }
    println!("channel  readings  mean error / mean stated uncertainty / inside: class, calibrated");
    for (channel, t) in channels.iter().zip(&tallies) {
        let n = t.readings as f64;
        let share = t.inside.map(|inside| inside as f64 / n);
        println!(
            "{channel:>7}  {:>8}  {:.3} mA / {:.3} mA / {:.1} %   {:.3} mA / {:.3} mA / {:.1} %",
            t.readings,
            1e3 * t.error[0] / n,
            1e3 * t.stated[0] / n,
            100.0 * share[0],
            1e3 * t.error[1] / n,
            1e3 * t.stated[1] / n,
            100.0 * share[1],
        );
        assert!(t.error[1] < 0.5 * t.error[0], "channel {channel} gains too little");
        assert!(t.stated[1] < 0.5 * t.stated[0], "channel {channel} does not say so");
        assert!(share.iter().all(|&s| s >= 0.94), "channel {channel}: {share:?}");
    }
}

/// Puts resistors on a jig and shows each channel with the true current through it.
fn measure(
    seed: u64,
    ohms: &[f64],
    feed_ohms: &[f64],
    mut look: impl FnMut(u16, f64, &mut Bench<'_>),
) {
    let module = shipped::module_sheet(shipped::MODULE_SHEETS[0].name).expect("a sheet");
    let setup = musterbench::procedure::simulated_set_up::setup(&module, None, Vec::new(), seed);
    let truth = Truth::default();
    let board = Transparent { board: SimulatedBoard::new(setup), truth: Rc::clone(&truth) };
    let mut jig = Jig::open(Box::new(SimulatedTransport::over(board))).expect("a jig");
    let stop = AtomicBool::new(false);
    let mut bench = Bench::new(&mut jig, None, &stop);
    let at_clamp = ohms.iter().map(|&ohm| (Place::Clamp(Clamp::ALL[0]), ohm));
    let on_feed = feed_ohms.iter().map(|&ohm| (Place::Feed, ohm));
    for (place, ohm) in at_clamp.chain(on_feed) {
        bench.simulate_reference(place, ohm).expect("connected");
        assert_eq!(bench.power(place).expect("a line"), Powered::Yes);
        let [feed_a, total_a, clamp_a] = *truth.borrow();
        match place {
            Place::Feed => look(2, feed_a, &mut bench),
            Place::Clamp(_) => {
                look(101, clamp_a, &mut bench);
                look(4, total_a, &mut bench);
            }
        }
        bench.make_safe().expect("a line");
        bench.simulate_reference(place, 0.0).expect("taken away");
    }
}
