//! A whole run in this process, over whatever line, and what came of it.

use super::noting::{Deed, Noting, Told};
use super::shared_line::Shared;
use super::unattended::{Readings, unattended};
use core::cell::RefCell;
use core::time::Duration;
use musterbench::judge::reading::{Blame, Quantity, Reading, Verdict};
use musterbench::link::client::Jig;
use musterbench::link::pace::Pace;
use musterbench::link::session::Traffic;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::link::transport::Transport;
use musterbench::run::event::Ending;
use musterbench::script::plan::Plan;
use musterbench::signal::target::Position;
use musterbench::simulated_bench::Setup;
use std::rc::Rc;

/// Longer than the silence limit, after which a jig makes itself safe.
const SILENCE: Duration = Duration::from_secs(6);

/// What came of a run.
#[derive(Debug)]
pub struct Run {
    /// The verdict; `None` for bench trouble, which the program ends with exit code 4.
    pub verdict: Option<Verdict>,
    /// What the trouble was.
    pub trouble: String,
    /// Whose fault.
    pub blame: Option<Blame>,
    /// All readings, in order.
    pub readings: Vec<Reading>,
    /// What the board was told to do until the program let go of it.
    pub deeds: Vec<Deed>,
    /// Whether the board was safe when the silence limit was over, at the latest.
    pub is_safe: bool,
    /// How long it took, by the clock of the line.
    pub time: Duration,
    /// What went over the line.
    pub traffic: Traffic,
}

/// A reading without its value, which has noise.
pub type Outline<'a> =
    (&'a str, Option<u8>, Option<Position>, Quantity, bool, Verdict, Option<Blame>);

impl Run {
    /// What of the readings must not depend on the line.
    pub fn outlines(&self) -> impl Iterator<Item = Outline<'_>> {
        self.readings.iter().map(|r| {
            (&*r.step, r.output, r.position, r.quantity, r.value.is_some(), r.verdict, r.blame)
        })
    }
}

/// Carries a plan out over the line that `line` makes of a good one.
pub fn run<T: Transport + 'static>(
    plan: &Plan,
    setup: Setup,
    pace: Pace,
    line: impl FnOnce(Shared<Noting>) -> T,
) -> Run {
    let (board, told) = Noting::new(setup);
    let bench = Rc::new(RefCell::new(SimulatedTransport::over(board).at(pace)));
    let opened = Jig::open(Box::new(line(Shared(Rc::clone(&bench)))));
    let mut run = match opened {
        Ok(jig) => carried_out(plan, jig),
        Err(error) => in_trouble(error.to_string()),
    };
    run.time = bench.borrow().now();
    run.deeds = core::mem::take(&mut told.borrow_mut().deeds);
    run.is_safe = is_safe_in_the_end(&mut bench.borrow_mut(), &told);
    run
}

fn carried_out(plan: &Plan, mut jig: Jig) -> Run {
    let mut readings = Readings::default();
    let outcome = unattended(plan, &mut jig, &mut readings);
    let traffic = jig.traffic();
    jig.close();
    assert_eq!(outcome.readings, readings.0.len());
    let mut run = match outcome.ending {
        Ending::Complete => Run { verdict: Some(outcome.verdict), ..in_trouble(String::new()) },
        Ending::BenchTrouble(sentence) => in_trouble(sentence),
        Ending::Stopped => panic!("nobody stopped it"),
        Ending::Unrecorded(why) => panic!("{why}"),
    };
    (run.blame, run.readings, run.traffic) = (outcome.blame, readings.0, traffic);
    run
}

fn in_trouble(trouble: String) -> Run {
    Run {
        verdict: None,
        trouble,
        blame: None,
        readings: Vec::new(),
        deeds: Vec::new(),
        is_safe: false,
        time: Duration::ZERO,
        traffic: Traffic::default(),
    }
}

fn is_safe_in_the_end(bench: &mut SimulatedTransport<Noting>, told: &RefCell<Told>) -> bool {
    if !told.borrow().is_safe() {
        bench.pause(SILENCE);
    }
    told.borrow().is_safe()
}
