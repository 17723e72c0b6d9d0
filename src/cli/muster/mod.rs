//! `musterbench muster`: the modules of a lot, one after the other.
//!
//! | file | holds |
//! | --- | --- |
//! | `bench` | a jig in a muster: it tests what is seated |
//! | `worker` | a jig on a thread of its own |
//! | `page` | the one owner of the screen, and the bell |
//! | `plan` | what the modules of a lot go through |
//! | `signals` | the verdict by light, sounder and bell |
//! | `set` | modules that go to their places |
//! | `practice` | modules to learn by |

pub mod bench;
mod page;
pub mod plan;
mod practice;
mod set;
mod signals;
mod worker;

use super::calibration_choice::CalibrationChoice;
use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::fault_choice::{FaultChoice, of_module};
use super::keys::Keys;
use super::layout::plan_file::PlanFile;
use super::lot::keep_sample;
use super::port::Port;
use super::simulation::Simulation;
use super::{interrupt, operator, output, recover};
use crate::link::client::Jig;
use crate::lot::{self, standing::Lot};
use crate::muster::desk::{Desk, End};
use crate::muster::happening::{Happening, Job, Order};
use crate::record::folder::LotFolder;
use crate::record::names::{is_same_name, key};
use crate::report::muster_json;
use crate::report::muster_screen;
use crate::script::shipped;
use crate::simulated_bench::Seeds;
use crate::system::terminal;
use bench::{Bench, Source};
use page::Page;
use sha2::{Digest, Sha256};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Instant;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the lot
    #[arg(
        value_name = "LOT",
        required_unless_present = "practice",
        default_value = "",
        hide_default_value = true
    )]
    lot: String,

    /// Learn by simulated modules with hidden faults: nothing is recorded, no jig is touched
    #[arg(long, conflicts_with_all = ["lot", "ports", "with"])]
    practice: bool,

    /// Set modules of the lot to their places: the plan's name, the switches, a short proof, the label
    #[arg(long, conflicts_with_all = ["practice", "json"])]
    set: bool,

    #[command(flatten)]
    plan: PlanFile,

    /// With --set: folder for the labels
    #[arg(long, value_name = "DIR", default_value = "labels")]
    labels: PathBuf,

    /// The kind of the modules to learn by
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind(), requires = "practice")]
    kind: String,

    /// Serial device of the jig (`musterbench ports` lists them), or `simulated`; can be given again, a jig each
    #[arg(long = "port", value_name = "DEVICE|simulated")]
    ports: Vec<String>,

    /// The jigs are emulated ones, whose clocks need not keep pace with this computer's
    #[arg(long, hide = true)]
    emulated: bool,

    #[command(flatten)]
    calibration: CalibrationChoice,

    /// Folder of the records
    #[arg(long, value_name = "DIR", default_value = "records")]
    records: PathBuf,

    /// Who tests, and decides
    #[arg(
        long,
        value_name = "NAME",
        required_unless_present = "practice",
        default_value = "",
        hide_default_value = true
    )]
    operator: String,

    /// Do not ring the terminal's bell, nor sound the jig's sounder
    #[arg(long)]
    quiet: bool,

    /// Print what happens as JSON, an object a line, and the lot at the end; the screen goes to the error output
    #[arg(long)]
    json: bool,

    /// On a simulated bench: this module has a fault, such as pier-03=contact-resistance; can be given again
    #[arg(long = "with", value_name = "SERIAL=FAULT[=SEVERITY]", value_parser = of_module)]
    with: Vec<(String, FaultChoice)>,

    #[command(flatten)]
    simulation: Simulation,
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    if given.practice {
        return practice::run(given);
    }
    if given.set {
        return set::run(given);
    }
    given.check_ports()?;
    operator::check_name(&given.operator)?;
    let lot = Lot::read(&given.records, &given.lot)?;
    if let Some(closed) = lot.closed() {
        return Err(bad_input(format!(
            "the lot {} was closed by {}: test a module of it with `musterbench test`",
            given.lot, closed.by
        )));
    }
    for (serial, _) in &given.with {
        lot.module_of(serial)?;
    }
    let sheet = shipped::module_sheet(&lot.order.kind).or_bad_input()?;
    plan::plan(&lot.order, &sheet, None)?;
    if !terminal::is_someone_there() {
        return Err(bad_input(
            "somebody must seat the modules, and there is no terminal to ask at: run it from a terminal",
        ));
    }
    let stop = interrupt::flag()?;
    // What a muster that died has left unfinished.
    for told in recover::finish_all(LotFolder::open(&given.records, &given.lot)?)? {
        output::tell(&told);
    }
    let mut lot = Lot::read(&given.records, &given.lot)?;
    // Before the first is seated.
    keep_sample(&mut lot, &given.operator)?;
    let mut desk = Desk::new(lot, &given.operator, &given.ports, given.is_simulated())?;
    let began = Instant::now();
    let ended = with_jigs(given, &mut desk, stop);
    output::divert(None);
    let end = ended?;
    tell_end(given, &mut desk, began)?;
    match end {
        End::Done => Ok(Exit::Pass),
        End::Stopped => Ok(Exit::Stopped),
        End::Failed(why) if desk.refused => Err(bad_input(why)),
        End::Failed(why) => {
            Err(anyhow::anyhow!("{why}: put the bench right, then go on with the same command"))
                .or_bench()
        }
    }
}

impl Given {
    /// Whether the jigs are given, and go together with what else is.
    fn check_ports(&self) -> Result<(), CommandError> {
        if self.ports.is_empty() {
            return Err(bad_input(
                "no jig given: say --port with the jig's serial device (`musterbench ports` lists them), or --port \
                 simulated for the simulated bench",
            ));
        }
        for (at, port) in self.ports.iter().enumerate() {
            self.port(at).check(&self.simulation)?;
            if self.ports[..at].contains(port) && !self.port(at).is_simulated() {
                return Err(bad_input(format!("--port {port} is given twice: a jig each")));
            }
        }
        if !self.with.is_empty() && !self.is_simulated() {
            return Err(bad_input("--with is for the simulated bench only: leave it out"));
        }
        let some = (0..self.ports.len()).any(|at| self.port(at).is_simulated());
        if some && !self.is_simulated() {
            return Err(bad_input("real jigs and simulated ones do not go into one lot together"));
        }
        Ok(())
    }

    fn port(&self, at: usize) -> Port {
        Port::at(&self.ports[at], self.emulated)
    }

    /// Whether the benches are simulated ones in this program.
    fn is_simulated(&self) -> bool {
        (0..self.ports.len()).all(|at| self.port(at).is_simulated())
    }

    /// Opens a jig; on a simulated bench with the module of a job in it, its switches as it came or as they are told.
    fn open(
        &self,
        order: &lot::order::Order,
        at: usize,
        job: Option<&Job>,
        switches: Option<u32>,
    ) -> Result<Jig, CommandError> {
        let sheet = shipped::module_sheet(&order.kind).or_bad_input()?;
        let loads = order.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?;
        self.port(at).open(|| {
            let mut bench = self.simulation.setup(&sheet, loads.as_ref());
            bench.seeds.bench = bench.seeds.bench.wrapping_add(at as u64);
            bench.switches = switches.unwrap_or(bench.switches);
            let Some(job) = job else { return bench };
            let own = |(with, _): &&(String, _)| is_same_name(with, &job.serial);
            let fault = self.with.iter().find(own).map(|(_, f)| (f.fault, f.severity));
            let module = number_of(&job.serial);
            bench.seeds = Seeds {
                bench: bench.seeds.bench,
                module: bench.seeds.module ^ module,
                run: bench.seeds.run ^ module.rotate_left(17) ^ u64::from(job.last_run + 1),
            };
            bench.faults.extend(fault);
            bench
        })
    }
}

/// A number that a serial stands for, the same on every computer.
fn number_of(serial: &str) -> u64 {
    let digest = Sha256::digest(key(serial).as_bytes());
    digest.iter().take(8).fold(0, |number, byte| number << 8 | u64::from(*byte))
}

/// The muster, each jig on a thread of its own. They are let go before this returns.
fn with_jigs(given: &Given, desk: &mut Desk, stop: &AtomicBool) -> Result<End, CommandError> {
    let lot = bench::Lot::of(given, &desk.lot);
    let (to_desk, from_jigs) = channel();
    std::thread::scope(|scope| {
        let mut orders = Vec::new();
        for at in 0..given.ports.len() {
            let (to_jig, from_desk) = channel();
            orders.push(to_jig);
            let (to_desk, lot) = (to_desk.clone(), lot.clone());
            scope.spawn(move || {
                let order = lot.order.clone();
                let source = Source {
                    open: Box::new(move |job| given.open(&order, at, job, None)),
                    is_new_each_time: given.port(at).is_simulated(),
                };
                worker::work(at, Bench::new(lot, source, stop), &from_desk, &to_desk);
            });
        }
        let (teller, notes) = channel();
        output::divert(Some(teller));
        let ended = sit(given, desk, &orders, &Inbox { from_jigs, notes }, stop);
        if ended.is_err() {
            stop.store(true, Ordering::Relaxed);
        }
        ended
    })
}

/// What comes to the desk besides what is typed.
struct Inbox {
    from_jigs: Receiver<Happening>,
    notes: Receiver<String>,
}

/// Sits at the desk until the muster has ended.
fn sit(
    given: &Given,
    desk: &mut Desk,
    orders: &[Sender<Order>],
    inbox: &Inbox,
    stop: &AtomicBool,
) -> Result<End, CommandError> {
    let began = Instant::now();
    let mut page = Page::new(given.json, given.quiet);
    let mut keys = Keys::begin(stop);
    give(orders, desk.begin());
    loop {
        page.show(desk)?;
        let mut happenings = Vec::new();
        match keys.burst() {
            Ok(burst) => happenings.extend(burst.map(Happening::Typed)),
            Err(_) => desk.stop(),
        }
        happenings.extend(inbox.notes.try_iter().map(Happening::Note));
        happenings.extend(inbox.from_jigs.try_iter());
        if stop.load(Ordering::Relaxed) {
            desk.stop();
        }
        for happening in happenings {
            let was_ready = desk.is_ready();
            give(orders, desk.take(happening, began.elapsed())?);
            if !was_ready && desk.is_ready() {
                // What was typed before READY is shown counts for nothing.
                keys.forget();
            }
        }
        let told = desk.tell();
        page.ring(&told);
        if given.json && !output::stream(&muster_json::lines(&told))? {
            // Whoever read along has left.
            desk.stop();
        }
        if desk.stops_runs {
            stop.store(true, Ordering::Relaxed);
        }
        if let Some(end) = desk.end() {
            page.show(desk)?;
            return Ok(end);
        }
    }
}

fn give(orders: &[Sender<Order>], given: Vec<(usize, Order)>) {
    for (at, order) in given {
        // A worker goes when its orders can come no more, not before.
        let _ = orders[at].send(order);
    }
}

fn tell_end(given: &Given, desk: &mut Desk, began: Instant) -> Result<(), CommandError> {
    desk.look()?;
    if given.json {
        output::stream(&muster_json::ended(&desk.lot, desk.seatings))?;
        return Ok(());
    }
    let is_simulated = given.is_simulated();
    let time = if is_simulated { desk.bench_time } else { began.elapsed() };
    let mut text = muster_screen::end(desk, time, is_simulated, output::screen());
    let others = desk.others_have();
    if others > 0 && desk.end() == Some(End::Done) {
        text.push_str(&format!("Left, and in other hands: {others}.\n"));
    }
    output::page(&text)
}
