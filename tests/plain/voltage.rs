//! One voltage everywhere: what the pages allow is what the program allows, and it refuses more.

use musterbench::load::sheet::LoadSheet;
use musterbench::quantity::source::Source;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::shipped;

/// As the pages say it.
const ALLOWED: &str = "24 V direct current at most for the feed, 9 to 20 V for the loads";

const PAGES: [(&str, &str); 3] = [
    ("README.md", include_str!("../../README.md")),
    ("docs/bench.md", include_str!("../../docs/bench.md")),
    ("docs/jig.md", include_str!("../../docs/jig.md")),
];

#[test]
fn every_page_with_cautions_says_it() {
    for (name, page) in PAGES {
        let words: Vec<&str> = page.split_whitespace().collect();
        assert!(words.join(" ").contains(ALLOWED), "{name}");
    }
}

#[test]
fn the_program_refuses_more() {
    let feed = |voltage: &str| {
        let shipped = shipped::MODULE_SHEETS[0].text;
        let (head, rest) = shipped.split_once("[feed]\nvoltage = \"").expect("a feed");
        let (_, tail) = rest.split_once('"').expect("its voltage");
        let text = format!("{head}[feed]\nvoltage = \"{voltage}\"{tail}");
        ModuleSheet::parse(&Source::new("module.toml", &text)).map(|_| ())
    };
    let loads = |voltage: &str| {
        let text = format!(
            "title = \"t\"\nsupply = {{ kind = \"dc\", voltage = \"{voltage}\" }}\n\
             [[load]]\nname = \"lamp\"\nat = \"1a\"\nresistor = {{ resistance = \"100 ohm\" }}\n"
        );
        LoadSheet::parse(&Source::new("loads.toml", &text)).map(|_| ())
    };
    assert_eq!((feed("24 V").err(), loads("20 V").err()), (None, None));
    for refused in [feed("24.1 V"), feed("23.5 V ±5 %"), loads("20.1 V"), loads("19.5 V ±5 %")] {
        let error = refused.expect_err("more than is allowed").to_string();
        assert!(error.contains("extra-low voltage only"), "{error}");
    }
}
