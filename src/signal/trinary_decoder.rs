//! A module's end of the three-state code: stretches of level in, commands out.
//!
//! Short and long are told apart as the decoder chips of the family do (MC145027 data sheet): by
//! how long the pulse is high, and a word counts only when the same word came just before it.

use super::pulse::Level;
use super::received::{Addressee, Received};
use super::trinary::{ADDRESS_MAX, DIGIT_US, DIGITS, LONG_US, PULSE_US, SHORT_US, Trit};
use core::ops::RangeInclusive;

/// High for so long is a short pulse, in microseconds.
const SHORT_WINDOW_US: RangeInclusive<u32> = SHORT_US / 2..=2 * SHORT_US;
/// High for so long is a long pulse, in microseconds.
const LONG_WINDOW_US: RangeInclusive<u32> = LONG_US * 3 / 4..=LONG_US * 5 / 4;
/// Low for longer than this ends a word, in microseconds.
const WORD_END_US: u32 = DIGIT_US;
/// Low for longer than this makes the decoder forget the word before, in microseconds: no signal
/// for four data periods (MC145027 data sheet, section 3.2).
const FORGET_US: u32 = 4 * DIGIT_US;

const PULSES: u8 = 2 * DIGITS as u8;

/// Reads commands from the stretches of level on the feed.
#[derive(Clone, Debug, Default)]
pub struct TrinaryDecoder {
    /// Long pulses of the word so far, a bit each, the first pulse highest.
    word: u32,
    /// Pulses of the word so far; more than [`PULSES`] while out of step.
    pulses: u8,
    /// The last whole word.
    before: Option<u32>,
}

impl TrinaryDecoder {
    /// A decoder that has heard nothing.
    pub const fn new() -> Self {
        TrinaryDecoder { word: 0, pulses: PULSES + 1, before: None }
    }

    /// Takes one stretch of constant level, given when it ends (at the next change).
    ///
    /// Returns a command with the last pulse of the second of two equal words.
    pub fn stretch(&mut self, level: Level, duration_us: u32) -> Option<Received> {
        match level {
            Level::Low => {
                self.low(duration_us);
                None
            }
            Level::High => self.high(duration_us),
        }
    }

    fn low(&mut self, duration_us: u32) {
        if duration_us > WORD_END_US {
            self.word = 0;
            self.pulses = 0;
            if duration_us > FORGET_US {
                self.before = None;
            }
        } else if duration_us > PULSE_US {
            self.lose_step();
        }
    }

    fn high(&mut self, duration_us: u32) -> Option<Received> {
        let long = LONG_WINDOW_US.contains(&duration_us);
        if !long && !SHORT_WINDOW_US.contains(&duration_us) || self.pulses >= PULSES {
            self.lose_step();
            return None;
        }
        self.word = self.word << 1 | u32::from(long);
        self.pulses += 1;
        if self.pulses < PULSES {
            return None;
        }
        let again = self.before == Some(self.word);
        self.before = Some(self.word);
        if again { command(self.word) } else { None }
    }

    fn lose_step(&mut self) {
        self.pulses = PULSES + 1;
        self.before = None;
    }
}

/// Reads a word; `None` where it is none for accessories.
fn command(word: u32) -> Option<Received> {
    let mut digits = [Trit::Low; DIGITS];
    for (i, digit) in digits.iter_mut().enumerate() {
        *digit = match word >> (2 * (DIGITS - 1 - i)) & 3 {
            0b00 => Trit::Low,
            0b11 => Trit::High,
            0b10 => Trit::Open,
            _ => return None,
        };
    }
    if digits[4] != Trit::Low {
        return None;
    }
    let group = digits[..4].iter().rev().fold(0, |sum, digit| {
        3 * sum
            + match digit {
                Trit::Low => 0,
                Trit::High => 1,
                Trit::Open => 2,
            }
    });
    let mut side = 0;
    for (bit, digit) in digits[5..8].iter().enumerate() {
        side |= u8::from(logic(*digit)?) << bit;
    }
    let activate = logic(digits[8])?;
    let address = (group * 4 + u16::from(side / 2) + 1).checked_sub(4)?;
    (1..=ADDRESS_MAX).contains(&address).then_some(Received {
        to: Addressee::Output(address),
        direction: side & 1,
        activate,
    })
}

const fn logic(digit: Trit) -> Option<bool> {
    match digit {
        Trit::Low => Some(false),
        Trit::High => Some(true),
        Trit::Open => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::pulse::Pulse;
    use crate::signal::trinary::{REST_US, pulses, word};
    use proptest::prelude::*;

    /// Plays pulses and returns every command; neighbours of one level become one stretch.
    fn play(pulses: impl IntoIterator<Item = Pulse>) -> Vec<Received> {
        let mut decoder = TrinaryDecoder::new();
        let mut out = Vec::new();
        let mut open: Option<Pulse> = None;
        for pulse in pulses {
            match &mut open {
                Some(p) if p.level == pulse.level => p.duration_us += pulse.duration_us,
                _ => {
                    if let Some(p) = open.replace(pulse) {
                        out.extend(decoder.stretch(p.level, p.duration_us));
                    }
                }
            }
        }
        out.extend(open.and_then(|p| decoder.stretch(p.level, p.duration_us)));
        out
    }

    fn telegram(address: u16, direction: u8) -> Vec<Pulse> {
        pulses(&word(address, direction, true).unwrap()).collect()
    }

    /// MC145027 data sheet: one word alone is not enough.
    #[test]
    fn one_word_alone_is_no_command() {
        let all = telegram(7, 0);
        let first_word = 1 + 4 * DIGITS;
        assert!(play(all[..first_word].to_vec()).is_empty());
        assert_eq!(play(all).len(), 1);
    }

    #[test]
    fn a_long_rest_between_the_words_is_no_command() {
        let mut all = telegram(7, 0);
        all[4 * DIGITS].duration_us = REST_US;
        assert!(play(all).is_empty());
    }

    #[test]
    fn inverted_levels_are_no_command() {
        let inverted = telegram(7, 0).into_iter().map(|p| Pulse { level: p.level.inverted(), ..p });
        assert!(play(inverted).is_empty());
    }

    proptest! {
        #[test]
        fn commands_round_trip(address in 1..=ADDRESS_MAX, direction in 0u8..=1, repeat in 1usize..4) {
            let to = Addressee::Output(address);
            let want = Received { to, direction, activate: true };
            let sent = telegram(address, direction).repeat(repeat);
            prop_assert_eq!(play(sent), vec![want; repeat]);
        }

        #[test]
        fn two_different_words_are_no_command(
            a in 1..=ADDRESS_MAX, b in 1..=ADDRESS_MAX, direction in 0u8..=1,
        ) {
            prop_assume!(a != b);
            let half = 1 + 4 * DIGITS;
            let mut sent = telegram(a, direction)[..half].to_vec();
            sent.extend_from_slice(&telegram(b, direction)[half..]);
            prop_assert!(play(sent).is_empty());
        }

        #[test]
        fn keeps_in_step_after_noise(
            noise in prop::collection::vec((any::<bool>(), 1u32..6_000), 0..200),
            address in 1..=ADDRESS_MAX,
        ) {
            let mut sent: Vec<Pulse> = noise
                .into_iter()
                .map(|(high, duration_us)| Pulse {
                    level: if high { Level::High } else { Level::Low },
                    duration_us,
                })
                .collect();
            sent.extend(telegram(address, 0));
            let to = Addressee::Output(address);
            let want = Received { to, direction: 0, activate: true };
            prop_assert_eq!(play(sent).last().copied(), Some(want));
        }
    }
}
