//! One point: the resistor is connected, the place powered, the meter read and the jig sampled.

use super::Meter;
use crate::calibration::point::{CalibrationPoint, Typed, typed};
use crate::cli::ending::{OrEnd, Trouble};
use crate::cli::operator::Operator;
use crate::cli::output;
use crate::cli::reference_bench::{Place, Powered, ReferenceBench, stopped};
use crate::measure::record::Record;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::samples::class;
use crate::report::amount::amount;
use crate::report::calibration_prompt as prompt;
use crate::run::event::Hand;
use crate::script::plan::HandTask;

/// What a point is taken with.
pub(super) struct Taking<'a, 'b> {
    pub bench: &'a mut ReferenceBench<'b>,
    pub operator: &'a mut Operator<'b>,
    pub meter: &'a Meter,
    pub unattended: bool,
}

/// What the jig read of a channel: the mean of the windows before and after the meter was read.
struct Read {
    value: f64,
    u: f64,
}

impl Taking<'_, '_> {
    /// The zero of channels: nothing is connected and nothing on.
    pub fn zero(&mut self, channels: &[u16]) -> Result<Vec<(u16, CalibrationPoint)>, Trouble> {
        let record = self.bench.sample(channels, None)?;
        let point = |&channel: &u16| {
            let read = self.read(&record, &record, channel)?;
            let point = CalibrationPoint {
                reference: 0.0,
                u_reference: 0.0,
                reading: read.value,
                u_reading: read.u,
            };
            Some((channel, point))
        };
        Ok(channels.iter().filter_map(point).collect())
    }

    /// Voltage of a place's supply with nothing connected, volts.
    pub fn voltage(&mut self, place: Place) -> Result<Option<f64>, Trouble> {
        if self.bench.on(place)? == Powered::Tripped {
            return Ok(None);
        }
        let record = self.bench.sample(&[place.supply()], None)?;
        self.bench.off()?;
        Ok(record.trace(place.supply()).and_then(|t| t.mean(..)).map(|m| m.value))
    }

    /// A point of each channel with one resistor. What keeps it from being one is told, and leaves
    /// the point out.
    pub fn point(
        &mut self,
        place: Place,
        channels: &[u16],
        ohm: f64,
        volts: Option<f64>,
    ) -> Result<Vec<(u16, CalibrationPoint)>, Trouble> {
        self.ask(prompt::connect(place_words(place), ohm, volts))?;
        self.bench.simulate_hand(place, ohm)?;
        if self.bench.on(place)? == Powered::Tripped {
            output::tell("  The supply trips with this resistor: left out. Look for a short.");
            return Ok(Vec::new());
        }
        let before = self.bench.sample(channels, None)?;
        let typed = self.meter(&before, place.channel())?;
        let after = self.bench.sample(channels, None)?;
        let rested = self.bench.has_rested()?;
        self.bench.off()?;
        if rested {
            output::tell("  The resistor was on for longer than a minute and is off: left out.");
            return Ok(Vec::new());
        }
        let mut points = Vec::new();
        for &channel in channels {
            if [&before, &after].into_iter().any(|r| r.is_cut_off(channel)) {
                output::tell(&format!(
                    "  Channel {channel} stands at the end of its range: left out. Connect a larger \
                     resistor."
                ));
                continue;
            }
            let Some(read) = self.read(&before, &after, channel) else { continue };
            points.push((
                channel,
                CalibrationPoint {
                    reference: typed.ampere,
                    u_reference: typed.u(),
                    reading: read.value,
                    u_reading: read.u,
                },
            ));
        }
        Ok(points)
    }

    /// Asks for something to be done by hand.
    pub fn ask(&mut self, words: String) -> Result<(), Trouble> {
        if self.unattended {
            return Ok(());
        }
        let mut trouble = None;
        let jig = &mut *self.bench.jig;
        let mut keep_alive = || {
            trouble = jig.clock_us().err();
            trouble.is_none()
        };
        let done = self.operator.act(&HandTask::Other(words), &mut keep_alive);
        match trouble {
            Some(error) => Err(error).or_bench(),
            None if done => Ok(()),
            None => Err(stopped()),
        }
    }

    /// What the meter shows, as the operator types it; a simulated bench shows it itself.
    fn meter(&mut self, record: &Record, channel: u16) -> Result<Typed, Trouble> {
        let mut shown = None;
        if self.bench.jig.identity().simulated {
            let text = prompt::simulated_meter(self.bench.simulated_meter()?);
            if self.unattended {
                return typed(&text).map_err(anyhow::Error::msg).or_bench();
            }
            output::tell(&format!("  SIMULATED: the reference meter shows {text}"));
            shown = Some(text);
        }
        let mut doubted = None;
        loop {
            let line = self.type_in()?;
            let line = if line.is_empty() { shown.clone().unwrap_or(line) } else { line };
            match typed(&line) {
                Err(slip) => output::tell(&format!("  {slip}.")),
                Ok(typed) if doubted == Some(typed) => return Ok(typed),
                Ok(typed) => match self.doubt(record, channel, &typed) {
                    None => return Ok(typed),
                    Some(why) => {
                        output::tell(&why);
                        doubted = Some(typed);
                    }
                },
            }
        }
    }

    fn type_in(&mut self) -> Result<String, Trouble> {
        let mut trouble = None;
        let jig = &mut *self.bench.jig;
        let mut keep_alive = || {
            trouble = jig.clock_us().err();
            trouble.is_none()
        };
        let line = self.operator.line(prompt::METER, &mut keep_alive);
        match trouble {
            Some(error) => Err(error).or_bench(),
            None => line.ok_or_else(stopped),
        }
    }

    /// Why what was typed is hardly what the meter shows: it is farther from the jig's reading than
    /// either could be off.
    fn doubt(&self, record: &Record, channel: u16, typed: &Typed) -> Option<String> {
        let class = class(self.bench.jig.channel(channel)?);
        let read = record.trace(channel)?.mean(..)?.value;
        let allowed = 3.0 * (class.gain * read.abs() + class.offset + class.linearity)
            + self.meter.accuracy.at(typed.ampere)
            + typed.digit;
        ((typed.ampere - read).abs() > allowed).then(|| {
            format!(
                "  The jig reads {}, the meter {}: much farther apart than this jig can be off.\n  \
                 Look at the meter's range and unit. Type it again to keep it.",
                amount(read, "A"),
                amount(typed.ampere, "A")
            )
        })
    }

    /// The mean of two windows: their noise, the resolution, and what moved between them.
    fn read(&self, before: &Record, after: &Record, channel: u16) -> Option<Read> {
        let mean = |record: &Record| record.trace(channel)?.mean(..);
        let (a, b) = (mean(before)?, mean(after)?);
        let resolution = self.bench.jig.channel(channel)?.scale.abs();
        let estimate = Estimate::new(
            (a.value + b.value) / 2.0,
            &[
                Component::standard(a.noise / 2.0),
                Component::standard(b.noise / 2.0),
                Component::rectangular(resolution / 2.0),
                Component::rectangular((a.value - b.value) / 2.0),
            ],
        );
        Some(Read { value: estimate.value, u: estimate.standard })
    }
}

fn place_words(place: Place) -> String {
    match place {
        Place::Clamp(clamp) => format!("the terminals of the real load at clamp {clamp}"),
        Place::Feed => "the two feed wires".into(),
    }
}
