//! Points of a calibration: a resistor is connected, its place powered, the reference meter read and
//! the jig sampled before and after.

use super::bench::Bench;
use super::channels::class;
use super::error::BenchError;
use super::references::{Place, Powered, WINDOW};
use crate::calibration::point::{CalibrationPoint, Typed, typed};
use crate::calibration::reference::Accuracy;
use crate::measure::mean::Mean;
use crate::measure::record::Record;
use crate::measure::uncertainty::{Component, Estimate};
use core::time::Duration;

/// On a simulated bench so large a resistor is nothing at all, and takes module or load away.
const NOTHING_OHM: f64 = 1e6;
/// The longest that a resistor is waited for which was on for too long; it rests for a second.
const LONGEST_REST: Duration = Duration::from_secs(10);

/// What shall be done by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Request {
    /// Everything comes off the clamps; the zero is taken first.
    Begin,
    /// Module and whatever else hangs there come off the feed.
    ModuleOff,
    /// A resistor is connected, the reference meter in series.
    Connect {
        /// Where.
        place: Place,
        /// About how large, ohms.
        ohm: f64,
        /// The voltage that will be across it, volts, where it is known.
        volts: Option<f64>,
    },
}

/// What is told meanwhile.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The supply trips with this resistor: its point is left out.
    Trips,
    /// The resistor was on for too long: its point is left out.
    OnTooLong,
    /// A channel stands at an end of its range: its point is left out.
    Clipped {
        /// The channel.
        channel: u16,
    },
    /// What was typed is no current.
    Slip(String),
    /// What was typed is farther from the jig's reading than either could be off.
    FarApart {
        /// What the jig reads, amperes.
        read_a: f64,
        /// What was typed, amperes.
        typed_a: f64,
    },
}

/// Whoever stands at the bench while it is calibrated. While one is waited for, `alive` is called at
/// least once a second; when it answers `false` the jig is gone, and the wait is given up.
pub trait Assistant {
    /// Does what is asked. `false`: wants to stop.
    fn act(&mut self, request: Request, alive: &mut dyn FnMut() -> bool) -> bool;

    /// What the reference meter shows, as it is typed; a simulated bench shows `shown` amperes by
    /// itself. `None`: wants to stop.
    fn read_meter(&mut self, shown: Option<f64>, alive: &mut dyn FnMut() -> bool)
    -> Option<String>;

    /// Hears a remark.
    fn hear(&mut self, remark: &Remark);
}

/// Points by channel.
pub type Points = Vec<(u16, Vec<CalibrationPoint>)>;

/// Takes points.
pub struct PointTaker<'a, 'b> {
    /// The bench.
    pub bench: &'a mut Bench<'b>,
    /// Who stands there.
    pub assistant: &'a mut dyn Assistant,
    /// How far the reference meter may be off.
    pub accuracy: Accuracy,
}

/// What the jig read of a channel: the mean of the windows before and after the meter was read.
struct Read {
    value: f64,
    u: f64,
}

impl PointTaker<'_, '_> {
    /// Asks for something to be done by hand.
    ///
    /// # Errors
    /// When somebody stops, or the line fails.
    pub fn ask(&mut self, request: Request) -> Result<(), BenchError> {
        let assistant = &mut *self.assistant;
        let done = self.bench.keeping_alive(|alive| assistant.act(request, alive))?;
        if done { Ok(()) } else { Err(BenchError::Stopped) }
    }

    /// All points at a place, a list for each of its channels: the zero, then one a resistor.
    ///
    /// # Errors
    /// When somebody stops, or the line fails.
    pub fn points(
        &mut self,
        place: Place,
        channels: &[u16],
        resistors_ohm: &[f64],
    ) -> Result<Points, BenchError> {
        if place == Place::Feed {
            self.ask(Request::ModuleOff)?;
        }
        self.bench.simulate_reference(place, NOTHING_OHM)?;
        let mut all = self.zero(channels)?;
        let volts = self.voltage(place)?;
        for &ohm in resistors_ohm {
            for (channel, point) in self.point(place, channels, ohm, volts)? {
                if let Some((_, points)) = all.iter_mut().find(|(c, _)| *c == channel) {
                    points.push(point);
                }
            }
        }
        self.bench.simulate_reference(place, 0.0)?;
        Ok(all)
    }

    /// The zero of channels: nothing is connected and nothing on.
    fn zero(&mut self, channels: &[u16]) -> Result<Points, BenchError> {
        let record = self.bench.sample(channels.to_vec(), WINDOW)?;
        let point = |&channel: &u16| {
            let read = self.read(&record, &record, channel)?;
            let point = CalibrationPoint {
                reference: 0.0,
                u_reference: 0.0,
                reading: read.value,
                u_reading: read.u,
            };
            Some((channel, vec![point]))
        };
        Ok(channels.iter().filter_map(point).collect())
    }

    /// Voltage of a place's supply with nothing connected, volts.
    fn voltage(&mut self, place: Place) -> Result<Option<f64>, BenchError> {
        if self.bench.power(place)? == Powered::Tripped {
            return Ok(None);
        }
        let record = self.bench.sample(vec![place.supply()], WINDOW)?;
        self.bench.make_safe()?;
        Ok(mean(&record, place.supply()).map(|m| m.value))
    }

    /// A point of each channel with one resistor. What keeps it from being one is told, and leaves
    /// the point out.
    fn point(
        &mut self,
        place: Place,
        channels: &[u16],
        ohm: f64,
        volts: Option<f64>,
    ) -> Result<Vec<(u16, CalibrationPoint)>, BenchError> {
        self.ask(Request::Connect { place, ohm, volts })?;
        self.bench.simulate_reference(place, ohm)?;
        if self.bench.power(place)? == Powered::Tripped {
            self.assistant.hear(&Remark::Trips);
            return Ok(Vec::new());
        }
        let before = self.bench.sample(channels.to_vec(), WINDOW)?;
        let typed = self.meter(&before, place.channel())?;
        let after = self.bench.sample(channels.to_vec(), WINDOW)?;
        let rested = self.bench.has_rested()?;
        self.bench.make_safe()?;
        if rested {
            self.assistant.hear(&Remark::OnTooLong);
            self.bench.let_loads_rest(LONGEST_REST)?;
            return Ok(Vec::new());
        }
        let mut points = Vec::new();
        for &channel in channels {
            if [&before, &after].iter().any(|r| r.is_cut_off(channel)) {
                self.assistant.hear(&Remark::Clipped { channel });
                continue;
            }
            let Some(read) = self.read(&before, &after, channel) else { continue };
            let point = CalibrationPoint {
                reference: typed.ampere,
                u_reference: typed.u(),
                reading: read.value,
                u_reading: read.u,
            };
            points.push((channel, point));
        }
        Ok(points)
    }

    /// What the meter shows, as it is typed; a simulated bench shows it itself. What is hardly right
    /// must be typed twice.
    fn meter(&mut self, record: &Record, channel: u16) -> Result<Typed, BenchError> {
        let is_simulated = self.bench.jig.identity().simulated;
        let shown = is_simulated.then(|| self.bench.simulated_meter()).transpose()?;
        let mut doubted = None;
        loop {
            let assistant = &mut *self.assistant;
            let line = self.bench.keeping_alive(|alive| assistant.read_meter(shown, alive))?;
            match typed(&line.ok_or(BenchError::Stopped)?) {
                Err(slip) => self.assistant.hear(&Remark::Slip(slip)),
                Ok(typed) if doubted == Some(typed) => return Ok(typed),
                Ok(typed) => match self.far_apart(record, channel, &typed) {
                    None => return Ok(typed),
                    Some(remark) => {
                        self.assistant.hear(&remark);
                        doubted = Some(typed);
                    }
                },
            }
        }
    }

    /// Why what was typed is hardly what the meter shows.
    fn far_apart(&self, record: &Record, channel: u16, typed: &Typed) -> Option<Remark> {
        let class = class(self.bench.channels().get(channel)?);
        let read_a = mean(record, channel)?.value;
        let allowed = 3.0 * (class.gain * read_a.abs() + class.offset + class.linearity)
            + self.accuracy.at(typed.ampere)
            + typed.digit;
        let typed_a = typed.ampere;
        ((typed_a - read_a).abs() > allowed).then_some(Remark::FarApart { read_a, typed_a })
    }

    /// The mean of two windows: their noise, the resolution, and what moved between them.
    fn read(&self, before: &Record, after: &Record, channel: u16) -> Option<Read> {
        let (a, b) = (mean(before, channel)?, mean(after, channel)?);
        let resolution = self.bench.channels().get(channel)?.scale.abs();
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

fn mean(record: &Record, channel: u16) -> Option<Mean> {
    record.trace(channel)?.mean(..)
}
