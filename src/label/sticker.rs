//! What is printed for a module: a sticker with its serial before anything is known of it, a label once it is
//! accepted, a tag where it is rejected or on hold.

use super::code;
use super::fit::fit;
use super::qr::{LEAST_MM, Qr};
use super::svg::{Anchor, Area, Fill, Lettering, ORDINARY, Svg, width_mm};
use crate::lot::decision::Whereabouts;
use crate::lot::fate::Fate;
use crate::lot::modules_csv::newest_in_words;
use crate::lot::standing::Module;
use crate::lot::tries::Showed;
use thiserror::Error;

/// The edge of a label that stays white, in millimetres.
const EDGE: f64 = 1.5;

/// From base line to base line, in font sizes.
const LEADING: f64 = 1.3;

/// The smallest letters, in millimetres.
const LEAST: f64 = 1.4;

/// A label that has no room for its code.
#[derive(Clone, Debug, PartialEq, Error)]
#[error(
    "the code of {serial} needs a square of {needed:.1} mm, and a label of this sheet leaves {room:.1} mm: take larger \
     labels, or shorter names"
)]
pub struct NoRoom {
    serial: String,
    needed: f64,
    room: f64,
}

/// What is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Its serial, before it is unpacked.
    Number,
    /// It is accepted.
    Label,
    /// It is rejected, or on hold.
    Tag,
}

/// What is printed for a module by what became of it; `None` where nothing is settled.
pub fn by_fate(fate: Fate) -> Option<What> {
    match fate {
        Fate::Accepted => Some(What::Label),
        Fate::Rejected | Fate::OnHold => Some(What::Tag),
        Fate::Waiting | Fate::ToRepeat => None,
    }
}

/// A sticker of a module.
#[derive(Clone, Copy, Debug)]
pub struct Sticker<'a> {
    /// What it is.
    pub what: What,
    /// The lot.
    pub lot: &'a str,
    /// The kind of its modules.
    pub kind: &'a str,
    /// The module.
    pub module: &'a Module,
}

/// A line of text.
struct Line {
    text: String,
    size_mm: f64,
    bold: bool,
}

fn line(text: impl Into<String>, size_mm: f64, bold: bool) -> Line {
    Line { text: text.into(), size_mm, bold }
}

impl Sticker<'_> {
    /// Draws it.
    ///
    /// # Errors
    /// When there is no room for its code.
    pub fn draw(&self, svg: &mut Svg, place: Area) -> Result<(), NoRoom> {
        let within = inset(place, EDGE);
        match self.what {
            What::Number => self.with_code(svg, within, &self.numbered(), &[]),
            What::Label => self.with_code(svg, within, &self.accepted(), &self.details()),
            What::Tag => {
                self.tag(svg, within);
                Ok(())
            }
        }
    }

    fn numbered(&self) -> Vec<Line> {
        vec![
            line(&self.module.serial, 5.0, true),
            line(format!("lot {}", self.lot), 2.8, false),
            line(self.kind, 2.4, false),
        ]
    }

    fn accepted(&self) -> Vec<Line> {
        let mut lines = Vec::new();
        if self.module.is_simulated() {
            lines.push(line("SIMULATED", 2.8, true));
        }
        lines.push(line("ACCEPTED", 3.6, true));
        lines.push(line(&self.module.serial, 4.2, true));
        lines.push(line(format!("lot {}", self.lot), 2.6, false));
        lines
    }

    /// The newest check, and where the module is.
    fn details(&self) -> Vec<Line> {
        let newest = self.module.newest_check();
        // What goes against an accepted module must not be overlooked.
        let bold = newest.is_some_and(|one| one.showed != Showed::Passes);
        let mut lines =
            vec![line(format!("newest check: {}", newest_in_words(self.module)), 2.4, bold)];
        lines.push(match &self.module.whereabouts {
            Some((Whereabouts::BuiltIn, Some(at))) => line(format!("for {at}"), 2.8, true),
            _ => line(self.kind, 2.2, false),
        });
        lines
    }

    /// A code on the left with lines beside it and below it; all beside it where nothing has room below.
    fn with_code(
        &self,
        svg: &mut Svg,
        within: Area,
        beside: &[Line],
        below: &[Line],
    ) -> Result<(), NoRoom> {
        let room = within.height.min(within.width * 0.52);
        let text = code::write(self.lot, &self.module.serial);
        let qr = Qr::of(&text);
        let module_mm = qr.as_ref().and_then(|qr| qr.module_mm(room));
        let (Some(qr), Some(module_mm)) = (&qr, module_mm) else {
            let needed = qr.map_or(f64::INFINITY, |qr| qr.modules() as f64 * LEAST_MM);
            return Err(NoRoom { serial: self.module.serial.clone(), needed, room });
        };
        let side = qr.modules() as f64 * module_mm;
        let left = within.height - side;
        let has_room_below = left >= LEAST * LEADING * below.len() as f64;
        qr.draw(svg, within.x, within.y, module_mm);
        let x = within.x + side;
        let width = within.x + within.width - x;
        if has_room_below {
            stack(svg, Area { x, width, height: side, ..within }, beside.iter());
            let lower = Area { y: within.y + side, height: left, ..within };
            stack(svg, lower, below.iter());
        } else {
            stack(svg, Area { x, width, ..within }, beside.iter().chain(below));
        }
        Ok(())
    }

    /// A bar with the word, and below it why.
    fn tag(&self, svg: &mut Svg, within: Area) {
        let is_rejected = self.module.ruling.fate == Fate::Rejected;
        let bar = Area { height: (within.height * 0.26).min(8.0), ..within };
        let fill = if is_rejected { Fill::Black } else { Fill::White };
        svg.area(within, Fill::White, 0.6, 0.6);
        svg.area(bar, fill, 0.6, 0.6);
        let word = self.module.ruling.fate.to_string().to_uppercase();
        let word = fit(&word, bar.width - 2.0, bar.height * 0.75, LEAST);
        let look = Lettering { anchor: Anchor::Middle, bold: true, black: !is_rejected };
        let base = bar.y + bar.height / 2.0 + 0.73 / 2.0 * word.size_mm;
        svg.text(bar.x + bar.width / 2.0, base, &word, look);

        let rest = Area { y: within.y + bar.height, height: within.height - bar.height, ..within };
        let rest = inset(rest, 0.8);
        let mut lines = vec![line(&self.module.serial, 4.0, true)];
        let simulated = if self.module.is_simulated() { ", SIMULATED" } else { "" };
        lines.push(line(format!("lot {}{simulated}", self.lot), 2.4, false));
        let why = broken(&self.module.ruling.reason, rest.width, 2.4);
        lines.extend(why.into_iter().take(4).map(|text| line(text, 2.4, false)));
        lines.push(line(format!("newest check: {}", newest_in_words(self.module)), 2.2, false));
        stack(svg, rest, lines.iter());
    }
}

fn inset(area: Area, by: f64) -> Area {
    Area {
        x: area.x + by,
        y: area.y + by,
        width: area.width - 2.0 * by,
        height: area.height - 2.0 * by,
    }
}

/// Lines below each other, smaller where there is no room; those that would become too small to be read are left out,
/// the last ones first.
fn stack<'l>(svg: &mut Svg, within: Area, lines: impl Iterator<Item = &'l Line>) {
    let mut lines: Vec<&Line> = lines.collect();
    let high = |lines: &[&Line]| lines.iter().map(|line| line.size_mm * LEADING).sum::<f64>();
    let shrunk = |lines: &[&Line]| (within.height / high(lines)).min(1.0);
    while lines.iter().any(|line| line.size_mm * shrunk(&lines) < LEAST) && lines.len() > 1 {
        lines.pop();
    }
    let shrunk = shrunk(&lines);
    let mut y = within.y + (within.height - high(&lines) * shrunk) / 2.0;
    for line in lines {
        let size = line.size_mm * shrunk;
        let fitted = fit(&line.text, within.width, size, LEAST.min(size));
        svg.text(within.x, y + size, &fitted, Lettering { bold: line.bold, ..ORDINARY });
        y += size * LEADING;
    }
}

/// A text in lines that are no wider than that, where a word allows it.
fn broken(text: &str, room_mm: f64, size_mm: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = lines.last().map(|last| format!("{last} {word}"));
        match (longer.filter(|longer| width_mm(longer, size_mm) <= room_mm), lines.last_mut()) {
            (Some(longer), Some(last)) => *last = longer,
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
