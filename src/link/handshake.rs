//! Is there a jig at the other end, and does it speak this language?
//!
//! Asked in plain lines, before the session. Nothing in these answers is guarded by a checksum, so
//! they only decide whether to go on; what goes into records is asked again in the session.

use super::error::LinkError;
use super::identity::Identity;
use super::printable::printable;
use super::session::fresh_id;
use super::transport::{Transport, TransportError};
use crate::wire::answers::Answers;
use crate::wire::request::{Request, text};
use crate::wire::seal::{OPENING, seal};
use crate::wire::tree::{command, query};
use crate::wire::{LINE_MAX, PROTOCOL};
use core::time::Duration;

/// How long a jig may keep silent before it counts as absent: it may still boot, and longer than
/// its silence limit (5 s), after which it is in a known state.
const PATIENCE: Duration = Duration::from_millis(6500);

/// The same once it has said who it is.
const PATIENCE_FOR_VERSION: Duration = Duration::from_secs(3);

/// How long each answer is waited for.
const ANSWER: Duration = Duration::from_millis(500);

/// A silence that ends what was said before.
const SETTLE: Duration = Duration::from_millis(30);

/// How often something else must answer before it is believed: a bad line may have spoilt once
/// what a jig said.
const SURE: u32 = 3;

/// Finds out whether a jig is there and speaks this language.
///
/// # Errors
/// [`LinkError::Silent`], [`LinkError::Echo`], [`LinkError::Garbage`], [`LinkError::Stranger`],
/// [`LinkError::Incompatible`], or what the transport says.
pub fn recognise(transport: &mut dyn Transport) -> Result<Identity, LinkError> {
    recognise_within(PATIENCE, transport)
}

/// The same with another patience, for a device that is only asked on the off chance.
///
/// # Errors
/// See [`recognise`].
pub fn recognise_within(
    patience: Duration,
    transport: &mut dyn Transport,
) -> Result<Identity, LinkError> {
    let identity = ask(transport, &query::Idn {}, patience)?;
    let mut version = "unknown".into();
    for _ in 0..SURE {
        let theirs = match ask(transport, &query::Protocol {}, PATIENCE_FOR_VERSION) {
            Err(LinkError::Silent { .. }) => break,
            answer => answer?,
        };
        if theirs.major == PROTOCOL.major {
            return Ok(identity.into());
        }
        version = theirs.to_string();
    }
    Err(LinkError::Incompatible { jig: version })
}

/// Asks one plain question until an answer is what it should be, or it is certain that none will
/// be.
fn ask<Q: Request>(
    transport: &mut dyn Transport,
    query: &Q,
    patience: Duration,
) -> Result<Q::Answer, LinkError> {
    let read = |line: &str| {
        let mut answers = Answers::new(line.trim().as_bytes());
        query.read(&mut answers).ok().filter(|_| answers.finish().is_ok())
    };
    let query = text(query).unwrap_or_default();
    let end = transport.now() + patience;
    let mut others = Others::default();
    while transport.now() < end && !others.certain() && !transport.is_stopping() {
        if others.silent > 0 {
            release(transport)?;
        }
        // An answer that comes late is as good.
        if let (_, Some(late)) = listen(transport, SETTLE, read)? {
            return Ok(late);
        }
        transport.send(format!("\n{query}\n").as_bytes())?;
        let (bytes, answer) = listen(transport, ANSWER, read)?;
        if let Some(answer) = answer {
            return Ok(answer);
        }
        others.hear(&bytes, &query);
    }
    Err(others.verdict(patience, transport.others()))
}

/// Takes a jig out of sealed mode, where a killed program may have left it: there it ignores plain
/// lines. Only sent when nothing else is heard. What it answers is found out by asking on.
fn release(transport: &mut dyn Transport) -> Result<(), TransportError> {
    let id = fresh_id(transport);
    let farewell = text(&command::SealEnd {}).unwrap_or_default();
    for (number, units) in [(1, OPENING), (2, &farewell)] {
        if let Ok(line) = seal(id, number, units) {
            transport.send(&line)?;
        }
    }
    Ok(())
}

/// Takes in what comes until a line is `wanted`, nothing comes for `silence`, or twice that time
/// is over. Returns the beginning of what came, and what was wanted.
fn listen<T>(
    transport: &mut dyn Transport,
    silence: Duration,
    wanted: impl Fn(&str) -> Option<T>,
) -> Result<(Vec<u8>, Option<T>), TransportError> {
    let mut heard = Vec::new();
    let mut line = Vec::new();
    let mut buffer = [0; 256];
    let end = transport.now() + 2 * silence;
    while transport.now() < end {
        let count = transport.receive(&mut buffer, silence)?;
        if count == 0 {
            break;
        }
        for &byte in &buffer[..count] {
            if byte == b'\n' {
                let found = std::str::from_utf8(&line).ok().and_then(&wanted);
                if found.is_some() {
                    return Ok((heard, found));
                }
                line.clear();
            } else if line.len() < LINE_MAX {
                line.push(byte);
            }
            if heard.len() < 2 * LINE_MAX {
                heard.push(byte);
            }
        }
    }
    Ok((heard, None))
}

/// What has answered so far that was no jig.
#[derive(Default)]
struct Others {
    /// How often nothing came.
    silent: u32,
    /// How often a line came back as it was sent.
    echoes: u32,
    /// How often some other text came, and the last one.
    texts: u32,
    text: String,
    /// The beginning of what was no text.
    garbage: Option<String>,
}

impl Others {
    /// Takes note of what came after one question.
    fn hear(&mut self, bytes: &[u8], query: &str) {
        let lines = || {
            let lines = bytes.split(|&b| b == b'\n').map(<[u8]>::trim_ascii);
            lines.filter(|line| !line.is_empty() && !is_late(line))
        };
        let garbage = lines().find(|line| !is_text(line));
        let text = lines().find(|line| is_text(line) && *line != query.as_bytes());
        if let Some(line) = garbage {
            self.garbage = Some(printable(line));
        } else if let Some(line) = text {
            self.texts += 1;
            self.text = printable(line);
        } else if lines().next().is_some() {
            self.echoes += 1;
        } else {
            self.silent += 1;
        }
    }

    /// Whether asking again can bring nothing new. Garbage may be the rest of a long answer to a
    /// program that was killed, so it has until the end.
    fn certain(&self) -> bool {
        self.echoes >= SURE || self.texts >= SURE
    }

    fn verdict(self, waited: Duration, readers: Option<String>) -> LinkError {
        if self.texts > 0 {
            LinkError::Stranger { said: self.text }
        } else if let Some(shown) = self.garbage {
            LinkError::Garbage { shown }
        } else if self.echoes > 0 {
            LinkError::Echo
        } else {
            LinkError::Silent { waited, others: readers.into() }
        }
    }
}

/// What a jig says late: to an earlier question, or, whole or its beginning, to the lines that release
/// it.
fn is_late(line: &[u8]) -> bool {
    let identity = std::str::from_utf8(line).is_ok_and(|line| Identity::parse(line).is_some());
    identity || line.starts_with(b"SEAL ")
}

fn is_text(line: &[u8]) -> bool {
    std::str::from_utf8(line).is_ok_and(|line| !line.chars().any(char::is_control))
}

#[cfg(test)]
mod tests;
