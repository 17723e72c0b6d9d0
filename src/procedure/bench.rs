//! The bench in the hands of a procedure: the jig, what corrects its readings, and how to stop.

use super::channels::Channels;
use super::error::BenchError;
use super::numbers::Numbers;
use crate::calibration::correction::Corrections;
use crate::link::client::{Jig, Trips};
use crate::wire::request::{Request, text};
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};

/// What a `MEASure` of one kind takes.
pub const MEASURED_OVER: Duration = Duration::from_millis(20);

/// What measuring resistances takes: the module's reservoir fills through the jig's test voltage
/// first.
pub const RESISTANCES_TAKE: Duration = Duration::from_secs(4);

/// Between a switch's order and the moment its contacts have settled.
pub const SWITCHED: Duration = Duration::from_millis(10);

/// The bench in the hands of a procedure.
pub struct Bench<'a> {
    /// The jig.
    pub jig: &'a mut Jig,
    /// Set when somebody wants to stop.
    pub stop: &'a AtomicBool,
    corrections: Option<&'a Corrections>,
}

impl<'a> Bench<'a> {
    /// Takes hold of a jig. See that the corrections are this jig's.
    pub fn new(
        jig: &'a mut Jig,
        corrections: Option<&'a Corrections>,
        stop: &'a AtomicBool,
    ) -> Self {
        Bench { jig, stop, corrections }
    }

    /// Its channels.
    pub fn channels(&self) -> Channels<'_> {
        Channels::new(self.jig.channels(), self.corrections)
    }

    /// Whether the jig has a channel.
    pub fn has(&self, channel: u16) -> bool {
        self.channels().has(channel)
    }

    /// Has commands carried out.
    ///
    /// # Errors
    /// When a supply trips, the jig refuses, or the line fails.
    pub fn send(&mut self, request: &(impl Request + ?Sized)) -> Result<(), BenchError> {
        Ok(self.jig.send(request)?)
    }

    /// All values that a request measures. A value may be infinite.
    ///
    /// # Errors
    /// When one is no number; else see [`Bench::send`].
    pub fn numbers<R>(&mut self, request: &R, expected: Duration) -> Result<Vec<f64>, BenchError>
    where
        R: Request<Answer: Numbers>,
    {
        let mut numbers = Vec::new();
        self.jig.ask_within(request, expected)?.append_to(&mut numbers);
        if numbers.iter().any(|n| n.is_nan()) { Err(no_number(request)) } else { Ok(numbers) }
    }

    /// What a request reads of channels, in their order. A value beyond the range of its channel, which the
    /// jig tells as infinite, stands at the end of that range: [`Channels::end_of_reading`] tells it.
    ///
    /// # Errors
    /// See [`Bench::numbers`].
    pub fn channel_readings<R>(
        &mut self,
        request: &R,
        channels: &[u16],
        expected: Duration,
    ) -> Result<Vec<f64>, BenchError>
    where
        R: Request<Answer: Numbers>,
    {
        let numbers = self.numbers(request, expected)?;
        let known = self.channels();
        let within = |(number, &channel): (f64, &u16)| match known.get(channel) {
            Some(d) if number.is_infinite() => number.clamp(d.minimum, d.maximum),
            _ => number,
        };
        Ok(numbers.into_iter().zip(channels).map(within).collect())
    }

    /// Numbers of which each has an end: no reading is made of any other.
    ///
    /// # Errors
    /// See [`Bench::numbers`].
    pub fn finite_numbers<R>(
        &mut self,
        request: &R,
        expected: Duration,
    ) -> Result<Vec<f64>, BenchError>
    where
        R: Request<Answer: Numbers>,
    {
        let numbers = self.numbers(request, expected)?;
        if numbers.iter().all(|n| n.is_finite()) { Ok(numbers) } else { Err(no_number(request)) }
    }

    /// Whether somebody wants to stop.
    ///
    /// # Errors
    /// [`BenchError::Stopped`].
    pub fn check_stop(&self) -> Result<(), BenchError> {
        if self.stop.load(Ordering::Relaxed) { Err(BenchError::Stopped) } else { Ok(()) }
    }

    /// The jig's clock, in microseconds.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn clock_us(&mut self) -> Result<u64, BenchError> {
        Ok(self.jig.clock_us()?)
    }

    /// Waits until the jig's clock has reached a time.
    ///
    /// # Errors
    /// When somebody stops; else see [`Bench::send`].
    pub fn wait_until(&mut self, t_us: u64) -> Result<(), BenchError> {
        self.jig.wait_until_us(t_us, self.stop)?;
        self.check_stop()
    }

    /// Waits for a time, by the jig's clock.
    ///
    /// # Errors
    /// See [`Bench::wait_until`].
    pub fn pause(&mut self, time: Duration) -> Result<(), BenchError> {
        self.jig.pause(time, self.stop)?;
        self.check_stop()
    }

    /// What has tripped. A load that the jig has switched off, because it was on for as long as it
    /// may, is an error: no reading is made of a load that is not there.
    ///
    /// # Errors
    /// [`BenchError::Rested`]; else see [`Bench::send`].
    pub fn trips(&mut self) -> Result<Trips, BenchError> {
        let trips = self.jig.trips()?;
        if trips.rested { Err(BenchError::Rested) } else { Ok(trips) }
    }

    /// Turns everything off, opens everything and ends what is recorded.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn make_safe(&mut self) -> Result<(), BenchError> {
        Ok(self.jig.make_safe()?)
    }

    /// Lets a person do something, and keeps the jig from falling silent meanwhile: `what` calls
    /// what it is given at least once a second, and gives up when that answers `false`.
    ///
    /// # Errors
    /// When the line fails.
    pub fn keeping_alive<T>(
        &mut self,
        what: impl FnOnce(&mut dyn FnMut() -> bool) -> T,
    ) -> Result<T, BenchError> {
        let mut trouble = None;
        let jig = &mut *self.jig;
        let mut keep_alive = || {
            if trouble.is_none() {
                trouble = jig.clock_us().err();
            }
            trouble.is_none()
        };
        let done = what(&mut keep_alive);
        match trouble {
            Some(error) => Err(error.into()),
            None => Ok(done),
        }
    }
}

/// A number was asked for, and none came.
pub fn no_number(request: &impl Request) -> BenchError {
    BenchError::NoNumber { units: text(request).unwrap_or_default() }
}
