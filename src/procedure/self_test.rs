//! Is the jig sound, and what do its currents read with nothing flowing? Asked before anything comes on.

use super::bench::Bench;
use super::error::BenchError;
use crate::wire::channel::Kind;
use crate::wire::tree::query;
use core::time::Duration;
use serde::{Deserialize, Serialize};

/// So long after the last supply went off a jig takes its zeros; and a little more.
const QUIET: Duration = Duration::from_millis(150);

/// What a jig says of itself before a run.
#[derive(Clone, Debug, PartialEq, Default, Serialize, Deserialize)]
pub struct SelfTest {
    /// The number of the check that failed; 0: none.
    pub result: u16,
    /// What each current read with nothing flowing, in amperes: taken off all that it reads from now on.
    pub zeros: Vec<Zero>,
}

/// What a current read with nothing flowing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Zero {
    /// The channel.
    pub channel: u16,
    /// Amperes.
    pub ampere: f64,
}

impl Bench<'_> {
    /// Has the jig test itself and take the zeros of its currents. Everything must be off.
    ///
    /// # Errors
    /// [`BenchError::SelfTest`] when it is not sound, [`BenchError::NoZeros`] when it takes none; else see
    /// [`Bench::send`].
    pub fn self_test(&mut self) -> Result<SelfTest, BenchError> {
        let now_us = self.clock_us()?;
        let (mut found, mut taken_us) = self.ask_self_test()?;
        if taken_us < now_us {
            // Something was on a moment ago.
            self.pause(QUIET)?;
            (found, taken_us) = self.ask_self_test()?;
        }
        if found.result != 0 {
            return Err(BenchError::SelfTest(found.result));
        }
        if taken_us < now_us { Err(BenchError::NoZeros) } else { Ok(found) }
    }

    fn ask_self_test(&mut self) -> Result<(SelfTest, u64), BenchError> {
        let asked = (query::Tst {}, query::ZeroTime {}, query::Zero {});
        let (result, taken_us, zeros) = self.jig.ask(&asked)?;
        let currents = self.jig.channels().iter().filter(|d| d.kind == Kind::Current);
        let zeros = currents.zip(&zeros.0);
        let zeros = zeros.map(|(d, zero)| Zero { channel: d.channel, ampere: zero.0 }).collect();
        Ok((SelfTest { result, zeros }, taken_us))
    }
}
