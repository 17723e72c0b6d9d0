//! One run in this process, and each of its readings with the truth beside it.

use super::calibrated::calibrated;
use super::draw::around;
use super::truth::{Bench, true_value};
use super::window::Window;
use crate::kit::bench::{ARRIVAL, BASIN, IN_PLACE, PIER, on_one_line, plan_for, sheet};
use crate::kit::shared_line::Shared;
use crate::kit::unattended::corrected;
use core::cell::RefCell;
use musterbench::judge::reading::{Reading, Verdict};
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::load::sheet::LoadSheet;
use musterbench::load::{expected_current, jig_loads, settled_current};
use musterbench::quantity::source::Source;
use musterbench::quantity::unit::Units;
use musterbench::run::event::{Ending, Event, ListenError, Listener, Outcome};
use musterbench::script::plan::Plan;
use musterbench::simulated_bench::{Setup, SimulatedBoard};
use std::rc::Rc;
use uom::si::f64::Time;

/// A reading, and what it should have been.
pub struct Held {
    pub reading: Reading,
    pub truth: f64,
}

/// A run of which the truth is known.
pub struct Ran {
    pub outcome: Outcome,
    /// What was measured, with what is true.
    pub held: Vec<Held>,
    /// Readings that do not pass, in words.
    pub not_passed: Vec<String>,
}

/// The arrival script on a module of this seed.
pub fn arrival(seed: u64) -> Vec<Held> {
    let sheet = sheet(PIER);
    let plan = plan_for(&sheet, ARRIVAL, None);
    ran(&plan, around(&sheet, None, seed), false).held
}

/// The in-place script on a module of this seed.
pub fn in_place(seed: u64) -> Vec<Held> {
    let sheet = sheet(PIER);
    let loads = LoadSheet::parse(&Source::new("loads.toml", BASIN)).expect("a load sheet");
    // How each load starts is not tried out here, and takes most of the time.
    let script = IN_PLACE.replace("{ measure = \"load start\" },", "");
    assert_ne!(script, IN_PLACE);
    let plan = plan_for(&sheet, &script, Some(&loads));
    ran(&plan, around(&sheet, Some(&loads), seed), false).held
}

/// Readings, each with the windows of its step so far.
#[derive(Default)]
struct Notes {
    windows: Vec<Window>,
    /// The window of the last reading of the idle current, and of the one with the slider on.
    at_rest: [Option<Window>; 2],
    read: Vec<(Reading, Vec<Window>)>,
}

impl Listener for Notes {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::StepBegan { .. } => self.windows.clear(),
            Event::Samples { record, .. } => self.windows.push(Window::of(record)),
            Event::Read(reading) => {
                let mut windows = self.windows.clone();
                windows.extend(self.at_rest.iter().flatten().cloned());
                self.read.push(((*reading).clone(), windows));
            }
            Event::StepEnded { .. } => self.remember(),
            _ => {}
        }
        Ok(())
    }
}

impl Notes {
    /// What the reading of the auxiliary current, one step or another later, is made of too.
    fn remember(&mut self) {
        if let [only] = &self.windows[..]
            && only.is_at_rest()
        {
            self.at_rest = [self.at_rest[1].take(), Some(only.clone())];
        }
    }
}

/// The first current of a load counts up to so many times the settled one: a step of the non-linearity must not hold
/// both nothing and the settled current.
const INRUSH: f64 = 8.0;

/// The most that the load at each clamp draws, amperes: those of the load sheet, or the jig's own.
fn most_drawn(plan: &Plan) -> [f64; 8] {
    let own = jig_loads();
    let sheet = plan.loads.as_ref().unwrap_or(&own);
    let most = |i: usize| {
        let load = sheet.clamps[i].as_ref()?;
        let settled = settled_current(&load.circuit, sheet.supply).nominal.si();
        let first = expected_current(&load.circuit, sheet.supply, Time::from_si(0.0)).nominal.si();
        Some(first.clamp(settled, INRUSH * settled))
    };
    core::array::from_fn(|i| most(i).unwrap_or(0.0))
}

/// One run, each of its readings with the truth. The jig uses its class up, and may be calibrated.
pub fn ran(plan: &Plan, setup: Setup, is_calibrated: bool) -> Ran {
    let seeds = setup.seeds;
    let seed = seeds.module;
    let most_a = most_drawn(plan);
    let used_up = |setup| {
        let mut board = SimulatedBoard::new(setup);
        board.use_up_class(seed, &most_a);
        board
    };
    let corrections = is_calibrated.then(|| calibrated(used_up(setup.clone())));
    let mut board = used_up(setup);
    if is_calibrated {
        // What a reading is off by and what the calibration was off by at a value as close are taken to be independent.
        board.bend_anew(seed, &most_a);
    }
    board.keep_truth();
    let line = Rc::new(RefCell::new(SimulatedTransport::over(board)));
    let mut jig = Jig::open(Box::new(Shared(Rc::clone(&line)))).expect("a jig");
    let mut notes = Notes::default();
    let outcome = corrected(plan, &mut jig, corrections, &mut notes);
    // Where a drawn module joins what must be apart, no power is given; what was read until then counts.
    let is_ended = matches!(outcome.ending, Ending::Complete | Ending::EndedEarly(_));
    assert!(is_ended, "seed {seed}: {:?}", outcome.ending);
    jig.close();
    let line = line.borrow();
    let board = line.engine().board();
    let bench = Bench { truth: board.truth().expect("it was kept"), world: board.world(), plan };
    let with_truth = |(reading, windows): (Reading, Vec<Window>)| {
        let truth = true_value(&bench, &reading, &windows)?;
        Some(Held { reading, truth })
    };
    let failing =
        notes.read.iter().map(|(reading, _)| reading).filter(|r| r.verdict != Verdict::Pass);
    let not_passed = failing.map(on_one_line).collect();
    Ran { outcome, held: notes.read.into_iter().filter_map(with_truth).collect(), not_passed }
}
