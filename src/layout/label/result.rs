//! What became of the module: the lowest part of the label.
//!
//! Never the last run alone: its fate, and beside it the newest check.

use super::Standing;
use super::frame::{BOLD, LEFT, RIGHT};
use crate::label::fit::{Fitted, fit};
use crate::label::svg::{Anchor, Area, Fill, Lettering, ORDINARY, Svg, width_mm};
use crate::lot::fate::Fate;
use crate::lot::modules_csv::newest_in_words;
use crate::lot::tries::Showed;

/// Upper edge of the boxes, and their height.
const BOX: (f64, f64) = (39.6, 4.6);

/// Room that is kept for serial and lot.
const KEPT: f64 = 27.0;

/// Fate and newest check, or that there was none.
pub fn draw(svg: &mut Svg, standing: Option<Standing<'_>>) {
    let Some(Standing { lot, module }) = standing else {
        let words = Fitted { text: "not tested".into(), size_mm: 3.4 };
        svg.text(LEFT, base(&words), &words, ORDINARY);
        return;
    };
    let mut x = LEFT;
    if module.is_simulated() {
        x = boxed(svg, x, "SIMULATED", 2.4, Fill::Black);
    }
    let fill = if module.ruling.fate == Fate::Rejected { Fill::Black } else { Fill::White };
    x = boxed(svg, x, &module.ruling.fate.to_string().to_uppercase(), 3.4, fill);

    let newest = module.newest_check();
    // What goes against an accepted module must not be overlooked.
    let bold = newest.is_some_and(|one| one.showed != Showed::Passes);
    let words = format!("newest check: {}", newest_in_words(module));
    svg.text(LEFT, 46.9, &fit(&words, RIGHT - LEFT, 2.5, 1.8), Lettering { bold, ..ORDINARY });
    let right = Lettering { anchor: Anchor::End, ..ORDINARY };
    let which = format!("{}, lot {lot}", module.serial);
    svg.text(RIGHT, 42.9, &fit(&which, RIGHT - x, 2.8, 1.7), right);
}

/// The base line on which capitals stand in the middle of a box: they are 0.73 of the font size.
fn base(text: &Fitted) -> f64 {
    BOX.0 + BOX.1 / 2.0 + 0.73 / 2.0 * text.size_mm
}

/// A word in a box; returns where the next one may begin.
fn boxed(svg: &mut Svg, x: f64, word: &str, size_mm: f64, fill: Fill) -> f64 {
    let fitted = fit(word, RIGHT - KEPT - x - 3.2, size_mm, 1.8);
    let width = width_mm(word, fitted.size_mm) + 1.6;
    svg.area(Area { x, y: BOX.0, width, height: BOX.1 }, fill, 0.5, 0.8);
    let look = Lettering { anchor: Anchor::Middle, black: fill == Fill::White, ..BOLD };
    svg.text(x + width / 2.0, base(&fitted), &fitted, look);
    x + width + 1.6
}
