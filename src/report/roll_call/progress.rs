//! The progress bar of a roll-call. Silent when not on a terminal.

use crate::report::plain::plain;
use crate::roll_call::stage::Stage;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Shows how far a roll-call is, on the error output.
#[derive(Debug, Default)]
pub struct Progress {
    bar: Option<ProgressBar>,
}

impl Progress {
    /// Takes note of a stage.
    pub fn on_stage(&mut self, stage: &Stage<'_>) {
        let bar = self.bar.get_or_insert_with(|| new_bar(stage.most));
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

fn new_bar(most: u64) -> ProgressBar {
    // Hides itself when the error output is no terminal.
    let bar = ProgressBar::with_draw_target(Some(most), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(TEMPLATE) {
        Ok(style) => bar.with_style(style.progress_chars("=> ")),
        Err(_) => bar,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_template_is_sound() {
        assert!(ProgressStyle::with_template(TEMPLATE).is_ok());
    }
}
