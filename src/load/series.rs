//! Preferred values of resistors (IEC 60063).

/// The E24 series; E3, E6 and E12 are parts of it.
const E24: [u32; 24] = [
    100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300, 330, 360, 390, 430, 470, 510, 560,
    620, 680, 750, 820, 910,
];

/// How many values the finest series has in a decade; E48 and E96 are parts of it.
const FINEST: u32 = 192;

/// The value of a series that is nearest to a resistance in ohms; `None` when it is one itself.
/// Resistances below 10 milliohms or above 100 megohms belong to no series here.
pub fn nearest_other(ohm: f64) -> Option<f64> {
    if !(0.01..=1e8).contains(&ohm) {
        return None;
    }
    let decade = 10f64.powf(ohm.log10().floor() - 2.0);
    let distance = |value: f64| (value / ohm).ln().abs();
    let nearest = values()
        .map(|value| f64::from(value) * decade)
        .min_by(|a, b| distance(*a).total_cmp(&distance(*b)))?;
    (distance(nearest) > 1e-9).then_some(nearest)
}

/// All values of a decade, from 100 to 1000.
fn values() -> impl Iterator<Item = u32> {
    let finest = (0..=FINEST).map(|i| match i {
        // The one value for which the standard departs from the rounded power of ten.
        185 => 920,
        i => (100.0 * 10f64.powf(f64::from(i) / f64::from(FINEST))).round() as u32,
    });
    E24.into_iter().chain(finest)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values out of the tables of IEC 60063 for E12, E24, E48, E96 and E192.
    #[test]
    fn values_of_the_tables_belong_to_a_series() {
        for ohm in [
            22.0, 47.0, 82.0, 0.33, 1.5e3, 910.0, 2.4e6, 1.0, 10.0, 105.0, 261.0, 953.0, 10.2,
            97.6, 101.0, 920.0, 988.0, 1.27e3,
        ] {
            assert_eq!(nearest_other(ohm), None, "{ohm}");
        }
    }

    #[test]
    fn slips_do_not() {
        for (ohm, nearest) in
            [(230.0, 229.0), (4.75e3 + 50.0, 4.81e3), (919.0, 920.0), (99.9, 100.0)]
        {
            let found = nearest_other(ohm).unwrap();
            assert!((found / nearest - 1.0).abs() < 1e-9, "{ohm}: {found}");
        }
        assert_eq!(nearest_other(0.0), None);
    }

    /// E96 is every other value of E192, rounded alike; so are its values here.
    #[test]
    fn the_finest_series_has_192_values() {
        let mut all: Vec<u32> = values().skip(24).collect();
        all.dedup();
        assert_eq!(all.len(), 193);
    }
}
