//! A module is seated: it goes through the script of the lot.

use super::signals::signal;
use super::{Muster, Next};
use crate::cli::command_result::{CommandError, OrExit, bad_input};
use crate::cli::listeners::Listeners;
use crate::cli::port;
use crate::judge::reading::Verdict;
use crate::link::client::Jig;
use crate::record::names::{is_same_name, key};
use crate::record::recorder::Labels;
use crate::report::finding::{Finding, finding};
use crate::report::muster_screen::Last;
use crate::run::event::{Ending, Hand};
use crate::run::options::{Leave, Options};
use crate::run::{Rules, carry_out};
use crate::script::check::{check, first_error};
use crate::script::expand::{expand, expand_as_found};
use crate::script::module_sheet::{FORMATS, ModuleSheet};
use crate::script::plan::{Action, HandTask, Plan};
use crate::script::shipped;
use crate::simulated_bench::Seeds;
use sha2::{Digest, Sha256};

/// How a run came out.
pub struct Tried {
    /// The verdict.
    pub verdict: Verdict,
    /// How it ended.
    pub ending: Ending,
    /// What was found.
    pub finding: Finding,
}

/// Whoever has pressed start has seated the module.
pub struct HasSeated;

impl Hand for HasSeated {
    fn act(&mut self, task: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        matches!(task, HandTask::Prepare { .. })
    }
}

impl Muster<'_> {
    /// Tests the module that is seated, and says what comes next.
    pub(super) fn seat(&mut self, serial: &str) -> Result<Next, CommandError> {
        let tried = self.carry_out(serial)?;
        self.tested += 1;
        if tried.ending == Ending::Stopped {
            self.message = Some(format!("{serial} was stopped: that is no try."));
            return Ok(Next::Stopped);
        }
        let Tried { verdict, finding, .. } = tried;
        self.last = Some(Last { serial: serial.into(), verdict, finding });
        self.keep_up()?;
        if self.bench_is_suspect(serial) {
            self.check_bench("after a failure that is none of a module's")?;
        }
        Ok(Next::GoOn)
    }

    /// Carries the script of the lot out on a module, and records it.
    pub(super) fn carry_out(&mut self, serial: &str) -> Result<Tried, CommandError> {
        let given = self.given;
        let sheet = shipped::module_sheet(&self.lot.order.kind).or_bad_input()?;
        let plan = self.plan(&sheet)?;
        let labels = Labels {
            module: serial.into(),
            lot: given.lot.clone(),
            operator: given.operator.clone(),
        };
        let mut listeners = Listeners::open(&given.records, labels, Box::new(()), None)?;
        let mut jig = self.open_for(Some(serial))?;
        port::check_plan(&plan, &jig)?;
        let corrections = given.calibration.corrections(&jig, plan.calibration_max_days)?;
        let options = Options {
            search: Leave::Given,
            kinds: shipped::other_kinds(&sheet),
            corrections,
            ..Options::default()
        };
        let outcome = carry_out(
            &plan,
            &mut jig,
            &mut HasSeated,
            &mut Rules,
            &options,
            self.stop,
            &mut [&mut listeners],
        );
        signal(&mut jig, &outcome, self.stop, given.quiet);
        let simulated = jig.identity().simulated;
        jig.close();
        listeners.end(&outcome);
        let summary = &listeners.summary;
        let finding = finding(&outcome, &summary.objections, &summary.positions, simulated);
        Ok(Tried { verdict: outcome.verdict, ending: outcome.ending, finding })
    }

    /// The plan of the lot's script: asked is first where the last module of the lot was found.
    fn plan(&self, sheet: &ModuleSheet) -> Result<Plan, CommandError> {
        let order = &self.lot.order;
        let script = shipped::script(&order.script).or_bad_input()?;
        let loads = order.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?;
        let found = self.lot.last_found.as_ref().and_then(|(address, word)| {
            let format = FORMATS.iter().find(|(name, _)| name == word)?.1;
            Some((*address, format))
        });
        let plan = match found {
            Some(at) => expand_as_found(&script, sheet, loads.as_ref(), at),
            None => expand(&script, sheet, loads.as_ref(), None),
        };
        let plan = plan.or_bad_input()?;
        if let Some(error) = first_error(&check(&plan)) {
            return Err(error.located(&script)).or_bad_input();
        }
        let by_hand = plan.steps.iter().find(|step| {
            matches!(&step.action, Action::Ask(task) if !matches!(task, HandTask::Prepare { bank: None, .. }))
        });
        match by_hand {
            None => Ok(plan),
            Some(step) => Err(bad_input(format!(
                "the script {} asks for more by hand than to seat the module (line {}): name another one in \
                 lot.toml, such as muster",
                order.script, step.line
            ))),
        }
    }

    /// Opens the jig; on a simulated bench with this module in it.
    pub(super) fn open_for(&self, serial: Option<&str>) -> Result<Jig, CommandError> {
        let sheet = shipped::module_sheet(&self.lot.order.kind).or_bad_input()?;
        let order = &self.lot.order;
        let loads = order.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?;
        self.given.port.open(|| {
            let mut bench = self.given.simulation.setup(&sheet, loads.as_ref());
            let Some(serial) = serial else { return bench };
            let own = |(with, _): &&(String, _)| is_same_name(with, serial);
            let fault = self.given.with.iter().find(own).map(|(_, f)| (f.fault, f.severity));
            let tries = self.lot.module_of(serial).map_or(0, |module| module.last_run());
            let module = number_of(serial);
            bench.seeds = Seeds {
                bench: bench.seeds.bench,
                module: bench.seeds.module ^ module,
                run: bench.seeds.run ^ module.rotate_left(17) ^ u64::from(tries + 1),
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
