//! The load supply trips: which load is a short?

use crate::judge::blame::PastModule;
use crate::run::course::{Course, Halt};
use crate::run::known::LoadSupply;
use crate::run::steps::power::{close_loads, load_switch, open_loads, tripped};
use crate::signal::target::Clamp;
use crate::wire::channel::BYPASS;
use core::time::Duration;

/// Between a switch's order and the moment its contacts have settled.
const SWITCHED: Duration = Duration::from_millis(10);

/// The load supply has tripped: finds which load is a short, past the module, and leaves it
/// disconnected. When it is none of them the load supply stays off.
pub fn find_short(course: &mut Course<'_, '_>) -> Result<(), Halt> {
    course.known.loads_were_on = true;
    course.jig.send("OUTP2:PROT:CLE;:OUTP2 OFF")?;
    open_loads(course)?;
    let clamps: Vec<Clamp> = course.known.loaded().collect();
    let mut found = false;
    for clamp in clamps {
        let (bypass, load) = (clamp.channel(BYPASS), load_switch(course.known.loads, clamp));
        let on = format!("ROUT:CLOS (@{bypass},{load});:OUTP2 ON");
        let refused = tripped(course.jig.send(&on))?;
        course.pause(SWITCHED)?;
        let has_tripped = refused || course.trips()?.loads;
        course.jig.send(&format!("OUTP2 OFF;:ROUT:OPEN (@{bypass},{load})"))?;
        if has_tripped {
            course.jig.send("OUTP2:PROT:CLE")?;
            course.known.shorted[clamp.index()] = true;
            course.known.past_module[clamp.index()] = PastModule::High;
            found = true;
        }
    }
    if !found {
        course.known.load_supply = LoadSupply::Unusable;
    }
    close_loads(course)
}
