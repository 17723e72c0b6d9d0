//! The operator while a jig is calibrated.

use crate::cli::operator::Operator;
use crate::cli::output;
use crate::procedure::calibration_points::{Assistant, Remark, Request};
use crate::report::calibration_prompt as prompt;

/// Asks at the terminal; unattended, a simulated bench does it by itself.
pub(super) struct AtTheBench<'a> {
    pub operator: Operator<'a>,
    pub unattended: bool,
}

impl Assistant for AtTheBench<'_> {
    fn act(&mut self, request: Request, alive: &mut dyn FnMut() -> bool) -> bool {
        let asked = prompt::request(&request, self.operator.subject());
        self.unattended || self.operator.has_done(&asked, alive)
    }

    fn read_meter(
        &mut self,
        shown: Option<f64>,
        alive: &mut dyn FnMut() -> bool,
    ) -> Option<String> {
        let shown = shown.map(prompt::simulated_meter);
        if self.unattended {
            return shown;
        }
        if let Some(text) = &shown {
            output::tell(&format!("  SIMULATED: the reference meter shows {text}"));
        }
        let asked = prompt::meter(self.operator.subject());
        let typed = |line: &str| Some(line.trim().to_owned());
        let line = self.operator.ask(&asked, prompt::METER, typed, alive)?;
        Some(if line.is_empty() { shown.unwrap_or(line) } else { line })
    }

    fn hear(&mut self, remark: &Remark) {
        output::tell(&prompt::remark(remark));
    }
}
