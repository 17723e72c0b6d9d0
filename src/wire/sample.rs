//! Some value of every type of the language, for the tests that write and read all of it.

use super::answers::{
    Block, Button, Closure, Duty, ErrorReport, Identification, Piece, Sent, SoftStart,
};
use super::channel::{Description, Kind};
use super::channel_list::ChannelList;
use super::channels::{ListedOrPlain, Named, OneChannel};
use super::data::{Amperes, Measured, Ohms, Seconds};
use super::preamble::{Column, Preamble, State};
use super::sequence::{Sequence, Values};
use super::setting::{Bound, Setting};
use super::suffix::{CaptureUnit, Supply};
use super::version::Version;
use super::words::{FirstLevel, Idle, Polarity, TriggerSource, Words};
use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;

/// Where samples come from.
pub type Source = Xoshiro256PlusPlus;

/// A type of which there is a sample.
pub trait Sample {
    /// Any value; what is borrowed lives as long as the test.
    fn sample(source: &mut Source) -> Self;
}

macro_rules! whole {
    ($($type:ty: $low:expr, $high:expr;)*) => {$(
        impl Sample for $type {
            /// The ends of the range are as likely as all between.
            fn sample(source: &mut Source) -> Self {
                match source.random_range(0..4) {
                    0 => $low,
                    1 => $high,
                    2 => source.random_range($low..=$high),
                    _ => source.random_range($low.max(0)..=$high.min(9)),
                }
            }
        }
    )*};
}

/// Whole numbers that pass through a double unchanged: a line to the jig may hold any form of them.
const EXACT: i64 = 1 << 53;

whole! {
    u8: u8::MIN, u8::MAX;
    u16: u16::MIN, u16::MAX;
    i16: i16::MIN, i16::MAX;
    u32: u32::MIN, u32::MAX;
    i64: -EXACT, EXACT;
    u64: 0u64, EXACT as u64;
}

impl Sample for bool {
    fn sample(source: &mut Source) -> Self {
        source.random()
    }
}

impl Sample for f64 {
    /// Of any size and sign, and now and then a plain one.
    fn sample(source: &mut Source) -> Self {
        match source.random_range(0..4) {
            0 => 0.0,
            1 => f64::from(source.random_range(-1000i32..1000)) / 8.0,
            // Below what stands for infinity.
            _ => source.random_range(-9.0..9.0) * 10f64.powi(source.random_range(-300..37)),
        }
    }
}

macro_rules! wrapped {
    ($($type:ident)*) => {$(
        impl Sample for $type {
            fn sample(source: &mut Source) -> Self {
                $type(Sample::sample(source))
            }
        }
    )*};
}

wrapped! { Seconds Amperes Ohms OneChannel ListedOrPlain }

impl Sample for Measured {
    fn sample(source: &mut Source) -> Self {
        match source.random_range(0..8) {
            0 => Measured(f64::INFINITY),
            1 => Measured(f64::NEG_INFINITY),
            _ => Measured(f64::sample(source)),
        }
    }
}

macro_rules! one_of {
    ($($type:ty: $all:expr;)*) => {$(
        impl Sample for $type {
            fn sample(source: &mut Source) -> Self {
                let all = $all;
                all[source.random_range(0..all.len())]
            }
        }
    )*};
}

one_of! {
    Bound: Bound::WORDS.map(|(_, bound)| bound);
    Supply: [Supply::Feed, Supply::Loads];
    CaptureUnit: [CaptureUnit::Capture, CaptureUnit::Watch];
}

macro_rules! words {
    ($($type:ty)*) => {$(
        impl Sample for $type {
            fn sample(source: &mut Source) -> Self {
                Self::WORDS[source.random_range(0..Self::WORDS.len())].1
            }
        }
    )*};
}

words! { Polarity Idle FirstLevel TriggerSource Kind State }

impl<T: Sample> Sample for Option<T> {
    fn sample(source: &mut Source) -> Self {
        source.random::<bool>().then(|| T::sample(source))
    }
}

impl<T: Sample> Sample for Setting<T> {
    fn sample(source: &mut Source) -> Self {
        match Option::sample(source) {
            Some(bound) => Setting::Bound(bound),
            None => Setting::Value(T::sample(source)),
        }
    }
}

/// Some values, `least` or more.
fn several<T: Sample>(source: &mut Source, least: usize, most: usize) -> Vec<T> {
    (0..source.random_range(least..=most)).map(|_| T::sample(source)).collect()
}

impl<T: Sample> Sample for Sequence<'_, T>
where
    for<'a> T: super::data::Data<'a> + Copy,
{
    fn sample(source: &mut Source) -> Self {
        Sequence::of(several(source, 1, 20).leak())
    }
}

impl Sample for ChannelList<'_> {
    fn sample(source: &mut Source) -> Self {
        ChannelList::of(several(source, 0, 20).leak())
    }
}

impl<T: Sample> Sample for Values<T> {
    fn sample(source: &mut Source) -> Self {
        several(source, 1, 20).into_iter().collect()
    }
}

impl Sample for Named {
    fn sample(source: &mut Source) -> Self {
        several(source, 0, 20).into_iter().collect()
    }
}

macro_rules! fields {
    ($($type:ident { $($field:ident)* })*) => {$(
        impl Sample for $type {
            fn sample(source: &mut Source) -> Self {
                $type { $($field: Sample::sample(source),)* }
            }
        }
    )*};
}

fields! {
    SoftStart { charge_c duration_s done step_a }
    Duty { on_s rest_s }
    Sent { count last_end_us first_end_us second_end_us }
    Button { presses is_down last_us }
    Piece { id offset bytes }
    Closure { began_us ends_us }
    Version { major minor }
    Column { channel scale offset skew_us }
    Identification { model serial firmware }
    Description {
        channel kind minimum maximum scale offset gain_limit offset_limit linearity_limit
        interval_us skew_us
    }
    Preamble {
        id state points interval_us average first_us trigger_us crc columns
    }
}

impl<T: Sample, const N: usize> Sample for heapless::Vec<T, N> {
    fn sample(source: &mut Source) -> Self {
        let count = source.random_range(0..=N);
        (0..count).map(|_| T::sample(source)).collect()
    }
}

impl Sample for Block {
    fn sample(source: &mut Source) -> Self {
        Block(Sample::sample(source))
    }
}

/// A field of an identity.
impl<const N: usize> Sample for heapless::String<N> {
    fn sample(source: &mut Source) -> Self {
        let text: String = (0..source.random_range(1..=N.min(40)))
            .map(|_| char::from(source.random_range(b'?'..=b'z')))
            .collect();
        text.as_str().try_into().unwrap_or_default()
    }
}

impl Sample for ErrorReport {
    /// With quotes and semicolons in the text.
    fn sample(source: &mut Source) -> Self {
        let words = [";", "\"", "Load resting", ",", "#15"];
        let mut text = heapless::String::new();
        for _ in 0..source.random_range(0..10) {
            text.push_str(words[source.random_range(0..words.len())]).unwrap_or_default();
        }
        ErrorReport { number: Sample::sample(source), text }
    }
}
