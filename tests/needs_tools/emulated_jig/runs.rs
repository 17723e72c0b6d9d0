//! Whole runs of the program against the emulated jig.

use super::jig::Line;
use super::operator::{self, ANSWER};
use super::rig::listening_jig;
use musterbench::jig::hand::HandAct;
use musterbench::simulated_bench::faults;
use std::ffi::OsStr;
use std::io::{BufReader, Read};

/// An emulator that keeps so much of real time leaves the program no reason to lose patience.
const FAIR_SPEED: f64 = 0.5;

/// What came of a run.
struct Run {
    exit: Option<i32>,
    report: String,
    /// What the emulator tells of it.
    told: String,
    /// Emulated time over real time.
    speed: f64,
}

impl Run {
    /// Whether the program lost patience with an emulator that is far slower than any jig. Nothing can
    /// be said of the firmware then. On an emulator of fair speed the same is a failure.
    fn is_too_slow_to_tell(&self) -> bool {
        let impatient = ["stopped answering", "goes far too slowly"];
        let gave_up = impatient.iter().any(|words| self.report.contains(words));
        self.speed < FAIR_SPEED && gave_up
    }
}

/// How often a run is tried on a computer that is too busy.
const TRIES: u32 = 3;

/// Tests a module until something can be said of the firmware.
fn test(fault: Option<&str>, line: Line, script: Option<&str>) -> Run {
    for _ in 0..TRIES {
        let run = try_once(fault, line, script);
        if !run.is_too_slow_to_tell() {
            return run;
        }
        println!("once more: the emulator ran at {:.2} of real time", run.speed);
    }
    panic!("nothing can be told on so busy a computer: in {TRIES} runs the program lost patience")
}

/// Carries a script out, or else the arrival script, on a module with a fault or none, over either line of
/// the jig; the operator does what is asked.
fn try_once(fault: Option<&str>, line: Line, script: Option<&str>) -> Run {
    let severity = |name| faults::find(name).expect("in the catalogue").default;
    let put: Vec<_> = fault.map(|name| (name, severity(name))).into_iter().collect();
    let jig = listening_jig(&put, line);
    let records = operator::records();
    let mut arguments = vec![OsStr::new("--records"), records.path().as_ref()];
    let own = records.path().join("script.toml");
    if let Some(script) = script {
        std::fs::write(&own, script).expect("written");
        arguments.extend([OsStr::new("--script"), own.as_ref()]);
    }
    let (mut program, mut keyboard) = operator::test(jig.path(), &arguments);
    // Asked to prepare the module, the operator turns the auxiliary supply on; asked again, off.
    let mut asked = 0;
    let mut heard = Vec::new();
    let mut byte = [0];
    let mut said = BufReader::new(program.stderr.take().expect("piped"));
    while said.read(&mut byte).is_ok_and(|count| count > 0) {
        heard.push(byte[0]);
        if heard.ends_with(ANSWER.as_bytes()) {
            jig.hand(HandAct::Auxiliary(asked == 0));
            asked += 1;
            keyboard.write(b"\n").expect("the program listens");
            heard.clear();
        }
    }
    let output = program.wait_with_output().expect("it ended");
    let mut report = String::from_utf8_lossy(&output.stdout).into_owned();
    report.push_str(&String::from_utf8_lossy(&heard));
    let speed = jig.speed();
    let (_, told) = jig.stop();
    println!("{}: exit {:?}; {told}", fault.unwrap_or("sound"), output.status.code());
    Run { exit: output.status.code(), report, told, speed }
}

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn a_sound_module_passes() {
    let run = test(None, Line::Uart, None);
    assert_eq!(run.exit, Some(0), "{}", run.report);
    assert!(!run.report.contains("simulated"), "{}", run.report);
    let stack = run.told.split("stack ").nth(1).expect("told");
    let mut numbers = stack.split(' ').filter_map(|word| word.parse::<u32>().ok());
    let (deepest, room) = (numbers.next().expect("told"), numbers.next().expect("told"));
    assert!(deepest > 0 && 2 * deepest <= room, "the stack takes {deepest} of {room} bytes");
}

/// What shows those faults, in a few seconds: an emulator takes twice its time and more.
const SHORT: &str = r#"
title = "Short"
address = 181
steps = [
  { ask = "prepare", auxiliary = "on" },
  { measure = "hook-up" },
  { loads = "jig" },
  { feed = "on" },
  { send = "a" },
  { operate = ["b", "a"] },
  { ask = "slider", auxiliary = "off" },
  { wait = "500 ms" },
  { measure = "idle current", over = "2500 ms" },
  { loads = "off" },
  { feed = "off" },
]
"#;

/// Faults of the catalogue: of the module, of a setting, of a lead.
const FAULTS: [&str; 7] = [
    "rectifier-shorted",
    "output-stuck",
    "contact-burnt",
    "slow-output",
    "high-idle-current",
    "switch-set-wrong",
    "clamp-leads-swapped",
];

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn faulty_modules_fail_on_arrival() {
    let sound = test(None, Line::Usb, Some(SHORT));
    assert_eq!(sound.exit, Some(0), "sound: {}", sound.report);
    for fault in FAULTS {
        let run = test(Some(fault), Line::Usb, Some(SHORT));
        assert_eq!(run.exit, Some(1), "{fault}: {}", run.report);
    }
}
