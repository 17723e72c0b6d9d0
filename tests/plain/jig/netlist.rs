//! Reads the netlists, and looks for what is wired to nothing.

use super::pages::{SHEETS, read};
use std::collections::BTreeMap;

/// All sheets together.
#[derive(Debug, Default)]
pub struct Netlist {
    /// Kind, sheet and number of each part.
    pub parts: BTreeMap<String, (String, &'static str, usize)>,
    /// The pins on each net, as `part.pin`; of many equal parts `part#7.pin`.
    pub nets: BTreeMap<String, Vec<String>>,
}

/// `BIT0-7` is BIT0 to BIT7.
fn spread(name: &str) -> Vec<String> {
    let both = name.rsplit_once('-').and_then(|(first, last)| {
        let stem = first.trim_end_matches(|c: char| c.is_ascii_digit());
        let from: u32 = first.strip_prefix(stem)?.parse().ok()?;
        Some((stem, from, last.parse::<u32>().ok()?))
    });
    match both {
        Some((stem, from, to)) => (from..=to).map(|i| format!("{stem}{i}")).collect(),
        None => vec![name.into()],
    }
}

impl Netlist {
    pub fn read() -> Self {
        let mut netlist = Netlist::default();
        let mut named: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for sheet in SHEETS {
            let text = read(&format!("jig/{sheet}.net"));
            for line in text.lines().filter(|l| !l.is_empty() && !l.starts_with('#')) {
                let mut words = line.split_whitespace();
                let part = words.next().expect("a part");
                if part == "=" {
                    let name = words.next().expect("a name").to_owned();
                    named.insert(name, words.flat_map(spread).collect());
                    continue;
                }
                let (part, times) = part.split_once('*').unwrap_or((part, "1"));
                let times: usize = times.parse().expect("a number of parts");
                let kind = words.next().expect("a kind").to_owned();
                let old = netlist.parts.insert(part.to_owned(), (kind, sheet, times));
                assert!(old.is_none(), "{part} stands twice");
                for word in words {
                    let (pin, net) = word.split_once(':').expect("pin:net");
                    let (pins, nets) = (spread(pin), spread(net));
                    assert_eq!(pins.len(), nets.len(), "{line}");
                    for i in 0..times {
                        for (pin, net) in pins.iter().zip(&nets) {
                            let net = match (named.get(net), net.strip_suffix('*')) {
                                (Some(names), _) => names[i].clone(),
                                (None, Some(stem)) => format!("{stem}{}", i + 1),
                                (None, None) => net.clone(),
                            };
                            let copy = if times > 1 { format!("#{i}") } else { String::new() };
                            netlist
                                .nets
                                .entry(net)
                                .or_default()
                                .push(format!("{part}{copy}.{pin}"));
                        }
                    }
                }
            }
        }
        netlist
    }

    /// The net of a pin.
    pub fn net(&self, pin: &str) -> &str {
        let found = self.nets.iter().find(|(_, pins)| pins.iter().any(|p| p == pin));
        found.unwrap_or_else(|| panic!("no pin {pin}")).0
    }

    /// Which part on this net has this pin; the whole pin.
    fn on(&self, net: &str, part: &str, pin: &str) -> Option<String> {
        let is_it = |p: &&String| p.starts_with(part) && p.ends_with(pin);
        self.nets.get(net)?.iter().find(is_it).map(|p| p.replace(pin, ""))
    }

    /// Where a signal comes out behind its filter, if it has one, its buffer and its resistor.
    pub fn behind_filter(&self, signal: &str) -> String {
        let filtered = match self.on(signal, "R501", ".1") {
            Some(part) => self.net(&format!("{part}.2")),
            None => signal,
        };
        let buffer = self.on(filtered, "U501", ".+").expect("a buffer");
        let buffered = self.net(&format!("{buffer}.OUT"));
        let resistor = self.on(buffered, "R511", ".1").expect("a resistor");
        self.net(&format!("{resistor}.2")).to_owned()
    }
}

#[test]
fn nothing_is_wired_to_nothing() {
    let netlist = Netlist::read();
    assert!(netlist.parts.len() > 200);
    for (net, pins) in &netlist.nets {
        assert!(pins.len() > 1, "{net} has the one pin {}", pins[0]);
    }
}

/// The contact closers float, and the only joint of feed and loads is ground.
#[test]
fn closers_float() {
    let netlist = Netlist::read();
    for i in 1..=8 {
        let pins = &netlist.nets[&format!("CONTACT{i}")];
        assert!(pins.iter().all(|p| p.starts_with("K403") || p.starts_with("J404")), "{pins:?}");
    }
    let pins = &netlist.nets["CONTACT_GND"];
    assert!(pins.iter().all(|p| p.starts_with("K403") || p.starts_with("J405")), "{pins:?}");
}

/// Every part is on its drawing, with its kind.
#[test]
fn drawings_show_every_part() {
    let netlist = Netlist::read();
    for sheet in SHEETS {
        let drawing = read(&format!("jig/{sheet}.svg"));
        let words: Vec<&str> = drawing
            .lines()
            .filter_map(|line| line.split_once('>')?.1.strip_suffix("</text>"))
            .flat_map(str::split_whitespace)
            .collect();
        for (part, (kind, on, _)) in &netlist.parts {
            if *on == sheet {
                assert!(words.contains(&part.as_str()), "{sheet}.svg does not show {part}");
                // A few say more of what they are.
                let is_said = words.contains(&kind.as_str()) || part.starts_with('J');
                assert!(
                    is_said
                        || kind.starts_with("converter")
                        || kind.starts_with("74HC")
                        || kind == "rp2040-board"
                        || kind.starts_with("fuse"),
                    "{sheet}.svg: {part} {kind}"
                );
            }
        }
    }
}
