//! Program messages and answers: headers and data elements, with what stands between them, into a
//! sink.
//!
//! IEEE 488.2, chapter 8: numbers are NR1 or NR3, strings stand in double quotes, blocks have a
//! definite length. A listener takes these forms in program messages too (7.7), so both ends
//! write with this.

use super::pattern::{Header, short_form};
use core::fmt;

/// Where text goes.
pub trait Sink {
    /// Appends bytes; an error when they do not fit.
    fn put(&mut self, bytes: &[u8]) -> fmt::Result;
}

impl<const N: usize> Sink for heapless::Vec<u8, N> {
    fn put(&mut self, bytes: &[u8]) -> fmt::Result {
        self.extend_from_slice(bytes).map_err(|_| fmt::Error)
    }
}

impl<const N: usize> Sink for heapless::String<N> {
    fn put(&mut self, bytes: &[u8]) -> fmt::Result {
        let text = core::str::from_utf8(bytes).map_err(|_| fmt::Error)?;
        self.push_str(text).map_err(|_| fmt::Error)
    }
}

#[cfg(feature = "host")]
impl Sink for Vec<u8> {
    fn put(&mut self, bytes: &[u8]) -> fmt::Result {
        self.extend_from_slice(bytes);
        Ok(())
    }
}

#[cfg(feature = "host")]
impl Sink for String {
    fn put(&mut self, bytes: &[u8]) -> fmt::Result {
        self.push_str(core::str::from_utf8(bytes).map_err(|_| fmt::Error)?);
        Ok(())
    }
}

/// What must stand before the next element.
#[derive(Clone, Copy)]
enum Separator {
    None,
    /// After a header.
    Space,
    Comma,
    Semicolon,
}

/// Writes one message, or the answer to one.
///
/// Elements of one unit are joined by `,`, units by `;`. A unit of an answer that writes nothing
/// leaves no trace. The line's end is the caller's to write.
///
/// ```
/// use musterbench::wire::writer::Writer;
///
/// let mut sink = heapless::Vec::<u8, 64>::new();
/// let mut answer = Writer::new(&mut sink);
/// answer.integer(3)?;
/// answer.number(0.25)?;
/// answer.unit();
/// answer.string("quay")?;
/// assert_eq!(sink, b"3,2.5E-1;\"quay\"");
/// # Ok::<(), core::fmt::Error>(())
/// ```
pub struct Writer<'s, S: Sink> {
    sink: &'s mut S,
    separator: Separator,
    any: bool,
    /// What is written is heard by a jig: it takes words that a person reads more easily.
    to_jig: bool,
}

impl<'s, S: Sink> Writer<'s, S> {
    /// A message that starts at the sink's end.
    pub fn new(sink: &'s mut S) -> Self {
        Writer { sink, separator: Separator::None, any: false, to_jig: false }
    }

    /// Begins another unit of a program message. The first header of a message stands at the root
    /// anyhow; all others say so.
    pub fn header(&mut self, header: Header) -> fmt::Result {
        self.unit();
        let header = if self.any { header } else { header.first() };
        self.text(format_args!("{header}"))?;
        (self.separator, self.to_jig) = (Separator::Space, true);
        Ok(())
    }

    /// Begins the answer of another unit.
    pub fn unit(&mut self) {
        self.separator = if self.any { Separator::Semicolon } else { Separator::None };
    }

    /// Whether anything has been written.
    pub fn any(&self) -> bool {
        self.any
    }

    /// A whole number, NR1.
    pub fn integer(&mut self, value: impl Into<i128>) -> fmt::Result {
        let value = value.into();
        self.text(format_args!("{value}"))
    }

    /// A number with decimals, NR3. Reads back as the same number.
    pub fn number(&mut self, value: f64) -> fmt::Result {
        self.text(format_args!("{}", Nr3(value)))
    }

    /// Units as they are; they begin at the root.
    pub fn units(&mut self, units: &str) -> fmt::Result {
        self.unit();
        let root = if self.any && !units.starts_with(['*', ':']) { ":" } else { "" };
        self.text(format_args!("{root}{units}"))
    }

    /// 1 or 0; to a jig `ON` or `OFF`.
    pub fn boolean(&mut self, value: bool) -> fmt::Result {
        match (self.to_jig, value) {
            (true, true) => self.keyword("ON"),
            (true, false) => self.keyword("OFF"),
            (false, value) => self.integer(u8::from(value)),
        }
    }

    /// A 32-bit pattern as `#H` and eight digits.
    pub fn hexadecimal(&mut self, value: u32) -> fmt::Result {
        self.text(format_args!("#H{value:08X}"))
    }

    /// A string in double quotes; quotes inside are doubled.
    pub fn string(&mut self, text: &str) -> fmt::Result {
        self.separate()?;
        self.sink.put(b"\"")?;
        for (i, part) in text.split('"').enumerate() {
            self.sink.put(if i == 0 { b"" } else { b"\"\"" })?;
            self.sink.put(part.as_bytes())?;
        }
        self.sink.put(b"\"")
    }

    /// A word: the short form of a pattern such as `NORMal`.
    pub fn keyword(&mut self, pattern: &str) -> fmt::Result {
        self.separate()?;
        self.sink.put(short_form(pattern).as_bytes())
    }

    /// Text as it is, as one element: an [`super::error::Error`], the fields of `*IDN?`.
    pub fn text(&mut self, text: fmt::Arguments<'_>) -> fmt::Result {
        self.separate()?;
        fmt::write(&mut TextSink(self.sink), text)
    }

    /// A channel list; runs are written as ranges.
    pub fn channels(&mut self, channels: impl IntoIterator<Item = u16>) -> fmt::Result {
        self.separate()?;
        super::channel_list::write(&mut TextSink(self.sink), channels)
    }

    /// The header of a definite-length block; its bytes follow through [`Writer::block_bytes`],
    /// or past this writer.
    pub fn block_header(&mut self, length: usize) -> fmt::Result {
        self.separate()?;
        self.sink.put(&block_header(length))
    }

    /// Bytes of the block whose header has been written.
    pub fn block_bytes(&mut self, bytes: &[u8]) -> fmt::Result {
        self.sink.put(bytes)
    }

    fn separate(&mut self) -> fmt::Result {
        match self.separator {
            Separator::None => {}
            Separator::Space => self.sink.put(b" ")?,
            Separator::Comma => self.sink.put(b",")?,
            Separator::Semicolon => self.sink.put(b";")?,
        }
        (self.separator, self.any) = (Separator::Comma, true);
        Ok(())
    }
}

/// The header `#<n><length>` of a block, with as few digits as will do (IEEE 488.2, 8.7.9).
///
/// Blocks here stay below 10⁹ bytes.
pub fn block_header(length: usize) -> heapless::Vec<u8, 11> {
    use fmt::Write as _;
    let mut digits = heapless::String::<9>::new();
    let mut header = heapless::Vec::new();
    if write!(digits, "{length}").is_ok() {
        // Both fit: the header has room for 2 + 9 bytes.
        let _ = header.extend_from_slice(&[b'#', b'0' + digits.len() as u8]);
        let _ = header.extend_from_slice(digits.as_bytes());
    }
    header
}

/// A sink seen as a `fmt::Write`.
struct TextSink<'s, S>(&'s mut S);

impl<S: Sink> fmt::Write for TextSink<'_, S> {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.0.put(text.as_bytes())
    }
}

/// A number in the form NR3: `1.25E-4`, `-3.0E+0`.
///
/// SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5: what is not a number is 9.91E+37, infinity is
/// 9.9E+37.
struct Nr3(f64);

impl fmt::Display for Nr3 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use fmt::Write as _;
        if self.0.is_nan() {
            return f.write_str("9.91E+37");
        }
        if self.0.is_infinite() {
            return f.write_str(if self.0 > 0.0 { "9.9E+37" } else { "-9.9E+37" });
        }
        let mut text = heapless::String::<32>::new();
        write!(text, "{:E}", self.0)?;
        let (mantissa, exponent) = text.split_once('E').ok_or(fmt::Error)?;
        let point = if mantissa.contains('.') { "" } else { ".0" };
        let sign = if exponent.starts_with('-') { "" } else { "+" };
        write!(f, "{mantissa}{point}E{sign}{exponent}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(write: impl FnOnce(&mut Writer<'_, Vec<u8>>) -> fmt::Result) -> String {
        let mut sink = Vec::new();
        write(&mut Writer::new(&mut sink)).expect("a growing sink takes all");
        String::from_utf8(sink).expect("text")
    }

    #[test]
    fn numbers_are_nr3() {
        for (value, text) in [
            (0.0, "0.0E+0"),
            (1.25e-4, "1.25E-4"),
            (-3.0, "-3.0E+0"),
            (1e300, "1.0E+300"),
            (f64::NAN, "9.91E+37"),
            (f64::NEG_INFINITY, "-9.9E+37"),
        ] {
            assert_eq!(written(|w| w.number(value)), text);
        }
    }

    #[test]
    fn the_longest_number_fits() {
        let text = written(|w| w.number(-1.7976931348623157e-308));
        assert_eq!(text.parse(), Ok(-1.7976931348623157e-308));
    }

    #[test]
    fn units_without_data_leave_no_trace() {
        let text = written(|w| {
            w.unit();
            w.unit();
            w.keyword("NORMal")?;
            w.unit();
            w.unit();
            w.boolean(true)?;
            w.channels([101, 102, 103, 7])
        });
        assert_eq!(text, "NORM;1,(@101:103,7)");
    }

    #[test]
    fn quotes_are_doubled() {
        assert_eq!(written(|w| w.string("a \"b\"")), "\"a \"\"b\"\"\"");
    }

    /// IEEE 488.2, 8.7.9: `#`, the number of digits, the digits.
    #[test]
    fn block_headers() {
        for (length, header) in
            [(0, "#10"), (9, "#19"), (10, "#210"), (4096, "#44096"), (65536, "#565536")]
        {
            assert_eq!(block_header(length), header.as_bytes());
        }
    }

    #[test]
    fn a_full_sink_is_an_error() {
        let mut sink = heapless::Vec::<u8, 4>::new();
        assert!(Writer::new(&mut sink).integer(12345).is_err());
    }

    proptest! {
        #[test]
        fn numbers_read_back_exactly(value in prop::num::f64::NORMAL | prop::num::f64::SUBNORMAL) {
            prop_assert_eq!(written(|w| w.number(value)).parse(), Ok(value));
        }
    }
}
