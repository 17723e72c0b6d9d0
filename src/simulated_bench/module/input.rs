//! What the module reads from its feed: level changes in, commands to its outputs out.

use crate::signal::dcc::Numbering;
use crate::signal::dcc_decoder::{self, DccDecoder};
use crate::signal::pulse::{Level, Stretch};
use crate::signal::received::Received;
use crate::signal::target::Format;
use crate::signal::trinary_decoder::TrinaryDecoder;

/// Equal commands count as repetitions when no more than this lies between them, microseconds.
const REPEAT_US: u64 = 200_000;
/// A level held for so long is the resting level of the feed, microseconds.
const REST_US: u32 = 2_000;

/// The input stage.
#[derive(Clone, Debug)]
pub struct Input {
    format: Format,
    polarity_matters: bool,
    packets_needed: u8,
    numbering: Numbering,
    dcc: DccDecoder,
    trinary: TrinaryDecoder,
    /// What the three-state decoder has just completed.
    word: Option<Received>,
    /// The last command, when it came, and how often in a row.
    last: Option<(Received, u64, u8)>,
    inverted: bool,
}

impl Input {
    /// An input stage that has heard nothing.
    pub fn new(
        format: Format,
        numbering: Numbering,
        polarity_matters: bool,
        packets_needed: u8,
    ) -> Self {
        Input {
            format,
            numbering,
            polarity_matters,
            packets_needed: packets_needed.max(1),
            dcc: DccDecoder::new(),
            trinary: TrinaryDecoder::new(),
            word: None,
            last: None,
            inverted: false,
        }
    }

    /// Whether the feed looks inverted to it.
    pub fn is_inverted(&self) -> bool {
        self.inverted
    }

    /// Looks at the level that the feed holds just now, and for how long it has: a three-state feed
    /// may rest for ever.
    pub fn look(&mut self, level: Level, held_us: u64) {
        if self.format == Format::Trinary && held_us > u64::from(REST_US) {
            self.inverted = level == Level::High;
        }
    }

    /// Takes a stretch; returns whether there is something to [`Input::read`].
    #[inline]
    pub fn stretch(&mut self, s: Stretch) -> bool {
        match self.format {
            Format::Dcc => self.dcc.stretch(s.level, s.duration_us),
            Format::Trinary => self.three_state(s),
        }
    }

    /// How long after the end of the present stretch there can be something to read at the earliest,
    /// microseconds.
    pub fn no_sooner_us(&self) -> u64 {
        match self.format {
            Format::Dcc => self.dcc.packet_no_sooner_us().into(),
            Format::Trinary => 0,
        }
    }

    /// Reads what was completed; returns a command once it was heard often enough. `hears` is asked
    /// about each whole command.
    pub fn read(&mut self, at_us: u64, hears: impl FnOnce() -> bool) -> Option<Received> {
        let received = match self.format {
            Format::Dcc => {
                // A module for which polarity matters times whole bits from one rise to the next:
                // with the wires swapped a rise falls into the middle of each bit.
                self.inverted = self.polarity_matters && self.dcc.lead() == Level::Low;
                if self.inverted {
                    return None;
                }
                dcc_decoder::accessory(self.dcc.packet(), self.numbering)
            }
            Format::Trinary => self.word.take(),
        };
        let received = received.filter(|r| r.activate && hears())?;
        let repeats = match self.last {
            Some((last, last_us, n)) if last == received && at_us - last_us <= REPEAT_US => n + 1,
            _ => 1,
        };
        self.last = Some((received, at_us, repeats));
        if repeats < self.packets_needed {
            return None;
        }
        // Heard often enough: the next one counts from the start.
        self.last = None;
        Some(received)
    }

    fn three_state(&mut self, s: Stretch) -> bool {
        let rested = s.duration_us > REST_US;
        if rested {
            self.inverted = s.level == Level::High;
        }
        // Without a polarity of its own the input takes the resting level for low.
        let turn = self.inverted && !self.polarity_matters;
        let level = if turn { s.level.inverted() } else { s.level };
        self.word = self.trinary.stretch(level, s.duration_us);
        rested || self.word.is_some()
    }
}
