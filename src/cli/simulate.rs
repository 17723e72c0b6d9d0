//! `musterbench simulate`: serves the simulated bench on a pseudo-terminal, in real time.

use super::command_result::{CommandResult, Exit, OrExit, bad_input};
use super::keys::Keys;
use super::sheets::BenchSheets;
use super::simulation::Simulation;
use super::{interrupt, output};
use crate::plain::plain;
use crate::simulated_bench::PersonAct;
use crate::simulated_bench::served::{ServeError, serve};
use crate::system::terminal;
use core::time::Duration;
use std::path::PathBuf;
use std::time::Instant;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    sheets: BenchSheets,

    #[command(flatten)]
    simulation: Simulation,

    /// Somebody tends the bench from this terminal: space presses the start button, o takes the module out, i seats it
    #[arg(long)]
    attended: bool,

    /// Make a link to the pseudo-terminal here
    #[arg(long, value_name = "PATH")]
    path_at: Option<PathBuf>,
}

/// Carries the command out: prints the device's path, and serves it until the program is ended.
///
/// # Errors
/// When a sheet is wrong, or the system refuses.
pub fn run(given: &Given) -> CommandResult {
    let (module, loads) = given.sheets.read()?;
    let setup = given.simulation.setup(&module, loads.as_ref());
    let stop = interrupt::flag()?;
    let mut told = Ok(());
    if given.attended && !terminal::is_someone_there() {
        return Err(bad_input("nobody is there to tend the bench: run it from a terminal"));
    }
    let mut person = given.attended.then(|| Person::new(Keys::begin(stop)));
    let mut acts = person.as_mut().map(|person| || person.act());
    let acts = acts.as_mut().map(|acts| acts as &mut dyn FnMut() -> Option<PersonAct>);
    let served = serve(setup, given.path_at.as_deref(), stop, acts, |path| {
        told = output::data(&format!("{}\n", plain(&path.display().to_string())));
        output::tell("A simulated bench is served there, in real time. Ctrl-C ends it.");
        if given.attended {
            output::tell("Space presses the start button, o takes the module out, i seats it.");
        }
    });
    told?;
    match served {
        Err(error @ ServeError::Link { .. }) => Err(error).or_bad_input(),
        served => served.map(|()| Exit::Pass).or_bench(),
    }
}

/// For so long a finger holds the button.
const HOLDS: Duration = Duration::from_millis(200);

/// Somebody at the bench.
struct Person<'a> {
    keys: Keys<'a>,
    /// Since when the button is held.
    held: Option<Instant>,
}

impl<'a> Person<'a> {
    fn new(keys: Keys<'a>) -> Self {
        Person { keys, held: None }
    }

    /// What is done now.
    fn act(&mut self) -> Option<PersonAct> {
        if self.held.take_if(|since| since.elapsed() >= HOLDS).is_some() {
            return Some(PersonAct::Presses(false));
        }
        let typed = self.keys.at_once()?;
        match typed.first()? {
            b' ' => {
                self.held = Some(Instant::now());
                Some(PersonAct::Presses(true))
            }
            b'o' => Some(PersonAct::Seats(false)),
            b'i' => Some(PersonAct::Seats(true)),
            _ => None,
        }
    }
}
