//! What people read when a script or a sheet is wrong: one sentence that says where and what.

use musterbench::load::sheet::LoadSheet;
use musterbench::quantity::located::Located;
use musterbench::quantity::source::{FILE_MAX, Source};
use musterbench::script::expand;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::shipped;
use musterbench::script::steps::Script;
use std::path::Path;

fn script(text: &str) -> String {
    let source = Source::new("harbour.toml", text);
    Script::parse("harbour", source).expect_err(text).to_string()
}

fn in_steps(step: &str) -> String {
    script(&format!("title = \"t\"\nsteps = [\n  {step},\n]\n"))
}

/// What is wrong with a good module sheet in which one piece is replaced.
fn module(old: &str, new: &str) -> String {
    let good = shipped::MODULE_SHEETS[0].text;
    assert!(good.contains(old), "{old}");
    let text = good.replacen(old, new, 1);
    ModuleSheet::parse(&Source::new("pier.toml", &text)).expect_err(new).to_string()
}

fn loads(text: &str) -> String {
    LoadSheet::parse(&Source::new("loads.toml", text)).expect_err(text).to_string()
}

const LOADS: &str = "title = \"t\"\nsupply = { kind = \"dc\", voltage = \"12 V ±5 %\" }\n";

fn load(rest: &str) -> String {
    loads(&format!("{LOADS}[[load]]\nname = \"lamp\"\n{rest}\n"))
}

#[test]
fn files_that_are_no_toml() {
    let bytes = |bytes: &[u8]| {
        Source::from_bytes("s.toml", bytes)
            .and_then(|s| s.table().and_then(|t| t.finish()))
            .expect_err("bad bytes")
            .to_string()
    };
    let huge = vec![b'#'; FILE_MAX as usize + 1];
    let deep = format!("a = {}1{}", "[".repeat(10_000), "]".repeat(10_000));
    let told = [
        bytes(b""),
        bytes(b"\xEF\xBB\xBF\r\n# nothing\r\n"),
        bytes(b"title = \"caf\xE9\"\n"),
        bytes(&huge),
        bytes(b"title = \"t\"\ntitle = \"u\"\n"),
        bytes(b"title = \"t\nsteps = []\n"),
        bytes(b"title\n"),
        bytes(b"\x00\x1B[31m"),
        bytes(deep.as_bytes()),
        Source::read(Path::new("no-such-file.toml")).expect_err("missing").to_string(),
        Source::read(Path::new("/")).expect_err("folder").to_string(),
        shipped::script("arival").expect_err("mistyped").to_string(),
    ];
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn byte_order_mark_and_windows_line_ends_are_fine() {
    let text = shipped::SCRIPTS[0].text.replace('\n', "\r\n");
    let source = Source::from_bytes("arrival.toml", format!("\u{FEFF}{text}").as_bytes()).unwrap();
    let with = Script::parse("arrival", source).unwrap();
    let without = shipped::script("arrival").unwrap();
    assert_eq!(with.steps.len(), without.steps.len());
    assert_eq!(with.steps[3].line, without.steps[3].line);
}

#[test]
fn scripts() {
    let told = [
        script("steps = [{ feed = \"on\" }]\n"),
        script("title = \"t\"\n"),
        script("title = \"t\"\nsteps = []\n"),
        script("title = \"t\"\nsteps = [{ feed = \"on\" }]\nadress = 181\n"),
        script("title = \"t\"\nsteps = [{ feed = \"on\" }]\nauthor = \"x\"\n"),
        script("title = \"t\"\nrule = \"lax\"\nsteps = [{ feed = \"on\" }]\n"),
        in_steps("\"feed on\""),
        in_steps("{ wiat = \"1 s\" }"),
        in_steps("{ try = \"luck\" }"),
        in_steps("{ switches = \"some\" }"),
        in_steps("{ feed = \"on\", wait = \"1 s\" }"),
        in_steps("{ feed = true }"),
        in_steps("{ feed = \"onn\" }"),
        in_steps("{ feed = \"off\", polarity = \"inverted\" }"),
        in_steps("{ wait = \"250 mA\" }"),
        in_steps("{ wait = \"1,5 s\" }"),
        in_steps("{ wait = 250 }"),
        in_steps("{ wait = \"2 s 5\" }"),
        in_steps("{ wait = \"4000 s\" }"),
        in_steps("{ operate = \"c\" }"),
        in_steps("{ operate = [] }"),
        in_steps("{ operate = \"a\", outputs = 5 }"),
        in_steps("{ operate = \"a\", outputs = [1, 1] }"),
        in_steps("{ operate = \"a\", outputs = \"3 to 1\" }"),
        in_steps("{ operate = \"a\", by = \"hand\" }"),
        in_steps("{ loads = \"jig\", at = [\"1a\", \"5a\"] }"),
        in_steps("{ measure = \"idle curent\" }"),
        in_steps("{ measure = \"temperature\" }"),
        in_steps("{ measure = \"load start\", over = \"1 s\" }"),
        in_steps("{ ask = \"other\" }"),
        in_steps("{ repeat = 0, steps = [{ feed = \"on\" }] }"),
        in_steps("{ repeat = 2, steps = [{ fed = \"on\" }] }"),
    ];
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn module_sheets() {
    let told = [
        module("kind = \"pier-four\"", "kind = \"../pier\""),
        module("packets_needed = 1", "packets_needed = 3"),
        module("packets_needed = 1", "packets_needed = \"one\""),
        module("repeat = 3", ""),
        module("[feed]", "[fed]"),
        module("voltage = \"16 V ±5 %\"", "voltage = \"16 V ±5 A\""),
        module("idle_current = \"15 to 40 mA\"", "idle_current = \"40 to 15 mA\""),
        module("idle_current = \"15 to 40 mA\"", "idle_current = \"40 mA\""),
        module("response = \"8 to 40 ms\"", "response = \"at least 8 ms\""),
        module("keep_position = true", "keep_position = \"yes\""),
        module("format_switch = 1", "format_switch = 9"),
        module("format_switch = 1", "format_switch = 12"),
        module("direction_of_a = 0", "direction_of_a = 0\nnumbering = \"group-zero\""),
        module("format_when_off = \"dcc\"", "format_when_off = \"DCC\""),
        module("usual_format = \"dcc\"", "usual_format = \"DCC\""),
        module("duty = \"15 to 25 %\"", "duty = \"0.15 to 0.25\""),
        module("[lamp]", "[lamp]\nlamps = 3"),
        module("boot = \"800 ms\"", "try_inverted = \"no\"\nboot = \"800 ms\""),
        module("boot = \"800 ms\"", "to_commons = \"10 kA\"\nboot = \"800 ms\""),
        module("boot = \"800 ms\"", "boot = \"800 ms\"\nboot = \"900 ms\""),
    ];
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn load_sheets() {
    let ac = LOADS.replace("\"dc\"", "\"ac\"");
    let told = [
        loads(&format!("{ac}[[load]]\n")),
        loads(&LOADS.replace("12 V", "230 V")),
        loads(LOADS),
        load("at = \"5a\"\nresistor = { resistance = \"22 ohm\" }"),
        load("at = [\"1a\", \"1a\"]\nresistor = { resistance = \"22 ohm\" }"),
        load(
            "at = \"1a\"\nresistor = { resistance = \"22 ohm\" }\n[[load]]\nname = \"again\"\n\
             at = \"1a\"\nresistor = { resistance = \"22 ohm\" }",
        ),
        load("at = \"1a\""),
        load("at = \"1a\"\nlamp = { rated_voltage = \"12 V\" }"),
        load("at = \"1a\"\nresistor = { resistance = \"22 V\" }"),
        load("at = \"1a\"\nresistor = { resistance = \"0 ohm\" }"),
        load("at = \"1a\"\nrest = \"2 s\"\nresistor = { resistance = \"22 ohm\" }"),
        load(
            "at = \"1a\"\nresistor = { resistance = \"1 ohm\" }\n\
             coil = { resistance = \"1 ohm\", inductance = \"1 H\" }",
        ),
        load("at = \"1a\"\nparallel = [{ resistor = { resistance = \"22 ohm\" } }]"),
        load("at = \"1a\"\nresistor = { resistance = \"red mauve brown gold\" }"),
        load("at = \"1a\"\nresistor = { resistance = \"4K7X\" }"),
        load(
            "at = \"1a\"\ncoil = { resistance = \"360 ohm\", inductance = \"1 H\", \
             temperature = \"at most 40 °C\" }",
        ),
        load(
            "at = \"1a\"\nmeasured = { current = \"at most 40 mA\", at_voltage = \"12 V\", \
             settled_after = \"1 s\" }",
        ),
        load(
            "at = \"1a\"\nlamp = { rated_voltage = \"12 V\", rated_current = \"1 A\", \
             inrush_ratio = \"8 ±a quarter\", warm_up = \"4 ms\" }",
        ),
        load(
            "at = \"1a\"\nlamp = { rated_voltage = \"12 V\", rated_current = \"1 A\", \
             inrush_ratio = \"2 ±80 %\", warm_up = \"4 ms\" }",
        ),
        loads(&format!("sample = {{ specimens = 0, times = 10 }}\n{LOADS}")),
        loads(&format!("sample = {{ specimens = 1, times = 10, coverage = \"100 %\" }}\n{LOADS}")),
    ];
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn what_does_not_fit_together() {
    let sheet = |name: &str| shipped::module_sheet(name).unwrap();
    let plan = |text: &str, module: &str, address: Option<i64>| -> Result<(), Located> {
        let script = Script::parse("harbour", Source::new("harbour.toml", text)).unwrap();
        expand(&script, &sheet(module), None, address).map(|_| ())
    };
    let steps = "steps = [{ operate = \"a\", outputs = 3 }]";
    let told = [
        plan(&format!("title = \"t\"\naddress = 182\n{steps}"), "pier-four", None),
        plan(&format!("title = \"t\"\n{steps}"), "pier-four", Some(2041)),
        plan(&format!("title = \"t\"\n{steps}"), "pier-four", Some(2045)),
        plan(&format!("title = \"t\"\nformat = \"trinary\"\n{steps}"), "quay-four", None),
        plan(&format!("title = \"t\"\n{steps}"), "jetty-two", None),
        plan("title = \"t\"\nsteps = [{ loads = \"real\" }]", "pier-four", None),
        plan("title = \"t\"\nsteps = [{ loads = \"jig\", at = \"3a\" }]", "jetty-two", None),
        plan(
            "title = \"t\"\nsteps = [{ repeat = 1000, steps = [\n{ repeat = 1000, steps = [\n\
             { wait = \"1 s\" }] }] }]",
            "pier-four",
            None,
        ),
        plan(
            "title = \"t\"\nsteps = [{ repeat = 1000, steps = [\n{ repeat = 1000, steps = [\n\
             { ask = \"slider\", auxiliary = \"on\" }] }] }]",
            "quay-four",
            None,
        ),
    ];
    let told: Vec<String> = told.map(|r| r.expect_err("misfit").to_string()).to_vec();
    insta::assert_snapshot!(told.join("\n"));
}
