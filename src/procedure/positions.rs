//! Where outputs stand, by a short look at currents and voltages at their clamps.

use super::bench::{Bench, MEASURED_OVER};
use super::error::BenchError;
use super::orders;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, LOAD_VOLTAGE};

/// Share of the supply's voltage at a clamp that says that its contact is closed, whatever flows.
const FULL_SHARE: f64 = 0.95;

/// Currents and voltages at the clamps, and the voltage of the load supply.
#[derive(Clone, Debug, PartialEq)]
pub struct ClampLevels {
    channels: Vec<u16>,
    values: Vec<f64>,
}

impl ClampLevels {
    /// The voltage of the load supply.
    pub fn supply_v(&self) -> f64 {
        self.of(LOAD_VOLTAGE).unwrap_or(0.0)
    }

    /// The value of a channel, where it was looked at.
    pub fn of(&self, channel: u16) -> Option<f64> {
        let at = self.channels.iter().position(|&c| c == channel)?;
        self.values.get(at).copied()
    }

    /// Where outputs stand. `least_a` is the least current at a clamp that says that its contact is
    /// closed; `None` where a current could be nothing, so that the voltage alone tells.
    pub fn positions(
        &self,
        outputs: u8,
        least_a: impl Fn(Clamp) -> Option<f64>,
    ) -> [Option<Position>; 4] {
        let supply_v = self.supply_v();
        let mut positions = [None; 4];
        for output in 1..=outputs {
            let closed = |position| {
                let clamp = Clamp { output, position };
                let current = self.of(clamp.channel(CLAMP_CURRENT));
                let flows = current.zip(least_a(clamp)).map(|(a, least_a)| a > least_a);
                // A contact that is closed onto nothing passes the whole voltage.
                let is_full = self
                    .of(clamp.channel(CLAMP_VOLTAGE))
                    .map(|v| supply_v > 0.0 && v > FULL_SHARE * supply_v);
                match (flows, is_full) {
                    (None, None) => None,
                    (flows, is_full) => Some(flows == Some(true) || is_full == Some(true)),
                }
            };
            positions[usize::from(output) - 1] =
                position_of(closed(Position::A), closed(Position::B));
        }
        positions
    }
}

/// A position from which contacts are closed; one that is not looked at tells by the other one.
pub fn position_of(a: Option<bool>, b: Option<bool>) -> Option<Position> {
    match (a, b) {
        (Some(true), Some(false) | None) | (None, Some(false)) => Some(Position::A),
        (Some(false) | None, Some(true)) | (Some(false), None) => Some(Position::B),
        _ => None,
    }
}

impl Bench<'_> {
    /// The channels of the voltages at the clamps of outputs, as far as the jig has them.
    pub fn clamp_voltages(&self, outputs: u8) -> Vec<u16> {
        Clamp::ALL
            .iter()
            .filter(|c| c.output <= outputs)
            .map(|c| c.channel(CLAMP_VOLTAGE))
            .filter(|&c| self.has(c))
            .collect()
    }

    /// Looks at the voltages at the clamps of outputs, and at some currents; the load supply is on.
    ///
    /// # Errors
    /// See [`Bench::numbers`].
    pub fn clamp_levels(
        &mut self,
        outputs: u8,
        currents: &[u16],
    ) -> Result<ClampLevels, BenchError> {
        let mut channels = vec![LOAD_VOLTAGE];
        channels.extend(self.clamp_voltages(outputs));
        let voltages = channels.len();
        channels.extend(currents);
        let (voltages, currents) = channels.split_at(voltages);
        let wanted = (!currents.is_empty()).then(|| orders::currents(currents));
        let request = (orders::voltages(voltages), wanted);
        let said = self.channel_readings(&request, &channels, 2 * MEASURED_OVER)?;
        let corrected = channels.iter().zip(said).map(|(&c, v)| self.channels().corrected(c, v));
        let values = corrected.collect();
        Ok(ClampLevels { channels, values })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Position::{A, B};

    #[test]
    fn one_closed_contact_tells_the_position() {
        assert_eq!(position_of(Some(true), Some(false)), Some(A));
        assert_eq!(position_of(Some(false), Some(true)), Some(B));
        assert_eq!(position_of(None, Some(false)), Some(A));
        assert_eq!(position_of(Some(false), None), Some(B));
        for (a, b) in [(Some(true), Some(true)), (Some(false), Some(false)), (None, None)] {
            assert_eq!(position_of(a, b), None);
        }
    }

    #[test]
    fn current_or_the_whole_voltage_tells_a_closed_contact() {
        let [a, b] = [A, B].map(|position| Clamp { output: 1, position });
        let at = |amperes: f64, volts: f64| ClampLevels {
            channels: vec![
                LOAD_VOLTAGE,
                a.channel(CLAMP_VOLTAGE),
                b.channel(CLAMP_VOLTAGE),
                a.channel(CLAMP_CURRENT),
            ],
            values: vec![16.0, 0.0, volts, amperes],
        };
        let stands = |levels: ClampLevels| levels.positions(1, |_| Some(0.1))[0];
        assert_eq!(stands(at(0.5, 0.0)), Some(A));
        assert_eq!(stands(at(0.0, 15.9)), Some(B));
        assert_eq!(stands(at(0.0, 8.0)), None);
        assert_eq!(stands(at(0.5, 15.9)), None);
    }
}
