use super::*;
use crate::load::sheet::LoadSheet;
use crate::quantity::source::Source;
use crate::script::module_sheet::ModuleSheet;
use crate::script::{expand, shipped};

fn findings_with(steps: &str, kind: &str, loads: Option<&LoadSheet>) -> Vec<Finding> {
    let text = format!("title = \"a test\"\nsteps = [\n{steps}\n]\n");
    let script = Script::parse("test", Source::new("test.toml", &text));
    let script = script.unwrap_or_else(|e| panic!("{e}"));
    let sheet = shipped::module_sheet(kind).unwrap();
    let plan = expand(&script, &sheet, loads, None).unwrap_or_else(|e| panic!("{e}"));
    check(&plan)
}

/// What is found, each as `line gravity: sentence`.
fn findings(steps: &str) -> Vec<String> {
    told(steps, "pier-four")
}

fn told(steps: &str, kind: &str) -> Vec<String> {
    let found = findings_with(steps, kind, None);
    found
        .iter()
        .map(|f| {
            let gravity = if f.gravity == Gravity::Error { "error" } else { "warning" };
            format!("{} {gravity}: {}", f.line, f.message)
        })
        .collect()
}

const BEGIN: &str = r#"{ ask = "prepare" }, { loads = "jig" }, { feed = "on" }, { send = "a" },"#;

/// Findings after a sound beginning on line 3 and before a sound end.
fn after_begin(steps: &str) -> Vec<String> {
    findings(&format!("{BEGIN}\n{steps}\n{{ feed = \"off\" }}"))
}

#[test]
fn shipped_scripts_are_clean_for_every_kind() {
    for module in shipped::MODULE_SHEETS {
        let sheet = shipped::module_sheet(module.name).unwrap();
        for loads in shipped::LOAD_SHEETS {
            let loads = shipped::load_sheet(loads.name).unwrap();
            for script in shipped::SCRIPTS {
                let script = shipped::script(script.name).unwrap();
                let plan = expand(&script, &sheet, Some(&loads), None).unwrap();
                let found = check(&plan);
                assert!(is_clean(&found), "{} {}: {found:#?}", sheet.kind, script.name);
                if script.name == "arrival" {
                    assert_eq!(found, []);
                }
            }
        }
    }
}

#[test]
fn switches_are_proven_with_the_feed_on_and_loads_to_see_it_by() {
    let found = findings(r#"{ ask = "prepare" }, { switches = "every" }, { feed = "off" }"#);
    assert!(found.iter().any(|f| f.contains("the feed is off here")), "{found:?}");
    assert!(found.iter().any(|f| f.contains("so output 4 cannot be watched")), "{found:?}");
    let some = r#"{ ask = "prepare" }, { loads = "jig", at = ["1a", "2a"] }, { feed = "on" },
        { switches = "every" }, { feed = "off" }"#;
    let found = findings(some);
    assert!(found.iter().any(|f| f.contains("no load hangs at 4a or 4b")), "{found:?}");
    assert!(!found.iter().any(|f| f.contains("output 1 ")), "{found:?}");
    assert_eq!(after_begin(r#"{ switches = "every" }, { operate = "b" },"#), [""; 0]);
}

#[test]
fn a_switch_that_no_address_shows_is_told() {
    let text = shipped::MODULE_SHEETS[2].text.replace("2, 1]", "2, 1, 300]");
    let sheet = ModuleSheet::parse(&Source::new("wide.toml", &text)).unwrap();
    let script = shipped::script("thorough").unwrap();
    let found = check(&expand(&script, &sheet, None, None).unwrap());
    assert!(found.iter().any(|f| f.message.contains("no address shows switch 9")), "{found:?}");
    assert!(is_clean(&found));
}

#[test]
fn an_output_slower_than_a_capture_is_found() {
    let script = shipped::script("arrival").unwrap();
    let text = shipped::MODULE_SHEETS[0].text;
    for (response, is_slow) in [("8 to 440 ms", false), ("8 to 450 ms", true)] {
        let text = text.replace("response = \"8 to 40 ms\"", &format!("response = \"{response}\""));
        let sheet = ModuleSheet::parse(&Source::new("slow.toml", &text)).unwrap();
        let found = check(&expand(&script, &sheet, None, None).unwrap());
        let told = found.iter().any(|f| f.message.contains("an output may take 463 ms to move"));
        assert_eq!((is_clean(&found), told), (!is_slow, is_slow), "{response}: {found:#?}");
    }
}

#[test]
fn a_sound_script_has_no_findings() {
    assert_eq!(after_begin(r#"{ operate = ["b", "a"] },"#), [""; 0]);
}

#[test]
fn what_is_wrong_is_found() {
    let mut all = Vec::new();
    for steps in [
        r#"{ ask = "prepare" },"#,
        r#"{ measure = "hook-up" },"#,
        r#"{ feed = "on" },"#,
        r#"{ feed = "off" }, { operate = "b", outputs = 1 },"#,
        r#"{ operate = "a", outputs = [2] },"#,
        r#"{ operate = "a", outputs = 2, by = "command against contact" },"#,
        r#"{ loads = "jig", at = ["1a", "1b", "2a"] }, { operate = "b", outputs = "2 to 3" },"#,
        r#"{ lamp = "judge" },"#,
        r#"{ lamp = "watch" }, { wait = "2 s" }, { lamp = "judge" },"#,
        r#"{ lamp = "watch" }, { lamp = "watch" }, { wait = "90 s" }, { lamp = "judge" },"#,
        r#"{ lamp = "watch" },"#,
        r#"{ loads = "off" }, { measure = "load total" },"#,
        r#"{ measure = "load voltage", over = "30 s" },"#,
        r#"{ measure = "load start" },"#,
        r#"{ feed = "off" },"#,
    ] {
        all.push(format!("{steps}\n    {}", after_begin(steps).join("\n    ")));
    }
    for steps in [
        r#"{ measure = "auxiliary current" },"#,
        r#"{ ask = "slider", auxiliary = "on" }, { measure = "idle current" },"#,
    ] {
        let whole = format!("{BEGIN}\n{steps}\n{{ feed = \"off\" }}");
        all.push(format!("{steps}\n    {}", told(&whole, "jetty-two").join("\n    ")));
    }
    for steps in [
        r#"{ feed = "on" }, { feed = "off" },"#,
        r#"{ ask = "prepare" }, { loads = "jig" }, { feed = "on" },"#,
        r#"{ ask = "prepare" }, { loads = "jig" }, { feed = "on", compare = true },"#,
        r#"{ ask = "prepare" }, { loads = "jig" }, { feed = "on" }, { operate = "b" },"#,
    ] {
        all.push(format!("{steps}\n    {}", findings(steps).join("\n    ")));
    }
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn a_kind_that_falls_back_needs_no_send_after_power() {
    let steps = r#"{ ask = "prepare" }, { loads = "jig" }, { feed = "on" },
        { operate = ["b", "a"] }, { feed = "off" }"#;
    assert_eq!(findings_with(steps, "jetty-two", None), []);
    assert_eq!(findings_with(steps, "pier-four", None).len(), 4, "one for each output");
}

#[test]
fn a_load_beyond_the_rating_is_found() {
    let loads = LoadSheet::parse(&Source::new(
        "heavy.toml",
        "title = \"heavy\"\nsupply = { kind = \"dc\", voltage = \"16 V\" }\n\
         [[load]]\nname = \"heater\"\nat = [\"1a\", \"1b\"]\nresistor = { resistance = \"3.9 ohm\" }",
    ))
    .unwrap();
    let steps = r#"{ ask = "prepare" }, { loads = "real" }, { feed = "on" }, { feed = "off" }"#;
    let found = findings_with(steps, "pier-four", Some(&loads));
    let said: Vec<&str> = found.iter().map(|f| f.message.as_str()).collect();
    assert_eq!(said.len(), 3, "{said:#?}");
    assert_eq!(
        said[0],
        "the load at 1a draws up to 4.103 A, but an output may switch 1.5 A at most"
    );
    assert!(said[2].contains("the loads may draw 4.103 A together"), "{said:#?}");
    assert!(!is_clean(&found));
}

/// Six offsets of its channel are the least that a jig tells for certain: what may draw less is said, once for
/// all clamps; of a jig with better channels nothing is.
#[test]
fn loads_too_small_to_tell_a_position_are_said() {
    let sheet = |series: &str, at: &str| {
        let text = format!(
            "title = \"small\"\nsupply = {{ kind = \"dc\", voltage = \"12 V\" }}\n[[load]]\n\
             name = \"buoy\"\nat = {at}\nled = {{ forward = \"2 V\", at_current = \"1 mA\", series = \
             \"{series}\" }}"
        );
        LoadSheet::parse(&Source::new("small.toml", &text)).unwrap()
    };
    let steps = r#"{ ask = "prepare" }, { loads = "real" }"#;
    let said = |series, at| findings_with(steps, "pier-four", Some(&sheet(series, at)));
    assert_eq!(said("1 kohm", "[\"1a\", \"1b\"]"), []);
    let found = said("10 kohm", "[\"1a\", \"1b\"]");
    let [found] = &found[..] else { panic!("{found:?}") };
    assert!(
        found.message.starts_with("what hangs at clamps 1a and 1b may draw as little as 1 mA"),
        "{}",
        found.message
    );
    assert!(found.message.contains("below 3 mA"), "{}", found.message);
    assert_eq!(found.gravity, Gravity::Warning);

    let loads = sheet("10 kohm", "[\"2a\"]");
    let script =
        Script::parse("t", Source::new("t.toml", &format!("title = \"t\"\nsteps = [{steps}]")));
    let module = shipped::module_sheet("pier-four").unwrap();
    let plan = expand(&script.unwrap(), &module, Some(&loads), None).unwrap();
    for (offset_a, sentences) in [(0.000_5, 1), (0.000_1, 0)] {
        let jig = JigAbilities { clamp_offset_a: [Some(offset_a); 8], ..JigAbilities::default() };
        let said = told_by_voltage(&plan, &jig);
        assert_eq!(said.len(), sentences, "{said:?}");
        assert!(said.iter().all(|s| s.contains("at clamp 2a ")), "{said:?}");
    }
}

#[test]
fn what_a_jig_cannot_do_is_found() {
    let script = shipped::script("arrival").unwrap();
    let sheet = shipped::module_sheet("pier-four").unwrap();
    let plan = expand(&script, &sheet, None, None).unwrap();
    let able = JigAbilities {
        clamp_offset_a: [Some(0.000_5); 8],
        feed_voltage_v: Some(24.0),
        feed_current: true,
        feed_resistance: true,
        load_voltage_v: Some(24.0),
        clamp_voltage_v: [Some(20.0); 8],
        load_total: true,
        clamp_current_a: [Some(2.0); 8],
        contact_closers: [true; 8],
        load_switches: [true; 8],
        jig_loads: [true; 8],
    };
    assert_eq!(against_jig(&plan, &able), []);
    let mut less = able.clone();
    less.feed_resistance = false;
    less.contact_closers[3] = false;
    less.clamp_current_a[0] = Some(0.5);
    less.jig_loads[7] = false;
    let found: Vec<String> = against_jig(&plan, &less).into_iter().map(|f| f.message).collect();
    assert_eq!(
        found,
        [
            "this jig cannot measure the resistance between the feed wires",
            "the load at 1a draws up to 578.5 mA, but this jig reads up to 0.5 A",
            "this jig has no load of its own at 4b",
            "this jig cannot close the contact input 2b",
            // Once more: this time it is to be held closed against a command.
            "this jig cannot close the contact input 2b",
        ]
    );
}

#[test]
fn voltages_beyond_the_jigs_channels_are_found() {
    let script = shipped::script("arrival").unwrap();
    let sheet = shipped::module_sheet("pier-four").unwrap();
    let plan = expand(&script, &sheet, None, None).unwrap();
    // The feed is 16 V ±5 %, the jig's own loads are for 12 V ±5 %.
    for (feed_v, load_v, clamp_v, wanted) in [
        (17.0, 13.0, 13.0, None),
        (16.5, 24.0, 24.0, Some("the feed may have up to 16.8 V, but this jig reads up to 16.5 V")),
        (
            24.0,
            12.0,
            24.0,
            Some("the load supply may have up to 12.6 V, but this jig reads up to 12 V"),
        ),
        (
            24.0,
            24.0,
            10.0,
            Some("the load supply may have up to 12.6 V, but this jig reads up to 10 V"),
        ),
    ] {
        let jig = JigAbilities {
            clamp_offset_a: [Some(0.000_5); 8],
            feed_voltage_v: Some(feed_v),
            load_voltage_v: Some(load_v),
            clamp_voltage_v: [Some(clamp_v); 8],
            feed_current: true,
            feed_resistance: true,
            load_total: true,
            clamp_current_a: [Some(2.0); 8],
            contact_closers: [true; 8],
            load_switches: [true; 8],
            jig_loads: [true; 8],
        };
        let found = against_jig(&plan, &jig);
        let found: std::collections::BTreeSet<&str> =
            found.iter().map(|f| f.message.as_str()).collect();
        assert_eq!(found, wanted.into_iter().collect());
    }
}

#[test]
fn a_finding_points_at_its_line() {
    let text = "title = \"t\"\nsteps = [\n  { feed = \"on\" },\n]\n";
    let script = Script::parse("t", Source::new("t.toml", text)).unwrap();
    let plan = expand(&script, &shipped::module_sheet("pier-four").unwrap(), None, None).unwrap();
    let shown: Vec<String> = check(&plan).iter().map(|f| f.located(&script).to_string()).collect();
    insta::assert_snapshot!(shown.join("\n"));
}

/// A resistor that nobody makes is most likely a slip in the sheet; the run goes on all the same.
#[test]
fn a_resistor_in_no_series_is_a_warning() {
    let text = shipped::LOAD_SHEETS.iter().find(|s| s.name == "crane-yard").unwrap().text;
    let steps = r#"{ ask = "prepare" }, { loads = "real", at = "3a" }"#;
    for (ohm, is_odd) in [("220 ohm ±5 %", false), ("230 ohm ±5 %", true), ("221R", false)] {
        let text = text.replace("220 ohm ±5 %", ohm);
        let sheet = LoadSheet::parse(&Source::new("loads.toml", &text)).unwrap();
        let found = findings_with(steps, "pier-four", Some(&sheet));
        let odd = found.iter().filter(|f| f.message.contains("IEC 60063"));
        assert_eq!(odd.clone().count(), usize::from(is_odd), "{found:?}");
        assert!(odd.clone().all(|f| f.gravity == Gravity::Warning), "{found:?}");
        assert!(odd.clone().all(|f| f.message.contains("the nearest is 229 ohm")), "{found:?}");
    }
}
