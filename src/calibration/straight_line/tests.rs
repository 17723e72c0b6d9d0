use super::*;
use proptest::prelude::*;

fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{found} is not {wanted}");
}

fn equal_weights(pairs: &[(f64, f64)]) -> Vec<Point> {
    pairs.iter().map(|&(x, y)| Point { x, u_x: 0.0, y, u_y: 1.0 }).collect()
}

/// JCGM 100:2008, example H.3 (calibration of a thermometer), data of table H.6: readings less 20 °C
/// and corrections. Results of H.3.3 and H.3.4: y₁ = −0.1712 °C, s = 0.0029 °C; y₂ = 0.002 18,
/// s = 0.000 67; r = −0.930; s of one point 0.0035 °C; the correction at 30 °C is −0.1494 °C with
/// u = 0.0041 °C.
#[test]
fn gum_calibration_of_a_thermometer() {
    let readings =
        [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
    let corrections =
        [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
    let pairs: Vec<(f64, f64)> =
        readings.iter().zip(corrections).map(|(t, b)| (t - 20.0, b)).collect();
    let line = fit(&equal_weights(&pairs)).unwrap();
    close((line.chi_square / line.dof as f64).sqrt(), 0.0035, 5e-5);
    let line = line.by_scatter();
    close(line.offset, -0.1712, 5e-5);
    close(line.u_offset, 0.0029, 5e-5);
    close(line.gain, 0.00218, 5e-6);
    close(line.u_gain, 0.00067, 5e-6);
    close(line.covariance / (line.u_offset * line.u_gain), -0.930, 5e-4);
    assert_eq!(line.dof, 9);
    close(line.at(10.0), -0.1494, 5e-5);
    let r = line.covariance / (line.u_offset * line.u_gain);
    let u = crate::measure::uncertainty::correlated(
        &[line.u_offset, 10.0 * line.u_gain],
        &[[1.0, r], [r, 1.0]],
    );
    close(u, 0.0041, 5e-5);
}

/// NIST Statistical Reference Datasets, linear regression, `Norris` (calibration of ozone monitors,
/// 36 points): certified intercept −0.262323073774029 with standard deviation 0.232818234301152,
/// slope 1.00211681802045 with 0.429796848199937E-03, residual standard deviation
/// 0.884796396144373. The data and the estimates are those that SciPy's tests keep of the set.
#[test]
fn nist_norris() {
    let x = [
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
        666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1,
        887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
    ];
    let y = [
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
        668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3,
        888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
    ];
    let pairs: Vec<(f64, f64)> = x.into_iter().zip(y).collect();
    let line = fit(&equal_weights(&pairs)).unwrap();
    close((line.chi_square / line.dof as f64).sqrt(), 0.884_796_396_144_373, 1e-12);
    let line = line.by_scatter();
    close(line.offset, -0.262_323_073_774_029, 1e-11);
    close(line.u_offset, 0.232_818_234_301_152, 1e-12);
    close(line.gain, 1.002_116_818_020_45, 1e-13);
    close(line.u_gain, 0.429_796_848_199_937e-3, 1e-15);
}

/// Data of K. Pearson (1901) with the weights of D. York (1966), the usual trial of fits with errors
/// in both directions. Against `scipy.odr` of SciPy 1.15 (orthogonal distance regression, another
/// method for the same line): 5.47991, −0.480533; standard deviations 0.29497 and 0.057985 without
/// scaling; weighted sum of squares 11.866353.
#[test]
fn pearson_with_york_weights() {
    let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
    let w_x = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0];
    let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
    let w_y = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0];
    let points: Vec<Point> = (0..10)
        .map(|i| Point {
            x: x[i],
            u_x: 1.0 / f64::sqrt(w_x[i]),
            y: y[i],
            u_y: 1.0 / f64::sqrt(w_y[i]),
        })
        .collect();
    let line = fit(&points).unwrap();
    close(line.offset, 5.47991, 5e-6);
    close(line.gain, -0.480_533, 1e-6);
    close(line.u_offset, 0.29497, 5e-4);
    close(line.u_gain, 0.057_985, 5e-5);
    close(line.chi_square, 11.866_353, 1e-5);
}

#[test]
fn points_that_allow_no_line_are_told() {
    let p = |x, u_x, y, u_y| Point { x, u_x, y, u_y };
    assert_eq!(fit(&[p(1.0, 0.0, 1.0, 1.0)]), Err(NoLine::TooFew));
    let here = p(1.0, 0.1, 1.0, 0.1);
    assert_eq!(fit(&[here, here, here]), Err(NoLine::OnePlace));
    assert_eq!(fit(&[here, p(2.0, 0.0, 2.0, 0.0)]), Err(NoLine::Exact(2)));
    assert_eq!(fit(&[here, p(f64::NAN, 0.1, 2.0, 0.1)]), Err(NoLine::NoNumber(2)));
    assert_eq!(fit(&[here, p(2.0, -0.1, 2.0, 0.1)]), Err(NoLine::NoNumber(2)));
}

proptest! {
    /// Points on a line give that line, whatever their uncertainties, and moving one point moves the
    /// line as its influence says.
    #[test]
    fn a_line_is_found_again(
        offset in -1.0..1.0f64,
        gain in 0.5..2.0f64,
        u in prop::collection::vec((0.001..0.1f64, 0.001..0.1f64), 5),
        which in 0..5usize,
    ) {
        let mut points: Vec<Point> = u
            .iter()
            .enumerate()
            .map(|(i, &(u_x, u_y))| Point { x: i as f64, u_x, y: offset + gain * i as f64, u_y })
            .collect();
        let line = fit(&points).unwrap();
        prop_assert!((line.offset - offset).abs() < 1e-9 && (line.gain - gain).abs() < 1e-9);
        prop_assert!(line.chi_square < 1e-9);
        let shift = 1e-5;
        points[which].y += shift;
        let moved = fit(&points).unwrap();
        let [on_offset, on_gain] = line.influences[which];
        prop_assert!(((moved.offset - line.offset) / shift - on_offset).abs() < 1e-3);
        prop_assert!(((moved.gain - line.gain) / shift - on_gain).abs() < 1e-3);
    }
}
