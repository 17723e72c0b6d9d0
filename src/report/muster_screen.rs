//! What the screen shows during a muster: the lot, the last verdict for two metres, what to do now, the keys.

use super::finding::Finding;
use super::large;
use super::lot_text::{counts, module_line};
use super::plain::plain;
use super::screen::Screen;
use super::wrap::{fit, wrap};
use crate::judge::reading::Verdict;
use crate::lot::fate::Fate;
use crate::lot::standing::{Lot, Module};
use crate::muster::turn;
use core::time::Duration;

/// The most rows of the screen.
pub const ROWS: usize = 23;

/// The keys, in a line.
const KEYS: &str =
    "Enter start   r again   x reject   h hold   n note   s strike   ? help   q stop";

/// What the keys are for.
const HELP: &str = "\
Enter  start: the module is seated, hands are off
r      seat the last module again
x      reject the last module; asks why
h      put the last module on hold; asks why
n      note something about the last module
s      strike its last try: it does not count; asks why
q      stop; go on at any time with the same command
A scanned serial chooses the module that is seated next.
";

/// The last verdict.
#[derive(Clone, Debug)]
pub struct Last {
    /// Of which module.
    pub serial: String,
    /// The verdict.
    pub verdict: Verdict,
    /// What was found, and what to do.
    pub finding: Finding,
}

/// What is shown.
#[derive(Debug)]
pub struct View<'v> {
    /// The lot.
    pub lot: &'v Lot,
    /// Whether the bench is a simulated one.
    pub simulated: bool,
    /// The last verdict, where there is one.
    pub last: Option<&'v Last>,
    /// The module that is to be seated.
    pub next: Option<&'v Module>,
    /// Something that somebody should know.
    pub message: Option<&'v str>,
    /// Whether the keys are explained.
    pub help: bool,
}

/// The screen, lines ended.
pub fn screen(view: &View<'_>, screen: Screen) -> String {
    let width = usize::from(screen.width);
    let (done, of) = turn::done(view.lot);
    let head =
        format!("Lot {}: {done} of {of} done; {}", plain(&view.lot.name()), counts(view.lot));
    let mut lines = vec![fit(&head, width)];
    if view.simulated {
        lines.push(screen.warning("SIMULATED") + ": no real module is tested");
    }
    lines.push(String::new());
    if let Some(last) = view.last {
        lines.extend(verdict(last, view.lot, screen, width));
        lines.push(String::new());
    }
    if view.help {
        lines.extend(HELP.lines().map(|line| fit(line, width)));
        lines.push(String::new());
    }
    if let Some(message) = view.message {
        lines.extend(wrap(&plain(message), width, 0).lines().map(str::to_owned));
        lines.push(String::new());
    }
    if let Some(next) = view.next {
        let again = if next.ruling.fate == Fate::ToRepeat { " again" } else { "" };
        let serial = plain(&next.serial);
        let now = format!("READY  seat {serial}{again}, hands off, then press Enter");
        lines.push(fit(&now, width));
        lines.push(fit(KEYS, width));
    }
    lines.into_iter().map(|line| line + "\n").collect()
}

fn verdict(last: &Last, lot: &Lot, screen: Screen, width: usize) -> Vec<String> {
    let drawn = large::verdict(last.verdict, screen);
    let mut lines: Vec<String> = drawn.lines().map(str::to_owned).collect();
    let told = wrap(&last.finding.sentence, width, 0);
    lines.extend(told.lines().take(SENTENCE).map(str::to_owned));
    if let Ok(module) = lot.module_of(&last.serial) {
        lines.extend(wrap(&module_line(module), width, 0).lines().map(str::to_owned));
    }
    if last.verdict != Verdict::Pass {
        lines.extend(wrap(&last.finding.to_do, width, 0).lines().map(str::to_owned));
    }
    lines
}

/// The most rows of a finding.
const SENTENCE: usize = 3;

/// The end of a muster: what became of the modules, and what to do with each pile. Lines ended.
pub fn end(lot: &Lot, tested: usize, time: Duration, screen: Screen) -> String {
    let width = usize::from(screen.width);
    let mut text = format!("Lot {}: {}\n", plain(&lot.name()), counts(lot));
    for (fate, to_do) in [
        (Fate::Accepted, "label them, and put them away"),
        (Fate::Rejected, "back to the seller, each with its reports"),
        (Fate::OnHold, "test each with the settling script, or decide with `musterbench lot`"),
        (Fate::ToRepeat, "put right what was wrong, and seat them again"),
        (Fate::Waiting, "not tested yet"),
    ] {
        let serials: Vec<String> = lot
            .modules
            .iter()
            .filter(|module| module.ruling.fate == fate)
            .map(|module| plain(&module.serial))
            .collect();
        if !serials.is_empty() {
            let line = format!(
                "{:<10}{} ({to_do}): {}",
                format!("{fate}:"),
                serials.len(),
                serials.join(", ")
            );
            text.push_str(&(wrap(&line, width, 10) + "\n"));
        }
    }
    let minutes = time.as_secs_f64() / 60.0;
    if tested > 0 && minutes > 0.0 {
        let rate = 60.0 * tested as f64 / minutes;
        let seatings = if tested == 1 { "1 seating".into() } else { format!("{tested} seatings") };
        text.push_str(&format!("{seatings} in {minutes:.1} min, {rate:.0} an hour\n"));
    }
    text
}
