//! The progress bar of a roll-call. Silent when not on a terminal.

use crate::plain::plain;
use crate::report::bar::bar;
use crate::roll_call::stage::Stage;
use indicatif::ProgressBar;

/// Shows how far a roll-call is, on the error output.
#[derive(Debug, Default)]
pub struct Progress {
    bar: Option<ProgressBar>,
}

impl Progress {
    /// Takes note of a stage.
    pub fn on_stage(&mut self, stage: &Stage<'_>) {
        let bar = self.bar.get_or_insert_with(|| bar(Some(stage.most), TEMPLATE));
        bar.set_position(stage.sent);
        bar.set_message(plain(stage.words));
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        // What is printed next stands alone.
        if let Some(bar) = self.bar.take() {
            bar.finish_and_clear();
        }
    }
}

const TEMPLATE: &str = "{bar:24}  {pos} of at most {len} packets  {wide_msg}";

#[cfg(test)]
mod tests {
    use super::*;
    use indicatif::ProgressStyle;

    #[test]
    fn the_template_is_sound() {
        assert!(ProgressStyle::with_template(TEMPLATE).is_ok());
    }
}
