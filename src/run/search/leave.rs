//! May the run search for a module's address? Neighbours on its feed would move, and so would the real
//! loads that hang on it.

use crate::run::event::MaySearch;
use crate::run::ongoing::OngoingRun;
use crate::run::options::{Leave, NOT_SEARCHED};
use crate::run::step_stop::StepStop;

const REFUSED: &str = ", since other things would move: --search searches";

impl OngoingRun<'_, '_> {
    /// Why not, where it may not. A person is asked once.
    pub fn may_not_search(&mut self) -> Result<Option<String>, StepStop> {
        let stirs = self.options.neighbours || self.plan.loads.is_some();
        match self.options.search {
            _ if !stirs => return Ok(None),
            Leave::Given => return Ok(None),
            Leave::Refused => return Ok(Some(format!("{NOT_SEARCHED}{REFUSED}"))),
            Leave::Ask => {}
        }
        let set = self.state.bank;
        let question = MaySearch {
            address: set.address,
            format: set.format,
            neighbours: self.options.neighbours,
        };
        let is_allowed = match self.state.search_allowed {
            Some(said) => said,
            None => {
                let hand = &mut *self.hand;
                let said = self.bench.keeping_alive(|alive| hand.may_search(&question, alive))?;
                said.ok_or(StepStop::Stopped)?
            }
        };
        self.state.search_allowed = Some(is_allowed);
        Ok((!is_allowed).then(|| NOT_SEARCHED.into()))
    }
}
