//! The load supply trips: which load is a short?

use crate::judge::blame::PastModule;
use crate::procedure::bench::SWITCHED;
use crate::procedure::error::trips;
use crate::procedure::orders;
use crate::run::course::Course;
use crate::run::state::LoadSupply;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;
use crate::wire::channel::BYPASS;
use crate::wire::suffix::Supply;

/// The load supply has tripped: finds which load is a short, past the module, and leaves it
/// disconnected. When it is none of them the load supply stays off.
pub fn find_short(course: &mut Course<'_, '_>) -> Result<(), StepStop> {
    course.state.loads_were_on = true;
    course.bench.send(&(orders::clear_trip(Supply::Loads), orders::LOADS_OFF))?;
    course.bench.open_loads()?;
    let clamps: Vec<Clamp> = course.state.loaded().collect();
    let mut found = false;
    for clamp in clamps {
        let (bypass, load) = (clamp.channel(BYPASS), course.load_switch(clamp));
        let switches = [bypass, load];
        let on = (orders::close(&switches), orders::LOADS_ON);
        let refused = trips(course.bench.send(&on))?;
        course.bench.pause(SWITCHED)?;
        let has_tripped = refused || course.bench.trips()?.loads;
        course.bench.send(&(orders::LOADS_OFF, orders::open(&switches)))?;
        if has_tripped {
            course.bench.send(&orders::clear_trip(Supply::Loads))?;
            course.state.shorted[clamp.index()] = true;
            course.state.past_module[clamp.index()] = PastModule::High;
            found = true;
        }
    }
    if !found {
        course.state.load_supply = LoadSupply::Unusable;
    }
    course.close_loads()
}
