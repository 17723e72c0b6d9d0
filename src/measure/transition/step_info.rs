//! Step responses of which a library for control systems tells rise, settling and overshoot.

use super::{Look, Transition, transition};

/// Points of the time axis on which the table's times lie.
const TABLE_POINTS: f64 = 1e6;
/// Samples of a response here, and those before it.
const SAMPLES: usize = 50_000;
const BEFORE: usize = 5_000;

/// A complex number, as real and imaginary part.
type Complex = (f64, f64);

/// A line of the table, times in seconds.
struct Response<'a> {
    name: &'a str,
    end: f64,
    parts: Vec<(Complex, Complex)>,
    /// Final level, rise, settling, overshoot, undershoot, 50 % instant.
    told: [f64; 6],
}

impl<'a> Response<'a> {
    fn read(line: &'a str) -> Self {
        let number = |word: &str| word.parse::<f64>().expect("a number");
        let cells: Vec<&str> = line.split(',').collect();
        let complex = |cell: &str| -> Vec<Complex> {
            let numbers: Vec<f64> = cell.split_whitespace().map(number).collect();
            numbers.chunks(2).map(|pair| (pair[0], pair[1])).collect()
        };
        Response {
            name: cells[0],
            end: number(cells[1]),
            parts: complex(cells[2]).into_iter().zip(complex(cells[3])).collect(),
            told: std::array::from_fn(|i| number(cells[4 + i])),
        }
    }

    /// The response at a time: the sum of all residue × exp(pole × t).
    fn at(&self, t: f64) -> f64 {
        let part = |&(r, p): &(Complex, Complex)| {
            let (sin, cos) = (p.1 * t).sin_cos();
            (p.0 * t).exp() * (r.0 * cos - r.1 * sin)
        };
        self.parts.iter().map(part).sum()
    }

    fn transition(&self) -> Transition {
        let interval = self.end / SAMPLES as f64;
        let rest = std::iter::repeat_n(0.0, BEFORE);
        let values: Vec<f64> =
            rest.chain((0..=SAMPLES).map(|i| self.at(i as f64 * interval))).collect();
        let range = (f64::NEG_INFINITY, f64::INFINITY);
        let look = Look { start: BEFORE, least: 0.05, resolution: 0.0, range };
        transition(&values, &look).expect("there is a transition")
    }
}

/// `tests/reference/step-info`: what `step_info` of python-control 0.10.2 says of responses whose
/// poles and residues SciPy 1.17.1 gives. Times agree within what the table leaves open (it takes
/// whole points of its own time axis) and the half-widths that are stated here.
#[test]
fn step_info_of_a_control_library() {
    let table = include_str!("../../../tests/reference/step-info/table.csv");
    let lines: Vec<&str> = table.lines().skip(2).collect();
    assert!(lines.len() > 10, "the table is short");
    for line in lines {
        let response = Response::read(line);
        let [last, rise, settling, over, under, half] = response.told;
        let t = response.transition();
        let interval = response.end / SAMPLES as f64;
        let point = response.end / TABLE_POINTS;
        let (begin, end) = (t.begin.expect("whole"), t.end.expect("whole"));
        let time = |at: f64| (at - BEFORE as f64) * interval;
        let checks = [
            ("final", t.step.after.value, last, 1e-6),
            ("rise", t.duration().expect("whole") * interval, rise, {
                2.0 * point + (begin.half_width + end.half_width) * interval
            }),
            ("half", time(t.first.at), half, point + t.first.half_width * interval),
            // The chord through the samples on either side of the band's edge.
            ("settling", time(t.settled.expect("outside")), settling, 2.0 * point + 0.1 * interval),
            ("over", t.after.expect("free").over, over, 1e-5),
            ("under", t.before.under, under, 1e-5),
        ];
        for (what, found, told, within) in checks {
            println!("{:32} {what:9} {found:.8} for {told:.8}, within {within:.1e}", response.name);
            assert!((found - told).abs() <= within, "{}, {what}: {found}, {told}", response.name);
        }
    }
}
