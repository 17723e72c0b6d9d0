//! A bar for work that is counted. Silent when not on a terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// How much is done, on the error output.
#[derive(Debug)]
pub struct Counting(ProgressBar);

impl Counting {
    /// Nothing is done yet of what is counted in these words.
    pub fn of(words: &'static str) -> Self {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        let style = ProgressStyle::with_template("{bar:24}  {pos} of {len} {msg}, {eta} left");
        let bar = match style {
            Ok(style) => bar.with_style(style.progress_chars("=> ")),
            Err(_) => bar,
        };
        Counting(bar.with_message(words))
    }

    /// So many are done, of so many.
    pub fn at(&mut self, done: usize, all: usize) {
        self.0.set_length(all as u64);
        self.0.set_position(done as u64);
    }
}

impl Drop for Counting {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
