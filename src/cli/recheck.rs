//! `musterbench recheck`: one known resistor on one clamp tells whether the jig has drifted.

use super::calibration_choice::CalibrationChoice;
use super::command_result::{CommandError, CommandResult, Exit, OrExit, bad_input};
use super::operator::{Asking, Operator, check_someone_there};
use super::port::Port;
use super::simulation::Simulation;
use super::{interrupt, output, word};
use crate::calibration::recheck::{Finding, Recheck, expected};
use crate::link::client::Jig;
use crate::load::jig::PATH_OHM;
use crate::measure::uncertainty::Estimate;
use crate::procedure::bench::Bench;
use crate::procedure::channels::class;
use crate::procedure::error::BenchError;
use crate::procedure::references::{Place, Powered, WINDOW};
use crate::quantity::parse;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::report::prompt::Subject;
use crate::report::recheck_text::{self, Told};
use crate::script::shipped;
use crate::signal::target::Clamp;
use crate::wire::channel::CLAMP_VOLTAGE;
use anyhow::anyhow;
use std::sync::atomic::AtomicBool;
use uom::si::f64::ElectricalResistance;

/// A calibration older than this is told.
const MAX_DAYS: u32 = 365;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    #[command(flatten)]
    port: Port,

    #[command(flatten)]
    simulation: Simulation,

    /// Clamp that the resistor hangs on, such as 1a
    #[arg(long, value_name = "CLAMP", value_parser = word::clamp)]
    clamp: Clamp,

    /// The resistor with its tolerance, such as "22 ohm ±0.1 %"
    #[arg(long, value_name = "RESISTANCE", value_parser = resistor)]
    resistor: Toleranced<ElectricalResistance>,

    #[command(flatten)]
    calibration: CalibrationChoice,

    /// Nobody is there: a simulated bench connects the resistor itself
    #[arg(long)]
    unattended: bool,

    #[command(flatten)]
    asking: Asking,

    /// Print a JSON object instead of text
    #[arg(long)]
    json: bool,
}

fn resistor(text: &str) -> Result<Toleranced<ElectricalResistance>, String> {
    let r: Toleranced<ElectricalResistance> =
        parse::toleranced(text).map_err(|slip| slip.message)?;
    if r.lower == r.upper {
        return Err("no resistor is exact: give its tolerance, such as \"22 ohm ±0.1 %\"".into());
    }
    word::resistor_ohm(r.nominal.si()).map(|_| r)
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> CommandResult {
    given.port.check(&given.simulation)?;
    let stop = interrupt::flag()?;
    let module = shipped::module_sheet(shipped::usual_kind()).or_bad_input()?;
    let mut jig = given.port.open(|| given.simulation.setup(&module, None))?;
    let checked = recheck(given, &mut jig, stop);
    Bench::new(&mut jig, None, stop).leave_as_found();
    jig.close();
    let (told, finding) = checked?;
    let text = if given.json { recheck_text::json(&told) } else { recheck_text::text(&told) };
    output::print_as(given.json, &text)?;
    Ok(match finding {
        Finding::Agrees => Exit::Pass,
        Finding::Drifted => Exit::Fail,
        Finding::TooCoarse => Exit::Indeterminate,
    })
}

fn recheck(
    given: &Given,
    jig: &mut Jig,
    stop: &'static AtomicBool,
) -> Result<(Told, Finding), CommandError> {
    let identity = jig.identity().clone();
    if given.unattended && !identity.simulated {
        return Err(bad_input("somebody must connect the resistor: leave --unattended out"));
    }
    check_someone_there(given.unattended)?;
    let place = Place::Clamp(given.clamp);
    let voltage = given.clamp.channel(CLAMP_VOLTAGE);
    Bench::new(jig, None, stop).self_test().or_bench()?;
    Bench::new(jig, None, stop).check_place(place)?;
    if jig.channel(voltage).is_none() {
        return Err(bad_input(format!("this jig has no channel {voltage}")));
    }
    let corrections = given.calibration.corrections(jig, MAX_DAYS)?;
    let ohm = given.resistor.nominal.si();
    let mut bench = Bench::new(jig, corrections.as_ref(), stop);
    if !given.unattended {
        connect(&mut bench, given)?;
    }
    bench.simulate_reference(place, ohm)?;
    let (read, volt) = measure(&mut bench, place, voltage)?;
    let tolerance = (given.resistor.upper.si() - given.resistor.lower.si()) / 2.0 / ohm;
    let check = Recheck::of(read, expected(volt, ohm, tolerance, PATH_OHM));
    let class = jig.channel(place.channel()).map(class).unwrap_or_default();
    let finding = check.finding(class.gain * read.value + class.offset + class.linearity);
    let told = Told {
        simulated: identity.simulated,
        jig: identity.serial,
        clamp: given.clamp,
        ohm,
        check,
        finding,
        calibration: corrections.map(|c| c.name),
    };
    Ok((told, finding))
}

fn connect(bench: &mut Bench<'_>, given: &Given) -> Result<(), CommandError> {
    let identity = bench.jig.identity();
    let subject = Subject { name: format!("Jig {}", identity.serial), address: None };
    let prompt = recheck_text::connect(&subject, given.clamp, given.resistor.nominal.si());
    let operator = Operator::new(bench.stop, identity.simulated, given.asking, subject);
    let done = bench.keeping_alive(|alive| operator.has_done(&prompt, alive))?;
    if done { Ok(()) } else { Err(BenchError::Stopped.into()) }
}

/// The current through the resistor and the voltage at its clamp, both as the jig reads them.
fn measure(
    bench: &mut Bench<'_>,
    place: Place,
    voltage: u16,
) -> Result<(Estimate, Estimate), CommandError> {
    if bench.power(place)? == Powered::Tripped {
        return Err(anyhow!("the load supply trips with this resistor: look for a short"))
            .or_bench();
    }
    let record = bench.sample(vec![place.channel(), voltage], WINDOW)?;
    bench.make_safe()?;
    let estimate = |channel: u16| {
        let trace = record.trace(channel)?;
        Some(trace.mean(..)?.estimate(&trace.class))
    };
    if [place.channel(), voltage].into_iter().any(|c| record.is_cut_off(c)) {
        return Err(bad_input(
            "the jig's channels stand at the end of their range: take a larger resistor",
        ));
    }
    estimate(place.channel())
        .zip(estimate(voltage))
        .ok_or_else(|| anyhow!("the jig sent too few samples: look at its cable, then try again"))
        .or_bench()
}
