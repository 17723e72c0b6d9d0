//! What the jig refuses for reasons of its own: each has a number, the same for both ends.
//!
//! SCPI-1999, volume 2, 21.8.2: positive numbers are the device's own. The host matches on these,
//! never on words. A number is never given a new meaning; new refusals get new numbers.

macro_rules! refusals {
    ($($(#[$doc:meta])* $name:ident $number:literal $text:literal;)*) => {
        /// Why the jig does not do what it is told, though it has understood it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Refusal { $($(#[$doc])* $name = $number,)* }

        impl Refusal {
            /// Every refusal of this language.
            pub const ALL: &'static [Refusal] = &[$(Refusal::$name,)*];

            /// Its text.
            pub const fn text(self) -> &'static str {
                match self { $(Refusal::$name => $text,)* }
            }
        }
    };
}

refusals! {
    /// The feed has tripped and stays off until the trip is cleared.
    FeedTripped 101 "Feed tripped";
    /// The load supply has tripped and stays off until the trip is cleared.
    LoadsTripped 102 "Load supply tripped";
    /// The interlock is open: nothing is switched on.
    InterlockOpen 103 "Interlock open";
    /// The feed is off, so no command can go out on it.
    FeedOff 104 "Feed is off";
    /// The feed is on, so its polarity stays.
    FeedOn 105 "Switch the feed off first";
    /// A supply is on, so no resistance can be measured.
    SupplyOn 106 "Switch both supplies off first";
    /// The voltage of the resistance test is on its way out.
    TestLetsGo 107 "The resistance test still lets go";

    /// The load was on for as long as it may, and has not rested yet.
    LoadResting 111 "Load resting";

    /// No more commands can wait for the feed.
    TooManyCommands 121 "Too many commands wait";

    /// A capture with no channels.
    NothingToScan 131 "No channels to scan";
    /// All points of a capture lie before its trigger.
    NothingAfterTrigger 132 "No points after the trigger";
    /// The time between points cannot be cut into so many conversions.
    IntervalNotOfAverage 133 "Interval is no multiple of the average";
    /// The board cannot convert a channel at these instants.
    IntervalNotOfChannel 134 "No multiple of the channel's interval";
    /// The capture does not fit its memory.
    CaptureTooLong 135 "Fewer points or channels";
    /// The capture of which a block is asked for is not done.
    CaptureUnfinished 136 "No finished capture";
    /// The capture of which a block is asked for is there no longer.
    CaptureReplaced 137 "Another capture has replaced it";

    /// The jig could not keep up with a capture and has ended it.
    ScansLost 141 "Scans lost, capture ended";
    /// What was measured has been broken off.
    MeasurementInterrupted 142 "Measurement interrupted";
}

impl Refusal {
    /// Its number.
    pub const fn number(self) -> i16 {
        self as i16
    }

    /// The refusal with this number.
    pub fn from_number(number: i16) -> Option<Refusal> {
        Self::ALL.iter().copied().find(|refusal| refusal.number() == number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_lead_back_to_their_refusals() {
        for &refusal in Refusal::ALL {
            assert_eq!(Refusal::from_number(refusal.number()), Some(refusal));
            assert!(refusal.number() > 0, "negative numbers are the standard's");
        }
        assert_eq!(Refusal::from_number(-200), None);
    }

    /// Commas and quotes would have to be doubled or would look like the end of the text.
    #[test]
    fn texts_stand_in_quotes_as_they_are() {
        assert!(Refusal::ALL.iter().all(|r| !r.text().contains(['"', ';', '\n'])));
    }
}
