use super::*;
use proptest::prelude::*;

fn number(text: &str, unit: Unit) -> Result<f64, i16> {
    Parameters::read(text.as_bytes())
        .and_then(|mut parameters| {
            let value = parameters.number(unit)?;
            parameters.finish()?;
            Ok(value)
        })
        .map_err(|error| error.code.number())
}

fn plain(text: &str) -> Result<f64, i16> {
    number(text, Unit::None)
}

#[test]
fn decimal_numbers_in_all_their_forms() {
    for (text, value) in [
        ("1", 1.0),
        ("+1.", 1.0),
        ("-.5", -0.5),
        ("0012", 12.0),
        ("1.25E-4", 1.25e-4),
        ("1.5 e +3", 1500.0),
        ("1 E 3", 1000.0),
        ("1e-999", 0.0),
        ("#H1f", 31.0),
        ("#q17", 15.0),
        ("#B101", 5.0),
    ] {
        assert_eq!(plain(text), Ok(value), "{text}");
    }
}

#[test]
fn malformed_numbers() {
    for (text, error) in [
        (".", -120),
        ("+", -120),
        ("- 1", -120),
        ("1.2.3", -121),
        ("1_0", -121),
        ("1-2", -121),
        ("1e999", -222),
        ("-1E400", -222),
        ("1e32001", -123),
        ("1e-99999999999", -123),
        ("0x10", -138),
        ("1E", -138),
        ("#H", -120),
        ("#HG", -121),
        ("#Q8", -121),
        ("#B2", -121),
        ("#X1", -120),
        ("#HFFFFFFFFFFFFFFFFF", -222),
        ("#0", -168),
        ("NAN", -222),
        ("INF", -222),
        ("infinity", -222),
        ("NINF", -222),
        ("ABC", -148),
        ("'1'", -158),
        ("(1)", -178),
        ("1,2", -108),
        ("", -109),
        ("1 2", -103),
        ("1;2", -103),
    ] {
        assert_eq!(plain(text), Err(error), "{text}");
    }
    let long = "1".repeat(256);
    assert_eq!(plain(&long), Err(-124));
    assert_eq!(plain(&long[..255]), Ok(long[..255].parse().expect("finite")));
    assert_eq!(plain(&format!("{}1", "0".repeat(400))), Ok(1.0), "leading zeros do not count");
}

/// IEEE 488.2, 7.7.3 and table 7-2.
#[test]
fn suffixes_scale_exactly() {
    use Unit::*;
    for (text, unit, value) in [
        ("5", Volt, 5.0),
        ("5 V", Volt, 5.0),
        ("16.5V", Volt, 16.5),
        ("250 MA", Ampere, 0.25),
        ("250ma", Ampere, 0.25),
        ("1 MAA", Ampere, 1e6),
        ("1 MAV", Volt, 1e6),
        ("3 MV", Volt, 0.003),
        ("7 UA", Ampere, 7e-6),
        ("100.1 ms", Second, 0.1001),
        ("20 US", Second, 20e-6),
        ("1e3us", Second, 1e-3),
        ("2.2 KOHM", Ohm, 2200.0),
        ("1 MOHM", Ohm, 1e6),
        ("1 MHZ", Hertz, 1e6),
        ("1 KHZ", Hertz, 1e3),
        ("2 EXV", Volt, 2e18),
        ("2E 2 V", Volt, 200.0),
    ] {
        assert_eq!(number(text, unit), Ok(value), "{text}");
    }
    for (text, unit, error) in [
        ("5 A", Volt, -131),
        ("5 XV", Volt, -131),
        ("5 OH", Ohm, -131),
        ("5 V/S", Volt, -131),
        ("5 V", None, -138),
        ("5 ABCDEFGHIJKLM", Volt, -134),
        ("1e308 KV", Volt, -222),
    ] {
        assert_eq!(number(text, unit), Err(error), "{text}");
    }
}

fn one<T>(text: &str, ask: impl FnOnce(&mut Parameters<'_>) -> Result<T, Error>) -> Result<T, i16> {
    Parameters::read(text.as_bytes())
        .and_then(|mut parameters| {
            let value = ask(&mut parameters)?;
            parameters.finish().map(|()| value)
        })
        .map_err(|error| error.code.number())
}

#[test]
fn words_that_stand_for_numbers() {
    let ask = |text| one(text, |p| p.numeric(Unit::Second)?.resolve(&(0.1..=60.0), 5.0));
    assert_eq!(ask("min"), Ok(0.1));
    assert_eq!(ask("MAXimum"), Ok(60.0));
    assert_eq!(ask("DEF"), Ok(5.0));
    assert_eq!(ask("200 MS"), Ok(0.2));
    assert_eq!(ask("61"), Err(-222));
    assert_eq!(ask("MAXI"), Err(-141));
    assert_eq!(ask("INF"), Err(-222));
    assert_eq!(ask("'MIN'"), Err(-158));
    let bound = |text| one(text, |p| p.bound());
    assert_eq!(bound(""), Ok(None));
    assert_eq!(bound("MAX"), Ok(Some(Bound::Maximum)));
    assert_eq!(bound("MAX,MAX"), Err(-108));
    assert_eq!(bound("3"), Err(-128));
}

#[test]
fn whole_numbers_are_rounded() {
    let ask = |text| one(text, |p| p.integer(-10..=255));
    for (text, value) in [("4.4", 4), ("4.5", 5), ("-4.5", -5), ("-0.4", 0), ("254.9", 255)] {
        assert_eq!(ask(text), Ok(value), "{text}");
    }
    assert_eq!(ask("255.5"), Err(-222));
    assert_eq!(ask("1e300"), Err(-222));
    assert_eq!(ask("-1e300"), Err(-222));
    assert_eq!(one("#HFFFFFFFF", |p| p.integer(0..=u32::MAX.into())), Ok(4_294_967_295));
}

#[test]
fn booleans() {
    let ask = |text| one(text, |p| p.boolean());
    for (text, value) in
        [("ON", true), ("off", false), ("1", true), ("0", false), ("0.4", false), ("-1", true)]
    {
        assert_eq!(ask(text), Ok(value), "{text}");
    }
    assert_eq!(ask("YES"), Err(-224));
    assert_eq!(ask("'ON'"), Err(-158));
    assert_eq!(ask("1 V"), Err(-138));
}

#[test]
fn keywords() {
    let ask = |text| one(text, |p| p.keyword(&[("NORMal", 1), ("INVerted", 2)]));
    assert_eq!(ask("norm"), Ok(1));
    assert_eq!(ask("INVERTED"), Ok(2));
    assert_eq!(ask("INVE"), Err(-224));
    assert_eq!(ask("ABCDEFGHIJKLM"), Err(-144));
    assert_eq!(ask("1"), Err(-128));
}

#[test]
fn strings_in_both_quotes() {
    let ask = |text| one(text, |p| Ok(p.string()?.chars().collect::<String>()));
    assert_eq!(ask("\"a \"\"b\"\" 'c'\"").as_deref(), Ok("a \"b\" 'c'"));
    assert_eq!(ask("'it''s \"\"'").as_deref(), Ok("it's \"\""));
    assert_eq!(ask("''").as_deref(), Ok(""));
    assert_eq!(ask("\"open"), Err(-151));
    assert_eq!(ask("\"é\""), Err(-151));
    assert_eq!(ask("5"), Err(-128));
}

#[test]
fn channel_lists() {
    let ask = |text| one(text, |p| Ok(p.channels()?.channels().collect::<Vec<_>>()));
    assert_eq!(ask("(@ 1:3, 5 )"), Ok(vec![1, 2, 3, 5]));
    assert_eq!(ask("(1)"), Err(-171));
    assert_eq!(ask("(@1"), Err(-171));
    assert_eq!(ask("5"), Err(-128));
}

#[test]
fn counts_are_found_before_anything_is_done() {
    let mut parameters = Parameters::read(b"1,2,3").expect("sound syntax");
    assert_eq!(parameters.integer(0..=9), Ok(1));
    assert_eq!(parameters.integer(0..=9), Ok(2));
    assert_eq!(parameters.finish(), Err(ErrorCode::ParameterNotAllowed.into()));
}

proptest! {
    /// Against the standard library's own conversion.
    #[test]
    fn decimals_are_rounded_once(mantissa in -999_999_999i64..999_999_999, power in -30i32..30) {
        let value: f64 = format!("{mantissa}e{power}").parse().expect("a number");
        prop_assert_eq!(plain(&format!("{mantissa}E{power}")), Ok(value));
        let milli = format!("{mantissa}e{}", power - 3).parse().expect("a number");
        prop_assert_eq!(number(&format!("{mantissa} E {power} MV"), Unit::Volt), Ok(milli));
    }

    #[test]
    fn rounding_agrees_with_the_standard_library(value in -1e15..1e15f64) {
        prop_assert_eq!(number::round(value) as f64, value.round());
    }
}
