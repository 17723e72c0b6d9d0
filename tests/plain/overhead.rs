//! The time that a run takes is the time that its script needs, and that of its samples on the
//! line. Measured on the simulated clock, so the figures do not depend on the machine.

use crate::kit::bench::{ARRIVAL, JETTY, PIER, QUAY, Run, plan, run_at, setup, sheet};
use musterbench::judge::reading::Verdict;
use musterbench::link::pace::Pace;

const KINDS: [(&str, &str); 3] = [("pier-four", PIER), ("quay-four", QUAY), ("jetty-two", JETTY)];

/// The most that the tool may add.
const MOST: f64 = 1.02;

fn sound_run(module: &str, pace: Pace) -> Run {
    let run = run_at(&plan(module, ARRIVAL, None), setup(&sheet(module), &[], 1), pace);
    assert_eq!(run.outcome.verdict, Verdict::Pass, "{}", run.text());
    run
}

#[test]
fn over_usb_a_run_takes_the_time_of_its_script() {
    for (name, module) in KINDS {
        let run = sound_run(module, Pace::USB);
        let ratio = run.seconds / run.planned;
        println!("{name}: {:.2} s for {:.2} s of script, {ratio:.4}", run.seconds, run.planned);
        assert!(ratio <= MOST, "{name}: {:.2} s for {:.2} s", run.seconds, run.planned);
    }
}

#[test]
fn over_a_slow_line_it_adds_the_transfer_alone() {
    for (name, module) in KINDS {
        let run = sound_run(module, Pace::UART);
        let bytes = run.traffic.bytes_received + run.traffic.bytes_sent;
        let transfer = bytes as f64 / f64::from(Pace::UART.bytes_per_second);
        let ratio = run.seconds / (run.planned + transfer);
        println!(
            "{name}: {:.2} s for {:.2} s of script and {transfer:.2} s of transfer, {ratio:.4}",
            run.seconds, run.planned
        );
        assert!(ratio <= MOST, "{name}: {:.2} s for {:.2} s", run.seconds, run.planned + transfer);
    }
}
