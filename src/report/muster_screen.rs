//! What the screen shows during a muster: the lot, for each jig the last verdict for two metres and what to do now,
//! and the keys.

use super::large;
use super::lot_text::{counts, module_line};
use super::screen::Screen;
use super::wrap::{fit, width, wrap};
use crate::judge::reading::Verdict;
use crate::lot::fate::Fate;
use crate::lot::standing::Lot;
use crate::muster::desk::Desk;
use crate::muster::happening::Progress;
use crate::muster::station::{Last, Seating, Stands, Station};
use crate::muster::tried::How;
use crate::muster::turn;
use crate::plain::plain;
use core::time::Duration;

/// The most rows of the screen.
pub const ROWS: usize = 23;

/// The keys while a module may be started, and while none may.
const READY: &str =
    "Enter start   r again   x reject   h hold   n note   s strike   ? help   q stop";
const BUSY: &str = "r again   x reject   h hold   n note   s strike   ? help   q stop";
/// With several jigs.
const WHICH: &str = "Tab or a digit: the jig that Enter, keys and scans mean";

/// What the keys are for.
const HELP: &str = "\
Enter  start: the module is seated, hands are off; so does the jig's button
r      seat the last module again
x      reject the last module; asks why
h      put the last module on hold; asks why
n      note something about the last module
s      strike its last try: it does not count; asks why
q      stop; go on at any time with the same command
A scanned serial chooses the module that is seated next.
";

/// The most rows of a finding, and of what to do.
const SENTENCE: usize = 3;
const TO_DO: usize = 2;

/// Columns between two jigs.
const BETWEEN: usize = 2;

/// The screen, lines ended.
pub fn screen(desk: &Desk, screen: Screen) -> String {
    let columns = usize::from(screen.width);
    let (done, of) = turn::done(&desk.lot);
    let head =
        format!("Lot {}: {done} of {of} done; {}", plain(&desk.lot.name()), counts(&desk.lot));
    let mut lines = vec![fit(&head, columns)];
    if desk.simulated {
        lines.push(screen.warning("SIMULATED") + ": no real module is tested");
    }
    lines.push(String::new());
    let several = desk.stations.len() > 1;
    match &desk.stations[..] {
        // There is no room for both.
        _ if desk.help => {}
        [only] => lines.extend(verdict(only, &desk.lot, screen)),
        stations => lines.extend(beside(
            stations,
            |at, station, screen| {
                let mut lines = vec![headed(at, station, desk.focus == at, screen)];
                lines.extend(verdict(station, &desk.lot, screen));
                lines
            },
            screen,
        )),
    }
    if desk.help {
        lines.extend(HELP.lines().map(|line| fit(line, columns)));
        lines.push(String::new());
    }
    if let Some(message) = &desk.message {
        lines.extend(clipped(&plain(message), columns, SENTENCE));
        lines.push(String::new());
    }
    match &desk.stations[..] {
        [only] => lines.extend(now(only, &desk.lot, screen)),
        stations => {
            lines.extend(beside(stations, |_, one, screen| now(one, &desk.lot, screen), screen));
        }
    }
    match &desk.asking {
        Some(asking) => lines.extend(clipped(&plain(&asking.words()), columns, SENTENCE)),
        None => {
            if several {
                lines.push(fit(WHICH, columns));
            }
            lines.push(fit(if desk.is_ready() { READY } else { BUSY }, columns));
        }
    }
    lines.into_iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}

/// What stations show, side by side.
fn beside(
    stations: &[Station],
    show: impl Fn(usize, &Station, Screen) -> Vec<String>,
    screen: Screen,
) -> Vec<String> {
    let each = (usize::from(screen.width) + BETWEEN) / stations.len() - BETWEEN;
    let narrow = Screen { width: u16::try_from(each).unwrap_or(u16::MAX), ..screen };
    let shown: Vec<Vec<String>> =
        stations.iter().enumerate().map(|(at, one)| show(at, one, narrow)).collect();
    let rows = shown.iter().map(Vec::len).max().unwrap_or(0);
    let row = |row: usize| {
        let mut line = String::new();
        for (at, lines) in shown.iter().enumerate() {
            if at > 0 {
                line.push_str(&" ".repeat(BETWEEN));
            }
            let text = lines.get(row).map_or("", String::as_str);
            line.push_str(text);
            line.push_str(&" ".repeat(each.saturating_sub(width(text))));
        }
        line
    };
    (0..rows).map(row).collect()
}

/// The number and the name of a station; the one that is meant is marked.
fn headed(at: usize, station: &Station, is_meant: bool, screen: Screen) -> String {
    let mark = if is_meant { ">" } else { " " };
    fit(&format!("{mark}{} {}", at + 1, plain(&station.name)), screen.width.into())
}

/// The last verdict of a station.
fn verdict(station: &Station, lot: &Lot, screen: Screen) -> Vec<String> {
    let Some(Last { serial, tried }) = &station.last else { return Vec::new() };
    let columns = usize::from(screen.width);
    let drawn = match tried.how {
        How::Whole => large::verdict(tried.verdict, screen),
        How::CutShort | How::Stopped | How::PulledOut => screen.warning("BENCH TROUBLE") + "\n",
    };
    let mut lines: Vec<String> = drawn.lines().map(str::to_owned).collect();
    lines.extend(clipped(&tried.sentence, columns, SENTENCE));
    if let Ok(module) = lot.module_of(serial) {
        lines.extend(clipped(&module_line(module), columns, TO_DO));
    }
    if tried.verdict != Verdict::Pass {
        lines.extend(clipped(&tried.to_do, columns, TO_DO));
    }
    lines.push(String::new());
    lines
}

/// What is to be done at a station now.
fn now(station: &Station, lot: &Lot, screen: Screen) -> Vec<String> {
    let columns = usize::from(screen.width);
    let is_wide = columns >= large::COLUMNS;
    let text = match &station.stands {
        Stands::Ready(Seating::Module(serial)) => {
            let is_again =
                lot.module_of(serial).is_ok_and(|module| module.ruling.fate == Fate::ToRepeat);
            let again = if is_again { " again" } else { "" };
            let then = if is_wide { ", hands off, then press Enter" } else { ", then start" };
            format!("READY  seat {}{again}{then}", plain(serial))
        }
        Stands::Ready(Seating::Reference(serial, when)) => format!(
            "READY  the bench, {when}: seat {}, which is known to be good, hands off, then press Enter",
            plain(serial)
        ),
        Stands::Running(seating, progress) => {
            return running(seating.serial(), progress.as_ref(), columns);
        }
        Stands::Leaving { serial, is_asked } => {
            let then = if *is_asked { ", then press Enter" } else { "" };
            format!("DONE   take {} out{then}", plain(serial))
        }
        Stands::Checking(when) => format!("BENCH  it is looked at, {when}"),
        Stands::Idle => "DONE   nothing is left for this jig".into(),
        Stands::Failed(why) => {
            format!("BENCH TROUBLE  {}; put it right, then press Enter", plain(why))
        }
    };
    clipped(&text, columns, SENTENCE + 1)
}

/// The bar of a run.
fn running(serial: &str, progress: Option<&Progress>, columns: usize) -> Vec<String> {
    let serial = plain(serial);
    let Some(Progress { words, share, left }) = progress else {
        return vec![fit(&format!("TESTS  {serial}, hands off"), columns)];
    };
    let bar = if columns >= large::COLUMNS { 24 } else { 10 };
    let full = (share.clamp(0.0, 1.0) * f64::from(bar)).round() as usize;
    let drawn = "#".repeat(full) + &".".repeat(bar as usize - full);
    let seconds = left.as_millis().div_ceil(1000);
    let head = format!("TESTS  {serial} [{drawn}] {}:{:02}", seconds / 60, seconds % 60);
    vec![fit(&head, columns), fit(&format!("       {}", plain(words)), columns)]
}

/// A text in so many lines at most; what is cut off is shown to be.
fn clipped(text: &str, columns: usize, rows: usize) -> Vec<String> {
    let wrapped = wrap(text, columns, 0);
    let mut lines: Vec<String> = wrapped.lines().take(rows).map(str::to_owned).collect();
    if wrapped.lines().count() > rows
        && let Some(last) = lines.last_mut()
    {
        *last = fit(&format!("{last} …"), columns);
    }
    lines
}

/// The end of a muster: what became of the modules, and what to do with each pile. Lines ended. `time` is how long
/// it took; on a simulated bench what the runs would have taken.
pub fn end(desk: &Desk, time: Duration, simulated: bool, screen: Screen) -> String {
    let (lot, width) = (&desk.lot, usize::from(screen.width));
    let mut text = format!("Lot {}: {}\n", plain(&lot.name()), counts(lot));
    for (fate, to_do) in [
        (Fate::Accepted, "label them, and put them away"),
        (Fate::Rejected, "back to the seller, each with its reports"),
        (Fate::OnHold, "test each with the settling script, or decide with `musterbench lot`"),
        (Fate::ToRepeat, "put right what was wrong, and seat them again"),
        (Fate::Waiting, "not tested yet"),
    ] {
        let of = |module: &&crate::lot::standing::Module| module.ruling.fate == fate;
        let modules: Vec<_> = lot.modules.iter().filter(of).collect();
        if modules.is_empty() {
            continue;
        }
        let serials: Vec<String> = modules.iter().map(|module| plain(&module.serial)).collect();
        let line = format!(
            "{:<10}{} ({to_do}): {}",
            format!("{fate}:"),
            serials.len(),
            serials.join(", ")
        );
        text.push_str(&(wrap(&line, width, 10) + "\n"));
        if matches!(fate, Fate::Rejected | Fate::OnHold) {
            for module in modules {
                let line = format!("  {}", module_line(module));
                text.push_str(&(wrap(&line, width, 4) + "\n"));
            }
        }
    }
    let minutes = time.as_secs_f64() / 60.0;
    let seatings = match desk.seatings {
        0 => return text,
        1 => "1 seating".into(),
        many => format!("{many} seatings"),
    };
    let told = if simulated {
        format!("{seatings}, {minutes:.1} min of simulated runs\n")
    } else {
        let settled = turn::done(lot).0.saturating_sub(desk.done_before) as f64;
        let rate = 60.0 * settled / minutes;
        format!("{seatings} in {minutes:.1} min; {settled:.0} modules done, {rate:.0} an hour\n")
    };
    text + &told
}
