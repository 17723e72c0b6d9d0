//! The label of a module: what it is, what it answers to, how its switches stand, how it fared.
//!
//! Black on white, so that any printer can print it, and nothing is told by colour alone.

mod bank;
mod frame;
mod result;

use super::plan::{PlannedModule, span_in_words};
use crate::label::fit::fit;
pub use crate::label::svg::OWN;
use crate::label::svg::{Anchor, Area, Fill, Lettering, ORDINARY, Svg, width_mm};
use crate::lot::standing::Module;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use frame::{BOLD, COLUMN, LEFT, RIGHT};
pub use frame::{HEIGHT_MM, WIDTH_MM};

/// How the module that a label is for stands in its lot.
#[derive(Clone, Copy, Debug)]
pub struct Standing<'a> {
    /// The lot.
    pub lot: &'a str,
    /// The module, by its own name.
    pub module: &'a Module,
}

/// A label as SVG. `switches` are the module's settings (bit 0 is switch 1).
pub fn draw(module: &PlannedModule, switches: u32, standing: Option<Standing<'_>>) -> String {
    let mut svg = Svg::new(WIDTH_MM, HEIGHT_MM, &format!("Label of the module {}", module.name));
    let outline = Area { x: 0.25, y: 0.25, width: WIDTH_MM - 0.5, height: HEIGHT_MM - 0.5 };
    svg.area(outline, Fill::White, 0.3, 2.0);
    head(&mut svg, module);
    svg.rule(LEFT, RIGHT, 14.6);
    outputs(&mut svg, module);
    settings(&mut svg, module, switches);
    svg.rule(LEFT, RIGHT, 38.6);
    result::draw(&mut svg, standing);
    svg.finish()
}

/// Name and kind on the left, format and addresses on the right.
fn head(svg: &mut Svg, module: &PlannedModule) {
    let right = Lettering { anchor: Anchor::End, ..ORDINARY };
    let addresses = fit(&span_in_words(&module.addresses()), 30.0, 5.6, 2.5);
    svg.text(RIGHT, 8.4, &addresses, Lettering { bold: true, ..right });
    svg.text(LEFT, 8.4, &fit(&module.name, RIGHT - LEFT - 32.0, 6.4, 3.2), BOLD);

    let format = match (module.format, module.counted) {
        (Format::Dcc, Numbering::FromGroupZero) => "dcc, counted from group 0".to_owned(),
        (format, _) => format.to_string(),
    };
    let format = fit(&format, 30.0, 2.8, 1.8);
    let room = RIGHT - LEFT - width_mm(&format.text, format.size_mm) - 2.0;
    svg.text(RIGHT, 12.6, &format, right);
    svg.text(LEFT, 12.6, &fit(&module.sheet.title, room, 2.8, 2.1), ORDINARY);
}

/// A line for each output: its number in a box, its address, its name.
fn outputs(svg: &mut Svg, module: &PlannedModule) {
    for ((number, address), name) in (1..).zip(module.addresses()).zip(&module.outputs) {
        let base = 14.2 + 5.5 * f64::from(number);
        let place = Area { x: LEFT, y: base - 3.5, width: 4.4, height: 4.6 };
        svg.area(place, Fill::White, 0.2, 0.6);
        let middle = Lettering { anchor: Anchor::Middle, ..ORDINARY };
        svg.text(LEFT + 2.2, base, &fit(&number.to_string(), 4.0, 3.2, 2.0), middle);
        svg.text(LEFT + 6.0, base, &fit(&address.to_string(), 10.0, 3.4, 2.0), BOLD);
        if let Some(name) = name {
            let x = LEFT + 16.4;
            svg.text(x, base, &fit(name, COLUMN - 2.0 - x, 3.2, 2.0), ORDINARY);
        }
    }
}

/// The switches, drawn and in words, with the caution that goes with them.
fn settings(svg: &mut Svg, module: &PlannedModule, switches: u32) {
    let count = module.sheet.switches.weights.len() as u8;
    let room = RIGHT - COLUMN;
    svg.text(COLUMN, 18.4, &fit("Set with the power off:", room, 2.6, 2.0), ORDINARY);
    let place = Area { x: COLUMN, y: 20.2, width: room, height: 12.6 };
    bank::draw(svg, place, switches, count);
    svg.text(COLUMN, 36.6, &fit(&in_words(switches, count), room, 2.6, 1.0), ORDINARY);
}

/// Which switches are on, short enough never to be cut.
fn in_words(switches: u32, count: u8) -> String {
    let all: Vec<u8> = (1..=count).collect();
    let on: Vec<u8> = all.iter().copied().filter(|n| switches >> (n - 1) & 1 == 1).collect();
    if on.is_empty() {
        "all off".to_owned()
    } else if on == all {
        "all on".to_owned()
    } else {
        let on: Vec<String> = on.iter().map(u8::to_string).collect();
        format!("on: {}", on.join(" "))
    }
}

#[cfg(test)]
mod tests;
