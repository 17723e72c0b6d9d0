//! The jig as the rest of the program sees it.

mod fetch;
mod orders;
mod soft_start;

use super::capture::{CaptureSetup, Captured};
use super::clock_watch::ClockWatch;
use super::error::LinkError;
use super::handshake;
use super::identity::Identity;
use super::inbox::Answer;
use super::printable::printable;
use super::session::{Session, Traffic, fresh_id};
use super::transport::{Carried, Transport};
use crate::wire::answers::Answers;
use crate::wire::channel::Description;
use crate::wire::channels::ListedOrPlain;
use crate::wire::request::{Request, text};
use crate::wire::seal::CannotSeal;
use crate::wire::suffix::{CaptureUnit, Supply};
use crate::wire::tree::{command, query};
use core::time::Duration;
use fetch::ChunkSize;
pub use orders::{Closure, Sent, Trips};
use std::sync::atomic::{AtomicBool, Ordering};

/// Both supplies, to be told something.
fn both<C>(tell: impl Fn(Supply) -> C) -> (C, C) {
    (tell(Supply::Feed), tell(Supply::Loads))
}

/// What makes everything safe: the supplies off, all switches open.
fn safe() -> impl Request {
    (both(|supply| command::Output { supply, on: false }), command::OpenAll {})
}

/// Settings as after boot, and no trip left over: what an earlier user of the jig has set, or an
/// earlier module has done, must not judge the next one.
fn fresh() -> impl Request {
    (command::Rst {}, both(|supply| command::ProtectionClear { supply }))
}

/// The longest time between two lines while the program waits: well below the silence limit.
const KEEP_ALIVE: Duration = Duration::from_secs(1);

/// The latest time that a jig's clock may show, in microseconds (285 years): what is added to it
/// never overflows.
const CLOCK_MAX_US: u64 = 1 << 53;

/// How many times slower than the program's own clock a jig's may go: a simulated bench on a busy
/// computer does.
const SLOWEST_CLOCK: u32 = 10;

/// How much longer than that a wait may take, for a line on which every answer comes late.
const WAIT_PATIENCE: Duration = Duration::from_secs(60);

/// How soon a wait notices that it shall stop.
const STOP_SLICE: Duration = Duration::from_millis(50);

/// How many channels are described in one line.
const DESCRIBED_AT_ONCE: usize = 8;

/// The most errors that the jig's queue is read for.
const ERRORS_MAX: usize = 64;

/// A time as the jig's clock counts it, in microseconds.
pub fn micros(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

/// A jig, recognised, in a session of its own. Dropping it turns the outputs off, as far as the
/// line still carries.
pub struct Jig {
    session: Session,
    identity: Identity,
    channels: Vec<Description>,
    chunk_size: ChunkSize,
    /// Whether its clock goes right; nobody looks where it need not keep pace with this computer's.
    clock_watch: Option<ClockWatch>,
    /// A load was switched off to rest.
    rested: bool,
    closed: bool,
}

impl Jig {
    /// Recognises the jig behind a transport, opens a session, reads its channels and resets it. A
    /// trip that was left over is cleared; everything is off.
    ///
    /// # Errors
    /// When there is no jig, or none that speaks this language; see [`LinkError`].
    pub fn open(mut transport: Box<dyn Transport>) -> Result<Jig, LinkError> {
        let identity = handshake::recognise(&mut *transport)?;
        let id = fresh_id(&*transport);
        let session = Session::open(transport, id)?;
        let mut jig = Jig {
            session,
            identity,
            channels: Vec::new(),
            chunk_size: ChunkSize::default(),
            clock_watch: None,
            rested: false,
            closed: false,
        };
        // Once more, now guarded by a checksum: this goes into the records.
        jig.identity = jig.ask(&query::Idn {})?.into();
        // Whoever was here before may have masked what we want to hear of.
        jig.send(&command::StatusPreset {})?;
        // A simulated bench on a busy computer goes slowly.
        jig.clock_watch = (!jig.identity.simulated).then(ClockWatch::default);
        jig.channels = jig.describe_channels()?;
        jig.send(&fresh())?;
        Ok(jig)
    }

    /// Settings as after boot and no trip left over, as when the jig was opened: the next module is judged by
    /// nothing that an earlier one has left. Everything is off.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn start_afresh(&mut self) -> Result<(), LinkError> {
        self.rested = false;
        self.send(&fresh())
    }

    /// Who it is.
    pub fn identity(&self) -> &Identity {
        &self.identity
    }

    /// All its channels, in rising order.
    pub fn channels(&self) -> &[Description] {
        &self.channels
    }

    /// One of its channels, if it has it.
    pub fn channel(&self, number: u16) -> Option<&Description> {
        self.channels.iter().find(|d| d.channel == number)
    }

    /// Has commands carried out.
    ///
    /// # Errors
    /// [`LinkError::Refused`] or [`LinkError::Tripped`] when the jig will not; else the line.
    pub fn send<R: Request + ?Sized>(&mut self, request: &R) -> Result<(), LinkError> {
        self.ask(request).map(drop)
    }

    /// Has units carried out and returns what they answer.
    ///
    /// # Errors
    /// See [`Jig::send`]; [`LinkError::Senseless`] when that is something else than the language
    /// says.
    pub fn ask<R: Request + ?Sized>(&mut self, request: &R) -> Result<R::Answer, LinkError> {
        self.ask_within(request, Duration::ZERO)
    }

    /// Like [`Jig::ask`], for units that take the jig a while, such as `MEASure`.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn ask_within<R: Request + ?Sized>(
        &mut self,
        request: &R,
        expected: Duration,
    ) -> Result<R::Answer, LinkError> {
        match self.exchange(request, expected)? {
            Some(answer) => Ok(answer),
            None => Err(self.refusal(&units(request)?)?),
        }
    }

    /// Has units carried out and returns what they answer; `None` when the jig made an error of it.
    fn exchange<R: Request + ?Sized>(
        &mut self,
        request: &R,
        expected: Duration,
    ) -> Result<Option<R::Answer>, LinkError> {
        let orders = || {
            let mut orders = Vec::new();
            request.orders(&mut orders).then_some(orders)
        };
        if let Some(Carried { mut answers, whole }) = self.session.carry_out(orders, expected)? {
            let read = || request.take(&mut answers);
            let read = whole.then(read).transpose();
            let read = read
                .and_then(|read| if whole { answers.finish().map(|()| read) } else { Ok(read) });
            return read.map_err(|_| senseless(&units(request).unwrap_or_default(), b"values"));
        }
        let units = units(request)?;
        let answer = self.session.exchange(&units, expected)?;
        let whole = answer.errors == 0;
        whole.then(|| answered(request, &units, &answer.response)).transpose()
    }

    /// Like [`Jig::ask`], by [`Session::exchange_once`]: `None` when the answer came damaged.
    fn ask_once<R: Request + ?Sized>(
        &mut self,
        request: &R,
    ) -> Result<Option<R::Answer>, LinkError> {
        let units = units(request)?;
        let Some(answer) = self.session.exchange_once(&units)? else { return Ok(None) };
        let answer = self.check(&units, answer)?;
        answered(request, &units, &answer.response).map(Some)
    }

    /// The jig's clock need not keep pace with this computer's: an emulated jig's does not.
    pub fn let_its_clock_be(&mut self) {
        self.clock_watch = None;
    }

    /// The jig's clock, in microseconds.
    ///
    /// # Errors
    /// [`LinkError::ClockWrong`] when it goes wrong; else see [`Jig::ask`].
    pub fn clock_us(&mut self) -> Result<u64, LinkError> {
        let asked = self.now();
        let now_us = self.ask(&query::Clock {})?;
        if now_us > CLOCK_MAX_US {
            return Err(senseless("SYST:CLOC?", now_us.to_string().as_bytes()));
        }
        let came = self.now();
        let wrong = self.clock_watch.as_mut().and_then(|watch| watch.take(now_us, asked, came));
        match wrong {
            Some((by_s, over_s)) => Err(LinkError::ClockWrong { by_s, over_s }),
            None => Ok(now_us),
        }
    }

    /// Waits until the jig's clock has reached `t_us`, and keeps the jig from falling silent
    /// meanwhile. Comes back early when it shall stop.
    ///
    /// # Errors
    /// [`LinkError::ClockStands`] when the jig's clock does not get there; else see [`Jig::ask`].
    pub fn wait_until_us(&mut self, t_us: u64, stop: &AtomicBool) -> Result<(), LinkError> {
        let begin = self.now();
        let mut longest = None;
        loop {
            let left = Duration::from_micros(t_us.saturating_sub(self.clock_us()?));
            let mut pause = left.min(KEEP_ALIVE);
            if pause.is_zero() {
                return Ok(());
            }
            let longest = *longest.get_or_insert(SLOWEST_CLOCK * left + WAIT_PATIENCE);
            if self.now().saturating_sub(begin) > longest {
                return Err(LinkError::ClockStands);
            }
            while !pause.is_zero() {
                if stop.load(Ordering::Relaxed) {
                    return Ok(());
                }
                let slice = pause.min(STOP_SLICE);
                self.session.pause(slice);
                pause -= slice;
            }
        }
    }

    /// Waits for a time by the jig's clock; see [`Jig::wait_until_us`].
    ///
    /// # Errors
    /// See [`Jig::wait_until_us`].
    pub fn pause(&mut self, time: Duration, stop: &AtomicBool) -> Result<(), LinkError> {
        let now_us = self.clock_us()?;
        self.wait_until_us(now_us + micros(time), stop)
    }

    /// The time of day, with the offset of the place.
    pub fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.session.transport().time_of_day()
    }

    /// The program's own monotonic clock. It guards and stamps; it never measures.
    pub fn now(&self) -> Duration {
        self.session.transport().now()
    }

    /// What has gone over the line so far.
    pub fn traffic(&self) -> Traffic {
        self.session.traffic()
    }

    /// Turns the outputs off and lets the jig go.
    pub fn close(mut self) {
        self.say_farewell();
    }

    /// Turns everything off, opens everything and ends what is recorded.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn make_safe(&mut self) -> Result<(), LinkError> {
        let abort = |unit| command::Abort { unit };
        self.send(&(safe(), abort(CaptureUnit::Capture), abort(CaptureUnit::Watch)))
    }

    fn say_farewell(&mut self) {
        if !self.closed && self.farewell(&safe()) {
            self.farewell(&command::SealEnd {});
        }
        self.closed = true;
    }

    fn farewell(&mut self, request: &impl Request) -> bool {
        units(request).is_ok_and(|units| self.session.farewell(&units))
    }

    /// Lets an answer pass only when all units were carried out.
    fn check(&mut self, units: &str, answer: Answer) -> Result<Answer, LinkError> {
        if answer.errors > 0 { Err(self.refusal(units)?) } else { Ok(answer) }
    }

    /// Why the jig has refused units: the oldest error in its queue, or a trip behind it.
    fn refusal(&mut self, units: &str) -> Result<LinkError, LinkError> {
        let mut oldest = None;
        for _ in 0..ERRORS_MAX {
            // Where not even this is carried out:
            let error = self.exchange(&query::ErrorNext {}, Duration::ZERO)?;
            let error = error.ok_or(LinkError::SessionLost)?;
            if error.number == 0 {
                break;
            }
            oldest.get_or_insert((error.number, printable(error.text.as_bytes())));
        }
        let trips = self.trips()?;
        let (number, text) = oldest.unwrap_or((0, "no reason given".into()));
        Ok(match (trips.feed, trips.loads) {
            (true, _) => LinkError::Tripped(Supply::Feed),
            (false, true) => LinkError::Tripped(Supply::Loads),
            _ => LinkError::Refused { units: printable(units.as_bytes()), number, text },
        })
    }

    fn describe_channels(&mut self) -> Result<Vec<Description>, LinkError> {
        let numbers = self.ask(&query::ChannelCatalog {})?.0;
        let mut channels = Vec::new();
        let mut at_once = DESCRIBED_AT_ONCE;
        while channels.len() < numbers.len() {
            let rest = &numbers[channels.len()..];
            let batch = &rest[..rest.len().min(at_once)];
            let request: Vec<query::ChannelDescribe> = batch
                .iter()
                .map(|&channel| query::ChannelDescribe { channel: ListedOrPlain(channel) })
                .collect();
            let described =
                if batch.len() > 1 { self.ask_once(&request)? } else { Some(self.ask(&request)?) };
            let Some(described) = described else {
                at_once = batch.len() / 2;
                continue;
            };
            if !described.iter().map(|d| d.channel).eq(batch.iter().copied()) {
                return Err(senseless(&units(&request)?, b"other channels"));
            }
            channels.extend(described);
        }
        Ok(channels)
    }
}

impl Drop for Jig {
    fn drop(&mut self) {
        self.say_farewell();
    }
}

fn senseless(units: &str, said: &[u8]) -> LinkError {
    LinkError::Senseless { units: printable(units.as_bytes()), said: printable(said) }
}

/// A program message as text.
fn units<R: Request + ?Sized>(request: &R) -> Result<String, LinkError> {
    let too_long = |core::fmt::Error| LinkError::Unsendable {
        units: "a line".into(),
        why: CannotSeal::TooLong,
    };
    text(request).map_err(too_long)
}

/// What a program message was answered with: all of it, and nothing more.
fn answered<R: Request + ?Sized>(
    request: &R,
    units: &str,
    response: &[u8],
) -> Result<R::Answer, LinkError> {
    let mut answers = Answers::new(response);
    let read = request.read(&mut answers);
    let read = read.and_then(|answer| answers.finish().map(|()| answer));
    read.map_err(|_| senseless(units, response))
}

#[cfg(test)]
mod tests;
