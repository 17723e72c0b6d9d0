//! How likely a verdict is wrong, in words.

use crate::judge::run_risk::RunRisk;
use crate::plain::plain;

/// Less than this is not worth a figure.
const NEVER: f64 = 1e-6;

/// A line for the passes and one for the fails, ended; none where nothing could have been wrong.
pub fn lines(risk: &RunRisk) -> String {
    passes(risk) + &fails(risk)
}

fn passes(risk: &RunRisk) -> String {
    let (Some((largest, quantity, step)), Some(any)) = (&risk.largest, risk.of_accepting()) else {
        return String::new();
    };
    if any < NEVER {
        return "Chance that any of the passes is wrong: less than 1 in a million\n".into();
    }
    let what = plain(quantity).replace('_', " ");
    format!(
        "Chance that a pass is wrong: {} in the worst reading ({what}, {}); that any of them is: \
         {} at most\n",
        share(*largest),
        plain(step),
        share(any),
    )
}

fn fails(risk: &RunRisk) -> String {
    match risk.of_rejecting() {
        // What was counted, or was not there, needs no chance.
        None | Some(0.0) => String::new(),
        Some(all) => format!("Chance that all of the fails are wrong: {} at most\n", share(all)),
    }
}

/// A chance in per cent, two digits of it.
pub fn share(chance: f64) -> String {
    if chance < NEVER {
        return "less than 1 in a million".into();
    }
    let percent = 100.0 * chance;
    let decimals = (1 - percent.log10().floor() as i32).max(0) as usize;
    format!("{percent:.decimals$} %")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::{Reading, Verdict};
    use crate::record::example;

    fn with(verdict: Verdict, risk: f64) -> Reading {
        Reading { risk: Some(risk), ..example::reading(verdict, None) }
    }

    #[test]
    fn the_worst_and_the_sum_are_told() {
        let mut risk = RunRisk::default();
        assert_eq!(lines(&risk), "");
        risk.add(&with(Verdict::Pass, 1e-9));
        assert_eq!(
            lines(&risk),
            "Chance that any of the passes is wrong: less than 1 in a million\n"
        );
        risk.add(&with(Verdict::Pass, 0.0126));
        risk.add(&with(Verdict::Pass, 0.002));
        assert_eq!(
            lines(&risk),
            "Chance that a pass is wrong: 1.3 % in the worst reading (load current, output 2 to b, \
             by command); that any of them is: 1.5 % at most\n"
        );
        (0..99).for_each(|_| risk.add(&with(Verdict::Pass, 0.02)));
        assert!(lines(&risk).ends_with("100 % at most\n"));
    }

    #[test]
    fn the_surest_fail_bounds_them_all() {
        let mut risk = RunRisk::default();
        risk.add(&with(Verdict::Fail, 0.02));
        risk.add(&with(Verdict::Fail, 0.0004));
        assert_eq!(lines(&risk), "Chance that all of the fails are wrong: 0.040 % at most\n");
        // A count is certain.
        risk.add(&Reading { risk: None, ..example::reading(Verdict::Fail, None) });
        assert_eq!((lines(&risk).as_str(), risk.of_rejecting()), ("", Some(0.0)));
    }

    #[test]
    fn shares_have_two_digits() {
        for (chance, shown) in [
            (0.0, "less than 1 in a million"),
            (0.5, "50 %"),
            (0.0224, "2.2 %"),
            (0.000_31, "0.031 %"),
            (1e-9, "less than 1 in a million"),
        ] {
            assert_eq!(share(chance), shown);
        }
    }
}
