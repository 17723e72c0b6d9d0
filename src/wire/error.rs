//! Errors with their standard numbers and texts, and the bounded queue that keeps them.
//!
//! Numbers and texts: SCPI-1999, volume 2, 21.8.

use super::refusal::Refusal;
use core::fmt;

macro_rules! errors {
    ($($(#[$doc:meta])* $name:ident $number:literal $text:literal;)*) => {
        /// A standard error or event number.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum ErrorCode { $($(#[$doc])* $name = $number,)* }

        impl ErrorCode {
            /// Every code that this language knows.
            pub const ALL: &'static [ErrorCode] = &[$(ErrorCode::$name,)*];

            /// The standard text.
            pub fn text(self) -> &'static str {
                match self { $(ErrorCode::$name => $text,)* }
            }
        }
    };
}

errors! {
    /// The queue is empty.
    NoError 0 "No error";

    /// Command error of no narrower kind.
    Command -100 "Command error";
    /// A character that the element cannot hold.
    InvalidCharacter -101 "Invalid character";
    /// Not a message at all.
    Syntax -102 "Syntax error";
    /// Two elements with no legal separator between them.
    InvalidSeparator -103 "Invalid separator";
    /// Another kind of data was expected.
    DataType -104 "Data type error";
    /// More parameters than the header takes.
    ParameterNotAllowed -108 "Parameter not allowed";
    /// Fewer parameters than the header needs.
    MissingParameter -109 "Missing parameter";
    /// Malformed header.
    Header -110 "Command header error";
    /// Data follows the header without white space.
    HeaderSeparator -111 "Header separator error";
    /// A mnemonic of more than twelve characters.
    MnemonicTooLong -112 "Program mnemonic too long";
    /// Well formed, but not in the tree.
    UndefinedHeader -113 "Undefined header";
    /// The numeric suffix of a mnemonic is out of range.
    HeaderSuffix -114 "Header suffix out of range";
    /// Malformed number.
    NumericData -120 "Numeric data error";
    /// A character that the number cannot hold.
    InvalidNumber -121 "Invalid character in number";
    /// An exponent beyond ±32000.
    ExponentTooLarge -123 "Exponent too large";
    /// More than 255 digits.
    TooManyDigits -124 "Too many digits";
    /// A number where none is taken.
    NumberNotAllowed -128 "Numeric data not allowed";
    /// Suffix error of no narrower kind.
    Suffix -130 "Suffix error";
    /// Not a unit that fits here.
    InvalidSuffix -131 "Invalid suffix";
    /// A suffix of more than twelve characters.
    SuffixTooLong -134 "Suffix too long";
    /// A unit where none is taken.
    SuffixNotAllowed -138 "Suffix not allowed";
    /// Character data error of no narrower kind.
    CharacterData -140 "Character data error";
    /// A word that does not fit here.
    InvalidCharacterData -141 "Invalid character data";
    /// A word of more than twelve characters.
    CharacterDataTooLong -144 "Character data too long";
    /// A word where none is taken.
    CharacterDataNotAllowed -148 "Character data not allowed";
    /// String error of no narrower kind.
    StringData -150 "String data error";
    /// A string that does not end, or holds what is not ASCII.
    InvalidString -151 "Invalid string data";
    /// A string where none is taken.
    StringNotAllowed -158 "String data not allowed";
    /// Block error of no narrower kind.
    BlockData -160 "Block data error";
    /// Malformed block.
    InvalidBlock -161 "Invalid block data";
    /// Program data of this language holds no blocks.
    BlockNotAllowed -168 "Block data not allowed";
    /// Expression error of no narrower kind.
    Expression -170 "Expression error";
    /// Malformed expression or channel list.
    InvalidExpression -171 "Invalid expression";
    /// An expression where none is taken.
    ExpressionNotAllowed -178 "Expression data not allowed";

    /// Understood, but not possible.
    Execution -200 "Execution error";
    /// Trigger error of no narrower kind.
    Trigger -210 "Trigger error";
    /// A trigger came, and nothing waited for it.
    TriggerIgnored -211 "Trigger ignored";
    /// A capture is under way already.
    InitIgnored -213 "Init ignored";
    /// A parameter could not be used.
    Parameter -220 "Parameter error";
    /// The present state of the jig forbids it.
    SettingsConflict -221 "Settings conflict";
    /// A number out of range, or an unknown channel.
    DataOutOfRange -222 "Data out of range";
    /// More data than there is room for.
    TooMuchData -223 "Too much data";
    /// A word that is not one of those offered.
    IllegalParameter -224 "Illegal parameter value";
    /// The jig's memory is too small for it.
    OutOfMemory -225 "Out of memory";
    /// No such block any more.
    DataCorruptOrStale -230 "Data corrupt or stale";
    /// Hardware error of no narrower kind.
    Hardware -240 "Hardware error";
    /// Nothing is fitted that could do it.
    HardwareMissing -241 "Hardware missing";

    /// Device error of no narrower kind.
    Device -300 "Device-specific error";
    /// The self-test found a fault.
    SelfTestFailed -330 "Self-test failed";
    /// Errors came faster than they were read; those in between are lost.
    QueueOverflow -350 "Queue overflow";
    /// Line error of no narrower kind.
    Communication -360 "Communication error";
    /// The line was too long.
    InputOverrun -363 "Input buffer overrun";

    /// Query error of no narrower kind.
    Query -400 "Query error";
    /// A new message came before the answer was read.
    QueryInterrupted -410 "Query INTERRUPTED";
    /// An answer was asked for that no query made.
    QueryUnterminated -420 "Query UNTERMINATED";
    /// The answer does not fit the jig's memory.
    QueryDeadlocked -430 "Query DEADLOCKED";
    /// A query after `*IDN?` in the same message.
    QueryAfterIndefinite -440 "Query UNTERMINATED after indefinite response";
}

impl ErrorCode {
    /// The standard number.
    pub fn number(self) -> i16 {
        self as i16
    }

    /// The code with this number.
    pub fn from_number(number: i16) -> Option<ErrorCode> {
        Self::ALL.iter().copied().find(|code| code.number() == number)
    }

    /// Whether the line was not understood (-100 to -199): the rest of it is thrown away.
    pub fn is_command_error(self) -> bool {
        (-199..=-100).contains(&self.number())
    }

    /// The bit of the standard event status register that it sets (IEEE 488.2, 11.5.1).
    pub fn event_bit(self) -> u8 {
        use super::event;
        match self.number() {
            0 => 0,
            -199..=-100 => event::COMMAND_ERROR,
            -299..=-200 => event::EXECUTION_ERROR,
            -499..=-400 => event::QUERY_ERROR,
            _ => event::DEVICE_ERROR,
        }
    }

    /// The error with a word for a person about what is wrong. A program goes by the number.
    pub const fn because(self, detail: &'static str) -> Error {
        Error { code: Code::Standard(self), detail }
    }
}

/// The number of an error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Code {
    /// One that the standard gives.
    Standard(ErrorCode),
    /// One of this jig's own.
    Refusal(Refusal),
}

impl Code {
    /// The number itself.
    pub fn number(self) -> i16 {
        match self {
            Code::Standard(code) => code.number(),
            Code::Refusal(refusal) => refusal.number(),
        }
    }

    /// The code with this number.
    pub fn from_number(number: i16) -> Option<Code> {
        let standard = || ErrorCode::from_number(number).map(Code::Standard);
        Refusal::from_number(number).map(Code::Refusal).or_else(standard)
    }

    /// Its text.
    pub fn text(self) -> &'static str {
        match self {
            Code::Standard(code) => code.text(),
            Code::Refusal(refusal) => refusal.text(),
        }
    }

    /// Whether the line was not understood (-100 to -199): the rest of it is thrown away.
    pub fn is_command_error(self) -> bool {
        matches!(self, Code::Standard(code) if code.is_command_error())
    }

    /// The bit of the standard event status register that it sets. A device's own numbers are
    /// device-specific errors (SCPI-1999, volume 2, 21.8.2).
    pub fn event_bit(self) -> u8 {
        match self {
            Code::Standard(code) => code.event_bit(),
            Code::Refusal(_) => super::event::DEVICE_ERROR,
        }
    }
}

/// One error as it is queued: its number, and what the jig has to add.
///
/// Shown as `-222,"Data out of range;no such channel"` or `111,"Load resting"`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Error {
    /// The number.
    pub code: Code,
    /// The jig's own words, without quotes; may be empty.
    pub detail: &'static str,
}

impl Error {
    /// Whether it is this refusal.
    pub fn is(&self, refusal: Refusal) -> bool {
        self.code == Code::Refusal(refusal)
    }
}

impl From<ErrorCode> for Error {
    fn from(code: ErrorCode) -> Self {
        Error { code: Code::Standard(code), detail: "" }
    }
}

impl From<Refusal> for Error {
    fn from(refusal: Refusal) -> Self {
        Error { code: Code::Refusal(refusal), detail: "" }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let separator = if self.detail.is_empty() { "" } else { ";" };
        let (number, text) = (self.code.number(), self.code.text());
        write!(f, "{number},\"{text}{separator}{}\"", self.detail)
    }
}

impl core::error::Error for Error {}

/// How many errors the queue holds.
pub const QUEUE_SIZE: usize = 16;

/// The error queue: first in, first out. When it is full the newest entry becomes -350 and later
/// errors are lost (SCPI-1999, volume 2, 21.8.1).
#[derive(Clone, Debug, Default)]
pub struct ErrorQueue(heapless::Deque<Error, QUEUE_SIZE>);

impl ErrorQueue {
    /// An empty queue.
    pub const fn new() -> Self {
        ErrorQueue(heapless::Deque::new())
    }

    /// Appends an error.
    pub fn push(&mut self, error: Error) {
        if self.0.push_back(error).is_err()
            && let Some(newest) = self.0.back_mut()
        {
            *newest = ErrorCode::QueueOverflow.into();
        }
    }

    /// Takes the oldest error out; `0,"No error"` when there is none.
    pub fn pop(&mut self) -> Error {
        self.0.pop_front().unwrap_or(ErrorCode::NoError.into())
    }

    /// How many errors wait.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Whether no error waits.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Forgets them all.
    pub fn clear(&mut self) {
        self.0.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_lead_back_to_their_codes() {
        for &code in ErrorCode::ALL {
            assert_eq!(ErrorCode::from_number(code.number()), Some(code));
        }
        assert_eq!(ErrorCode::from_number(-999), None);
    }

    #[test]
    fn detail_follows_a_semicolon_inside_the_quotes() {
        let plain = Error::from(ErrorCode::UndefinedHeader);
        assert_eq!(format!("{plain}"), "-113,\"Undefined header\"");
        let more = ErrorCode::DataOutOfRange.because("no such channel");
        assert_eq!(format!("{more}"), "-222,\"Data out of range;no such channel\"");
        let own = Error::from(Refusal::LoadResting);
        assert_eq!(format!("{own}"), "111,\"Load resting\"");
    }

    #[test]
    fn overflow_replaces_the_newest() {
        let mut queue = ErrorQueue::new();
        for _ in 0..QUEUE_SIZE - 1 {
            queue.push(ErrorCode::Syntax.into());
        }
        queue.push(ErrorCode::Header.into());
        queue.push(ErrorCode::Trigger.into());
        queue.push(ErrorCode::Hardware.into());
        assert_eq!(queue.len(), QUEUE_SIZE);
        for _ in 0..QUEUE_SIZE - 1 {
            assert_eq!(queue.pop(), ErrorCode::Syntax.into());
        }
        assert_eq!(queue.pop(), ErrorCode::QueueOverflow.into());
        assert_eq!(queue.pop(), ErrorCode::NoError.into());
    }
}
