//! The older three-state pulse code.
//!
//! A word is nine three-state digits, each of two pulses. How a digit looks, that a word goes out
//! twice and how long the pause between the two is comes from the data sheet of the encoder
//! MC145026 that the code grew from (Freescale, revision 4, sections 3.1 and figures 11 and 12).
//! The clock for accessories, what the digits mean and the rest before a telegram are from memory:
//! common practice, no source.
//!
//! Four address digits make 81 codes, and there are 80 groups. By our reading the code with all
//! digits low is the one that is left out: groups count from 1 and go out as that number in base
//! three, so nothing has the number 0 (from memory; common practice, no source).

use super::pulse::{Level, Pulse};

/// One period of the encoder's clock for accessories, in microseconds.
pub const CLOCK_US: u32 = 13;
/// How long a short pulse is high: one clock of eight.
pub const SHORT_US: u32 = CLOCK_US;
/// How long a long pulse is high: seven clocks of eight.
pub const LONG_US: u32 = 7 * CLOCK_US;
/// One pulse, high and low together: eight clocks.
pub const PULSE_US: u32 = 8 * CLOCK_US;
/// One digit: two pulses.
pub const DIGIT_US: u32 = 2 * PULSE_US;
/// Without a signal between the two words of a telegram: three digits.
pub const PAUSE_US: u32 = 3 * DIGIT_US;
/// Rest at low before each telegram, so that a receiver forgets the one before.
pub const REST_US: u32 = 4_200;
/// One word.
pub const WORD_US: u32 = DIGITS as u32 * DIGIT_US;
/// One telegram: the rest, the word, the pause, the word again.
pub const TELEGRAM_US: u32 = REST_US + WORD_US + PAUSE_US + WORD_US;
/// Digits of a word: four of address, one of function, four of data.
pub const DIGITS: usize = 9;
/// The highest address: 80 groups of four.
pub const ADDRESS_MAX: u16 = 320;
/// Pulses of a telegram: the rest, and twice the word's levels.
pub const PULSES: usize = 1 + 2 * DIGITS * 4;

/// One three-state digit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trit {
    /// Two short pulses.
    Low,
    /// Two long pulses.
    High,
    /// A long pulse, then a short one.
    Open,
}

impl Trit {
    /// How long its two pulses are high, in microseconds.
    pub const fn high_us(self) -> [u32; 2] {
        match self {
            Trit::Low => [SHORT_US, SHORT_US],
            Trit::High => [LONG_US, LONG_US],
            Trit::Open => [LONG_US, SHORT_US],
        }
    }
}

/// The word that switches one side of a pair on.
///
/// `address` is 1 to [`ADDRESS_MAX`]: groups of four count from 1, and the group's number is sent
/// in base three, lowest digit first (0 low, 1 high, 2 open). The function digit is low for
/// accessories. The data digits are the side within the group (pair × 2 + direction, lowest bit
/// first) and the activation. `None` when there is no such address.
pub fn word(address: u16, direction: u8, activate: bool) -> Option<[Trit; DIGITS]> {
    if address == 0 || address > ADDRESS_MAX {
        return None;
    }
    let index = address - 1;
    let mut group = index / 4 + 1;
    let side = (index % 4) as u8 * 2 + (direction & 1);
    let mut word = [Trit::Low; DIGITS];
    for digit in &mut word[..4] {
        *digit = match group % 3 {
            0 => Trit::Low,
            1 => Trit::High,
            _ => Trit::Open,
        };
        group /= 3;
    }
    for (bit, digit) in word[5..8].iter_mut().enumerate() {
        *digit = logic(side >> bit & 1 == 1);
    }
    word[8] = logic(activate);
    Some(word)
}

const fn logic(bit: bool) -> Trit {
    if bit { Trit::High } else { Trit::Low }
}

/// The pulses of a telegram: rest, word, pause, the same word again. It ends with the low part of
/// the last pulse, after which the feed rests low.
pub fn pulses(word: &[Trit; DIGITS]) -> impl Iterator<Item = Pulse> + '_ {
    let rest = Pulse { level: Level::Low, duration_us: REST_US };
    core::iter::once(rest).chain(levels(word, PAUSE_US)).chain(levels(word, 0))
}

/// The levels of one word; the last one is held `after_us` longer.
fn levels(word: &[Trit; DIGITS], after_us: u32) -> impl Iterator<Item = Pulse> + '_ {
    let last = 2 * DIGITS - 1;
    word.iter().flat_map(|trit| trit.high_us()).enumerate().flat_map(move |(i, high_us)| {
        let low_us = PULSE_US - high_us + if i == last { after_us } else { 0 };
        [
            Pulse { level: Level::High, duration_us: high_us },
            Pulse { level: Level::Low, duration_us: low_us },
        ]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use Trit::{High, Low, Open};

    /// MC145026 data sheet, figure 12: in clocks of the encoder, a `0` is high for 1 and low for 7
    /// twice, a `1` high for 7 and low for 1 twice, an open 7 and 1, then 1 and 7.
    #[test]
    fn digits_of_the_data_sheet() {
        let clocks = |trit| {
            let word = [trit; DIGITS];
            let all: Vec<u32> = levels(&word, 0).map(|p| p.duration_us / CLOCK_US).collect();
            [all[0], all[1], all[2], all[3]]
        };
        assert_eq!(clocks(Low), [1, 7, 1, 7]);
        assert_eq!(clocks(High), [7, 1, 7, 1]);
        assert_eq!(clocks(Open), [7, 1, 1, 7]);
    }

    /// MC145026 data sheet, section 3.1: two words, between them no signal for three data periods.
    #[test]
    fn telegram_of_the_data_sheet() {
        let word = word(1, 0, true).unwrap();
        let all: Vec<Pulse> = pulses(&word).collect();
        assert_eq!(all.len(), PULSES);
        let total: u32 = all.iter().map(|p| p.duration_us).sum();
        assert_eq!(total - REST_US, (9 + 3 + 9) * DIGIT_US);
        assert_eq!(total, TELEGRAM_US);
        let second = 1 + 2 * DIGITS * 2;
        let starts: Vec<u32> = (0..2 * DIGITS).map(|i| all[second + 2 * i].duration_us).collect();
        let first: Vec<u32> = (0..2 * DIGITS).map(|i| all[1 + 2 * i].duration_us).collect();
        assert_eq!(first, starts);
        assert_eq!(all.last().unwrap().level, Level::Low);
    }

    /// Common practice, no source: groups in base three, sides in the data digits.
    #[test]
    fn words_of_some_addresses() {
        assert_eq!(word(1, 0, true).unwrap(), [High, Low, Low, Low, Low, Low, Low, Low, High]);
        assert_eq!(word(4, 1, true).unwrap(), [High, Low, Low, Low, Low, High, High, High, High]);
        assert_eq!(word(5, 0, false).unwrap(), [Open, Low, Low, Low, Low, Low, Low, Low, Low]);
        assert_eq!(
            word(320, 1, true).unwrap(),
            [Open, Open, Open, Open, Low, High, High, High, High]
        );
        assert_eq!(word(0, 0, true), None);
        assert_eq!(word(321, 0, true), None);
    }

    /// Of the 81 codes of four three-state digits, every one but that with all digits low.
    #[test]
    fn eighty_groups_leave_out_the_code_of_all_low() {
        let codes: std::collections::HashSet<String> = (1..=ADDRESS_MAX)
            .map(|address| format!("{:?}", &word(address, 0, true).unwrap()[..4]))
            .collect();
        assert_eq!(codes.len(), 81 - 1);
        assert!(!codes.contains(&format!("{:?}", [Low; 4])));
    }

    #[test]
    fn every_command_has_its_own_word() {
        let mut seen = std::collections::HashSet::new();
        for address in 1..=ADDRESS_MAX {
            for direction in 0..=1 {
                assert!(seen.insert(format!("{:?}", word(address, direction, true).unwrap())));
            }
        }
    }
}
