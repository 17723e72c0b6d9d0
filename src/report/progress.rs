//! The progress bar: the step and the time left. Silent when not on a terminal, but for notes.

use super::bar::bar;
use crate::plain::plain;
use crate::run::event::{Event, ListenError, Listener, Searching};
use core::time::Duration;
use indicatif::ProgressBar;
use std::io::{self, Write};

const TEMPLATE: &str = "{bar:24}  {prefix} left  {wide_msg}";

/// Shows how far a run is, on the error output.
#[derive(Debug, Default)]
pub struct Progress {
    bar: Option<ProgressBar>,
    total: Duration,
}

impl Progress {
    fn step(&mut self, name: &str, left: Duration) {
        let total = self.total;
        let bar = self.bar.get_or_insert_with(|| bar(Some(millis(total)), TEMPLATE));
        bar.set_prefix(clock(left));
        bar.set_message(plain(name));
        bar.set_position(millis(total.saturating_sub(left)));
    }

    /// Says why the present step takes so long.
    fn say(&self, why: &'static str) {
        if let Some(bar) = &self.bar {
            bar.set_message(why);
        }
    }

    /// Tells something that stays on the screen.
    fn tell(&self, sentence: &str) {
        let sentence = format!("note: {}", plain(sentence));
        let write = || writeln!(io::stderr(), "{sentence}");
        // Where nobody listens, nobody is told.
        let _ = self.bar.as_ref().map_or_else(write, |bar| bar.suspend(write));
    }

    /// Says what is searched, and how long that may take.
    fn search(&self, searching: &Searching<'_>) {
        if let Some(bar) = &self.bar {
            let (words, at_most) = (plain(searching.words), clock(searching.at_most));
            bar.set_message(format!("where it answers: {words}, at most {at_most} more"));
        }
    }

    /// Says how far it is looked into what may be the matter.
    fn look_into(&self, done: usize, of: usize) {
        if let Some(bar) = &self.bar {
            bar.set_prefix(format!("{done} of {of} simulated runs"));
            bar.set_message("what may be the matter");
            bar.set_position(bar.length().unwrap_or(0) * done.min(of) as u64 / of.max(1) as u64);
        }
    }

    /// Takes the bar off the screen, so that what is printed next stands alone.
    fn clear(&mut self) {
        if let Some(bar) = self.bar.take() {
            bar.finish_and_clear();
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.clear();
    }
}

fn millis(time: Duration) -> u64 {
    u64::try_from(time.as_millis()).unwrap_or(u64::MAX)
}

/// Minutes and seconds; never zero before the end.
fn clock(left: Duration) -> String {
    let seconds = left.as_millis().div_ceil(1000);
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

impl Listener for Progress {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        match event {
            Event::Began { plan, .. } => self.total = plan.duration(),
            Event::StepBegan { name, left, .. } => self.step(name, *left),
            Event::Asked(_) | Event::AskedLamp(_) | Event::Ended(_) => self.clear(),
            Event::SmallLoads(sentence) => self.tell(sentence),
            Event::LoadsRest { .. } => self.say("the loads rest: the line to the jig is slow"),
            Event::Searching(searching) => self.search(searching),
            Event::LookedInto { done, of } => self.look_into(*done, *of),
            Event::WaitsForRecord
            | Event::Samples { .. }
            | Event::Read(_)
            | Event::StepPutBack { .. }
            | Event::StepAgain { .. }
            | Event::StepEnded { .. } => {}
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use indicatif::ProgressStyle;

    #[test]
    fn time_left_reads_like_a_clock() {
        assert_eq!(clock(Duration::from_millis(61_001)), "1:02");
        assert_eq!(clock(Duration::ZERO), "0:00");
    }

    #[test]
    fn the_template_is_sound() {
        assert!(ProgressStyle::with_template(TEMPLATE).is_ok());
    }
}
