//! The examples of `docs/wire-language.md`, sent to the simulated bench from top to bottom: the
//! jig's brain answers what the document says.

use musterbench::jig::board::Board;
use musterbench::jig::engine::Engine;
use musterbench::simulated_bench::kind::Kind;
use musterbench::simulated_bench::loads::LoadModel;
use musterbench::simulated_bench::{LOAD_SUPPLY_V, Setup, SimulatedBoard};

const TEXT: &str = include_str!("../../docs/wire-language.md");

struct Terminal {
    engine: Box<Engine<SimulatedBoard>>,
}

impl Terminal {
    fn new() -> Self {
        let board = SimulatedBoard::new(Setup {
            // Some module: the examples do not depend on it.
            kind: Kind::example(),
            loads: [const { LoadModel::OPEN }; 8],
            load_supply_v: LOAD_SUPPLY_V,
            faults: vec![],
            placed: vec![],
            seeds: 1.into(),
            switches: 0,
            auxiliary: false,
            beside: Vec::new(),
        });
        Terminal { engine: Engine::boxed(board) }
    }

    fn pass_us(&mut self, time_us: u64) {
        let end = self.engine.board_mut().now_us() + time_us;
        loop {
            self.engine.poll();
            let now = self.engine.board_mut().now_us();
            if now >= end {
                return;
            }
            let wake = self.engine.next_wake_us().clamp(now, end);
            self.engine.board_mut().advance_to(wake);
        }
    }

    /// Sends a line and gives what has come back a millisecond later.
    fn say(&mut self, line: &str) -> String {
        let line = format!("{line}\n");
        assert_eq!(self.engine.receive(line.as_bytes()), line.len());
        self.pass_us(1000);
        let mut answer = [0; 2000];
        let length = self.engine.transmit(&mut answer);
        String::from_utf8(answer[..length].to_vec()).expect("the examples hold no blocks")
    }
}

#[test]
fn the_bench_answers_what_the_document_says() {
    let lines: Vec<&str> = TEXT.lines().collect();
    let mut terminal = Terminal::new();
    let (mut asked, mut before) = (0, "");
    for (i, line) in lines.iter().enumerate() {
        // The two captured scans are made up, so that their bytes fit the page.
        let Some(line) = line.strip_prefix("> ").filter(|line| !line.starts_with(":FETC1")) else {
            continue;
        };
        if line == before {
            terminal.pass_us(500_000);
        }
        let expected = lines[i + 1].strip_prefix("< ").map(|answer| format!("{answer}\n"));
        assert_eq!(terminal.say(line), expected.unwrap_or_default(), "{line}");
        (asked, before) = (asked + 1, line);
    }
    assert!(asked >= 14, "only {asked} examples found");
    assert_eq!(terminal.say(":SYST:ERR?"), "0,\"No error\"\n");
}

/// What the pages on the hardware tell to type is understood: commands at the beginning of a line
/// of a block, or between backticks.
#[test]
fn the_bench_understands_what_the_pages_on_the_hardware_say() {
    let pages = [include_str!("../../docs/jig.md"), include_str!("../../docs/jig-adapter.md")];
    let mut terminal = Terminal::new();
    let mut said = 0;
    for line in pages.iter().flat_map(|page| page.lines()) {
        let block = line.starts_with(':').then(|| line.split("  ").next().unwrap_or(line));
        let spans = line.split('`').skip(1).step_by(2);
        for command in block.into_iter().chain(spans.filter(|s| s.starts_with([':', '*']))) {
            terminal.say(command);
            terminal.pass_us(2_000_000);
            terminal.say("");
            let error = terminal.say(":SYST:ERR?");
            assert_eq!(error, "0,\"No error\"\n", "{command}");
            said += 1;
        }
    }
    assert!(said >= 20, "only {said} commands found");
}
