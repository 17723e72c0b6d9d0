//! `muster --practice`: simulated modules with hidden faults. The verdict is shown, somebody decides, and is then told what
//! it was. Nothing is recorded.

use super::Given;
use super::bench::HasSeated;
use crate::cli::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use crate::cli::keys::Keys;
use crate::cli::{interrupt, output};
use crate::link::client::Jig;
use crate::link::simulated::SimulatedTransport;
use crate::muster::keys::Input;
use crate::muster::practice::{Choice, Hidden, MOST, Worth, draw};
use crate::plain::plain;
use crate::procedure::simulated_set_up::setup;
use crate::report::practice_screen::{self, Tried};
use crate::report::progress::Progress;
use crate::report::summary::Summary;
use crate::run::event::{Ending, Listener};
use crate::run::options::{Leave, Options};
use crate::run::{Rules, carry_out};
use crate::script::expand::expand;
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::Plan;
use crate::script::shipped;
use crate::system::terminal;
use std::sync::atomic::AtomicBool;

/// How many modules there are.
const COUNT: usize = 8;

/// The script that they go through.
const SCRIPT: &str = "muster";

/// The modules, one after the other.
///
/// # Errors
/// When there is nobody to decide, or the kind is not there.
pub fn run(given: &Given) -> CommandResult {
    if !terminal::is_someone_there() {
        return Err(bad_input("there is nobody to decide: run it from a terminal"));
    }
    if given.simulation.has_faults() {
        return Err(bad_input("faults are hidden in practice: leave --fault out"));
    }
    let sheet = shipped::module_sheet(&given.kind).or_bad_input()?;
    let script = shipped::script(SCRIPT).or_bad_input()?;
    let plan = expand(&script, &sheet, None, None).or_bad_input()?;
    let stop = interrupt::flag()?;
    let seed = given.simulation.bench_seed();
    let modules = draw(COUNT, seed, &setup(&sheet, None, Vec::new(), seed));
    let mut points = 0;
    for (number, hidden) in (1..).zip(modules) {
        let at = practice_screen::At { number, of: COUNT, points };
        match one(&plan, &sheet, hidden, at, stop, given.quiet)? {
            Some(worth) => points += worth.points,
            None => {
                output::print(&practice_screen::end(number - 1, points, seed))?;
                return Ok(Exit::Stopped);
            }
        }
    }
    output::print(&practice_screen::end(COUNT, points, seed))?;
    Ok(Exit::Pass)
}

/// One module, until somebody has decided. `None`: somebody wants to stop.
fn one(
    plan: &Plan,
    sheet: &ModuleSheet,
    mut hidden: Hidden,
    at: practice_screen::At,
    stop: &'static AtomicBool,
    quiet: bool,
) -> Result<Option<Worth>, CommandError> {
    let was = hidden;
    loop {
        let Some(tried) = tried(plan, sheet, hidden, stop)? else { return Ok(None) };
        let mut keys = Keys::begin(stop);
        output::page(&practice_screen::verdict(&tried, at, output::screen()))?;
        output::ask("", !quiet);
        let choice = loop {
            match keys.next() {
                Err(_) | Ok(Input::Key('q' | 'Q')) => return Ok(None),
                Ok(Input::Start) => break Some(Choice::Accept),
                Ok(Input::Key('x' | 'X')) => break Some(Choice::Reject),
                Ok(Input::Key('h' | 'H')) => break Some(Choice::Hold),
                Ok(Input::Key('r' | 'R')) => break None,
                Ok(_) => {}
            }
        };
        let Some(choice) = choice else {
            hidden = hidden.seated_anew();
            continue;
        };
        let worth = hidden.worth(choice, tried.verdict);
        output::print(&format!("\n{} {}\n", plain(&was.told()), worth.sentence))?;
        output::print(&format!("{} of {MOST} points. Press Enter to go on.\n", worth.points))?;
        loop {
            match keys.next() {
                Err(_) | Ok(Input::Key('q' | 'Q')) => return Ok(None),
                Ok(Input::Start) => return Ok(Some(worth)),
                Ok(_) => {}
            }
        }
    }
}

/// The run of a module. `None`: somebody wants to stop.
fn tried(
    plan: &Plan,
    sheet: &ModuleSheet,
    hidden: Hidden,
    stop: &AtomicBool,
) -> Result<Option<Tried>, CommandError> {
    let faults = hidden.fault.into_iter().collect();
    let bench = setup(sheet, None, faults, hidden.seed);
    let mut jig = Jig::open(Box::new(SimulatedTransport::new(bench))).or_bench()?;
    let (mut summary, mut progress) = (Summary::default(), Progress::default());
    let listeners: &mut [&mut dyn Listener] = &mut [&mut progress, &mut summary];
    let options =
        Options { search: Leave::Given, kinds: shipped::other_kinds(sheet), ..Options::default() };
    let outcome = carry_out(plan, &mut jig, &mut HasSeated, &mut Rules, &options, stop, listeners);
    jig.close();
    if outcome.ending == Ending::Stopped {
        return Ok(None);
    }
    Ok(summary.finding().map(|finding| Tried { verdict: outcome.verdict, finding }))
}
