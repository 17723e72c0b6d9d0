//! `musterbench test`: tests a module and keeps a record of it.

use super::calibration_choice::CalibrationChoice;
use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::layout::plan_file::PlanFile;
use super::listeners::{JsonLines, Listeners};
use super::operator::{Asking, Operator};
use super::port::Port;
use super::reasoning::Reasoning;
use super::sheets::{Prepared, Sheets};
use super::simulation::Simulation;
use super::{interrupt, operator, output, port};
use crate::link::client::Jig;
use crate::lot::order::{FILE, Order};
use crate::plain::plain_lines;
use crate::quantity::source::Source;
use crate::record::names::is_same_name;
use crate::record::recorder::Labels;
use crate::record::{OnDisk, names};
use crate::report::finding::finding;
use crate::report::json_lines;
use crate::report::prompt::Subject;
use crate::report::summary::{Frame, View};
use crate::run::carry_out;
use crate::run::event::{self, Outcome};
use crate::run::options::{Leave, Options};
use crate::script::module_sheet::ModuleSheet;
use crate::script::shipped;
use crate::system::terminal;
use std::io::IsTerminal;
use std::path::PathBuf;

/// The lot of modules that are of none.
const UNSORTED: &str = "unsorted";

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    port: Port,

    /// Name of the module: letters, digits, spaces, dots, - and _
    #[arg(long, value_name = "ID")]
    module: String,

    /// Name of the lot that it belongs to
    #[arg(long, value_name = "L", default_value = UNSORTED)]
    lot: String,

    /// Script: a file, or the name of a shipped one
    #[arg(long, value_name = "F", default_value = shipped::usual_script())]
    script: String,

    #[command(flatten)]
    sheets: Sheets,

    /// Address plan of the layout: it says the module's sheet and its address
    #[arg(long, value_name = "FILE", conflicts_with_all = ["module_sheet", "address"])]
    layout: Option<PathBuf>,

    /// Go on from what a roll-call or an earlier run has found: its report says the module's kind and where
    /// it answers
    #[arg(long, value_name = "REPORT", conflicts_with_all = ["layout", "address"])]
    as_found: Option<PathBuf>,

    /// Folder of the records
    #[arg(long, value_name = "DIR", default_value = "records")]
    records: PathBuf,

    /// Who tests
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    operator: String,

    #[command(flatten)]
    calibration: CalibrationChoice,

    /// Nobody is there: a simulated bench does by itself what is to be done by hand
    #[arg(long)]
    unattended: bool,

    /// Show every reading that does not pass, not only what does not follow from another
    #[arg(long, conflicts_with = "json")]
    verbose: bool,

    /// Other modules hang on the same feed: where this one does not answer, ask before all addresses
    /// are searched, since the others would move too
    #[arg(long)]
    neighbours: bool,

    /// Search all addresses without asking, though neighbours or real loads move
    #[arg(long)]
    search: bool,

    #[command(flatten)]
    asking: Asking,

    /// Print a JSON object a line instead of the summary
    #[arg(long)]
    json: bool,

    /// Keep the raw samples in this folder, a CSV file a capture
    #[arg(long, value_name = "DIR")]
    samples: Option<PathBuf>,

    #[command(flatten)]
    reasoning: Reasoning,

    #[command(flatten)]
    simulation: Simulation,
}

impl Given {
    /// Whether everything is to be told.
    pub fn is_verbose(&self) -> bool {
        self.verbose
    }
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    given.port.check(&given.simulation)?;
    names::check("module", &given.module).or_bad_input()?;
    names::check("lot", &given.lot).or_bad_input()?;
    operator::check_name(&given.operator)?;
    let prepared = prepare(given)?;
    let named = Named::of(given)?;
    named.fits(given, &prepared.module)?;
    prepared.may_be_carried_out()?;
    // No error is among them, so these are warnings.
    prepared.found().iter().for_each(|warning| output::tell(&plain_lines(warning)));

    let stop = interrupt::flag()?;
    let mut jig =
        given.port.open(|| given.simulation.setup(&prepared.module, prepared.loads.as_ref()))?;
    fits(&jig, given, &prepared)?;
    let max_days = prepared.plan.calibration_max_days;
    let corrections = given.calibration.corrections(&jig, max_days)?;
    let mut diagnosis = given.reasoning.diagnosis(&prepared.module, leave(given), stop)?;
    let mut listeners = listeners(given, &named)?;
    let is_simulated = jig.identity().simulated;
    let subject = Subject { name: given.module.clone(), address: prepared.plan.wanted.address };
    let outcome = carry_out(
        &prepared.plan,
        &mut jig,
        &mut Operator::new(stop, is_simulated, given.asking, subject),
        diagnosis.as_mut(),
        &Options {
            watches_seat: false,
            unattended: given.unattended,
            neighbours: given.neighbours,
            search: leave(given),
            kinds: shipped::other_kinds(&prepared.module),
            corrections,
        },
        stop,
        &mut [&mut listeners],
    );
    jig.close();
    tell(given, &named, &mut listeners, &outcome)?;
    Ok(match outcome.ending {
        event::Ending::Complete | event::Ending::EndedEarly(_) => outcome.verdict.into(),
        event::Ending::Stopped => Exit::Stopped,
        event::Ending::BenchTrouble(_) | event::Ending::Unrecorded(_) => Exit::Bench,
    })
}

/// Whether all addresses may be searched where other things than the module would move.
fn leave(given: &Given) -> Leave {
    if given.search {
        Leave::Given
    } else if given.unattended || !terminal::is_someone_there() {
        Leave::Refused
    } else {
        Leave::Ask
    }
}

fn prepare(given: &Given) -> Result<Prepared, CommandError> {
    if let Some(record) = &given.as_found {
        return given.sheets.prepare_as_found(&given.script, record);
    }
    let Some(layout) = &given.layout else {
        return given.sheets.prepare(&given.script);
    };
    let plan = PlanFile { path: layout.clone() }.read()?.sound()?;
    given.sheets.prepare_planned(&given.script, plan.module(&given.module)?)
}

/// Whether this jig and whoever is there can do what the plan wants. The feed is still off.
fn fits(jig: &Jig, given: &Given, prepared: &Prepared) -> Result<(), CommandError> {
    port::check_plan(&prepared.plan, jig)?;
    if !prepared.plan.has_steps_by_hand() {
        return Ok(());
    }
    if given.unattended && !jig.identity().simulated {
        return Err(bad_input(
            "this script has steps by hand, so a real jig cannot run it with --unattended: leave \
             that out, and be there",
        ));
    }
    if !given.unattended && !terminal::is_someone_there() {
        return Err(bad_input(
            "this script has steps by hand, and there is no terminal to ask at: run it from a \
             terminal, or give --unattended on a simulated bench",
        ));
    }
    Ok(())
}

/// What the records call the module: by its own name, where the address plan says it.
struct Named {
    module: String,
    lot: String,
}

impl Named {
    /// Whether the module is of the kind that its lot is of, where that was opened.
    fn fits(&self, given: &Given, sheet: &ModuleSheet) -> Result<(), CommandError> {
        let path = given.records.join(&self.lot).join(FILE);
        if !path.exists() {
            return Ok(());
        }
        let order = Order::parse(&Source::read(&path).or_bad_input()?).or_bad_input()?;
        match shipped::module_sheet(&order.kind).ok().filter(|of| of.kind != sheet.kind) {
            Some(of) => Err(bad_input(format!(
                "the lot {} is of {}, and the module sheet is that of a {}: give --module-sheet {}",
                self.lot, of.kind, sheet.kind, order.kind
            ))),
            None => Ok(()),
        }
    }

    fn of(given: &Given) -> Result<Self, CommandError> {
        let link = match &given.layout {
            Some(path) => {
                PlanFile { path: path.clone() }.read()?.module(&given.module)?.link.clone()
            }
            None => None,
        };
        let Some(link) = link else {
            return Ok(Named { module: given.module.clone(), lot: given.lot.clone() });
        };
        if given.lot != UNSORTED && !is_same_name(&given.lot, &link.lot) {
            return Err(bad_input(format!(
                "{} is {} of the lot {}: leave --lot out",
                given.module, link.serial, link.lot
            )));
        }
        Ok(Named { module: link.serial, lot: link.lot })
    }
}

fn listeners(given: &Given, named: &Named) -> Result<Listeners, CommandError> {
    let labels = Labels {
        module: named.module.clone(),
        lot: named.lot.clone(),
        operator: given.operator.clone(),
    };
    let on_disk: Box<dyn OnDisk> = if given.json { Box::new(JsonLines) } else { Box::new(()) };
    Listeners::open(&given.records, labels, on_disk, given.samples.as_deref())
}

fn tell(
    given: &Given,
    named: &Named,
    listeners: &mut Listeners,
    outcome: &Outcome,
) -> Result<(), CommandError> {
    listeners.end(outcome);
    let report = listeners.recorder.report();
    let report = report.as_deref();
    let summary = &listeners.summary;
    if given.json {
        let simulated = summary.jig.as_ref().map(|jig| jig.simulated);
        let names = &summary.positions;
        let finding = finding(outcome, &summary.objections, names, simulated == Some(true));
        return output::data(&json_lines::ended(outcome, &finding, simulated, report));
    }
    let frame =
        Frame { module: &named.module, lot: &named.lot, run: listeners.recorder.number(), report };
    let view = View {
        screen: output::screen(),
        is_terminal: std::io::stdout().is_terminal(),
        verbose: given.verbose,
    };
    output::print(&summary.text(&frame, view))
}
