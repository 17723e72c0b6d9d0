//! Words that stand for one of a few things.

/// Things with a word for each: long form, with the short form in capitals.
pub trait Words: Copy + PartialEq + 'static {
    /// All of them.
    const WORDS: &'static [(&'static str, Self)];

    /// The word for this one.
    fn word(self) -> &'static str {
        let mut words = Self::WORDS.iter();
        words.find(|(_, thing)| *thing == self).map_or("", |(word, _)| word)
    }
}

/// Writes and reads things by their words.
macro_rules! by_word {
    ($($name:ty: [$($word:literal $thing:path,)*])*) => {$(
        impl $crate::wire::words::Words for $name {
            const WORDS: &'static [(&'static str, Self)] = &[$(($word, $thing),)*];
        }

        impl $crate::wire::data::Data<'_> for $name {
            fn write(
                &self,
                writer: &mut $crate::wire::writer::Writer<'_, impl $crate::wire::writer::Sink>,
            ) -> core::fmt::Result {
                writer.keyword($crate::wire::words::Words::word(*self))
            }

            fn read(
                from: &mut $crate::wire::parameters::Parameters<'_>,
            ) -> Result<Self, $crate::wire::error::Error> {
                from.keyword(<Self as $crate::wire::words::Words>::WORDS)
            }
        }
    )*};
}

/// Which way round the feed is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// As wired.
    Normal,
    /// The two wires swapped.
    Inverted,
}

/// What the feed carries between commands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Idle {
    /// Idle packets.
    Packets,
    /// The high level.
    High,
    /// The low level.
    Low,
}

/// The level of the first of some pulses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FirstLevel {
    /// High.
    High,
    /// Low.
    Low,
}

/// What triggers a capture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TriggerSource {
    /// Arming it.
    Immediate,
    /// The end of the next command whose sending begins after arming.
    Sent,
    /// The beginning of the next timed contact closure.
    Contact,
    /// `TRIGger`.
    Bus,
}

by_word! {
    Polarity: [
        "NORMal" Polarity::Normal,
        "INVerted" Polarity::Inverted,
    ]
    Idle: [
        "PACKet" Idle::Packets,
        "HIGH" Idle::High,
        "LOW" Idle::Low,
    ]
    FirstLevel: [
        "HIGH" FirstLevel::High,
        "LOW" FirstLevel::Low,
    ]
    TriggerSource: [
        "IMMediate" TriggerSource::Immediate,
        "SENT" TriggerSource::Sent,
        "CONTact" TriggerSource::Contact,
        "BUS" TriggerSource::Bus,
    ]
}
pub(super) use by_word;
