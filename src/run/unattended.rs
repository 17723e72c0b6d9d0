//! A run with nobody at the bench, of which only the readings are wanted.

use super::event::{Event, Hand, ListenError, Listener};
use crate::judge::reading::Reading;
use crate::script::plan::HandTask;

/// Nobody is there.
#[derive(Debug)]
pub struct Nobody;

impl Hand for Nobody {
    fn act(&mut self, _: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        false
    }
}

/// Keeps all readings, in order.
#[derive(Debug, Default)]
pub struct Readings(pub Vec<Reading>);

impl Listener for Readings {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        if let Event::Read(reading) = event {
            self.0.push((*reading).clone());
        }
        Ok(())
    }
}
