//! A bar for work that is counted. Silent when not on a terminal.

use super::bar::bar;
use indicatif::ProgressBar;

const TEMPLATE: &str = "{bar:24}  {pos} of {len} {msg}, {eta} left";

/// How much is done, on the error output.
#[derive(Debug)]
pub struct Counting(ProgressBar);

impl Counting {
    /// Nothing is done yet of what is counted in these words.
    pub fn of(words: &'static str) -> Self {
        let bar = bar(None, TEMPLATE);
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

#[cfg(test)]
mod tests {
    use super::*;
    use indicatif::ProgressStyle;

    #[test]
    fn the_template_is_sound() {
        assert!(ProgressStyle::with_template(TEMPLATE).is_ok());
    }
}
