use super::*;
use crate::judge::reading::Blame;
use crate::label::fit::width_em;
use crate::lot::decision::{Decision, FORMAT, What};
use crate::lot::fate::rule;
use crate::lot::tries::{Showed, Symptom, Try};
use crate::script::shipped;
use proptest::prelude::*;

fn module(kind: &str, name: &str, address: u16) -> PlannedModule {
    let sheet = shipped::module_sheet(kind).unwrap();
    PlannedModule {
        name: name.into(),
        sheet_name: kind.into(),
        counted: sheet.numbering,
        format: sheet.switches.usual_format,
        address,
        outputs: vec![None; usize::from(sheet.outputs)],
        sheet,
        note: None,
        link: None,
        place: Default::default(),
    }
}

fn tested(showed: &[Showed], simulated: bool, decisions: &[Decision]) -> Module {
    let one = |(run, showed): (u32, &Showed)| Try {
        run,
        started: format!("2026-04-{:02}T14:05:00+02:00", 16 + run),
        jig: "0001".into(),
        simulated,
        script: "arrival".into(),
        showed: showed.clone(),
        finding: None,
        found: None,
    };
    let tries: Vec<Try> = (1..).zip(showed).map(one).collect();
    Module {
        serial: "pier-07".into(),
        is_ordered: true,
        ruling: rule("pier-07", &tries, decisions, "thorough"),
        tries,
        whereabouts: None,
        notes: Vec::new(),
        sample: None,
    }
}

fn decided(what: What) -> Decision {
    let (time, by, reason) = ("2026-04-18T11:00:00+02:00".into(), "Ines".into(), "why".into());
    Decision { format: FORMAT, time, by, reason, what }
}

fn draw_it(module: &PlannedModule, tested: Option<&Module>) -> String {
    let standing = tested.map(|module| Standing { lot: "spring", module });
    draw(module, module.setting().unwrap().switches, standing)
}

/// Reads it as XML and makes sure that nothing leaves the label. Returns its texts.
fn texts(svg: &str) -> Vec<String> {
    let document = roxmltree::Document::parse(svg).unwrap_or_else(|e| panic!("{e}: {svg}"));
    let root = document.root_element();
    assert_eq!(root.attribute("width"), Some("84mm"));
    assert_eq!(root.attribute("height"), Some("48mm"));
    assert_eq!(root.attribute("viewBox"), Some("0 0 84 48"));
    let mut texts = Vec::new();
    for node in root.children().filter(roxmltree::Node::is_element) {
        let number = |name: &str| -> f64 { node.attribute(name).unwrap().parse().unwrap() };
        let [left, right, top, bottom] = match node.tag_name().name() {
            "title" => continue,
            "line" => [number("x1"), number("x2"), number("y1"), number("y2")],
            "rect" => {
                let (x, y) = (number("x"), number("y"));
                let half = number("stroke-width") / 2.0;
                let (right, bottom) = (x + number("width") + half, y + number("height") + half);
                [x - half, right, y - half, bottom]
            }
            "text" => {
                let text = node.text().unwrap_or_default().to_owned();
                let (x, y, size) = (number("x"), number("y"), number("font-size"));
                assert!(size > 0.4, "{text} is too small to read");
                let width = width_em(&text) * size;
                let left = match node.attribute("text-anchor") {
                    None => x,
                    Some("middle") => x - width / 2.0,
                    _ => x - width,
                };
                texts.push(text);
                [left, left + width, y - size, y + 0.25 * size]
            }
            other => panic!("{other} is not plain"),
        };
        let rounding = 0.02;
        assert!(left >= -rounding && right <= WIDTH_MM + rounding, "{node:?} leaves the label");
        assert!(top >= -rounding && bottom <= HEIGHT_MM + rounding, "{node:?} leaves the label");
    }
    texts
}

#[test]
fn a_label_of_a_sound_module() {
    let mut module = module("pier-four", "lighthouse", 181);
    module.outputs[0] = Some("lantern".into());
    module.outputs[1] = Some("fog horn & <bell>".into());
    let svg = draw_it(&module, Some(&tested(&[Showed::Passes], false, &[])));
    let texts = texts(&svg);
    for shown in [
        "lighthouse",
        "181 to 184",
        "dcc",
        "182",
        "fog horn & <bell>",
        "on: 3 4 8",
        "ACCEPTED",
        "newest check: pass, 2026-04-17, run 1",
        "pier-07, lot spring",
    ] {
        assert!(texts.iter().any(|t| t == shown), "{shown} is not in {texts:?}");
    }
    assert!(!svg.contains("SIMULATED"));
    insta::assert_snapshot!(svg);
}

#[test]
fn the_fate_is_shown_and_never_the_last_run_alone() {
    let module = module("jetty-two", "swing-bridge", 49);
    let with = |showed: &[Showed], simulated, decisions: &[Decision]| {
        texts(&draw_it(&module, Some(&tested(showed, simulated, decisions)))).join("|")
    };
    let bad = || Showed::AtFault(Symptom { quantity: None, outputs: vec![1] });
    let simulated = with(&[Showed::Passes], true, &[]);
    assert!(
        simulated.contains("SIMULATED|ACCEPTED|newest check: pass, 2026-04-17, run 1"),
        "{simulated}"
    );
    // Twice failed and once passed.
    let twice = with(&[bad(), bad(), Showed::Passes], false, &[]);
    assert!(twice.contains("|ON HOLD|newest check: pass, 2026-04-19, run 3"), "{twice}");
    let other = Showed::AtFault(Symptom { quantity: None, outputs: vec![2] });
    let ways = with(&[bad(), other, Showed::Passes], false, &[]);
    assert!(ways.contains("|ON HOLD|"), "{ways}");
    let rejected = with(&[bad(), bad()], false, &[]);
    assert!(
        rejected.contains("|REJECTED|newest check: fail, module, 2026-04-18, run 2"),
        "{rejected}"
    );
    let again = with(&[bad(), Showed::Elsewhere(Blame::Lead)], false, &[]);
    assert!(again.contains("|TO REPEAT|newest check: fail, lead, 2026-04-18, run 2"), "{again}");
    let cut = with(&[Showed::Passes, Showed::CutShort], false, &[]);
    assert!(cut.contains("|ACCEPTED|newest check: pass, 2026-04-17, run 1"), "{cut}");
    // A check after the lot was closed changes no fate, and is shown.
    let close = decided(What::Close { last: [("pier-07".into(), 1)].into() });
    let check = with(&[Showed::Passes, bad()], false, &[close]);
    assert!(
        check.contains("|ACCEPTED|newest check: later: fail, module, 2026-04-18, run 2"),
        "{check}"
    );
    // The bench failed its check afterwards.
    let runs = [("pier-07".into(), vec![1])].into();
    let failed = decided(What::BenchFailed { jig: "0001".into(), runs });
    let set_back = with(&[Showed::Passes], false, &[failed]);
    assert!(set_back.contains("|WAITING|newest check: no try counts"), "{set_back}");
    assert!(!set_back.contains("pass"), "{set_back}");
    let none = texts(&draw_it(&module, None)).join("|");
    assert!(none.contains("not tested") && !none.contains("ACCEPTED"), "{none}");
}

/// Black sliders stand where the settings say.
#[test]
fn the_picture_shows_the_settings() {
    for (kind, address) in [("pier-four", 181), ("quay-four", 217), ("jetty-two", 49)] {
        let module = module(kind, "quay", address);
        let svg = draw_it(&module, None);
        let document = roxmltree::Document::parse(&svg).unwrap();
        let sliders: Vec<(f64, bool)> = document
            .descendants()
            .filter(|n| n.has_tag_name("rect") && n.attribute("rx") == Some("0.2"))
            .map(|n| {
                (n.attribute("y").unwrap().parse().unwrap(), n.attribute("fill") == Some("black"))
            })
            .collect();
        assert_eq!(sliders.len(), module.sheet.switches.weights.len());
        let switches = module.setting().unwrap().switches;
        let lowest = sliders.iter().map(|s| s.0).fold(0.0, f64::max);
        for (i, (y, is_black)) in sliders.into_iter().enumerate() {
            let is_on = switches >> i & 1 == 1;
            assert_eq!(is_black, is_on, "{kind}, switch {}", i + 1);
            assert_eq!(y < lowest, is_on, "{kind}, switch {}", i + 1);
        }
    }
}

#[test]
fn a_bank_of_twenty_switches_fits() {
    let mut module = module("quay-four", "long mole", 129);
    module.sheet.switches.weights = vec![1; 20];
    module.address = 129 + 20 * 4;
    assert!(texts(&draw_it(&module, None)).iter().any(|t| t == "all on"));
    let all_but_one = texts(&draw(&module, 0xF_FFFE, None));
    assert!(all_but_one.iter().any(|t| t.starts_with("on: 2 3") && t.ends_with("19 20")));
}

proptest! {
    #[test]
    fn whatever_the_names_are_the_label_is_whole(
        name in "\\PC{0,120}", output in "\\PC{0,120}", lot in "\\PC{0,64}", started in "\\PC{0,20}",
    ) {
        let mut module = module("pier-four", &name, 1861);
        module.counted = Numbering::FromGroupZero;
        module.sheet.title = output.clone();
        module.outputs = vec![Some(output); 4];
        let mut tested = tested(&[Showed::Open], true, &[]);
        tested.serial = name;
        tested.tries[0].started = started;
        let standing = Standing { lot: &lot, module: &tested };
        texts(&draw(&module, module.setting().unwrap().switches, Some(standing)));
    }
}
