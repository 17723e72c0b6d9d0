//! A bar that fills, on the error output; none when that is no terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// An empty bar, laid out like this, for so much where that is known.
pub fn bar(all: Option<u64>, template: &str) -> ProgressBar {
    let bar = ProgressBar::with_draw_target(all, ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(template) {
        Ok(style) => bar.with_style(style.progress_chars("=> ")),
        Err(_) => bar,
    }
}
