//! The picture of a bank of switches.

use crate::label::fit::fit;
use crate::label::svg::{Anchor, Area, Fill, Lettering, ORDINARY, Svg};

/// How wide a switch is drawn at most, with the gap to the next one.
const WIDEST: f64 = 3.7;

/// Draws a bank, switch 1 on the left: a black slider at the top is on, a white one at the bottom
/// is off. Bit 0 of `switches` is switch 1.
pub fn draw(svg: &mut Svg, within: Area, switches: u32, count: u8) {
    let margin = 5.0;
    let pitch = ((within.width - margin) / f64::from(count.max(1))).min(WIDEST);
    let numbers = 3.0;
    let height = within.height - numbers;
    let word = |text: &str| fit(text, margin, 2.2, 1.5);
    svg.text(within.x, within.y + 2.4, &word("on"), Lettering { bold: true, ..ORDINARY });
    svg.text(within.x, within.y + height - 1.0, &word("off"), ORDINARY);
    for switch in 0..count {
        let is_on = switches >> switch & 1 == 1;
        let slot = Area {
            x: within.x + margin + pitch * f64::from(switch),
            y: within.y,
            width: pitch * 0.78,
            height,
        };
        svg.area(slot, Fill::White, 0.2, 0.3);
        let inset = slot.width * 0.16;
        let slider = Area {
            x: slot.x + inset,
            y: if is_on { slot.y + inset } else { slot.y + height / 2.0 },
            width: slot.width - 2.0 * inset,
            height: height / 2.0 - inset,
        };
        svg.area(slider, if is_on { Fill::Black } else { Fill::White }, 0.2, 0.2);
        let number = fit(&(switch + 1).to_string(), pitch, 2.2, 0.5);
        let middle = Lettering { anchor: Anchor::Middle, bold: is_on, ..ORDINARY };
        svg.text(slot.x + slot.width / 2.0, within.y + height + 2.6, &number, middle);
    }
}
