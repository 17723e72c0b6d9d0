//! `--port`: the jig, or the simulated bench in this very program.

use super::command_result::{CommandError, OrExit, bad_input};
use super::interrupt;
use super::simulation::Simulation;
use crate::link::client::Jig;
use crate::link::serial::SerialTransport;
use crate::link::simulated::SimulatedTransport;
use crate::link::socket::{PREFIX, SocketTransport};
use crate::link::transport::Transport;
use crate::run::abilities;
use crate::script::check::against_jig;
use crate::script::plan::Plan;
use crate::simulated_bench::Setup;

/// The port of the bench in this very program.
const SIMULATED: &str = "simulated";

/// Where the jig is.
#[derive(Clone, Debug, clap::Args)]
pub struct Port {
    /// Serial device of the jig (`musterbench ports` lists them), `tcp:HOST:PORT` for one behind a socket, or
    /// `simulated`
    #[arg(long, value_name = "DEVICE|tcp:HOST:PORT|simulated")]
    port: Option<String>,

    /// The jig is an emulated one, whose clock need not keep pace with this computer's
    #[arg(long, hide = true)]
    emulated: bool,
}

impl Port {
    /// The jig at a port.
    pub fn at(port: &str, emulated: bool) -> Self {
        Port { port: Some(port.into()), emulated }
    }

    /// Whether it is given, and goes together with what else is.
    ///
    /// # Errors
    /// What is missing, or does not go together.
    pub fn check(&self, simulation: &Simulation) -> Result<&str, CommandError> {
        let Some(port) = self.port.as_deref() else {
            return Err(bad_input(
                "no jig given: say --port with the jig's serial device (`musterbench ports` lists \
                 them), or --port simulated for the simulated bench",
            ));
        };
        if port != SIMULATED && simulation.is_asked_for() {
            return Err(bad_input(
                "--fault, --seed, --module-seed and --run-seed are for the simulated bench only: leave \
                 them out, or say --port simulated",
            ));
        }
        Ok(port)
    }

    /// Whether it is the simulated bench of this program.
    pub fn is_simulated(&self) -> bool {
        self.port.as_deref() == Some(SIMULATED)
    }

    /// Opens the jig; `setup` says what stands on a simulated bench.
    ///
    /// # Errors
    /// When there is none, or the line fails.
    pub fn open(&self, setup: impl FnOnce() -> Setup) -> Result<Jig, CommandError> {
        let transport: Box<dyn Transport> = match self.port.as_deref() {
            Some(port) if port.starts_with(PREFIX) => {
                Box::new(SocketTransport::open(port).or_bench()?.until(interrupt::stop()))
            }
            Some(port) if port != SIMULATED => {
                Box::new(SerialTransport::open(port).or_bench()?.until(interrupt::stop()))
            }
            _ => Box::new(SimulatedTransport::new(setup())),
        };
        let mut jig = Jig::open(transport).or_bench()?;
        if self.emulated {
            jig.let_its_clock_be();
        }
        Ok(jig)
    }
}

/// Whether a jig can do what a plan wants, and the loads are of its world. The feed is still off.
///
/// # Errors
/// All that it cannot do, a line each.
pub fn check_plan(plan: &Plan, jig: &Jig) -> Result<(), CommandError> {
    if let Some(loads) = &plan.loads {
        loads.check_jig(jig.identity().simulated).or_bad_input()?;
    }
    let findings = against_jig(plan, &abilities::of(jig));
    if findings.is_empty() {
        return Ok(());
    }
    let sentences: Vec<String> =
        findings.iter().map(|f| format!("line {}: {}", f.line, f.message)).collect();
    Err(bad_input(sentences.join("\n")))
}
