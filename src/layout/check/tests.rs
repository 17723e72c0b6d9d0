use super::*;
use crate::layout::next::next_free;
use crate::quantity::source::Source;
use crate::script::setting::write_switches;
use crate::script::shipped;
use crate::signal::dcc::Numbering;
use crate::signal::target::{Format, Position};
use crate::signal::telegram::command;
use std::path::Path;

fn plan(text: &str) -> AddressPlan {
    AddressPlan::parse(Source::new("layout.toml", text), Path::new("")).unwrap()
}

fn block(name: &str, kind: &str, address: u16, more: &str) -> String {
    format!(
        "[[module]]\nname = \"{name}\"\nmodule_sheet = \"{kind}\"\naddress = {address}\n{more}\n"
    )
}

fn told(text: &str) -> Vec<String> {
    check(&plan(text)).iter().map(|w| w.to_string().lines().next().unwrap().to_owned()).collect()
}

#[test]
fn a_sound_plan_has_nothing_wrong() {
    let text = [
        block("lighthouse", "pier-four", 181, ""),
        block("crane yard", "quay-four", 185, ""),
        // The same figures, but another format.
        block("swing-bridge", "jetty-two", 181, ""),
        block("lock", "pier-four", 181, "numbering = \"from-group-zero\""),
    ];
    assert_eq!(told(&text.concat()), Vec::<String>::new());
    assert_eq!(told("# nothing yet\n"), Vec::<String>::new());
}

#[test]
fn two_owners_are_found_by_what_goes_over_the_wire() {
    let text = [
        block("lighthouse", "pier-four", 181, ""),
        block("crane yard", "quay-four", 181, ""),
        block("lock", "pier-four", 185, "numbering = \"from-group-zero\""),
    ];
    assert_eq!(
        told(&text.concat()),
        [
            "layout.toml:9:11: \"crane yard\" cannot have dcc 181 to 184: \"lighthouse\" (line 4) \
             has them; `musterbench layout next` proposes a free one",
            "layout.toml:14:11: \"lock\" cannot have dcc 185 to 188: on the feed that is 181 to 184 of \
             \"lighthouse\" (line 4), which counts differently; `musterbench layout next` proposes \
             a free one",
        ]
    );
}

/// Two modules clash exactly when some command to the one is, bit by bit, a command to the other.
#[test]
fn clashes_are_those_of_the_packets() {
    let pier = shipped::module_sheet("pier-four").unwrap();
    let numberings =
        [("rcn-213", Numbering::Rcn213), ("from-group-zero", Numbering::FromGroupZero)];
    for (name, numbering) in numberings {
        for (other_name, other) in numberings {
            for first in (61..=101).step_by(4) {
                let text = [
                    block("a", "pier-four", 185, &format!("numbering = \"{name}\"")),
                    block("b", "pier-four", first, &format!("numbering = \"{other_name}\"")),
                ];
                let packets = |numbering, first| {
                    let of = move |a| {
                        command(Format::Dcc, numbering, a, Position::A, pier.direction_of_a)
                    };
                    (first..first + 4).map(move |a| of(a).unwrap())
                };
                let ours: Vec<_> = packets(numbering, 185).collect();
                let same = packets(other, first).any(|p| ours.contains(&p));
                assert_eq!(!told(&text.concat()).is_empty(), same, "{name}, {other_name}, {first}");
            }
        }
    }
}

/// However it is counted, the switches are those that make the module listen to the packets.
#[test]
fn switches_follow_the_packets() {
    let plan = plan(&block("a", "pier-four", 185, "numbering = \"from-group-zero\""));
    let set = plan.modules[0].setting().unwrap();
    // On the feed it is 181: the bank counts as RCN-213 does.
    assert_eq!(write_switches(set.switches, 11), "00110001000");
    assert_eq!(plan.modules[0].address_by_sheet(), Some(181));
    let sheet = &plan.modules[0].sheet;
    for (counted, next) in [(Numbering::Rcn213, 185), (Numbering::FromGroupZero, 189)] {
        let free = next_free(&Register::of(&plan), sheet, Format::Dcc, counted, next - 4);
        assert_eq!(free, Some(next));
    }
}

#[test]
fn names_and_settings() {
    let text = [
        block("lighthouse", "pier-four", 181, ""),
        block("Lighthouse", "pier-four", 82, ""),
        block("mole", "pier-four", 2041, ""),
        block("buoy", "quay-four", 1, "format = \"trinary\""),
        block("dock", "quay-four", 1029, ""),
    ];
    insta::assert_snapshot!(told(&text.concat()).join("\n"));
}

#[test]
fn what_is_proposed_is_free_and_can_be_set() {
    for kind in shipped::MODULE_SHEETS {
        let sheet = shipped::module_sheet(kind.name).unwrap();
        for format in sheet.switches.formats() {
            let one = block("m", kind.name, 1, &format!("format = \"{format}\""));
            let mut plan = plan(&one);
            let one = plan.modules.pop().unwrap();
            // Until nothing is left.
            while let Some(address) =
                next_free(&Register::of(&plan), &sheet, format, sheet.numbering, 100)
            {
                let name = format!("m{address}");
                plan.modules.push(PlannedModule { name, address, ..one.clone() });
            }
            assert_eq!(check(&plan), []);
            // Every setting of the bank that is an address was used: groups 1 to 465 of three
            // decimal digits, 0 to 127 of seven switches, the 80 groups of the three-state code.
            let all = match (kind.name, format) {
                ("pier-four", Format::Dcc) => 465,
                ("quay-four", _) => 128,
                _ => 80,
            };
            assert_eq!(plan.modules.len(), all, "{} in {format}", kind.name);
        }
    }
}
