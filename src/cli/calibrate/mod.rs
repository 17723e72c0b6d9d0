//! `musterbench calibrate`: calibrates the jig's current channels against a reference meter.

mod assistant;
mod choice;
mod kept;

use super::calibration_choice::NO_SERIAL;
use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::operator::{Asking, Operator, check_someone_there};
use super::port::Port;
use super::simulation::Simulation;
use super::{interrupt, output, word};
use crate::calibration::channel::{ChannelCalibration, Measured, SelfTested, Session};
use crate::calibration::folder;
use crate::calibration::point::CalibrationPoint;
use crate::calibration::reference::{Accuracy, EXAMPLE};
use crate::link::client::Jig;
use crate::procedure::bench::Bench;
use crate::procedure::calibration_points::{PointTaker, Request};
use crate::procedure::references::Place;
use crate::procedure::self_test::SelfTest;
use crate::quantity::parse;
use crate::quantity::unit::Units;
use crate::record::cell;
use crate::report::calibration_prompt as prompt;
use crate::report::calibration_text::{self, Outcome};
use crate::report::prompt::Subject;
use crate::script::shipped;
use crate::simulated_bench::reference_meter;
use crate::wire::channel::LOAD_TOTAL;
use assistant::AtTheBench;
use choice::{ChannelName, targets};
use kept::Kept;
use std::path::PathBuf;
use uom::si::f64::ElectricalResistance;

/// What the voltmeters of all clamps may take from the load supply besides the meter, amperes: the
/// total reads that, the reference meter does not (the bench's wiring: eight meters of a megohm).
const VOLTMETERS_A: f64 = 0.000_1;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    port: Port,

    #[command(flatten)]
    simulation: Simulation,

    /// Channels: feed, total, clamps such as 1a, or numbers [default: all that the jig has]
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    channels: Vec<ChannelName>,

    /// How far the reference meter may be off: a share of its reading and a current, such as
    /// "0.05 % + 0.1 mA"
    #[arg(long, value_name = "ACCURACY")]
    meter_accuracy: Option<Accuracy>,

    /// What the reference meter is, and its certificate; kept with the calibration
    #[arg(long, value_name = "WORDS", default_value = "", hide_default_value = true)]
    meter: String,

    /// Resistors for the clamps, a point each
    #[arg(long, value_name = "OHM,…", value_delimiter = ',', value_parser = ohm,
          default_value = "220 ohm,100 ohm,47 ohm,22 ohm,12 ohm")]
    resistors: Vec<f64>,

    /// Resistors for the feed, a point each
    #[arg(long, value_name = "OHM,…", value_delimiter = ',', value_parser = ohm,
          default_value = "1 kohm,470 ohm,220 ohm,100 ohm,56 ohm")]
    feed_resistors: Vec<f64>,

    /// Folder of the calibrations, a file for each jig
    #[arg(long, value_name = "DIR", default_value = folder::DEFAULT)]
    calibration: PathBuf,

    /// Who calibrates
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    operator: String,

    /// Nobody is there: a simulated bench connects the resistors and reads its own reference meter
    #[arg(long)]
    unattended: bool,

    #[command(flatten)]
    asking: Asking,

    /// Print a JSON object a line instead of text
    #[arg(long)]
    json: bool,
}

/// The reference meter.
struct Meter {
    accuracy: Accuracy,
    words: String,
}

fn ohm(text: &str) -> Result<f64, String> {
    let resistance: ElectricalResistance =
        parse::quantity(text.trim()).map_err(|slip| slip.message)?;
    word::resistor_ohm(resistance.si())
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    given.port.check(&given.simulation)?;
    check_words("--operator", &given.operator)?;
    check_words("--meter", &given.meter)?;
    let stop = interrupt::flag()?;
    let module = shipped::module_sheet(shipped::usual_kind()).or_bad_input()?;
    let mut jig = given.port.open(|| given.simulation.setup(&module, None))?;
    let ended = calibrate(given, &mut jig, stop);
    Bench::new(&mut jig, None, stop).leave_as_found();
    jig.close();
    ended
}

fn calibrate(
    given: &Given,
    jig: &mut Jig,
    stop: &'static std::sync::atomic::AtomicBool,
) -> CommandResult {
    let simulated = jig.identity().simulated;
    let meter = meter(given, simulated)?;
    if given.unattended && !simulated {
        return Err(bad_input(
            "somebody must connect the resistors and read the meter: leave --unattended out",
        ));
    }
    if !jig.identity().has_serial() {
        return Err(bad_input(NO_SERIAL));
    }
    check_someone_there(given.unattended)?;
    let SelfTest { result, zeros } = Bench::new(jig, None, stop).self_test().or_bench()?;
    let targets = targets(&Bench::new(jig, None, stop), &given.channels)?;
    let mut kept = Kept::open(&given.calibration, jig)?;
    let session = Session {
        date: cell::time(&jig.time_of_day()),
        operator: given.operator.trim().into(),
        reference: meter.words.trim().into(),
        accuracy: meter.accuracy,
        self_tests: zeros
            .iter()
            .map(|zero| (zero.channel, SelfTested { result, zero_a: zero.ampere }))
            .collect(),
    };
    let subject = Subject { name: format!("Jig {}", jig.identity().serial), address: None };
    let operator = Operator::new(stop, simulated, given.asking, subject);
    let mut assistant = AtTheBench { operator, unattended: given.unattended };
    let mut bench = Bench::new(jig, None, stop);
    let accuracy = meter.accuracy;
    let mut taker = PointTaker { bench: &mut bench, assistant: &mut assistant, accuracy };
    let has = |feed: bool| targets.iter().any(|t| (t.place == Place::Feed) == feed);
    let words = prompt::needed(has(false), has(true), &given.resistors, &given.feed_resistors);
    if !given.unattended {
        output::tell(&words);
    }
    taker.ask(Request::Begin)?;
    let mut refused = false;
    for target in &targets {
        let resistors = match target.place {
            Place::Feed => &given.feed_resistors,
            Place::Clamp(_) => &given.resistors,
        };
        for (channel, points) in taker.points(target.place, &target.channels, resistors)? {
            let outcome = outcome(taker.bench, &session, channel, points);
            refused |= matches!(outcome, Outcome::Refused { .. });
            kept.take(&outcome)?;
            output::print_as(
                given.json,
                &if given.json {
                    calibration_text::json(&outcome, simulated)
                } else {
                    calibration_text::text(&outcome, output::screen())
                },
            )?;
        }
    }
    kept.tell(given.json)?;
    Ok(if refused { Exit::Fail } else { Exit::Pass })
}

/// The reference meter: the operator's, or that of the simulated bench.
fn meter(given: &Given, simulated: bool) -> Result<Meter, CommandError> {
    let accuracy = match (given.meter_accuracy, simulated) {
        (Some(_), true) => {
            return Err(bad_input(
                "a simulated bench has a reference meter of its own: leave --meter-accuracy out",
            ));
        }
        (Some(accuracy), false) => accuracy,
        (None, true) => {
            Accuracy { share: reference_meter::SHARE, fixed_a: reference_meter::FIXED_A }
        }
        (None, false) => {
            return Err(bad_input(format!(
                "say how far the reference meter may be off with --meter-accuracy, from its data \
                 sheet or certificate, such as {EXAMPLE}"
            )));
        }
    };
    let words = if simulated { "the simulated bench's own".into() } else { given.meter.clone() };
    Ok(Meter { accuracy, words })
}

/// Most characters of a text that is kept with a calibration.
const WORDS_LONGEST: usize = 120;

fn check_words(name: &str, words: &str) -> Result<(), CommandError> {
    if words.chars().count() > WORDS_LONGEST || words.chars().any(char::is_control) {
        return Err(bad_input(format!(
            "{name} is one line of at most {WORDS_LONGEST} characters: give shorter words"
        )));
    }
    Ok(())
}

fn outcome(
    bench: &Bench<'_>,
    session: &Session,
    channel: u16,
    points: Vec<CalibrationPoint>,
) -> Outcome {
    let class = bench.channels().class(channel);
    let mut session = session.clone();
    if channel == LOAD_TOTAL {
        session.accuracy.fixed_a += VOLTMETERS_A;
    }
    match ChannelCalibration::make(Measured { channel, points }, &session, &class) {
        Ok(calibrated) => Outcome::Calibrated(Box::new(calibrated)),
        Err(why) => Outcome::Refused { channel, why },
    }
}
