use super::*;
use crate::calibration::channel::ChannelCalibration;
use crate::calibration::channel::{Measured, SelfTested, Session};
use crate::calibration::point::CalibrationPoint;
use crate::calibration::reference::Accuracy;
use crate::measure::channel_class::ChannelClass;
use crate::quantity::source::Source;

/// A calibration of two channels.
pub(in crate::calibration) fn example() -> Calibration {
    let class = ChannelClass {
        resolution: 1e-4,
        gain: 5e-3,
        offset: 5e-4,
        linearity: 2e-4,
        with_voltage: 0.0,
        corrected: None,
    };
    let session = Session {
        date: "2026-01-05T09:12:44+00:00".into(),
        operator: "Mette".into(),
        reference: "bench meter 2".into(),
        accuracy: Accuracy { share: 5e-4, fixed_a: 5e-5 },
        self_tests: vec![(101, SelfTested { result: 0, zero_a: -2.5e-5 })],
    };
    let channel = |channel, gain: f64, offset| {
        let points = [0.0, 0.055, 0.12, 0.255, 0.545]
            .map(|reference| CalibrationPoint {
                reference,
                u_reference: if reference == 0.0 { 0.0 } else { 3e-6 },
                reading: reference * gain + offset + 1e-5 * (reference * 50.0).sin(),
                u_reading: 3e-5,
            })
            .to_vec();
        ChannelCalibration::make(Measured { channel, points }, &session, &class).unwrap()
    };
    Calibration {
        serial: "0042".into(),
        simulated: false,
        channels: vec![channel(2, 1.003, 2e-4), channel(101, 0.998, -4e-4)],
    }
}

fn parse(text: &str) -> Result<Calibration, crate::quantity::located::Located> {
    Calibration::parse(&Source::new("0042.toml", text))
}

#[test]
fn what_is_written_reads_back() {
    assert_eq!(parse(&example().to_toml()), Ok(example()));
}

#[test]
fn the_file_reads_like_this() {
    insta::assert_snapshot!(example().to_toml());
}

/// Each slip on a file that is good otherwise: what was replaced, and what is said.
#[test]
fn slips_say_what_and_where() {
    let good = example().to_toml();
    let gain = format!("gain = {:?}\n", example().channels[0].fitted.gain);
    let slips = [
        ("format = 1", "format = 2"),
        ("serial = \"0042\"\n", ""),
        ("simulated = false", "simulated = \"no\""),
        ("channel = 101", "channel = 2"),
        ("2026-01-05T09:12:44+00:00", "yesterday"),
        ("linearity_a = 0.0002", "linearity_a = \"much\""),
        ("share = 0.0005, fixed_a = 5e-5", "share = 0.0, fixed_a = 0.0"),
        (&*gain, "gain = 0.997\n"),
        ("reference_a = 0.255", "reference_a = 0.0255"),
        ("reference_a = 0.0,", "reference_a = -1.0,"),
        ("points = [", "dots = ["),
        ("degrees_of_freedom = 3", "degrees_of_freedom = 30"),
    ];
    let told: Vec<String> = slips
        .iter()
        .map(|(from, to)| {
            let text = good.replacen(from, to, 1);
            assert_ne!(text, good, "{from}");
            format!("{to:?}\n{}", parse(&text).unwrap_err())
        })
        .collect();
    insta::assert_snapshot!(told.join("\n\n"));
    assert!(parse(&good[..good.len() / 2]).is_err(), "cut off");
}

#[test]
fn a_calibration_serves_its_own_jig_alone() {
    let real = example();
    assert_eq!(real.check_jig("0042", false), Ok(()));
    assert_eq!(real.check_jig("0043", false), Err(Stranger::Serial("0042".into())));
    assert_eq!(real.check_jig("0042", true), Err(Stranger::Real));
    let simulated = Calibration { simulated: true, ..real };
    assert_eq!(simulated.check_jig("0042", false), Err(Stranger::Simulated));
}

#[test]
fn the_name_tells_the_last_change() {
    let mut some = example();
    let mut later = some.channels[1].clone();
    later.date = "2026-03-01T10:00:00+01:00".into();
    some.replace(later);
    assert_eq!(some.channels.len(), 2);
    assert_eq!(some.name(), "0042 2026-03-01T10:00:00+01:00");
    let corrections = some.corrections("2026-03-11T10:00:00Z".parse().unwrap());
    // The age is that of the oldest channel.
    assert_eq!(corrections.days, 65);
}
