//! Where outputs stand: looks, and remembers.

use super::ongoing::OngoingRun;
use super::see::standing::{Standing, standing};
use super::see::witness::{by_current, by_voltage};
use super::step_stop::StepStop;
use crate::jig::board::Supply;
use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::measure::witness::Witness;
use crate::procedure::bench::SWITCHED;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE};

impl OngoingRun<'_, '_> {
    /// The channels of the currents at all loaded clamps.
    pub fn loaded_channels(&self) -> Vec<u16> {
        let channels = self.state.loaded().map(|c| c.channel(CLAMP_CURRENT));
        channels.filter(|&channel| self.bench.has(channel)).collect()
    }

    /// The channels that tell where the loaded outputs stand: the current of a load that draws enough,
    /// else the voltage at its clamp.
    pub fn telling_channels(&self) -> Vec<u16> {
        let telling = |clamp: Clamp| {
            let [current, voltage] = [CLAMP_CURRENT, CLAMP_VOLTAGE].map(|c| clamp.channel(c));
            let by_voltage = !self.tells_by_current(clamp) && self.bench.has(voltage);
            Some(if by_voltage { voltage } else { current }).filter(|&c| self.bench.has(c))
        };
        self.state.loaded().filter_map(telling).collect()
    }

    /// What tells in a record whether the contact at a clamp is closed.
    fn witness<'r>(
        &self,
        record: &'r Record,
        clamp: Clamp,
        supply: Estimate,
    ) -> Option<Witness<'r>> {
        // What carries nothing is looked at elsewhere.
        if self.tells_by_current(clamp) || !self.state.is_loaded(clamp) {
            by_current(record, clamp, self.least_closed(clamp, supply))
        } else {
            by_voltage(record, clamp, supply)
        }
    }

    /// Whether currents or voltages tell where an output stands.
    pub fn is_seen(&self, output: u8) -> bool {
        [Position::A, Position::B].into_iter().any(|position| {
            let clamp = Clamp { output, position };
            self.state.is_loaded(clamp) || self.bench.has(clamp.channel(CLAMP_VOLTAGE))
        })
    }

    /// Whether nothing that can be measured hangs on an output: no current tells where it stands.
    pub fn is_bare(&self, output: u8) -> bool {
        ![Position::A, Position::B]
            .into_iter()
            .any(|position| self.state.is_loaded(Clamp { output, position }))
    }

    /// The positions in a record, before scan `start` and at its end, and remembers the latter.
    pub fn stand(&mut self, record: &Record, start: usize, supply: Estimate) -> Standing {
        let witness = |clamp| self.witness(record, clamp, supply);
        let standing = standing(start, self.plan.module.outputs, witness);
        self.state.positions = standing.after;
        standing
    }

    /// Where all outputs stand, by a quick look at currents and voltages; the load supply is on.
    pub fn look(&mut self) -> Result<[Option<Position>; 4], StepStop> {
        let currents = self.loaded_channels();
        if currents.is_empty() {
            return Ok([None; 4]);
        }
        self.bench.pause(SWITCHED)?;
        let outputs = self.plan.module.outputs;
        let levels = match self.bench.clamp_levels(outputs, &currents) {
            Ok(levels) => levels,
            Err(error) => {
                let trips = self.bench.trips()?;
                return match (trips.feed, trips.loads) {
                    (true, _) => Ok([None; 4]),
                    // Without it nothing tells where an output stands, and none is to blame for that.
                    (false, true) => Err(StepStop::Tripped(Supply::Loads)),
                    (false, false) => Err(error.into()),
                };
            }
        };
        // Of a load that was switched off to rest nothing is told.
        let trips = self.bench.trips()?;
        let supply = Estimate::new(levels.supply_v(), &[]);
        let positions = levels.positions(outputs, |clamp| {
            self.tells_by_current(clamp).then(|| self.least_closed(clamp, supply))
        });
        self.state.positions = positions;
        if !trips.supplies() {
            self.spare_loads(trips.warmth)?;
        }
        Ok(positions)
    }

    /// Where outputs stand on which nothing hangs, by the voltages at their clamps; their currents
    /// have told nothing.
    pub fn look_at_bare(&mut self, standing: &mut Standing) -> Result<(), StepStop> {
        let bare: Vec<u8> = self.outputs().filter(|&o| self.is_bare(o)).collect();
        if !bare.iter().any(|&o| self.is_seen(o)) || !self.load_supply_on()? {
            return Ok(());
        }
        let seen = self.look()?;
        for at in bare.into_iter().map(|output| usize::from(output) - 1) {
            standing.after[at] = seen[at];
        }
        Ok(self.bench.load_supply_off()?)
    }
}
