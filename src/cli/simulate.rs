//! `musterbench simulate`: serves the simulated bench on a pseudo-terminal or behind a socket, in real time.

use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::fault_choice::{FaultChoice, of_module};
use super::keys::Keys;
use super::sheets::BenchSheets;
use super::simulation::Simulation;
use super::{interrupt, output};
use crate::link::socket::PREFIX;
use crate::plain::plain;
use crate::refused::words;
use crate::simulated_bench::served::{ServeError, serve, serve_on};
use crate::simulated_bench::socket::Socket;
use crate::simulated_bench::{PersonAct, Setup};
use crate::system::terminal;
use anyhow::Context;
use core::time::Duration;
use std::collections::VecDeque;
use std::net::{SocketAddr, ToSocketAddrs};
use std::path::PathBuf;
use std::time::Instant;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    sheets: BenchSheets,

    #[command(flatten)]
    simulation: Simulation,

    /// Somebody tends the bench from this terminal: space presses the start button, o takes the module out, i seats it;
    /// a number before i seats another module, drawn from that number
    #[arg(long)]
    attended: bool,

    /// With --attended: the module of this number has a fault, such as 7=contact-misses; can be given again
    #[arg(long = "with", value_name = "NUMBER=FAULT[=SEVERITY]", value_parser = of_number, requires = "attended")]
    with: Vec<(u64, FaultChoice)>,

    /// Make a link to the pseudo-terminal here
    #[arg(long, value_name = "PATH", conflicts_with = "listen")]
    path_at: Option<PathBuf>,

    /// Serve it behind a socket of this computer instead, such as 127.0.0.1:5025 (port 0: a free one)
    #[arg(long, value_name = "HOST:PORT")]
    listen: Option<String>,

    /// Let `--listen` take an address that other computers reach: whoever is on that network may then command the
    /// bench, nobody is asked for a password, and nothing is encrypted
    #[arg(long, requires = "listen")]
    listen_on_all: bool,
}

/// `7=contact-misses`.
fn of_number(text: &str) -> Result<(u64, FaultChoice), String> {
    let (number, fault) = of_module(text)?;
    let number = number.parse().ok().filter(|number| *number < NUMBERS).ok_or_else(|| {
        format!(
            "{number:?} is no number of a module: say one below {NUMBERS}, such as 7=contact-misses"
        )
    })?;
    Ok((number, fault))
}

/// Carries the command out: prints what `--port` takes, and serves it until the program is ended.
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
    let another = |number: u64, seating: u64| {
        let faults = given.with.iter().filter(|(of, _)| *of == number).map(|(_, chosen)| *chosen);
        given.simulation.another(&module, loads.as_ref(), faults, number, seating)
    };
    let mut person = given.attended.then(|| Person::new(Keys::begin(stop), &another));
    let mut acts = person.as_mut().map(|person| || person.act());
    let acts = acts.as_mut().map(|acts| acts as &mut dyn FnMut() -> Option<PersonAct>);
    let mut tell = |port: &str| {
        told = output::data(&format!("{}\n", plain(port)));
        output::tell("A simulated bench is served there, in real time. Ctrl-C ends it.");
        if given.attended {
            output::tell(
                "Space presses the start button, o takes the module out, i seats it; a number before i \
                 seats another one.",
            );
        }
    };
    let served = match &given.listen {
        Some(at) => {
            let mut socket = given.socket(at)?;
            tell(&format!("{PREFIX}{}", socket.address().context("cannot listen").or_bench()?));
            serve_on(setup, &mut socket, stop, acts)
        }
        None => serve(setup, given.path_at.as_deref(), stop, acts, |path| {
            tell(&path.display().to_string());
        }),
    };
    told?;
    match served {
        Err(error @ ServeError::Link { .. }) => Err(error).or_bad_input(),
        served => served.map(|()| Exit::Pass).or_bench(),
    }
}

impl Given {
    /// Listens where it is asked for, if nobody else can reach that, or may.
    fn socket(&self, at: &str) -> Result<Socket, CommandError> {
        let shown = plain(at);
        let addresses: Vec<SocketAddr> =
            at.to_socket_addrs().map(Iterator::collect).map_err(|_| {
                bad_input(format!(
                    "cannot listen at {shown}: say a host of this computer and a port, such as \
                     127.0.0.1:5025"
                ))
            })?;
        if !self.listen_on_all && !addresses.iter().all(|address| address.ip().is_loopback()) {
            return Err(bad_input(format!(
                "other computers can reach {shown}, and whoever is on that network could command the \
                 bench: listen at 127.0.0.1, or say --listen-on-all if that is what you want"
            )));
        }
        Socket::listen(&addresses[..]).map_err(|error| {
            bad_input(format!(
                "cannot listen at {shown}: {}; take another port, or end the program that has it",
                words(&error)
            ))
        })
    }
}

/// The numbers of modules are below this.
const NUMBERS: u64 = 1_000_000;

/// For so long a finger holds the button.
const HOLDS: Duration = Duration::from_millis(200);

/// The setup of the bench with the module of a number, for the time that is the so-manieth that one is seated.
type Another<'a> = &'a dyn Fn(u64, u64) -> Setup;

/// Somebody at the bench.
struct Person<'a> {
    keys: Keys<'a>,
    /// Keys that are yet to be taken.
    typed: VecDeque<u8>,
    another: Another<'a>,
    /// Digits so far.
    number: Option<u64>,
    seatings: u64,
    /// Since when the button is held.
    held: Option<Instant>,
}

impl<'a> Person<'a> {
    fn new(keys: Keys<'a>, another: Another<'a>) -> Self {
        Person { keys, typed: VecDeque::new(), another, number: None, seatings: 0, held: None }
    }

    /// What is done now.
    fn act(&mut self) -> Option<PersonAct> {
        if self.held.take_if(|since| since.elapsed() >= HOLDS).is_some() {
            return Some(PersonAct::Presses(false));
        }
        self.typed.extend(self.keys.at_once().into_iter().flatten());
        let key = self.typed.pop_front()?;
        if key.is_ascii_digit() {
            let digit = u64::from(key - b'0');
            self.number = Some(self.number.unwrap_or(0) * 10 % NUMBERS + digit);
            return None;
        }
        let number = self.number.take();
        match (key, number) {
            (b' ', _) => {
                self.held = Some(Instant::now());
                Some(PersonAct::Presses(true))
            }
            (b'o', _) => Some(PersonAct::Seats(false)),
            (b'i', None) => Some(PersonAct::Seats(true)),
            (b'i', Some(number)) => {
                self.seatings += 1;
                let setup = (self.another)(number, self.seatings);
                Some(PersonAct::SeatsAnother(Box::new(setup)))
            }
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_of_a_module_that_has_no_number_is_refused() {
        assert_eq!(of_number("7=contact-misses").map(|(number, _)| number), Ok(7));
        for none in ["seven=contact-misses", "1000000=contact-misses", "-1=contact-misses"] {
            let why = of_number(none).map(|_| ()).expect_err("refused");
            assert!(why.contains("is no number of a module"), "{why}");
        }
        assert!(of_number("contact-misses").is_err() && of_number("7=no-such").is_err());
    }
}
