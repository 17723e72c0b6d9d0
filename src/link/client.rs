//! The jig as the rest of the program sees it.

mod fetch;
mod orders;

use super::capture::{CaptureSetup, Captured};
use super::error::LinkError;
use super::handshake;
use super::identity::Identity;
use super::inbox::Answer;
use super::printable::printable;
use super::session::{Session, Traffic};
use super::transport::Transport;
use crate::jig::board::Supply;
use crate::wire::channel::Description;
use crate::wire::channel_list::ChannelList;
use crate::wire::checksum::crc32;
use crate::wire::status::questionable;
use core::time::Duration;
use fetch::ChunkSize;
pub use orders::{Closure, Sent, Trips};
use std::sync::atomic::{AtomicBool, Ordering};

/// What makes everything safe: the supplies off, all switches open.
const SAFE: &str = "OUTP1 OFF;:OUTP2 OFF;:ROUT:OPEN:ALL";

/// The longest time between two lines while the program waits: well below the silence limit.
const KEEP_ALIVE: Duration = Duration::from_secs(1);

/// After a longer time without an answer the jig is asked whether its silence limit has fired.
const SUSPICIOUS: Duration = Duration::from_secs(2);

/// How soon a wait notices that it shall stop.
const STOP_SLICE: Duration = Duration::from_millis(50);

/// How many channels are described in one line.
const DESCRIBED_AT_ONCE: usize = 4;

/// The most errors that the jig's queue is read for.
const ERRORS_MAX: usize = 64;

/// A jig, recognised, in a session of its own. Dropping it turns the outputs off, as far as the
/// line still carries.
pub struct Jig {
    session: Session,
    identity: Identity,
    channels: Vec<Description>,
    chunk_size: ChunkSize,
    heard: Heard,
    closed: bool,
}

/// When the jig answered last, by both clocks: the monotonic one stands still while the computer
/// sleeps, the time of day may be set.
#[derive(Clone, Copy)]
struct Heard {
    now: Duration,
    time_of_day: jiff::Timestamp,
}

impl Heard {
    fn at(transport: &dyn Transport) -> Heard {
        Heard { now: transport.now(), time_of_day: transport.time_of_day().timestamp() }
    }

    fn long_before(self, later: Heard) -> bool {
        let slept = later.time_of_day.duration_since(self.time_of_day);
        later.now.saturating_sub(self.now) > SUSPICIOUS || slept.unsigned_abs() > SUSPICIOUS
    }
}

impl Jig {
    /// Recognises the jig behind a transport, opens a session and reads its channels.
    ///
    /// # Errors
    /// When there is no jig, or none that speaks this language; see [`LinkError`].
    pub fn open(mut transport: Box<dyn Transport>) -> Result<Jig, LinkError> {
        let identity = handshake::recognise(&mut *transport)?;
        let id = session_id(&*transport);
        let session = Session::open(transport, id)?;
        let mut jig = Jig {
            heard: Heard::at(session.transport()),
            session,
            identity,
            channels: Vec::new(),
            chunk_size: ChunkSize::default(),
            closed: false,
        };
        // Once more, now guarded by a checksum: this goes into the records.
        let said = jig.ask("*IDN?")?;
        jig.identity = Identity::parse(&said).ok_or_else(|| senseless("*IDN?", said.as_bytes()))?;
        jig.channels = jig.describe_channels()?;
        Ok(jig)
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

    /// Has units carried out that answer nothing.
    ///
    /// # Errors
    /// [`LinkError::Refused`] or [`LinkError::Tripped`] when the jig will not; else the line.
    pub fn send(&mut self, units: &str) -> Result<(), LinkError> {
        self.exchange(units, Duration::ZERO).map(drop)
    }

    /// Has units carried out and returns the text that they answer.
    ///
    /// # Errors
    /// See [`Jig::send`]; [`LinkError::Senseless`] when the answer is no text.
    pub fn ask(&mut self, units: &str) -> Result<String, LinkError> {
        self.ask_within(units, Duration::ZERO)
    }

    /// Like [`Jig::ask`], for units that take the jig a while, such as `MEASure`.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn ask_within(&mut self, units: &str, expected: Duration) -> Result<String, LinkError> {
        let answer = self.exchange(units, expected)?;
        String::from_utf8(answer.response).map_err(|e| senseless(units, e.as_bytes()))
    }

    /// The jig's clock, in microseconds.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn clock_us(&mut self) -> Result<u64, LinkError> {
        let said = self.ask("SYST:CLOC?")?;
        said.parse().map_err(|_| senseless("SYST:CLOC?", said.as_bytes()))
    }

    /// Waits until the jig's clock has reached `t_us`, and keeps the jig from falling silent
    /// meanwhile. Comes back early when it shall stop.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn wait_until_us(&mut self, t_us: u64, stop: &AtomicBool) -> Result<(), LinkError> {
        loop {
            let left = t_us.saturating_sub(self.clock_us()?);
            let mut pause = Duration::from_micros(left).min(KEEP_ALIVE);
            if pause.is_zero() {
                return Ok(());
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

    fn say_farewell(&mut self) {
        if !self.closed && self.session.farewell(SAFE) {
            self.session.farewell("SYST:SEAL:END");
        }
        self.closed = true;
    }

    fn exchange(&mut self, units: &str, expected: Duration) -> Result<Answer, LinkError> {
        let answer = self.session.exchange(units, expected)?;
        self.check(units, answer)
    }

    /// Lets an answer pass only when the jig has not fallen silent since the one before, and all
    /// units were carried out.
    fn check(&mut self, units: &str, answer: Answer) -> Result<Answer, LinkError> {
        let before = self.heard;
        self.heard = Heard::at(self.session.transport());
        if before.long_before(self.heard) && self.events()? & questionable::SILENCE != 0 {
            return Err(LinkError::FellSilent);
        }
        if answer.errors > 0 { Err(self.refusal(units)?) } else { Ok(answer) }
    }

    /// Reads, and so clears, the events of the questionable register.
    fn events(&mut self) -> Result<u16, LinkError> {
        let answer = self.session.exchange("STAT:QUES?", Duration::ZERO)?;
        if answer.errors > 0 {
            return Err(LinkError::SessionLost);
        }
        number(&answer.response).ok_or_else(|| senseless("STAT:QUES?", &answer.response))
    }

    /// Why the jig has refused units: the oldest error in its queue, or a trip behind it.
    fn refusal(&mut self, units: &str) -> Result<LinkError, LinkError> {
        let mut oldest = None;
        for _ in 0..ERRORS_MAX {
            let answer = self.session.exchange("SYST:ERR?", Duration::ZERO)?;
            if answer.errors > 0 {
                // Not even this is carried out.
                return Err(LinkError::SessionLost);
            }
            let (code, text) = error_in(&answer.response)
                .ok_or_else(|| senseless("SYST:ERR?", &answer.response))?;
            if code == 0 {
                break;
            }
            oldest.get_or_insert((code, text));
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
        let catalog = self.ask("SYST:CHAN:CAT?")?;
        let list = ChannelList::parse(catalog.as_bytes())
            .map_err(|_| senseless("SYST:CHAN:CAT?", catalog.as_bytes()))?;
        let numbers: Vec<u16> = list.channels().collect();
        let mut channels = Vec::new();
        for batch in numbers.chunks(DESCRIBED_AT_ONCE) {
            let units: Vec<String> =
                batch.iter().map(|n| format!(":SYST:CHAN:DESC? (@{n})")).collect();
            let units = units.join(";");
            let said = self.ask(&units)?;
            let described: Result<Vec<Description>, _> =
                said.split(';').map(|text| Description::parse(text.as_bytes())).collect();
            let described = described
                .ok()
                .filter(|d| d.iter().map(|d| d.channel).eq(batch.iter().copied()))
                .ok_or_else(|| senseless(&units, said.as_bytes()))?;
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

/// A number for the session that this jig has not met: made from the time of day, so that on a
/// simulated clock it is always the same.
fn session_id(transport: &dyn Transport) -> u32 {
    crc32(&transport.time_of_day().timestamp().as_nanosecond().to_le_bytes())
}

fn senseless(units: &str, said: &[u8]) -> LinkError {
    LinkError::Senseless { units: printable(units.as_bytes()), said: printable(said) }
}

fn number<N: core::str::FromStr>(text: &[u8]) -> Option<N> {
    std::str::from_utf8(text).ok()?.parse().ok()
}

/// `<number>,"<text>"`.
fn error_in(response: &[u8]) -> Option<(i16, String)> {
    let comma = response.iter().position(|&b| b == b',')?;
    let text = response[comma + 1..].strip_prefix(b"\"")?.strip_suffix(b"\"")?;
    Some((number(&response[..comma])?, printable(text)))
}
