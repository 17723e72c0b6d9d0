//! The very jig of a run calibrated on the day before, with all that is wrong with it.

use musterbench::calibration::channel::{ChannelCalibration, Measured, Session};
use musterbench::calibration::correction::Corrections;
use musterbench::calibration::file::Calibration;
use musterbench::calibration::reference::Accuracy;
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::procedure::bench::Bench;
use musterbench::procedure::calibration_points::{Assistant, PointTaker, Remark, Request};
use musterbench::procedure::references::Place;
use musterbench::report::calibration_prompt::simulated_meter;
use musterbench::signal::target::Clamp;
use musterbench::simulated_bench::SimulatedBoard;
use musterbench::simulated_bench::reference_meter::{FIXED_A, SHARE};
use musterbench::wire::channel::{CLAMP_CURRENT, FEED_CURRENT, LOAD_TOTAL};
use std::sync::atomic::AtomicBool;

/// The resistors that `musterbench calibrate` asks for at the clamps and on the feed, ohms.
const AT_CLAMPS: [f64; 5] = [220.0, 100.0, 47.0, 22.0, 12.0];
const ON_FEED: [f64; 5] = [1000.0, 470.0, 220.0, 100.0, 56.0];
/// What the voltmeters of the clamps may take besides the meter, amperes.
const VOLTMETERS_A: f64 = 0.000_1;

const DATE: &str = "2026-01-05T09:00:00Z";
const NEXT_DAY: &str = "2026-01-06T09:00:00Z";

/// A simulated bench connects the resistors and reads its meter by itself.
struct Itself;

impl Assistant for Itself {
    fn act(&mut self, _: Request, _: &mut dyn FnMut() -> bool) -> bool {
        true
    }

    fn read_meter(&mut self, shown: Option<f64>, _: &mut dyn FnMut() -> bool) -> Option<String> {
        shown.map(simulated_meter)
    }

    fn hear(&mut self, _: &Remark) {}
}

/// What the calibration of a jig corrects, on the day after it. A channel that is refused, as a rough one may
/// be, stays uncalibrated.
pub fn calibrated(board: SimulatedBoard) -> Corrections {
    let mut jig = Jig::open(Box::new(SimulatedTransport::over(board))).expect("a jig");
    let serial = jig.identity().serial.clone();
    let stop = AtomicBool::new(false);
    let mut bench = Bench::new(&mut jig, None, &stop);
    let accuracy = Accuracy { share: SHARE, fixed_a: FIXED_A };
    let mut channels = Vec::new();
    let places = Clamp::ALL.map(Place::Clamp).into_iter().chain([Place::Feed]);
    for place in places {
        let (of_place, ohms): (Vec<u16>, _) = match place {
            Place::Feed => (vec![FEED_CURRENT], ON_FEED),
            // The total flows through any clamp that alone is on.
            Place::Clamp(clamp) if clamp == Clamp::ALL[0] => {
                (vec![clamp.channel(CLAMP_CURRENT), LOAD_TOTAL], AT_CLAMPS)
            }
            Place::Clamp(clamp) => (vec![clamp.channel(CLAMP_CURRENT)], AT_CLAMPS),
        };
        let mut taker = PointTaker { bench: &mut bench, assistant: &mut Itself, accuracy };
        let all = taker.points(place, &of_place, &ohms).expect("points");
        for (channel, points) in all {
            let class = bench.channels().class(channel);
            let besides_a = if channel == LOAD_TOTAL { VOLTMETERS_A } else { 0.0 };
            let session = Session {
                date: DATE.into(),
                operator: String::new(),
                reference: String::new(),
                accuracy: Accuracy { fixed_a: FIXED_A + besides_a, ..accuracy },
                self_tests: Vec::new(),
            };
            channels.extend(ChannelCalibration::make(
                Measured { channel, points },
                &session,
                &class,
            ));
        }
    }
    jig.close();
    Calibration { serial, simulated: true, channels }.corrections(NEXT_DAY.parse().expect("a time"))
}
