use super::fit::width_em;
use super::*;
use crate::judge::reading::Verdict;
use crate::record::example::{closing, facts, record};
use crate::record::facts::Facts;
use crate::record::run_record::{Closing, RunEnding, RunRecord};
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
        place: Default::default(),
    }
}

fn run(verdict: Verdict, simulated: bool, ending: RunEnding) -> RunSummary {
    let facts = Facts {
        module: "lighthouse".into(),
        lot: "spring".into(),
        started: "2026-04-17T14:05:00+02:00".into(),
        simulated,
        ..facts()
    };
    let record =
        RunRecord { facts, closing: Closing { ending, ..closing(verdict) }, ..record(1, verdict) };
    record.facts_file(&record.report()).summary
}

fn draw_it(module: &PlannedModule, last_run: Option<&RunSummary>) -> String {
    draw(module, module.setting().unwrap().switches, last_run)
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
    let svg = draw_it(&module, Some(&run(Verdict::Pass, false, RunEnding::Complete)));
    let texts = texts(&svg);
    for shown in [
        "lighthouse",
        "181 to 184",
        "dcc",
        "182",
        "fog horn & <bell>",
        "on: 3 4 8",
        "PASS",
        "2026-04-17",
        "run 3, lot spring",
    ] {
        assert!(texts.iter().any(|t| t == shown), "{shown} is not in {texts:?}");
    }
    assert!(!svg.contains("SIMULATED"));
    insta::assert_snapshot!(svg);
}

#[test]
fn what_is_no_pass_looks_like_none() {
    let module = module("jetty-two", "swing-bridge", 49);
    let with = |run: Option<&RunSummary>| texts(&draw_it(&module, run)).join("|");
    let simulated = with(Some(&run(Verdict::Pass, true, RunEnding::Complete)));
    assert!(simulated.contains("SIMULATED|PASS"), "{simulated}");
    let cut = with(Some(&run(Verdict::Indeterminate, true, RunEnding::Trouble)));
    assert!(cut.contains("SIMULATED|INDETERMINATE|cut short, 2026-04-17|"), "{cut}");
    let failed = with(Some(&run(Verdict::Fail, false, RunEnding::Complete)));
    assert!(failed.contains("FAIL") && !failed.contains("PASS"), "{failed}");
    let none = with(None);
    assert!(none.contains("not tested") && !none.contains("PASS"), "{none}");
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
        let mut run = run(Verdict::Indeterminate, true, RunEnding::CutOff);
        run.facts.lot = lot;
        run.facts.started = started;
        texts(&draw_it(&module, Some(&run)));
    }
}
