use super::*;
use crate::link::scripted::Scripted;
use crate::wire::PROTOCOL;
use crate::wire::checksum::crc32;
use crate::wire::seal::{Opened, Trailer, open};

/// What is asked for trips, and how warm the loads are.
const TRIPS: &str = "STAT:QUES:COND?;:STAT:QUES?;:ROUT:DUTY:USED?";

/// What a jig answers to a unit, or to nothing.
fn usual(units: &str) -> String {
    match units {
        "*IDN?" => "musterbench,jig,7,1.0".into(),
        "SYST:PROT?" => PROTOCOL.to_string(),
        "SYST:CHAN:CAT?" => "(@1)".into(),
        TRIPS => "0;0;0.0E+0".into(),
        _ if units.starts_with("SYST:CHAN:DESC?") => {
            "1,VOLT,0.0E+0,2.4E+1,1.0E-3,0.0E+0,1.0E-3,4.0E-3,2.0E-3,50,0.0E+0".into()
        }
        _ => String::new(),
    }
}

/// A jig on a good line that answers some units in its own way.
fn odd_jig(odd: impl Fn(&str) -> Option<String> + 'static) -> Jig {
    let answer = move |units: &str| odd(units).unwrap_or_else(|| usual(units)).into_bytes();
    let device = Scripted::by_line(move |line| match open(line) {
        Opened::Sealed(sealed) => {
            let response = answer(std::str::from_utf8(sealed.rest).ok()?);
            let (session, number) = (sealed.session, sealed.number);
            let trailer = Trailer { session, number, carried_out: 1, errors: 0 };
            let trailer = trailer.after(&response);
            Some([&response[..], trailer.as_bytes()].concat())
        }
        Opened::Plain(b"") | Opened::Damaged => None,
        Opened::Plain(plain) => {
            Some([&answer(std::str::from_utf8(plain).ok()?)[..], b"\n"].concat())
        }
    });
    let mut jig = Jig::open(Box::new(device)).unwrap_or_else(|e| panic!("{e}"));
    // Its clock shows what a test wants, whatever time it is.
    jig.let_its_clock_be();
    jig
}

/// A jig whose clock always shows the same.
fn with_clock(shown: &'static str) -> Jig {
    odd_jig(move |units| (units == "SYST:CLOC?").then(|| shown.into()))
}

#[test]
fn a_clock_that_stands_still_ends_the_wait() {
    let mut jig = with_clock("5000");
    let stop = AtomicBool::new(false);
    assert!(jig.wait_until_us(4000, &stop).is_ok());
    let before = jig.now();
    let waited = jig.wait_until_us(1_005_000, &stop);
    assert!(matches!(waited, Err(LinkError::ClockStands)), "{waited:?}");
    assert!(jig.now() - before < Duration::from_secs(80));
}

/// Who watches the clock notices it sooner.
#[test]
fn a_clock_that_stands_still_is_noticed() {
    let mut jig = with_clock("5000");
    jig.clock_watch = Some(ClockWatch::default());
    let waited = jig.wait_until_us(1_005_000, &AtomicBool::new(false));
    assert!(matches!(waited, Err(LinkError::ClockWrong { .. })), "{waited:?}");
}

#[test]
fn a_time_that_no_clock_shows_makes_no_sense() {
    for shown in ["18446744073709551615", "-1", "1.5", "soon", ""] {
        let said = with_clock(shown).clock_us();
        assert!(matches!(said, Err(LinkError::Senseless { .. })), "{shown}: {said:?}");
    }
    assert_eq!(with_clock("9007199254740992").clock_us().ok(), Some(CLOCK_MAX_US));
}

#[test]
fn scans_with_no_time_between_them_make_no_sense() {
    for (interval_us, is_sound) in [(0, false), (200, true)] {
        let mut jig = odd_jig(move |units| match units {
            "FETC1:PRE?" => Some(format!(
                "1,DONE,1,{interval_us},1,10,0,#H{:08X},1,1,1.0E-3,0.0E+0,0.0E+0",
                crc32(b"ab")
            )),
            "FETC1? 1,0,2" => Some("#12ab".into()),
            _ => None,
        });
        let fetched = jig.fetch(1);
        assert_eq!(fetched.is_ok(), is_sound, "{fetched:?}");
    }
}

/// A jig of which the soft start says `charge` and the trips `trips`; its clock goes on by 10 ms each
/// time that it is looked at.
fn starting(charge: &'static str, trips: &'static str) -> Jig {
    let clock_us = core::cell::Cell::new(0u64);
    odd_jig(move |units| match units {
        "SYST:CLOC?" => {
            clock_us.set(clock_us.get() + 10_000);
            Some(clock_us.get().to_string())
        }
        "OUTP1:CHAR?" => Some(charge.into()),
        TRIPS => Some(trips.into()),
        _ => None,
    })
}

#[test]
fn a_soft_start_ends_trips_or_is_trouble() {
    let stop = AtomicBool::new(false);
    let ends = |charge, trips| starting(charge, trips).soft_start_ends(&stop);
    assert!(ends("1.2E-3,4.0E-2,1,0.0E+0", "0;0;0.0E+0").unwrap());
    let tripped = format!("{};0;0.0E+0", crate::wire::status::questionable::FEED_TRIPPED);
    assert!(!ends("1.2E-3,4.0E-2,0,0.0E+0", tripped.leak()).unwrap());
    let endless = ends("1.2E-3,4.0E-2,0,0.0E+0", "0;0;0.0E+0");
    assert!(matches!(endless, Err(LinkError::SoftStartGoesOn)), "{endless:?}");
    for said in ["", "1.2E-3", "1.2E-3,4.0E-2,soon,0.0E+0", "1.2E-3,4.0E-2,9.91E37,0.0E+0"] {
        let senseless = ends(said, "0;0;0.0E+0");
        assert!(matches!(senseless, Err(LinkError::Senseless { .. })), "{said}: {senseless:?}");
    }
}

#[test]
fn a_wait_for_the_soft_start_can_be_stopped() {
    assert!(starting("0,0,0,0", "0;0;0.0E+0").soft_start_ends(&AtomicBool::new(true)).is_ok());
}
