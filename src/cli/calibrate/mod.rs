//! `musterbench calibrate`: calibrates the jig's current channels against a reference meter.

mod choice;
mod take;

use super::calibration_choice::NO_SERIAL;
use super::ending::{Ended, Ending, OrEnd, Trouble, bad_input};
use super::operator::Operator;
use super::port::Port;
use super::reference_bench::{Place, ReferenceBench};
use super::simulation::Simulation;
use super::{interrupt, output};
use crate::calibration::channel::{ChannelCalibration, Measured, Session};
use crate::calibration::file::Calibration;
use crate::calibration::folder;
use crate::calibration::point::CalibrationPoint;
use crate::calibration::reference::{Accuracy, EXAMPLE};
use crate::link::client::Jig;
use crate::procedure::samples::class;
use crate::quantity::parse;
use crate::quantity::unit::Units;
use crate::record::{cell, durable};
use crate::report::calibration_prompt as prompt;
use crate::report::calibration_text::{self, Outcome};
use crate::report::plain::plain;
use crate::script::shipped;
use crate::simulated_bench::reference_meter;
use crate::wire::channel::LOAD_TOTAL;
use choice::{ChannelName, Target, targets};
use std::path::PathBuf;
use take::Taking;
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
    let ohm = resistance.si();
    if (1.0..=1e5).contains(&ohm) { Ok(ohm) } else { Err("1 ohm to 100 kohm".into()) }
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> Ended {
    given.port.check(&given.simulation)?;
    check_words("--operator", &given.operator)?;
    check_words("--meter", &given.meter)?;
    let stop = interrupt::flag()?;
    let module = shipped::module_sheet(shipped::MODULE_SHEETS[0].name).or_bad_input()?;
    let mut jig = given.port.open(|| given.simulation.setup(&module, None))?;
    let ended = calibrate(given, &mut jig, stop);
    ReferenceBench::new(&mut jig, stop).leave_as_found();
    jig.close();
    ended
}

fn calibrate(given: &Given, jig: &mut Jig, stop: &'static std::sync::atomic::AtomicBool) -> Ended {
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
    let targets = targets(jig, &given.channels)?;
    let mut kept = Kept::open(given, jig)?;
    let session = Session {
        date: cell::time(&jig.time_of_day()),
        operator: given.operator.trim().into(),
        reference: meter.words.trim().into(),
        accuracy: meter.accuracy,
    };
    let mut operator = Operator::new(stop, simulated);
    let mut bench = ReferenceBench::new(jig, stop);
    let mut taking = Taking {
        bench: &mut bench,
        operator: &mut operator,
        meter: &meter,
        unattended: given.unattended,
    };
    let has = |feed: bool| targets.iter().any(|t| (t.place == Place::Feed) == feed);
    let words = prompt::needed(has(false), has(true), &given.resistors, &given.feed_resistors);
    if !given.unattended {
        output::tell(&words);
    }
    taking.ask(prompt::BEGIN.into())?;
    let mut refused = false;
    for target in &targets {
        let points = points(given, &mut taking, target)?;
        for (channel, points) in points {
            let outcome = outcome(&taking, &session, channel, points);
            refused |= matches!(outcome, Outcome::Refused { .. });
            kept.take(&outcome)?;
            output::print(&if given.json {
                calibration_text::json(&outcome, simulated)
            } else {
                calibration_text::text(&outcome)
            })?;
        }
    }
    kept.tell(given.json)?;
    Ok(if refused { Ending::Fail } else { Ending::Pass })
}

/// The reference meter: the operator's, or that of the simulated bench.
fn meter(given: &Given, simulated: bool) -> Result<Meter, Trouble> {
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

fn check_words(name: &str, words: &str) -> Result<(), Trouble> {
    if words.chars().count() > WORDS_LONGEST || words.chars().any(char::is_control) {
        return Err(bad_input(format!(
            "{name} is one line of at most {WORDS_LONGEST} characters: give shorter words"
        )));
    }
    Ok(())
}

/// All points at a place, a list for each of its channels.
fn points(
    given: &Given,
    taking: &mut Taking<'_, '_>,
    target: &Target,
) -> Result<Vec<(u16, Vec<CalibrationPoint>)>, Trouble> {
    let (place, channels) = (target.place, &target.channels);
    let resistors = match place {
        Place::Feed => {
            taking.ask(prompt::MODULE_OFF.into())?;
            &given.feed_resistors
        }
        Place::Clamp(_) => &given.resistors,
    };
    // On a simulated bench so large a resistor is nothing at all, and takes module or load away.
    taking.bench.simulate_hand(place, 1e6)?;
    let mut all: Vec<(u16, Vec<CalibrationPoint>)> =
        taking.zero(channels)?.into_iter().map(|(c, zero)| (c, vec![zero])).collect();
    let volts = taking.voltage(place)?;
    for &ohm in resistors {
        for (channel, point) in taking.point(place, channels, ohm, volts)? {
            if let Some((_, points)) = all.iter_mut().find(|(c, _)| *c == channel) {
                points.push(point);
            }
        }
    }
    taking.bench.simulate_hand(place, 0.0)?;
    Ok(all)
}

fn outcome(
    taking: &Taking<'_, '_>,
    session: &Session,
    channel: u16,
    points: Vec<CalibrationPoint>,
) -> Outcome {
    let class = taking.bench.jig.channel(channel).map(class).unwrap_or_default();
    let mut session = session.clone();
    if channel == LOAD_TOTAL {
        session.accuracy.fixed_a += VOLTMETERS_A;
    }
    match ChannelCalibration::make(Measured { channel, points }, &session, &class) {
        Ok(calibrated) => Outcome::Calibrated(Box::new(calibrated)),
        Err(why) => Outcome::Refused { channel, why },
    }
}

/// The jig's calibration while it is made: saved after each channel, so that nothing is lost.
struct Kept {
    folder: PathBuf,
    path: PathBuf,
    calibration: Calibration,
    /// What stands in the file, until it is kept aside.
    earlier: Option<Calibration>,
}

impl Kept {
    /// Begins with what is there; a channel that is not calibrated anew stays as it is.
    fn open(given: &Given, jig: &Jig) -> Result<Kept, Trouble> {
        let identity = jig.identity();
        let folder = given.calibration.clone();
        let path = folder::path_of(&folder, &identity.serial);
        let earlier = folder::find(&folder, &identity.serial).or_bad_input()?;
        if let Some(earlier) = &earlier {
            earlier.check_jig(&identity.serial, identity.simulated).map_err(|why| {
                bad_input(format!(
                    "{} is no calibration of this jig: {why}; move it away",
                    plain(&path.display().to_string())
                ))
            })?;
        }
        durable::make_folder(&folder)?;
        let calibration = earlier.clone().unwrap_or_else(|| Calibration {
            serial: identity.serial.clone(),
            simulated: identity.simulated,
            channels: Vec::new(),
        });
        Ok(Kept { folder, path, calibration, earlier })
    }

    /// Takes a channel up and saves. A refused channel loses its earlier calibration.
    fn take(&mut self, outcome: &Outcome) -> Result<(), Trouble> {
        match outcome {
            Outcome::Calibrated(channel) => self.calibration.replace((**channel).clone()),
            Outcome::Refused { channel, .. } => self.calibration.remove(*channel),
        }
        if let Some(earlier) = self.earlier.take() {
            let aside = folder::earlier_path(&self.folder, &earlier);
            durable::replace(&aside, earlier.to_toml().as_bytes())?;
        }
        durable::replace(&self.path, self.calibration.to_toml().as_bytes())?;
        Ok(())
    }

    fn tell(&self, json: bool) -> Result<(), Trouble> {
        let Calibration { serial, simulated, .. } = &self.calibration;
        if json {
            return output::print(&calibration_text::saved_json(*simulated, serial, &self.path));
        }
        let warning = if *simulated { "SIMULATED: " } else { "" };
        let path = self.path.display().to_string();
        output::print(&format!("{warning}jig {}: {}\n", plain(serial), plain(&path)))
    }
}
