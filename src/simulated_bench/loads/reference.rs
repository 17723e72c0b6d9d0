//! The bench's filament and motor against SciPy's solver of differential equations:
//! `tests/reference/warm-up`.

use super::LoadModel;
use super::element::Element;

const TABLE: &str = include_str!("../../../tests/reference/warm-up/table.csv");

/// When its current on a constant voltage falls to a level, seconds.
fn falls_to(element: &mut dyn Element, volt: f64, level: f64, h: f64) -> f64 {
    element.begin(volt);
    let now = |h: f64, element: &mut dyn Element| element.affine(volt, h).at(volt);
    let (mut t, mut before) = (0.0, now(0.0, element));
    loop {
        let after = now(h, element);
        element.step(volt, h);
        if after <= level {
            return t + h * (before - level) / (before - after);
        }
        (t, before) = (t + h, after);
    }
}

#[test]
fn loads_warm_up_and_run_up_as_a_general_solver_says() {
    let mut rows = 0;
    for line in TABLE.lines().skip(2) {
        let (kind, rest) = line.split_once(',').expect("a kind");
        let numbers: Vec<f64> = rest.split(',').map(|n| n.parse().expect("a number")).collect();
        let [rated_v, rated_a, excess, time_s, share, first, settled, half_s, settled_s] =
            numbers[..]
        else {
            panic!("{line}")
        };
        let names = match kind {
            "lamp" => ["rated_voltage", "rated_current", "inrush_ratio", "warm_up"],
            _ => ["at_voltage", "run_current", "start_current", "run_up"],
        };
        let values: Vec<_> = names.into_iter().zip([rated_v, rated_a, excess, time_s]).collect();
        let new = || LoadModel::of(kind, &values).expect("a load").elements().remove(0);
        let volt = share * rated_v;
        let begins = new().affine(volt, 0.0).at(volt);
        assert!((begins / first - 1.0).abs() < 1e-3, "{line}: begins with {begins}");
        let h = half_s / 500.0;
        for (level, wanted) in [((first + settled) / 2.0, half_s), (1.002 * settled, settled_s)] {
            let found = falls_to(&mut *new(), volt, level, h);
            assert!((found / wanted - 1.0).abs() < 0.01, "{line}: {found} for {wanted}");
        }
        rows += 1;
    }
    assert_eq!(rows, 42);
}
