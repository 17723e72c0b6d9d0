//! Sealed lines and the trailer of their answers.
//!
//! ```text
//! SEAL <session>,<number>,<length>,#H<crc>;<rest>
//! <response>;SEAL <session>,<number>,<carried out>,<errors>,#H<crc>
//! ```
//!
//! The line's checksum covers `<session>,<number>,<length>,` and the rest; the trailer's covers
//! all of the answer before its `#H`. Only the one spelling that is written here is read: a seal
//! is for machines, and every freedom would weaken it.

use super::checksum::Checksum;
use super::limits::LINE_MAX;
use core::fmt::Write as _;

/// What the first line of a session reads, and nothing else.
pub const OPENING: &str = "*CLS";

/// What every seal and every trailer begins with.
const MARK: &[u8] = b"SEAL ";

/// The most bytes that a seal takes from a line, its `;` included.
pub const SEAL_MAX: usize = "SEAL 4294967295,4294967295,512,#H00000000;".len();

/// The longest rest that always fits a sealed line.
pub const REST_MAX: usize = LINE_MAX - SEAL_MAX;

/// A sealed line, seal checked and taken off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sealed<'a> {
    /// The host's session.
    pub session: u32,
    /// The running number in the session, from 1.
    pub number: u32,
    /// The line itself.
    pub rest: &'a [u8],
}

/// What kind of line came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Opened<'a> {
    /// No seal: the whole line.
    Plain(&'a [u8]),
    /// A good seal.
    Sealed(Sealed<'a>),
    /// A bad seal: nothing of the line may be carried out or answered.
    Damaged,
}

/// Checks a line's seal and takes it off.
pub fn open(line: &[u8]) -> Opened<'_> {
    let word = line.trim_ascii_start();
    if !word.get(..4).is_some_and(|start| start.eq_ignore_ascii_case(b"SEAL")) {
        return Opened::Plain(line);
    }
    read(line).map_or(Opened::Damaged, Opened::Sealed)
}

fn read(line: &[u8]) -> Option<Sealed<'_>> {
    let fields = line.strip_prefix(MARK)?;
    let (session, after) = decimal(fields)?;
    let (number, after) = decimal(after)?;
    let (length, after) = decimal(after)?;
    let covered = &fields[..fields.len() - after.len()];
    let (crc, after) = hexadecimal(after)?;
    let rest = after.strip_prefix(b";")?;
    let mut checksum = Checksum::new();
    checksum.update(covered);
    checksum.update(rest);
    let sound = number > 0 && length as usize == rest.len() && crc == checksum.value();
    sound.then_some(Sealed { session, number, rest })
}

/// A decimal without leading zeros, and the comma after it.
fn decimal(text: &[u8]) -> Option<(u32, &[u8])> {
    let length = text.iter().position(|&byte| byte == b',')?;
    let (digits, rest) = (&text[..length], &text[length + 1..]);
    let plain = digits.iter().all(u8::is_ascii_digit) && (length == 1 || !digits.starts_with(b"0"));
    let value = plain.then(|| core::str::from_utf8(digits).ok()?.parse().ok())??;
    Some((value, rest))
}

/// `#H` and eight upper-case digits.
fn hexadecimal(text: &[u8]) -> Option<(u32, &[u8])> {
    let (digits, rest) = text.strip_prefix(b"#H")?.split_at_checked(8)?;
    let upper = digits.iter().all(|byte| matches!(byte, b'0'..=b'9' | b'A'..=b'F'));
    let value = upper.then(|| core::str::from_utf8(digits).ok())??;
    Some((u32::from_str_radix(value, 16).ok()?, rest))
}

/// A line that cannot be sealed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CannotSeal {
    /// The sealed line would be longer than [`LINE_MAX`].
    TooLong,
    /// A newline inside would cut the line in two.
    Newline,
}

impl core::fmt::Display for CannotSeal {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.write_str(match self {
            CannotSeal::TooLong => "the line is too long to be sealed",
            CannotSeal::Newline => "a line cannot hold a newline",
        })
    }
}

impl core::error::Error for CannotSeal {}

/// Seals a line; the newline is the last byte of what comes back.
pub fn seal(
    session: u32,
    number: u32,
    rest: &str,
) -> Result<heapless::Vec<u8, { LINE_MAX + 1 }>, CannotSeal> {
    if rest.contains('\n') {
        return Err(CannotSeal::Newline);
    }
    let mut covered = heapless::String::<{ SEAL_MAX }>::new();
    write!(covered, "{session},{number},{},", rest.len()).map_err(|_| CannotSeal::TooLong)?;
    let mut checksum = Checksum::new();
    checksum.update(covered.as_bytes());
    checksum.update(rest.as_bytes());
    let mut line = heapless::Vec::new();
    writeln!(line, "SEAL {covered}#H{:08X};{rest}", checksum.value())
        .map_err(|_| CannotSeal::TooLong)?;
    Ok(line)
}

/// What ends every answer to a sealed line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Trailer {
    /// The session of the line.
    pub session: u32,
    /// The running number of the line.
    pub number: u32,
    /// How many units of the line were carried out.
    pub carried_out: u16,
    /// How many errors the line made.
    pub errors: u16,
}

/// A trailer as text, with the `;` before it where there is a response, and the newline.
pub type TrailerText = heapless::String<64>;

impl Trailer {
    /// The text to append to this response, which may be empty.
    pub fn after(&self, response: &[u8]) -> TrailerText {
        let mut checksum = Checksum::new();
        checksum.update(response);
        self.after_checksum(checksum, !response.is_empty())
    }

    /// The same where the response has gone out already and just its checksum is at hand.
    pub fn after_checksum(&self, mut checksum: Checksum, any_response: bool) -> TrailerText {
        let separator = if any_response { ";" } else { "" };
        let mut text = TrailerText::new();
        // Four full-length numbers, the marks and the checksum take 51 of the 64 bytes.
        let _ = write!(
            text,
            "{separator}SEAL {},{},{},{},",
            self.session, self.number, self.carried_out, self.errors
        );
        checksum.update(text.as_bytes());
        let _ = writeln!(text, "#H{:08X}", checksum.value());
        text
    }

    /// Reads the trailer of an answer (newline taken off) whose last unit begins at `at`, and
    /// gives it with the response before it. `None`: no trailer, or a damaged one.
    pub fn split(answer: &[u8], at: usize) -> Option<(&[u8], Trailer)> {
        let (before, unit) = answer.split_at_checked(at)?;
        let response = if before.is_empty() { before } else { before.strip_suffix(b";")? };
        let (session, after) = decimal(unit.strip_prefix(MARK)?)?;
        let (number, after) = decimal(after)?;
        let (carried_out, after) = decimal(after)?;
        let (errors, after) = decimal(after)?;
        let mut checksum = Checksum::new();
        checksum.update(&answer[..answer.len() - after.len()]);
        let (crc, end) = hexadecimal(after)?;
        let trailer = Trailer {
            session,
            number,
            carried_out: carried_out.try_into().ok()?,
            errors: errors.try_into().ok()?,
        };
        (end.is_empty() && crc == checksum.value()).then_some((response, trailer))
    }
}

#[cfg(test)]
mod tests;
