//! The load supply trips: which load is a short?

use crate::judge::blame::PastModule;
use crate::procedure::bench::SWITCHED;
use crate::procedure::error::trips;
use crate::procedure::orders;
use crate::run::ongoing::OngoingRun;
use crate::run::state::LoadSupply;
use crate::run::step_stop::StepStop;
use crate::signal::target::Clamp;
use crate::wire::channel::BYPASS;
use crate::wire::suffix::Supply;

/// The load supply has tripped: finds which load is a short, past the module, and leaves it
/// disconnected. When it is none of them the load supply stays off. What trips by what the load sheet says is
/// nobody's fault, and ends the run.
pub fn find_short(run: &mut OngoingRun<'_, '_>) -> Result<(), StepStop> {
    run.state.loads_were_on = true;
    run.bench.send(&(orders::clear_trip(Supply::Loads), orders::LOADS_OFF))?;
    run.bench.open_loads()?;
    let clamps: Vec<Clamp> = run.state.loaded().collect();
    let mut found = false;
    for clamp in clamps {
        let (bypass, load) = (clamp.channel(BYPASS), run.load_switch(clamp));
        let switches = [bypass, load];
        let on = (orders::close(&switches), orders::LOADS_ON);
        let refused = trips(run.bench.send(&on))?;
        run.bench.pause(SWITCHED)?;
        let has_tripped = refused || run.bench.trips()?.loads;
        run.bench.send(&(orders::LOADS_OFF, orders::open(&switches)))?;
        if has_tripped {
            run.bench.send(&orders::clear_trip(Supply::Loads))?;
            if let Some(why) = run.too_much_by_the_sheet(Some(clamp)) {
                return Err(StepStop::Trouble(why));
            }
            run.state.shorted[clamp.index()] = true;
            run.state.past_module[clamp.index()] = PastModule::High;
            found = true;
        }
    }
    if !found {
        if let Some(why) = run.too_much_by_the_sheet(None) {
            return Err(StepStop::Trouble(why));
        }
        run.state.load_supply = LoadSupply::Unusable;
    }
    run.close_loads()
}
