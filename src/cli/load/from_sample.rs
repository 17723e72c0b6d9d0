//! `musterbench load from-sample`: a load sheet from measurements of a known good load.

use crate::calibration::correction::Corrections;
use crate::cli::calibration_choice::CalibrationChoice;
use crate::cli::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use crate::cli::operator::{Asking, Operator};
use crate::cli::out_file::OutFile;
use crate::cli::port::Port;
use crate::cli::simulation::Simulation;
use crate::cli::{interrupt, output, word};
use crate::link::client::Jig;
use crate::load::sheet::LoadSheet;
use crate::procedure::bench::Bench;
use crate::procedure::error::BenchError;
use crate::procedure::references::{Duty, Place};
use crate::quantity::parse;
use crate::quantity::range::Toleranced;
use crate::quantity::source::Source;
use crate::quantity::unit::Units;
use crate::record::cell;
use crate::report::prompt::{Prompt, Subject};
use crate::report::sample_text::{self, Told};
use crate::sample::limits::enough;
use crate::sample::sheet::{About, to_toml};
use crate::sample::taking::{ON_AFTER_SETTLING, TakingError, Timing, measure_once};
use crate::sample::{Asked, Measurement, SampleLimits};
use crate::script::shipped;
use crate::signal::target::Clamp;
use crate::system::terminal;
use core::time::Duration;
use std::path::PathBuf;
use uom::si::f64::{ElectricPotential, Ratio, Time};

/// A calibration older than this is told.
const MAX_DAYS: u32 = 365;

/// The tolerance of a load supply of which nothing is said (common practice, no source).
const SUPPLY_SHARE: f64 = 0.05;

/// The most specimens, and the most measurements of each.
const MOST: i64 = 1_000;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The load sheet to write
    #[arg(value_name = "FILE")]
    out: PathBuf,

    #[command(flatten)]
    port: Port,

    #[command(flatten)]
    simulation: Simulation,

    /// What hangs on a simulated bench: a load sheet, a file or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    loads: Option<String>,

    /// Clamp that the sample hangs on, such as 1a
    #[arg(long, value_name = "CLAMP", value_parser = word::clamp)]
    clamp: Clamp,

    /// Clamps that such loads hang on, as the sheet shall say [default: that of --clamp]
    #[arg(long, value_name = "CLAMP", value_parser = word::clamp, value_delimiter = ',')]
    at: Vec<Clamp>,

    /// Name of the load on the layout
    #[arg(long, value_name = "NAME")]
    name: String,

    /// Title of the sheet [default: made from the name]
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,

    /// The load supply [default: what the jig reads, within ±5 %]
    #[arg(long, value_name = "VOLTAGE", value_parser = supply)]
    supply: Option<Toleranced<ElectricPotential>>,

    /// Different specimens of the load
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=MOST))]
    specimens: u32,

    /// Measurements of each specimen
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=MOST))]
    times: u32,

    /// Share of such readings that the limits shall hold
    #[arg(long, value_name = "SHARE", default_value = "95 %", value_parser = share)]
    coverage: Ratio,

    /// Probability with which they shall do so
    #[arg(long, value_name = "SHARE", default_value = "95 %", value_parser = share)]
    confidence: Ratio,

    /// Leave no room for the readings that are compared with the limits later: their own uncertainty,
    /// and the guard band that it makes
    #[arg(long)]
    no_room: bool,

    /// How long after switching on the load has settled
    #[arg(long, value_name = "TIME", default_value = "500 ms", value_parser = time)]
    settle: Time,

    /// How long the load may be on at a time; the jig keeps it
    #[arg(long, value_name = "TIME", default_value = "5 s", value_parser = time)]
    longest_on: Time,

    /// How long it then rests, also between measurements, so that it cools
    #[arg(long, value_name = "TIME", default_value = "5 s", value_parser = time)]
    rest: Time,

    /// Ask for the load to be disconnected and connected anew before each measurement
    #[arg(long)]
    reconnect: bool,

    #[command(flatten)]
    calibration: CalibrationChoice,

    /// Nobody is there: a simulated bench needs no hand
    #[arg(long)]
    unattended: bool,

    /// Write over a file that is there
    #[arg(long)]
    replace: bool,

    #[command(flatten)]
    asking: Asking,

    /// Print a JSON object instead of text
    #[arg(long)]
    json: bool,
}

fn share(text: &str) -> Result<Ratio, String> {
    let share: Ratio = parse::quantity(text).map_err(|slip| slip.message)?;
    let inside = share.si() > 0.0 && share.si() < 1.0;
    if inside { Ok(share) } else { Err("it lies between 0 % and 100 %".into()) }
}

fn time(text: &str) -> Result<Time, String> {
    let time: Time = parse::quantity(text).map_err(|slip| slip.message)?;
    // What a load sheet may say.
    if (0.01..=3600.0).contains(&time.si()) { Ok(time) } else { Err("10 ms to 3600 s".into()) }
}

fn supply(text: &str) -> Result<Toleranced<ElectricPotential>, String> {
    parse::toleranced(text).map_err(|slip| slip.message)
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    given.port.check(&given.simulation)?;
    check(given)?;
    let hung = hung(given)?;
    let stop = interrupt::flag()?;
    let mut specimens = Specimens { given, hung, specimen: 1 };
    let mut jig = specimens.open()?;
    let measured = measure(&mut specimens, &mut jig, stop);
    Bench::new(&mut jig, None, stop).leave_as_found();
    let (serial, simulated) = (jig.identity().serial.clone(), jig.identity().simulated);
    let date = cell::time(&jig.time_of_day());
    jig.close();
    let (taken, supply_v, corrections) = measured?;
    let asked = Asked {
        coverage: given.coverage.si(),
        confidence: given.confidence.si(),
        room: !given.no_room,
    };
    let limits = SampleLimits::of(&taken, asked).or_bad_input()?;
    let about = About {
        title: given.title.clone().unwrap_or_else(|| format!("{}, from a sample", given.name)),
        name: given.name.clone(),
        clamps: if given.at.is_empty() { vec![given.clamp] } else { given.at.clone() },
        supply: supply_of(given, supply_v)?,
        settled_after: duration(given.settle),
        duty: Some((duration(given.longest_on), duration(given.rest))),
        specimens: given.specimens,
        times: given.times,
        simulated,
        jig: serial,
        calibration: corrections.map(|c| c.name),
        date,
    };
    let text = to_toml(&about, &limits, asked);
    // What is written can be read again, or it is not written.
    LoadSheet::parse(&Source::new(given.out.display().to_string(), &text)).or_bad_input()?;
    out_file(given).write(&text)?;
    let told =
        Told { about: &about, limits: &limits, asked, file: given.out.display().to_string() };
    let told = if given.json { sample_text::json(&told) } else { sample_text::text(&told) };
    output::print_as(given.json, &told)?;
    Ok(Exit::Pass)
}

/// What can be told before anything is measured.
fn check(given: &Given) -> Result<(), CommandError> {
    enough(given.specimens as usize, given.times as usize).or_bad_input()?;
    if !(1..=120).contains(&given.name.trim().chars().count())
        || given
            .name
            .chars()
            .chain(given.title.iter().flat_map(|t| t.chars()))
            .any(char::is_control)
    {
        return Err(bad_input("the load's name is one line of text, 1 to 120 characters"));
    }
    let needed = Time::from_si(ON_AFTER_SETTLING.as_secs_f64());
    if given.longest_on < given.settle + needed {
        return Err(bad_input(format!(
            "a measurement takes {:.1} s with the time to settle, but the load may be on for {:.1} s \
             only: give a longer --longest-on, if the load stands it, or a shorter --settle",
            (given.settle + needed).si(),
            given.longest_on.si()
        )));
    }
    if !given.port.is_simulated() && given.loads.is_some() {
        return Err(bad_input(
            "--loads says what hangs on a simulated bench: leave it out, or say --port simulated",
        ));
    }
    if !given.unattended && !given.port.is_simulated() && !terminal::is_someone_there() {
        return Err(bad_input(
            "the load is connected by hand, and there is no terminal to ask at: run it from a \
             terminal",
        ));
    }
    out_file(given).target().map(drop)
}

/// Measured limits are never replaced unasked, not even by such as this command wrote.
fn out_file(given: &Given) -> OutFile<'_> {
    OutFile { path: &given.out, replace: given.replace, own: None }
}

/// What hangs on the simulated bench.
fn hung(given: &Given) -> Result<Option<LoadSheet>, CommandError> {
    if !given.port.is_simulated() {
        return Ok(None);
    }
    let Some(loads) = &given.loads else {
        return Err(bad_input(
            "nothing hangs on the simulated bench: say with --loads which load sheet it is hung with, \
             such as --loads crane-yard",
        ));
    };
    let sheet = shipped::load_sheet(loads).or_bad_input()?;
    if sheet.clamps[given.clamp.index()].is_none() {
        return Err(bad_input(format!("the load sheet has nothing at clamp {}", given.clamp)));
    }
    Ok(Some(sheet))
}

fn supply_of(given: &Given, read_v: f64) -> Result<Toleranced<ElectricPotential>, CommandError> {
    let at = ElectricPotential::from_si;
    let Some(said) = given.supply else {
        let nominal = (read_v * 10.0).round() / 10.0;
        let [lower, upper] = [-1.0, 1.0].map(|sign| at(nominal * (1.0 + sign * SUPPLY_SHARE)));
        return Ok(Toleranced { nominal: at(nominal), lower, upper });
    };
    if said.lower <= at(read_v) && at(read_v) <= said.upper {
        return Ok(said);
    }
    Err(bad_input(format!(
        "the load supply reads {read_v:.2} V, which is not within what --supply says: set the supply, \
         or say what it is"
    )))
}

/// The bench that each specimen hangs on.
struct Specimens<'a> {
    given: &'a Given,
    hung: Option<LoadSheet>,
    specimen: u32,
}

impl Specimens<'_> {
    fn open(&self) -> Result<Jig, CommandError> {
        let module = shipped::module_sheet(shipped::usual_kind()).or_bad_input()?;
        self.given.port.open(|| {
            let mut setup = self.given.simulation.setup(&module, self.hung.as_ref());
            if self.specimen > 1 {
                let seed = setup.seeds.bench;
                setup.loads.iter_mut().for_each(|load| load.be_specimen(seed, self.specimen));
            }
            setup
        })
    }

    /// Puts the next specimen on the bench of this program.
    fn next(&mut self, jig: &mut Jig) -> Result<(), CommandError> {
        self.specimen += 1;
        if self.given.port.is_simulated() {
            *jig = self.open()?;
        } else if jig.identity().simulated {
            return Err(bad_input(
                "a simulated bench that is served has one specimen of each load: say --specimens 1, \
                 or --port simulated",
            ));
        }
        Ok(())
    }
}

/// All measurements, the load supply's voltage, and what corrected them.
type Measured = (Vec<Measurement>, f64, Option<Corrections>);

fn measure(
    specimens: &mut Specimens<'_>,
    jig: &mut Jig,
    stop: &'static std::sync::atomic::AtomicBool,
) -> Result<Measured, CommandError> {
    let given = specimens.given;
    let place = Place::Clamp(given.clamp);
    Bench::new(jig, None, stop).self_test().or_bench()?;
    Bench::new(jig, None, stop).check_place(place)?;
    if given.unattended && !jig.identity().simulated {
        return Err(bad_input("somebody must connect the load: leave --unattended out"));
    }
    let corrections = given.calibration.corrections(jig, MAX_DAYS)?;
    let timing = Timing {
        settle: duration(given.settle),
        duty: Duty { on: duration(given.longest_on), rest: duration(given.rest) },
    };
    let subject = Subject { name: format!("Jig {}", jig.identity().serial), address: None };
    let operator = Operator::new(stop, false, given.asking, subject);
    let mut taken = Vec::new();
    let mut supply_v = 0.0;
    for specimen in 1..=given.specimens {
        if specimen > 1 {
            specimens.next(jig)?;
        }
        for time in 1..=given.times {
            let mut bench = Bench::new(jig, corrections.as_ref(), stop);
            if !given.unattended && (time == 1 || given.reconnect) {
                let anew = given.reconnect && time > 1;
                let which = sample_text::Which { specimen, of: given.specimens, anew };
                let jig = operator.subject();
                let prompt = sample_text::connect(jig, given.clamp, &given.name, which);
                ask(&mut bench, &operator, &prompt)?;
            }
            let measured = measure_once(&mut bench, given.clamp, timing, specimen);
            let (one, volt) = measured.map_err(command_error)?;
            output::tell(&sample_text::progress(&one, time, given.times, given.specimens));
            one.check().or_bad_input()?;
            supply_v = volt;
            taken.push(one);
            let is_last = specimen == given.specimens && time == given.times;
            if !is_last {
                bench.pause(timing.duty.rest)?;
            }
        }
    }
    Ok((taken, supply_v, corrections))
}

fn duration(time: Time) -> Duration {
    crate::quantity::unit::duration(time)
}

/// Asks for something to be done by hand.
fn ask(
    bench: &mut Bench<'_>,
    operator: &Operator<'_>,
    prompt: &Prompt,
) -> Result<(), CommandError> {
    // There is nothing to be done on a simulated bench, and nobody needs to say so.
    if bench.jig.identity().simulated {
        return Ok(());
    }
    let done = bench.keeping_alive(|alive| operator.has_done(prompt, alive))?;
    if done { Ok(()) } else { Err(BenchError::Stopped.into()) }
}

fn command_error(error: TakingError) -> CommandError {
    match error {
        TakingError::Bench(error) => error.into(),
        TakingError::Clipped(_) => bad_input(error.to_string()),
        TakingError::Trips | TakingError::OnTooLong | TakingError::TooFew => {
            CommandError { exit: Exit::Bench, error: error.into() }
        }
    }
}
