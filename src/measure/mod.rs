//! From samples to levels, transitions and currents with their uncertainty.
//!
//! Knows no wire and no jig. Every file is one idea; the sources of the methods stand at its head.

pub mod autocorrelation;
pub mod blinking;
pub mod budget;
pub mod change_over;
pub mod channel_class;
pub mod component;
pub mod contact;
pub mod contact_resistance;
pub mod coverage;
pub mod crossing;
pub mod filter;
pub mod instant;
pub mod lamp;
pub mod level;
pub mod mean;
pub mod parabola;
pub mod pulse_peak;
pub mod record;
pub mod rounding;
pub mod sample;
pub mod scale;
pub mod settled;
pub mod source;
pub mod start;
pub mod step;
pub mod tolerance;
pub mod transition;
pub mod turns;
pub mod uncertainty;
pub mod unseen;
pub mod witness;
