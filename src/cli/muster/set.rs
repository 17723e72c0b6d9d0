//! `muster --set`: modules that go to their places. The plan's name, a drawing of switches and slider, a short proof
//! at that address, and the label.

use super::bench::{Bench, Source};
use super::{Given, bench};
use crate::cli::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use crate::cli::keys::Keys;
use crate::cli::layout::plan_file::how_to_set;
use crate::cli::out_file::OutFile;
use crate::cli::sheets::Sheets;
use crate::cli::{interrupt, operator, output};
use crate::layout::LayoutError;
use crate::layout::check::check;
use crate::layout::label::{OWN, Standing, draw};
use crate::layout::plan::PlannedModule;
use crate::layout::seated::differences;
use crate::lot::fate::Fate;
use crate::lot::keep::keep;
use crate::lot::standing::Lot;
use crate::muster::happening::Job;
use crate::muster::keys::Input;
use crate::muster::tried::{How, Tried};
use crate::plain::plain;
use crate::report::large;
use crate::report::wrap::wrap;
use crate::script::plan::{Action, HandTask, Plan, Step};
use crate::system::terminal;
use std::cell::Cell;
use std::path::PathBuf;
use std::sync::atomic::Ordering;

/// The script that proves a place.
const SCRIPT: &str = "set";

const KEYS: &str = "Enter start   s skip it   q stop";

/// The places of a lot, one after the other.
///
/// # Errors
/// When the plan or the lot is not in order, or the bench fails.
pub fn run(given: &Given) -> CommandResult {
    given.check_ports()?;
    if given.ports.len() > 1 {
        return Err(bad_input("places are set at one jig: give one --port"));
    }
    operator::check_name(&given.operator)?;
    let mut lot = Lot::read(&given.records, &given.lot)?;
    let layout = given.plan.read()?;
    let mut wrong = check(&layout);
    if wrong.is_empty() {
        wrong = differences(&layout, &given.records)?;
    }
    if !wrong.is_empty() {
        return Err(LayoutError::Wrong(wrong).into());
    }
    let name = lot.name();
    let is_of_lot =
        |one: &&PlannedModule| one.link.as_ref().is_some_and(|link| link.is(&name, &link.serial));
    let places: Vec<&PlannedModule> = layout.modules.iter().filter(is_of_lot).collect();
    if places.is_empty() {
        return Err(bad_input(format!(
            "no place of {} holds a module of the lot {name}: give them some with `musterbench layout add PLACE --serial SERIAL`",
            layout.source.name()
        )));
    }
    if !terminal::is_someone_there() {
        return Err(bad_input("somebody must set the modules: run it from a terminal"));
    }
    let stop = interrupt::flag()?;
    // What stands on a simulated bench: switches set as the place wants them.
    let switches = Cell::new(0);
    let order = lot.order.clone();
    let source = Source {
        open: Box::new(|job| given.open(&order, 0, job, job.map(|_| switches.get()))),
        is_new_each_time: given.is_simulated(),
    };
    let mut hands = Bench::new(bench::Lot::of(given, &lot), source, stop);
    let sheets = Sheets::default();
    let mut last = String::new();
    let (mut at, mut set) = (0, 0);
    while let Some(place) = places.get(at) {
        let serial = place.link.as_ref().map(|link| link.serial.clone()).unwrap_or_default();
        let module = lot.module_of(&serial)?;
        let job =
            Job { serial: module.serial.clone(), asked_first: None, last_run: module.last_run() };
        if module.ruling.fate != Fate::Accepted {
            last =
                format!("{} is {}: it goes to no place.\n\n", plain(&serial), module.ruling.fate);
            at += 1;
            continue;
        }
        let setting = place.setting().map_err(bad_input)?;
        switches.set(setting.switches);
        let plan = sheets.prepare_planned(SCRIPT, place)?.plan;
        match asked(given, place, &plan, (at + 1, places.len()), setting.switches, &last, stop)? {
            Asked::Start => {}
            Asked::Skip => {
                last = format!("{} was left out.\n\n", plain(&place.name));
                at += 1;
                continue;
            }
            Asked::Stop => break,
        }
        let tried = hands.carry_out(&job, &plan, &place.sheet, &mut |_| ())?;
        hands.signal();
        keep(&mut lot, &[])?;
        last = verdict(place, &tried);
        if tried.verdict == crate::judge::reading::Verdict::Pass && tried.how == How::Whole {
            let file = label(given, &lot, place, setting.switches)?;
            last.push_str(&format!("Its label: {}\n\n", plain(&file.display().to_string())));
            (at, set) = (at + 1, set + 1);
        }
        if tried.how == How::CutShort {
            return Err(anyhow::anyhow!("{}", tried.sentence)).or_bench();
        }
        // The next one is told of once this one has left, where that can be seen.
        while tried.how == How::Whole
            && hands.has_left()?.is_none()
            && !stop.load(Ordering::Relaxed)
        {
            std::thread::sleep(core::time::Duration::from_millis(100));
        }
    }
    output::page(&format!("{last}{set} of {} places are set and proven.\n", places.len()))?;
    Ok(if at < places.len() { Exit::Stopped } else { Exit::Pass })
}

/// What somebody wants.
enum Asked {
    Start,
    Skip,
    Stop,
}

/// Shows the place, and waits.
fn asked(
    given: &Given,
    place: &PlannedModule,
    plan: &Plan,
    (at, of): (usize, usize),
    switches: u32,
    last: &str,
    stop: &std::sync::atomic::AtomicBool,
) -> Result<Asked, CommandError> {
    let serial = place.link.as_ref().map(|link| plain(&link.serial)).unwrap_or_default();
    let has_slider = |step: &Step| {
        matches!(&step.action, Action::Ask(HandTask::Prepare { auxiliary: Some(_), .. }))
    };
    let slider = if plan.steps.iter().any(has_slider) {
        "Slider of the auxiliary supply: off.\n"
    } else {
        ""
    };
    let simulated = if given.is_simulated() { "SIMULATED: no real module is set\n\n" } else { "" };
    let text = format!(
        "{simulated}{last}Place {at} of {of}: {}, module {serial}, first address {} {}\n{}{slider}\nREADY  set {serial} so with the \
         power off, seat it, hands off, then press Enter\n{KEYS}\n",
        plain(&place.name),
        place.address,
        place.format,
        how_to_set(&place.sheet, switches),
    );
    let mut keys = Keys::begin(stop);
    output::page(&text)?;
    output::ask("", !given.quiet);
    loop {
        match keys.next() {
            Err(_) | Ok(Input::Key('q' | 'Q')) => return Ok(Asked::Stop),
            Ok(Input::Start) => return Ok(Asked::Start),
            Ok(Input::Key('s' | 'S')) => return Ok(Asked::Skip),
            Ok(_) => {}
        }
    }
}

/// The verdict on a place, lines ended.
fn verdict(place: &PlannedModule, tried: &Tried) -> String {
    let screen = output::screen();
    let width = usize::from(screen.width);
    let mut text = large::verdict(tried.verdict, screen);
    let sentence = match tried.how {
        How::PulledOut => "It was pulled out, or a wire of its feed came off.",
        _ => &tried.sentence,
    };
    let told = format!("{}: {sentence} {}", plain(&place.name), tried.to_do);
    text.push_str(&(wrap(told.trim(), width, 0) + "\n\n"));
    text
}

/// Writes the label of a place.
fn label(
    given: &Given,
    lot: &Lot,
    place: &PlannedModule,
    switches: u32,
) -> Result<PathBuf, CommandError> {
    let serial = place.link.as_ref().map(|link| link.serial.as_str()).unwrap_or_default();
    let name = lot.name();
    let standing = Standing { lot: &name, module: lot.module_of(serial)? };
    let svg = draw(place, switches, Some(standing));
    std::fs::create_dir_all(&given.labels)
        .map_err(|error| anyhow::anyhow!("cannot make {}: {error}", given.labels.display()))
        .or_bench()?;
    let path = given.labels.join(format!("{}.svg", place.name));
    OutFile { path: &path, replace: false, own: Some(OWN) }.write(&svg)?;
    Ok(path)
}
