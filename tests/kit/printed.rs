//! The codes of a drawing as a printer and a camera would have them, read by a reader that is not ours.

use roxmltree::{Document, Node};

/// Millimetres of an inch.
const INCH: f64 = 25.4;

/// A black rectangle, by its left, upper, right and lower edge, in millimetres.
pub type Bar = [f64; 4];

/// The shapes made of black bars: each is a code.
pub fn codes(svg: &str) -> Vec<Vec<Bar>> {
    let document = Document::parse(svg).unwrap_or_else(|e| panic!("{e}: {svg}"));
    let shapes = document.descendants().filter(|node| node.has_tag_name("path"));
    shapes.map(|node| bars(&node)).collect()
}

fn bars(node: &Node<'_, '_>) -> Vec<Bar> {
    let shape = node.attribute("d").expect("a shape");
    let number = |text: &str| text.parse::<f64>().expect("a number");
    let bar = |bar: &str| {
        let (left, rest) = bar.split_once(' ').expect("a corner");
        let (upper, rest) = rest.split_once('H').expect("a level edge");
        let (right, rest) = rest.split_once('V').expect("an upright edge");
        let (lower, back) = rest.split_once('H').expect("a level edge");
        assert_eq!(number(back), number(left), "{bar} is no rectangle");
        [left, upper, right, lower].map(number)
    };
    shape.split_terminator('Z').map(|text| bar(text.strip_prefix('M').expect("a start"))).collect()
}

/// All that a shape covers.
pub fn bounds(bars: &[Bar]) -> Bar {
    bars.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |all, bar| {
        [all[0].min(bar[0]), all[1].min(bar[1]), all[2].max(bar[2]), all[3].max(bar[3])]
    })
}

/// A picture in shades of grey, 0 is black.
pub struct Picture {
    width: usize,
    height: usize,
    light: Vec<f64>,
}

/// A shape as it is printed: so many dots an inch, each as dark as it is covered, with so much white around it, and
/// its corner anywhere between two dots.
pub fn printed(bars: &[Bar], dots_per_inch: f64, around_mm: f64, shift: f64) -> Picture {
    let dot = INCH / dots_per_inch;
    let [left, upper, right, lower] = bounds(bars);
    let (left, upper) = (left - around_mm - shift * dot, upper - around_mm - shift * dot);
    let dots = |mm: f64| (mm / dot).ceil() as usize;
    let (width, height) = (dots(right + around_mm - left), dots(lower + around_mm - upper));
    let mut light = vec![1.0; width * height];
    for bar in bars {
        let [l, u, r, b] =
            [bar[0] - left, bar[1] - upper, bar[2] - left, bar[3] - upper].map(|mm| mm / dot);
        for row in u.floor() as usize..(b.ceil() as usize).min(height) {
            for column in l.floor() as usize..(r.ceil() as usize).min(width) {
                let covered = |from: f64, to: f64, at: usize| {
                    (to.min(at as f64 + 1.0) - from.max(at as f64)).max(0.0)
                };
                light[row * width + column] -= covered(l, r, column) * covered(u, b, row);
            }
        }
    }
    Picture { width, height, light }
}

impl Picture {
    /// Out of focus: a Gaussian blur of so many dots.
    pub fn blurred(self, dots: f64) -> Picture {
        let reach = (3.0 * dots).ceil() as isize;
        let weights: Vec<f64> =
            (-reach..=reach).map(|at| (-0.5 * (at as f64 / dots).powi(2)).exp()).collect();
        let sum: f64 = weights.iter().sum();
        let along = |light: &[f64], x: isize, y: isize, dx: isize, dy: isize| -> f64 {
            let at = |i: isize| {
                let x = (x + i * dx).clamp(0, self.width as isize - 1);
                let y = (y + i * dy).clamp(0, self.height as isize - 1);
                light[y as usize * self.width + x as usize]
            };
            (-reach..=reach).zip(&weights).map(|(i, weight)| at(i) * weight).sum::<f64>() / sum
        };
        let mut light = self.light.clone();
        for (dx, dy) in [(1, 0), (0, 1)] {
            let before = light.clone();
            for y in 0..self.height as isize {
                for x in 0..self.width as isize {
                    light[y as usize * self.width + x as usize] = along(&before, x, y, dx, dy);
                }
            }
        }
        Picture { light, ..self }
    }

    /// Faded: so much of the contrast is left.
    pub fn faded(mut self, left: f64) -> Picture {
        self.light.iter_mut().for_each(|light| *light = 1.0 - (1.0 - *light) * left);
        self
    }

    /// What a reader that is not ours reads in it.
    pub fn read(&self) -> Option<String> {
        let grey =
            |x: usize, y: usize| (self.light[y * self.width + x].clamp(0.0, 1.0) * 255.0) as u8;
        let mut picture =
            rqrr::PreparedImage::prepare_from_greyscale(self.width, self.height, grey);
        let found = picture.detect_grids();
        assert!(found.len() <= 1, "more codes than one");
        found.first()?.decode().ok().map(|(_, text)| text)
    }
}
