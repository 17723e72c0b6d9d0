//! `musterbench muster`: the modules of a lot, one after the other.

mod bench;
mod decided;
mod practice;
mod seated;
mod signals;

use super::calibration_choice::CalibrationChoice;
use super::command_result::{CommandError, CommandResult, Exit, bad_input};
use super::fault_choice::FaultChoice;
use super::keys::{Keys, NoMore};
use super::port::Port;
use super::simulation::Simulation;
use super::{interrupt, operator, output, terminal};
use crate::lot::claims::Claim;
use crate::lot::fate::Fate;
use crate::lot::modules_csv;
use crate::lot::standing::Lot;
use crate::muster::keys::Input;
use crate::muster::scan::{Scanned, scanned};
use crate::muster::turn;
use crate::report::lot_json::lot_json;
use crate::report::muster_screen::{self, Last, View};
use crate::script::shipped;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
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
    #[arg(long, conflicts_with_all = ["lot", "port", "with"])]
    practice: bool,

    /// The kind of the modules to learn by
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind(), requires = "practice")]
    kind: String,

    #[command(flatten)]
    port: Port,

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

    /// Print a JSON object about the lot at the end instead of text
    #[arg(long)]
    json: bool,

    /// On a simulated bench: this module has a fault, such as pier-03=contact-resistance; can be given again
    #[arg(long = "with", value_name = "SERIAL=FAULT[=SEVERITY]", value_parser = faulty)]
    with: Vec<(String, FaultChoice)>,

    #[command(flatten)]
    simulation: Simulation,
}

/// `pier-03=contact-resistance=2`.
fn faulty(text: &str) -> Result<(String, FaultChoice), String> {
    let (serial, fault) = text.split_once('=').ok_or_else(|| {
        "say which module and which fault, such as pier-03=output-stuck".to_owned()
    })?;
    Ok((serial.into(), fault.parse()?))
}

/// A muster that goes on.
struct Muster<'g> {
    given: &'g Given,
    stop: &'g AtomicBool,
    lot: Lot,
    last: Option<Last>,
    /// A module that somebody has chosen.
    chosen: Option<String>,
    /// The module that is in hand.
    claim: Option<Claim>,
    /// How many modules are left that others have in hand.
    others_have: usize,
    message: Option<String>,
    help: bool,
    tested: usize,
    began: Instant,
    /// When the bench was last found good.
    bench_good: Instant,
}

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Next {
    GoOn,
    Done,
    Stopped,
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    if given.practice {
        return practice::run(given);
    }
    given.port.check(&given.simulation)?;
    if !given.with.is_empty() && !given.port.is_simulated() {
        return Err(bad_input("--with is for the simulated bench only: leave it out"));
    }
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
    if !terminal::is_someone_there() {
        return Err(bad_input(
            "somebody must seat the modules, and there is no terminal to ask at: run it from a terminal",
        ));
    }
    let stop = interrupt::flag()?;
    let now = Instant::now();
    let mut muster = Muster {
        given,
        stop,
        lot,
        last: None,
        chosen: None,
        claim: None,
        others_have: 0,
        message: None,
        help: false,
        tested: 0,
        began: now,
        bench_good: now,
    };
    muster.check_bench("before the first module")?;
    let mut next = Next::GoOn;
    while next == Next::GoOn {
        next = muster.turn()?;
    }
    if muster.tested > 0 && next == Next::Done {
        muster.check_bench("after the last module")?;
    }
    muster.tell_end()?;
    Ok(if next == Next::Done { Exit::Pass } else { Exit::Stopped })
}

impl Muster<'_> {
    /// One seating, or what somebody wants instead of it.
    fn turn(&mut self) -> Result<Next, CommandError> {
        self.lot.look()?;
        if self.bench_good.elapsed() > bench::GOOD_FOR {
            self.check_bench("after eight hours")?;
        }
        let last = self.last.as_ref().map(|last| last.serial.clone());
        let Some(next) = self.take(last.as_deref())? else { return Ok(Next::Done) };
        // What was typed before READY is shown counts for nothing; what comes after it does.
        let mut keys = Keys::begin(self.stop);
        self.show(Some(&next))?;
        self.message = None;
        let wanted = keys.next();
        drop(keys);
        match wanted {
            Err(NoMore) => return Ok(Next::Stopped),
            Ok(Input::Start) => {
                self.chosen = None;
                return self.seat(&next);
            }
            Ok(Input::Scan(text)) => return self.scan(&text),
            Ok(Input::Noise) => self.message = Some("That was no key of these.".into()),
            Ok(Input::Key(key)) => match key.to_ascii_lowercase() {
                'q' => return Ok(Next::Stopped),
                '?' => self.help = !self.help,
                'r' => match last {
                    Some(serial) => self.chosen = Some(serial),
                    None => self.message = Some("No module was tested yet.".into()),
                },
                'x' | 'h' | 'n' | 's' => match last {
                    Some(serial) => return self.decide(key.to_ascii_lowercase(), &serial),
                    None => self.message = Some("No module was tested yet.".into()),
                },
                _ => self.message = Some("That was no key of these.".into()),
            },
        }
        Ok(Next::GoOn)
    }

    /// Takes the module in hand that is to be seated next. `None`: nothing is left, or others have it in hand.
    fn take(&mut self, last: Option<&str>) -> Result<Option<String>, CommandError> {
        let wanted: Vec<String> = match &self.chosen {
            Some(serial) => vec![serial.clone()],
            None => turn::left(&self.lot, last).iter().map(|m| m.serial.clone()).collect(),
        };
        self.claim.take_if(|claim| wanted.first().is_none_or(|first| first != claim.serial()));
        for serial in &wanted {
            if self.claim.as_ref().is_some_and(|claim| claim.serial() == serial) {
                return Ok(Some(serial.clone()));
            }
            if let Some(claim) = Claim::take(&self.lot.folder, serial)? {
                // Another muster may have had it in hand until now.
                self.lot.look()?;
                let is_left = turn::left(&self.lot, last).iter().any(|m| m.serial == *serial);
                if is_left || self.chosen.is_some() {
                    self.claim = Some(claim);
                    return Ok(Some(serial.clone()));
                }
            }
        }
        if let Some(serial) = self.chosen.take() {
            self.message = Some(format!("Somebody else has {serial} in hand."));
            return self.take(last);
        }
        self.claim = None;
        self.others_have = turn::left(&self.lot, last).len();
        Ok(None)
    }

    /// Looks anew what became of the modules, and writes it down.
    fn keep_up(&mut self) -> Result<(), CommandError> {
        let _lock = self.lot.folder.lock()?;
        self.lot.look()?;
        modules_csv::write(&self.lot)?;
        Ok(())
    }

    fn show(&self, next: Option<&str>) -> Result<(), CommandError> {
        let next = next.map(|serial| self.lot.module_of(serial)).transpose()?;
        let view = View {
            lot: &self.lot,
            simulated: self.given.port.is_simulated(),
            last: self.last.as_ref(),
            next,
            message: self.message.as_deref(),
            help: self.help,
        };
        let text = muster_screen::screen(&view, output::screen());
        if self.given.json {
            output::tell(&text);
            return Ok(());
        }
        output::page(&text)?;
        output::ask("", !self.given.quiet);
        Ok(())
    }

    fn scan(&mut self, text: &str) -> Result<Next, CommandError> {
        match scanned(&self.lot, text) {
            Scanned::Module(serial) => self.chosen = Some(serial),
            Scanned::Refused(why) => self.message = Some(why),
            Scanned::Question(serial, question) => match self.says_yes(&question) {
                Err(NoMore) => return Ok(Next::Stopped),
                Ok(true) => self.chosen = Some(serial),
                Ok(false) => {}
            },
        }
        Ok(Next::GoOn)
    }

    /// Asks something that is answered by y; any other key is a no, and a scan is no answer.
    fn says_yes(&self, question: &str) -> Result<bool, NoMore> {
        let mut keys = Keys::begin(self.stop);
        output::ask(&format!("{question} (y or n) "), !self.given.quiet);
        loop {
            match keys.next()? {
                Input::Key('y' | 'Y') => return Ok(true),
                Input::Key(_) => return Ok(false),
                Input::Start | Input::Scan(_) | Input::Noise => {}
            }
        }
    }

    fn tell_end(&mut self) -> Result<(), CommandError> {
        self.keep_up()?;
        if self.given.json {
            return output::data(&lot_json(&self.lot));
        }
        let time = self.began.elapsed();
        if self.others_have > 0 {
            output::tell(&format!("Left, and in other hands: {}.", self.others_have));
        }
        output::page(&muster_screen::end(&self.lot, self.tested, time, output::screen()))
    }

    /// Whether a failure is none of the module's, so that the bench must be looked at.
    fn bench_is_suspect(&self, serial: &str) -> bool {
        use crate::blame::Blame;
        use crate::lot::tries::Showed;
        let module = self.lot.module_of(serial).ok();
        let newest = module.and_then(|module| module.tries.last());
        newest.is_some_and(|one| {
            matches!(one.showed, Showed::Elsewhere(Blame::Jig | Blame::Lead) | Showed::CutShort)
        })
    }

    /// The fate of a module now.
    fn fate(&self, serial: &str) -> Option<Fate> {
        self.lot.module_of(serial).ok().map(|module| module.ruling.fate)
    }
}
