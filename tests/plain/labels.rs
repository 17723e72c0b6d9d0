//! Sheets of labels: what stands on them, and that a scanner reads their codes.

use crate::kit::printed::{Bar, Picture, bounds, codes, printed};
use crate::kit::program::{done, refused};
use musterbench::label::code::{self, Scan};
use musterbench::label::fit::width_em;
use musterbench::label::qr::{LEAST_MM, QUIET, Qr};
use musterbench::label::sheet::{SHIPPED, Sheet};
use musterbench::label::svg::Svg;
use musterbench::record::names::is_same_name;
use std::fs;
use std::path::Path;

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).expect("JSON")
}

/// A lot of seven: four accepted, one on hold, one rejected, one that waits.
fn spring(folder: &Path, kind: &str) {
    done(folder, &["lot", "open", "spring", "--kind", kind, "--count", "7", "--serial", "pier-{}"]);
    let decide = |what: &str, serial: &str, reason: &str| {
        done(folder, &["lot", what, serial, "--reason", reason, "--by", "Ines"]);
    };
    for serial in ["pier-01", "pier-02", "pier-03", "pier-04"] {
        decide("accept", serial, "seen");
    }
    decide(
        "hold",
        "pier-05",
        "its housing is cracked along the whole of the side with the lettering",
    );
    decide("reject", "pier-06", "burnt");
}

/// The texts of a page, each with the place that it takes.
fn texts(svg: &str) -> Vec<(String, Bar)> {
    let document = roxmltree::Document::parse(svg).unwrap_or_else(|e| panic!("{e}: {svg}"));
    let text = |node: roxmltree::Node<'_, '_>| {
        let number = |name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
        let text = node.text().unwrap_or_default().to_owned();
        let (x, y, size) = (number("x"), number("y"), number("font-size"));
        let width = width_em(&text) * size;
        let left = match node.attribute("text-anchor") {
            None => x,
            Some("middle") => x - width / 2.0,
            _ => x - width,
        };
        (text, [left, y - 0.8 * size, left + width, y + 0.25 * size])
    };
    document.descendants().filter(|node| node.has_tag_name("text")).map(text).collect()
}

fn meet(one: &Bar, other: &Bar) -> bool {
    one[0] < other[2] - 0.01
        && other[0] < one[2] - 0.01
        && one[1] < other[3] - 0.01
        && other[1] < one[3] - 0.01
}

/// The smallest module of a code, and the light edge that belongs to it around the whole.
fn with_quiet_zone(code: &[Bar]) -> (f64, Bar) {
    let module = code.iter().map(|bar| bar[3] - bar[1]).fold(f64::MAX, f64::min);
    let [left, upper, right, lower] = bounds(code);
    let quiet = QUIET as f64 * module;
    (module, [left - quiet, upper - quiet, right + quiet, lower + quiet])
}

#[test]
fn every_code_on_every_sheet_is_read_and_nothing_is_in_its_way() {
    for (kind, (name, _)) in
        ["pier-four", "quay-four", "jetty-two"].into_iter().zip(SHIPPED.iter().cycle())
    {
        let folder = tempfile::tempdir().expect("a folder");
        let folder = folder.path();
        spring(folder, kind);
        let sheet = Sheet::named(name).expect("shipped");
        for (what, wanted) in [(&["--numbers"][..], 7), (&[], 4)] {
            let print = ["label", "--lot", "spring", "--sheet", name, "--skip", "2", "--json"];
            let printed_now = json(&done(folder, &[&print[..], what].concat()));
            let pages: Vec<&str> = printed_now["pages"]
                .as_array()
                .expect("pages")
                .iter()
                .filter_map(|p| p.as_str())
                .collect();
            let mut serials = Vec::new();
            for page in &pages {
                let texts = texts(page);
                let codes = codes(page);
                for code in &codes {
                    let (module, all) = with_quiet_zone(code);
                    assert!(module >= LEAST_MM, "{module}");
                    let is_within = |at: usize| {
                        let place = sheet.place(at);
                        all[0] >= place.x
                            && all[1] >= place.y
                            && all[2] <= place.x + place.width
                            && all[3] <= place.y + place.height
                    };
                    assert_eq!(
                        (0..sheet.places()).filter(|at| is_within(*at)).count(),
                        1,
                        "{all:?}"
                    );
                    let near = texts.iter().find(|(_, place)| meet(place, &all));
                    assert!(near.is_none(), "{near:?} is in the light edge {all:?}");
                    let text =
                        printed(code, 300.0, QUIET as f64 * module, 0.3).read().expect("read");
                    match code::read(&text) {
                        Scan::Module { lot, serial } if is_same_name(&lot, "spring") => {
                            serials.push(serial.to_lowercase())
                        }
                        other => panic!("{text}: {other:?}"),
                    }
                }
                for (text, place) in &texts {
                    let is_on = |at: usize| {
                        let label = sheet.place(at);
                        place[0] >= label.x - 0.01
                            && place[1] >= label.y - 0.01
                            && place[2] <= label.x + label.width + 0.01
                            && place[3] <= label.y + label.height + 0.01
                    };
                    assert!(
                        (2..sheet.places()).any(is_on),
                        "{text} at {place:?} is on no label that is free"
                    );
                }
                for (i, one) in texts.iter().enumerate() {
                    let other = texts[..i].iter().find(|other| meet(&one.1, &other.1));
                    assert!(other.is_none(), "{one:?} and {other:?}");
                }
            }
            let all: Vec<String> = (1..=wanted).map(|n| format!("pier-{n:02}")).collect();
            assert_eq!(serials, all, "{kind} {name}");
        }
    }
}

/// Modules of 0.4 mm at 300 dots an inch: the smallest that is ever printed. A scanner takes a picture after the
/// other until it has read one, so that of those out of focus most must be read, and none as something else.
#[test]
fn small_blurred_and_faded_codes_are_read_as_they_were_written() {
    let mut never = 0;
    for (lot, serial) in
        [("spring", "pier-07"), ("autumn 2026", "harbour-basin-118"), ("Kai_ä", "Süd 3")]
    {
        let text = code::write(lot, serial);
        let qr = Qr::of(&text).expect("short");
        let mut svg = Svg::new(60.0, 60.0, "a code");
        qr.draw(&mut svg, 5.0, 5.0, LEAST_MM);
        let code = codes(&svg.finish()).remove(0);
        assert!((with_quiet_zone(&code).0 - LEAST_MM).abs() < 1e-9);
        let shifts = [0.0, 0.25, 0.5, 0.75];
        let read = |change: &dyn Fn(Picture) -> Picture| {
            let small = shifts.map(|shift| change(printed(&code, 300.0, 3.0, shift)).read());
            let read: Vec<String> = small.into_iter().flatten().collect();
            assert!(read.iter().all(|read| *read == text), "{read:?} is not {text}");
            read.len()
        };
        assert_eq!(read(&|sharp| sharp), shifts.len(), "{text}");
        // By 0.06 mm and by 0.13 mm, the second with half of the contrast.
        assert_eq!(read(&|sharp| sharp.blurred(0.7)), shifts.len(), "{text}");
        assert!(read(&|sharp| sharp.blurred(1.5).faded(0.5)) + 1 >= shifts.len(), "{text}");
        never += u32::from(read(&|sharp| sharp.blurred(4.5)) == 0);
    }
    assert!(never > 0, "somewhere a blur must be too much, or nothing was blurred");
}

#[test]
fn what_is_settled_is_printed_and_what_waits_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    spring(folder, "pier-four");
    let print = ["label", "--lot", "spring", "--out", "spring.html"];
    let told = done(folder, &print);
    assert_eq!(
        told,
        "4 labels and 2 tags of the lot spring on 1 sheet: spring.html\n\
         Left out: 1 waiting.\n\
         Next time --skip 6 goes on where the last sheet ends.\n\
         Print at 100 %, not made to fit the page: `label --test-page` shows whether it\n  is so.\n"
    );
    let html = fs::read_to_string(folder.join("spring.html")).expect("written");
    assert!(
        html.contains("@page { size: 210mm 297mm; margin: 0 }")
            && !html.contains("http://www.w3.org/1999")
    );
    assert!(
        !html.contains("pier-07") && !html.contains("href") && !html.contains("<script"),
        "it needs nothing else"
    );
    let start = html.find("<svg").expect("a drawing");
    let end = html.rfind("</svg>").expect("a drawing") + "</svg>".len();
    insta::assert_snapshot!(
        "labels_and_tags",
        texts(&html[start..end]).into_iter().map(|(text, _)| text + "\n").collect::<String>()
    );

    // One of them again, as a drawing; then more than a sheet.
    done(folder, &["label", "--lot", "spring", "--serial", "PIER-02", "--out", "one.svg"]);
    let svg = fs::read_to_string(folder.join("one.svg")).expect("written");
    assert_eq!(codes(&svg).len(), 1);
    let many = [
        "label",
        "--lot",
        "spring",
        "--numbers",
        "--sheet",
        "a5-cut",
        "--skip",
        "12",
        "--out",
        "many.svg",
    ];
    assert!(done(folder, &many).starts_with(
        "7 stickers of the lot spring on 2 sheets: many-1.svg, many-2.svg\nNext time --skip 4"
    ));
    let on = |file: &str| codes(&fs::read_to_string(folder.join(file)).expect("written")).len();
    assert_eq!((on("many-1.svg"), on("many-2.svg")), (3, 4));
    done(folder, &many);
    fs::write(folder.join("many-2.svg"), "mine").expect("written");
    assert!(refused(folder, &many).contains("many-2.svg was not written by this command"));

    let test = done(folder, &["label", "--test-page", "--sheet", "a5-cut"]);
    assert!(test.contains("Both lines are 90 mm long") && test.contains(">15</text>"), "{test}");
}

#[test]
fn what_cannot_be_printed_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["lot", "open", "spring", "--count", "2"]);
    let print = ["label", "--lot", "spring"];
    let with = |more: &[&str], words: &[&str]| {
        let why = refused(folder, &[&print[..], more].concat());
        assert!(words.iter().all(|word| why.contains(word)), "{words:?} are not in: {why}");
    };
    with(&[], &["nothing to print", "--numbers"]);
    with(&["--numbers", "--skip", "28"], &["--skip 28", "28 labels", "27"]);
    with(&["--numbers", "--sheet", "a6"], &["a6", "a4-cut, a5-cut"]);
    with(&["--numbers", "--serial", "pier-01"], &["no module pier-01"]);
    with(&["lighthouse"], &["cannot be used with"]);
    assert!(refused(folder, &["label"]).contains("--lot"));
    assert!(refused(folder, &["label", "--lot", "autumn"]).contains("no lot autumn"));
    assert!(
        refused(folder, &["label", "--test-page", "--lot", "spring"])
            .contains("cannot be used with")
    );
    let a4 = SHIPPED[0].1;
    let small = a4.replace("\"44 mm\"", "\"24 mm\"").replace("\"36 mm\"", "\"14 mm\"");
    fs::write(folder.join("small.toml"), small).expect("written");
    with(
        &["--numbers", "--sheet", "small.toml"],
        &["the code of spring-01 needs a square of 13.2 mm", "larger labels"],
    );
    fs::write(folder.join("wrong.toml"), a4.replace("columns = 4", "columns = 9"))
        .expect("written");
    with(&["--numbers", "--sheet", "wrong.toml"], &["wrong.toml:7:11", "do not fit"]);
}

/// No label is printed from tries that a bench which failed its check has set back.
#[test]
fn a_bench_that_failed_its_check_leaves_nothing_to_print() {
    use musterbench::lot::decision::{Decision, FORMAT, What};
    use musterbench::lot::{decisions, standing::Lot};
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    done(folder, &["lot", "open", "spring", "--count", "1", "--serial", "pier-{}"]);
    let test =
        ["test", "--port", "simulated", "--unattended", "--lot", "spring", "--module", "pier-01"];
    done(folder, &test);
    let print = ["label", "--lot", "spring", "--json"];
    assert_eq!(json(&done(folder, &print))["labels"], serde_json::json!(["pier-01"]));
    let lot = Lot::read(&folder.join("records"), "spring").expect("read");
    let jig = lot.modules[0].tries[0].jig.clone();
    let failed = Decision {
        format: FORMAT,
        time: "2026-03-09T10:00:00+01:00".into(),
        by: "Ines".into(),
        reason: "the known module does not pass".into(),
        what: What::BenchFailed { runs: lot.runs_since_good(&jig), jig },
    };
    decisions::append(&lot.folder, &[failed]).expect("written");
    assert!(refused(folder, &print).contains("nothing to print"));
    let label = ["label", "pier-01", "--json"];
    done(folder, &["layout", "add", "pier-01"]);
    let standing = json(&done(folder, &label))["standing"].clone();
    assert_eq!(
        (&standing["fate"], &standing["last_showed"]),
        (&"waiting".into(), &serde_json::Value::Null)
    );
}
