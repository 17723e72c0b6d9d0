//! A QR code (ISO/IEC 18004), drawn.

use super::svg::Svg;
use qrcode::{Color, EcLevel, QrCode, Version};

/// The light edge around the code, in modules.
pub const QUIET: usize = 4;

/// The smallest module, in millimetres.
pub const LEAST_MM: f64 = 0.4;

/// The largest module that is of use, in millimetres.
const MOST_MM: f64 = 0.9;

/// The smallest version. Version 1 has no alignment pattern, and what is small or out of focus is read less well then:
/// `tests/plain/labels.rs` shows it.
const LEAST_VERSION: i16 = 2;

/// A dot of a printer with 300 dots to the inch, in millimetres. A module of whole dots is printed sharp.
const DOT_MM: f64 = 25.4 / 300.0;

/// A code: which of its modules are dark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Qr {
    width: usize,
    dark: Vec<bool>,
}

impl Qr {
    /// The code of a text; `None` where it is too long for any. Fifteen in a hundred of it may be spoilt, and more
    /// where the same size has room for it.
    pub fn of(text: &str) -> Option<Qr> {
        let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
        let size = match code.version() {
            Version::Normal(number) => Version::Normal(number.max(LEAST_VERSION)),
            micro @ Version::Micro(_) => micro,
        };
        let safer = |level| QrCode::with_version(text, size, level).ok();
        let code = safer(EcLevel::H).or_else(|| safer(EcLevel::Q)).or_else(|| safer(EcLevel::M))?;
        let dark = code.to_colors().into_iter().map(|colour| colour == Color::Dark).collect();
        Some(Qr { width: code.width(), dark })
    }

    /// How wide it is with the light edge, in modules.
    pub fn modules(&self) -> usize {
        self.width + 2 * QUIET
    }

    /// How large a module can be in a square of this size, the light edge counted; `None` where it would be too
    /// small to be read.
    pub fn module_mm(&self, room_mm: f64) -> Option<f64> {
        let most = (room_mm / self.modules() as f64).min(MOST_MM);
        let whole_dots = (most / DOT_MM + 1e-9).floor() * DOT_MM;
        if whole_dots >= LEAST_MM {
            Some(whole_dots)
        } else {
            (most + 1e-9 >= LEAST_MM).then_some(LEAST_MM)
        }
    }

    /// Draws it. `x` and `y` are the upper left corner of the light edge.
    pub fn draw(&self, svg: &mut Svg, x: f64, y: f64, module_mm: f64) {
        let at = |modules: usize| (QUIET + modules) as f64 * module_mm;
        let mut bars = Vec::new();
        for row in 0..self.width {
            let mut column = 0;
            while column < self.width {
                let is_dark = |at: usize| at < self.width && self.dark[row * self.width + at];
                let long = (column..).take_while(|at| is_dark(*at)).count();
                if long > 0 {
                    let (left, right) = (x + at(column), x + at(column + long));
                    bars.push([left, y + at(row), right, y + at(row + 1)]);
                }
                column += long.max(1);
            }
        }
        svg.bars(&bars);
    }
}
