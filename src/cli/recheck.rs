//! `musterbench recheck`: one known resistor on one clamp tells whether the jig has drifted.

use super::calibration_choice::CalibrationChoice;
use super::ending::{Ended, Ending, OrEnd, Trouble, bad_input};
use super::operator::Operator;
use super::port::Port;
use super::reference_bench::{Place, Powered, ReferenceBench, check_place, stopped};
use super::simulation::Simulation;
use super::{interrupt, output, word};
use crate::calibration::correction::Corrections;
use crate::calibration::recheck::{Finding, Recheck, expected};
use crate::link::client::Jig;
use crate::load::jig::PATH_OHM;
use crate::measure::uncertainty::Estimate;
use crate::procedure::samples::class;
use crate::quantity::parse;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::report::recheck_text::{self, Told};
use crate::run::event::Hand;
use crate::script::plan::HandTask;
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
    if (1.0..=1e5).contains(&r.nominal.si()) { Ok(r) } else { Err("1 ohm to 100 kohm".into()) }
}

/// Carries the command out.
///
/// # Errors
/// One sentence, with the exit code that goes with it.
pub fn run(given: &Given) -> Ended {
    given.port.check(&given.simulation)?;
    let stop = interrupt::flag()?;
    let module = shipped::module_sheet(shipped::MODULE_SHEETS[0].name).or_bad_input()?;
    let mut jig = given.port.open(|| given.simulation.setup(&module, None))?;
    let checked = recheck(given, &mut jig, stop);
    ReferenceBench::new(&mut jig, stop).leave_as_found();
    jig.close();
    let (told, finding) = checked?;
    output::print(&if given.json { recheck_text::json(&told) } else { recheck_text::text(&told) })?;
    Ok(match finding {
        Finding::Agrees => Ending::Pass,
        Finding::Drifted => Ending::Fail,
        Finding::TooCoarse => Ending::Indeterminate,
    })
}

fn recheck(
    given: &Given,
    jig: &mut Jig,
    stop: &'static AtomicBool,
) -> Result<(Told, Finding), Trouble> {
    let identity = jig.identity().clone();
    if given.unattended && !identity.simulated {
        return Err(bad_input("somebody must connect the resistor: leave --unattended out"));
    }
    let place = Place::Clamp(given.clamp);
    let voltage = given.clamp.channel(CLAMP_VOLTAGE);
    check_place(jig, place)?;
    if jig.channel(voltage).is_none() {
        return Err(bad_input(format!("this jig has no channel {voltage}")));
    }
    let corrections = given.calibration.corrections(jig, MAX_DAYS)?;
    let ohm = given.resistor.nominal.si();
    if !given.unattended {
        connect(jig, stop, identity.simulated, given)?;
    }
    let mut bench = ReferenceBench::new(jig, stop);
    bench.simulate_hand(place, ohm)?;
    let (read, volt) = measure(&mut bench, place, voltage, corrections.as_ref())?;
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

fn connect(
    jig: &mut Jig,
    stop: &'static AtomicBool,
    simulated: bool,
    given: &Given,
) -> Result<(), Trouble> {
    let task = HandTask::Other(recheck_text::connect(given.clamp, given.resistor.nominal.si()));
    let mut trouble = None;
    let mut keep_alive = || {
        trouble = jig.clock_us().err();
        trouble.is_none()
    };
    let done = Operator::new(stop, simulated).act(&task, &mut keep_alive);
    match trouble {
        Some(error) => Err(error).or_bench(),
        None if done => Ok(()),
        None => Err(stopped()),
    }
}

/// The current through the resistor and the voltage at its clamp, both as the jig reads them.
fn measure(
    bench: &mut ReferenceBench<'_>,
    place: Place,
    voltage: u16,
    corrections: Option<&Corrections>,
) -> Result<(Estimate, Estimate), Trouble> {
    if bench.on(place)? == Powered::Tripped {
        return Err(anyhow!("the load supply trips with this resistor: look for a short"))
            .or_bench();
    }
    let record = bench.sample(&[place.channel(), voltage], corrections)?;
    bench.off()?;
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
        .ok_or_else(|| anyhow!("the jig sent too few samples"))
        .or_bench()
}
