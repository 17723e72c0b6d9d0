//! A whole run in this process, over whatever line, and what came of it.

use super::noting::{Deed, Noting, Told};
use super::shared_line::Shared;
use super::unattended::unattended;
use core::cell::RefCell;
use core::time::Duration;
use musterbench::judge::reading::{Blame, Quantity, Reading, Verdict};
use musterbench::link::client::Jig;
use musterbench::link::pace::Pace;
use musterbench::link::session::Traffic;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::link::transport::Transport;
use musterbench::run::event::{Ending, Event, ListenError, Listener};
use musterbench::run::unattended::Readings;
use musterbench::script::plan::Plan;
use musterbench::signal::target::Position;
use musterbench::simulated_bench::Setup;
use std::ops::Range;
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
    /// Stretches of what it was told that belong to no plan: rests of the loads, and steps that were begun
    /// and then taken again, all of it until that.
    pub aside: Vec<Range<usize>>,
    /// Stretches in which the module's address was searched: what is asked there follows what was seen.
    pub searches: Vec<Range<usize>>,
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
    /// What the board was told of the plan itself, each deed with which way round the feed was then: turning
    /// it while it is off is no deed of its own.
    pub fn planned_deeds(&self) -> Vec<(Deed, bool)> {
        let all = self.aside.iter().chain(&self.searches);
        let aside = |at: usize| all.clone().any(|range| range.contains(&at));
        let (mut planned, mut is_inverted) = (Vec::new(), false);
        for (at, deed) in self.deeds.iter().enumerate() {
            match deed {
                Deed::Inverted(inverted) => is_inverted = *inverted,
                deed if !aside(at) => planned.push((deed.clone(), is_inverted)),
                _ => {}
            }
        }
        planned
    }

    /// Whether what stands aside is no more than it may be: the load supply off and on for a rest; of a
    /// step that was taken again the outputs' own commands, and everything off that was on; of a search
    /// besides these commands to anywhere.
    pub fn aside_is_sound(&self, clean: &[Deed]) -> bool {
        let within = |ranges: &[Range<usize>], at| ranges.iter().any(|range| range.contains(&at));
        self.deeds.iter().enumerate().all(|(at, deed)| {
            let is_command = matches!(deed, Deed::Packet(_) | Deed::Trinary(_));
            // A step that is taken again may have searched: what it sent then is of the search.
            let of_search = within(&self.searches, at);
            let of_aside = of_search || within(&self.aside, at);
            !of_aside || (of_search && is_command) || clean.contains(deed)
        })
    }

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
        Ok(jig) => carried_out(plan, jig, &told),
        Err(error) => in_trouble(error.to_string()),
    };
    run.time = bench.borrow().now();
    run.deeds = core::mem::take(&mut told.borrow_mut().deeds);
    run.is_safe = is_safe_in_the_end(&mut bench.borrow_mut(), &told);
    run
}

/// Keeps the readings, and which deeds stand aside.
struct Notes<'t> {
    told: &'t RefCell<Told>,
    readings: Readings,
    /// How many deeds there were when the present step began.
    step: usize,
    aside: Vec<Range<usize>>,
    searches: Vec<Range<usize>>,
    searching: bool,
}

impl Listener for Notes<'_> {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        let deeds = self.told.borrow().deeds.len();
        match (event, self.searching) {
            (Event::Searching(_), false) => {
                self.searches.push(deeds..usize::MAX);
                self.searching = true;
            }
            // A search goes on after the loads have rested in it.
            (Event::Searching(_) | Event::LoadsRest { midway: true }, true) | (_, false) => {}
            (_, true) => {
                if let Some(last) = self.searches.last_mut() {
                    last.end = deeds;
                }
                self.searching = false;
            }
        }
        match event {
            Event::StepBegan { .. } => self.step = deeds,
            // The load supply went off for it, and goes on again.
            Event::LoadsRest { midway: true } => self.aside.push(deeds - 1..deeds + 1),
            Event::StepPutBack { .. } => {
                let step = self.step;
                self.aside.retain(|aside| aside.end <= step);
                self.aside.push(step..usize::MAX);
            }
            Event::StepAgain { .. } => {
                if let Some(last) = self.aside.iter_mut().rfind(|aside| aside.start == self.step) {
                    last.end = deeds;
                }
            }
            _ => {}
        }
        self.readings.on_event(event)
    }
}

fn carried_out(plan: &Plan, mut jig: Jig, told: &RefCell<Told>) -> Run {
    let readings = Readings::default();
    let mut notes = Notes {
        told,
        readings,
        step: 0,
        aside: Vec::new(),
        searches: Vec::new(),
        searching: false,
    };
    let outcome = unattended(plan, &mut jig, &mut notes);
    let Notes { readings, aside, searches, .. } = notes;
    let traffic = jig.traffic();
    jig.close();
    assert_eq!(outcome.readings, readings.0.len());
    let mut run = match outcome.ending {
        Ending::Complete | Ending::EndedEarly(_) => {
            Run { verdict: Some(outcome.verdict), ..in_trouble(String::new()) }
        }
        Ending::BenchTrouble(sentence) => in_trouble(sentence),
        Ending::Stopped => panic!("nobody stopped it"),
        Ending::Unrecorded(why) => panic!("{why}"),
    };
    (run.blame, run.readings, run.traffic) = (outcome.blame, readings.0, traffic);
    (run.aside, run.searches) = (aside, searches);
    run
}

fn in_trouble(trouble: String) -> Run {
    Run {
        verdict: None,
        trouble,
        blame: None,
        readings: Vec::new(),
        deeds: Vec::new(),
        aside: Vec::new(),
        searches: Vec::new(),
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
