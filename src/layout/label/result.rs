//! How the module fared: the lowest part of the label.

use super::fit::{Fitted, fit};
use super::frame::{BOLD, LEFT, RIGHT};
use super::svg::{Anchor, Area, Fill, Lettering, ORDINARY, Svg, width_mm};
use crate::judge::reading::Verdict;
use crate::record::run_record::RunSummary;

/// Upper edge of the boxes, and their height.
const BOX: (f64, f64) = (40.3, 5.6);

/// Room that is kept for date, lot and run.
const KEPT: f64 = 25.0;

/// Verdict and date of a run, or that there was none.
pub fn draw(svg: &mut Svg, last_run: Option<&RunSummary>) {
    let Some(run) = last_run else {
        let words = Fitted { text: "not tested".into(), size_mm: 3.8 };
        svg.text(LEFT, base(&words), &words, ORDINARY);
        return;
    };
    let mut x = LEFT;
    if run.facts.simulated {
        x = boxed(svg, x, "SIMULATED", Fill::Black);
    }
    let verdict = match run.verdict {
        Verdict::Pass => "PASS",
        Verdict::Fail => "FAIL",
        Verdict::Indeterminate => "INDETERMINATE",
    };
    x = boxed(svg, x, verdict, Fill::White);

    let date = run.facts.started.get(..10).unwrap_or(&run.facts.started);
    let cut = if run.is_cut_short() { "cut short, " } else { "" };
    let right = Lettering { anchor: Anchor::End, ..ORDINARY };
    let room = RIGHT - x;
    svg.text(RIGHT, 42.8, &fit(&format!("{cut}{date}"), room, 2.8, 1.6), right);
    let which = format!("run {}, lot {}", run.facts.run, run.facts.lot);
    svg.text(RIGHT, 46.0, &fit(&which, room, 2.4, 1.8), right);
}

/// The base line on which capitals stand in the middle of a box: they are 0.73 of the font size.
fn base(text: &Fitted) -> f64 {
    BOX.0 + BOX.1 / 2.0 + 0.73 / 2.0 * text.size_mm
}

/// A word in a box; returns where the next one may begin.
fn boxed(svg: &mut Svg, x: f64, word: &str, fill: Fill) -> f64 {
    let fitted = fit(word, RIGHT - KEPT - x - 3.2, 3.6, 1.8);
    let width = width_mm(word, fitted.size_mm) + 1.6;
    svg.area(Area { x, y: BOX.0, width, height: BOX.1 }, fill, 0.5, 0.8);
    let look = Lettering { anchor: Anchor::Middle, black: fill == Fill::White, ..BOLD };
    svg.text(x + width / 2.0, base(&fitted), &fitted, look);
    x + width + 1.6
}
