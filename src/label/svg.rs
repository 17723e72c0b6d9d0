//! Plain SVG 1.1: rectangles, lines and text, in millimetres.

use super::fit::{Fitted, width_em};
use crate::plain::plain;
use std::fmt::Write;

/// A drawing. Coordinates are millimetres from its upper left corner.
#[derive(Debug)]
pub struct Svg {
    text: String,
}

/// Which end of a text its `x` means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Where it begins.
    Start,
    /// Its middle.
    Middle,
    /// Where it ends.
    End,
}

/// How an area is filled; its edge is black.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    /// White.
    White,
    /// Black.
    Black,
}

/// A rectangle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// How a text looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lettering {
    /// Which end of it `x` means.
    pub anchor: Anchor,
    /// Heavy letters.
    pub bold: bool,
    /// Black on white, else white on black.
    pub black: bool,
}

/// Ordinary letters that begin at `x`.
pub const ORDINARY: Lettering = Lettering { anchor: Anchor::Start, bold: false, black: true };

/// By this a drawing is known as one of ours.
pub const OWN: &str = "Drawn by musterbench label";

impl Svg {
    /// An empty drawing of a size in millimetres, with a title for those who cannot see it.
    pub fn new(width: f64, height: f64, title: &str) -> Self {
        let title = escaped(title);
        let text = format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
             <svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{width}mm\" \
             height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" \
             font-family=\"DejaVu Sans, Arial, Helvetica, sans-serif\">\n\
             <!-- {OWN} -->\n\
             <title>{title}</title>\n"
        );
        Svg { text }
    }

    /// A rectangle with a black edge and round corners.
    pub fn area(&mut self, area: Area, fill: Fill, edge: f64, corner: f64) {
        let Area { x, y, width, height } = area;
        let fill = match fill {
            Fill::White => "white",
            Fill::Black => "black",
        };
        self.line(&format!(
            "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" rx=\"{corner}\" \
             fill=\"{fill}\" stroke=\"black\" stroke-width=\"{edge}\"/>",
            x = mm(x),
            y = mm(y),
            width = mm(width),
            height = mm(height),
            corner = mm(corner),
            edge = mm(edge),
        ));
    }

    /// A thin upright line.
    pub fn upright(&mut self, x: f64, from_y: f64, to_y: f64) {
        self.line(&format!(
            "<line x1=\"{x}\" y1=\"{}\" x2=\"{x}\" y2=\"{}\" stroke=\"black\" stroke-width=\"0.2\"/>",
            mm(from_y),
            mm(to_y),
            x = mm(x),
        ));
    }

    /// A thin level line.
    pub fn rule(&mut self, from_x: f64, to_x: f64, y: f64) {
        self.line(&format!(
            "<line x1=\"{}\" y1=\"{y}\" x2=\"{}\" y2=\"{y}\" stroke=\"black\" \
             stroke-width=\"0.2\"/>",
            mm(from_x),
            mm(to_x),
            y = mm(y),
        ));
    }

    /// Black bars without an edge, each by its left, upper, right and lower edge, in one shape: nothing shows
    /// between two that touch.
    pub fn bars(&mut self, bars: &[[f64; 4]]) {
        let bar = |[left, upper, right, lower]: &[f64; 4]| {
            let [left, upper, right, lower] = [left, upper, right, lower].map(|at| fine_mm(*at));
            format!("M{left} {upper}H{right}V{lower}H{left}Z")
        };
        let shape: String = bars.iter().map(bar).collect();
        self.line(&format!("<path d=\"{shape}\" fill=\"black\" shape-rendering=\"crispEdges\"/>"));
    }

    /// A text on a base line at `y`.
    pub fn text(&mut self, x: f64, y: f64, fitted: &Fitted, look: Lettering) {
        let anchor = match look.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if look.bold { " font-weight=\"bold\"" } else { "" };
        let fill = if look.black { "black" } else { "white" };
        self.line(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" fill=\"{fill}\"{anchor}{weight}>{}</text>",
            mm(x),
            mm(y),
            mm(fitted.size_mm),
            escaped(&fitted.text),
        ));
    }

    /// The whole text of the drawing.
    pub fn finish(mut self) -> String {
        self.line("</svg>");
        self.text
    }

    fn line(&mut self, line: &str) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.text, "{line}");
    }
}

/// How wide a text is at most, in millimetres.
pub fn width_mm(text: &str, size_mm: f64) -> f64 {
    width_em(text) * size_mm
}

/// A length to a hundredth of a millimetre, never rounded up.
fn mm(length: f64) -> f64 {
    (length * 100.0 + 1e-6).floor() / 100.0
}

/// A place to a thousandth of a millimetre.
fn fine_mm(at: f64) -> f64 {
    (at * 1000.0).round() / 1000.0
}

/// Text as XML 1.0 may hold it (section 2.2 on characters, 2.4 on mark-up).
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in plain(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}
