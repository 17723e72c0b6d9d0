use super::*;

fn measured(text: &str) -> Result<f64, Error> {
    Measured::read(&mut Parameters::answer(text.as_bytes())).map(|measured| measured.0)
}

/// SCPI-1999, volume 1, 7.2.1.4 and 7.2.1.5.
#[test]
fn infinity_and_not_a_number_are_told_apart() {
    assert_eq!(measured("9.9E+37"), Ok(f64::INFINITY));
    assert_eq!(measured("-9.9E37"), Ok(f64::NEG_INFINITY));
    assert!(measured("9.91E+37").is_ok_and(f64::is_nan));
    assert_eq!(measured("9.8E+37"), Ok(9.8e37));
}

#[test]
fn values_are_digits() {
    assert_eq!(measured("1.25E-4"), Ok(1.25e-4));
    assert_eq!(measured("-3"), Ok(-3.0));
    for said in ["inf", "NaN", "infinity", "", "-", "0x10"] {
        assert!(measured(said).is_err(), "{said}");
    }
}

#[test]
fn times_go_over_in_whole_microseconds() {
    for time_us in [0, 1, 10, 200, 999_999, 60_000_000, 3_600_000_001] {
        assert_eq!(Seconds::from_us(time_us).in_us(), time_us);
    }
    assert_eq!(Seconds(-1.0).in_us(), 0);
}
