//! Where a contribution to an uncertainty comes from.

use serde::{Deserialize, Serialize};

macro_rules! sources {
    ($($(#[doc = $doc:literal])+ $name:ident $word:literal $about:literal),* $(,)?) => {
        /// Where a contribution comes from.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
        #[serde(rename_all = "lowercase")]
        pub enum Source {
            $($(#[doc = $doc])+ $name),*
        }

        impl Source {
            /// Every source, in the order in which a budget tells them.
            pub const ALL: &[Source] = &[$(Source::$name),*];

            /// One word, as it stands in a report.
            pub const fn word(self) -> &'static str {
                match self { $(Source::$name => $word),* }
            }

            /// What it is, for people.
            pub const fn about(self) -> &'static str {
                match self { $(Source::$name => $about),* }
            }
        }
    };
}

sources! {
    /// Scatter of the samples (type A), their autocorrelation taken into account.
    Noise "noise" "scatter of the samples",
    /// How far the values move within the window.
    Unsettled "unsettled" "values that still move within the window",
    /// The value of one count.
    Resolution "resolution" "the value of one count",
    /// The converter's non-linearity.
    Linearity "linearity" "non-linearity of the converter",
    /// Offset of an uncalibrated channel, by its class.
    Offset "offset" "offset of the channel, by its class",
    /// Gain of an uncalibrated channel, by its class.
    Gain "gain" "gain of the channel, by its class",
    /// Offset and gain of a calibrated channel, their correlation taken into account.
    Calibration "calibration" "calibration of the channel, with its reference",
    /// Drift of a calibrated channel since.
    Drift "drift" "drift of the channel since its calibration",
    /// The time between two samples.
    Sampling "sampling" "time between two samples",
    /// The level at which an instant is taken.
    Threshold "threshold" "the level at which an instant is taken",
    /// When the jig's clock says that something was sent, closed or triggered.
    Clock "clock" "the jig's clock, and when a trigger came",
    /// The supply voltage that the limits were reckoned with.
    Supply "supply" "the supply voltage that the limits were reckoned with",
    /// Everything else.
    Other "other" "other influences",
}
