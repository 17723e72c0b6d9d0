//! The tables of pins, bits and channels are those of the firmware.

use super::channels::{CHANNELS, INPUT_US, SCAN_US, place};
use super::netlist::Netlist;
use super::pages::{page, read, rows};
use musterbench::wire::channel::{Description, Kind};

const PINS: &str = include_str!("../../../fixtures/jig/boards/large/src/pins.rs");

/// The tables in the description at the head of a source file, each as its lines.
fn tables(source: &str) -> Vec<String> {
    let lines: Vec<&str> = source.lines().map_while(|l| l.strip_prefix("//!")).collect();
    lines
        .split(|line| !line.starts_with(" |"))
        .filter(|table| !table.is_empty())
        .map(|table| table.iter().map(|line| format!("{}\n", line.trim())).collect())
        .collect()
}

/// Compares what stands between two marks with what should, or puts it there.
fn must_hold(file: &str, mark: &str, wanted: &str) {
    let text = read(file);
    let (before, rest) = text.split_once(&format!("<!-- {mark} -->\n\n")).expect("the mark");
    let (held, after) = rest.split_once(&format!("\n<!-- end of {mark} -->")).expect("its end");
    if held == wanted {
        return;
    }
    if std::env::var_os("JIG_DOC_UPDATE").is_some() {
        let whole = format!("{before}<!-- {mark} -->\n\n{wanted}\n<!-- end of {mark} -->{after}");
        std::fs::write(page(file), whole).expect("written");
        return;
    }
    assert_eq!(held, wanted, "docs/{file}, {mark}: JIG_DOC_UPDATE=1 cargo test --test plain jig::");
}

#[test]
fn the_pins_are_the_pins() {
    let [pins, bits] = &tables(PINS)[..] else { panic!("two tables in pins.rs") };
    must_hold("jig.md", "pins", pins);
    must_hold("jig.md", "bits", bits);
}

/// Every pin that the firmware uses goes somewhere on the sheets, and no other.
#[test]
fn pins_go_somewhere() {
    let netlist = Netlist::read();
    let pin = |name: &str| name.strip_prefix("GP")?.parse::<u8>().ok();
    let used: Vec<u8> = rows(&tables(PINS)[0])
        .filter(|row| !row[1].starts_with("free") && row[1] != "light on the board")
        .filter_map(|row| pin(row[0]))
        .collect();
    let mut wired: Vec<u8> = netlist
        .nets
        .iter()
        .filter(|(_, pins)| pins.iter().any(|pin| pin.starts_with("U601.")))
        .filter_map(|(net, _)| pin(net))
        .collect();
    wired.sort_unstable();
    assert_eq!(used, wired);
    for (is, at) in [
        ("converters: start", "U511.CNV"),
        ("converters: clock", "U511.SCK"),
        ("converters: settings", "U511.DIN"),
        ("converter X: data", "U511.SDO"),
        ("converter Y: data", "U512.SDO"),
        ("converter Z: data", "U513.SDO"),
    ] {
        let table = &tables(PINS)[0];
        let row = rows(table).find(|row| row[1] == is).expect("a row");
        assert_eq!(netlist.net(at), row[0], "{is}");
    }
}

/// What the firmware uses by number is what the table says: each constant, and each pin by its type.
#[test]
fn the_table_is_what_the_code_uses() {
    let table = &tables(PINS)[0];
    let pin = |is: &str| {
        let row = rows(table).find(|row| row[1] == is);
        row.unwrap_or_else(|| panic!("no pin is {is}"))[0][2..].to_owned()
    };
    for (name, is) in [
        ("FEED_A", "feed bridge, wire A"),
        ("CONVERT", "converters: start"),
        ("CONVERTER_CLOCK", "converters: clock"),
        ("CONVERTER_SETTINGS", "converters: settings"),
        ("CONVERTER_DATA", "converter X: data"),
    ] {
        let number = pin(is);
        assert!(PINS.contains(&format!("pub const {name}: u8 = {number};")), "{name} is {number}");
    }
    for (name, is) in [
        ("feed_pump", "feed pump"),
        ("load_pump", "load pump"),
        ("full", "feed full"),
        ("limit", "soft start's limit"),
        ("feed_tripped", "feed cut off"),
        ("loads_tripped", "loads cut off"),
        ("take", "shift registers: take over"),
        ("start", "start button or foot switch"),
        ("interlock", "interlock"),
        ("light", "light on the board"),
        ("clear", "clear the latches"),
        ("loads_on", "load supply on"),
    ] {
        let number = pin(is);
        let wired = PINS.lines().any(|line| {
            let line = line.trim();
            let named = line.contains(&format!("{name}: ")) || line.contains(&format!("{name} = "));
            let is_pin = [format!("!(gpio{number})"), format!(".gpio{number}.")];
            named && is_pin.iter().any(|pin| line.contains(pin))
        });
        assert!(wired, "{name} is not GP{number}");
    }
    // Whatever the table has, the code takes.
    for row in rows(table).filter(|row| row[0].starts_with("GP") && !row[1].starts_with("free")) {
        let gpio = format!("gpio{}", &row[0][2..]);
        let ends = |after: char| !after.is_ascii_digit();
        let taken = PINS
            .match_indices(&gpio)
            .any(|(at, _)| PINS[at + gpio.len()..].chars().next().is_none_or(ends));
        assert!(taken, "{} is not taken", row[0]);
    }
}

/// Every bit of the shift registers that the firmware uses, and no other.
#[test]
fn bits_go_somewhere() {
    let netlist = Netlist::read();
    let mut used = 0u64;
    for row in rows(&tables(PINS)[1]).filter(|row| row[1] != "free") {
        let bits = row[0].split(['–', ',']).filter_map(|bit| bit.trim().parse::<u32>().ok());
        let bits: Vec<u32> = bits.collect();
        let Some((&first, &last)) = bits.first().zip(bits.last()) else { continue };
        (first..=last).for_each(|bit| used |= 1 << bit);
    }
    let mut wired = 0u64;
    for (register, chip) in ["U602", "U603", "U604", "U605", "U606"].iter().enumerate() {
        for output in 0..8 {
            let pin = format!("{chip}.Q{output}");
            if netlist.nets.values().flatten().any(|p| *p == pin) {
                wired |= 1 << (8 * register + output);
            }
        }
    }
    assert_eq!(used, wired);
}

/// A number with so many significant digits, and no more zeros than it needs.
fn short(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let places = digits as i32 - 1 - value.abs().log10().floor() as i32;
    let text = format!("{value:.*}", places.max(0) as usize);
    let text = if text.contains('.') { text.trim_end_matches('0') } else { &text };
    text.trim_end_matches('.').into()
}

/// In thousandths, unless it is ohms.
fn small(d: &Description, value: f64) -> String {
    match d.kind {
        Kind::Voltage => format!("{} mV", short(value * 1e3, 3)),
        Kind::Current => format!("{} mA", short(value * 1e3, 3)),
        _ => format!("{} Ω", short(value, 3)),
    }
}

fn unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Voltage => "V",
        Kind::Current => "A",
        _ => "Ω",
    }
}

#[test]
fn the_channels_are_the_channels() {
    let mut wanted = "| channel | range | a count | gain | offset | non-linearity | at |\n\
                      | --- | --- | --- | --- | --- | --- | --- |\n"
        .to_owned();
    let analogue = |d: &&Description| !matches!(d.kind, Kind::Switch | Kind::Input);
    for d in CHANNELS.iter().filter(analogue) {
        let at = place(d.channel).map_or("on request".into(), |p| {
            let input = format!("{}{}", ["X", "Y", "Z"][usize::from(p.converter)], p.input);
            assert_eq!(d.skew_us, f64::from(u32::from(p.input) * INPUT_US));
            assert_eq!(d.interval_us, SCAN_US);
            format!("{input}, {} µs", d.skew_us)
        });
        let fine = match d.kind {
            Kind::Voltage => format!("{} mV", short(d.scale * 1e3, 4)),
            Kind::Current => format!("{} µA", short(d.scale * 1e6, 4)),
            _ => "1 Ω".into(),
        };
        wanted += &format!(
            "| {} | {} to {} {} | {fine} | {} % | {} | {} | {at} |\n",
            d.channel,
            d.minimum,
            d.maximum,
            unit(d.kind),
            short(d.gain_limit * 100.0, 3),
            small(d, d.offset_limit),
            small(d, d.linearity_limit),
        );
    }
    must_hold("jig-analogue.md", "channels", &wanted);
}

/// A converter's input is wired to what the firmware takes it for.
#[test]
fn channels_stand_where_they_are_wired() {
    let netlist = Netlist::read();
    let signal = |channel: u16| match channel {
        1 => "V_FEED".to_owned(),
        2 => "I_FEED".to_owned(),
        3 => "V_LOAD".to_owned(),
        4 => "I_TOTAL".to_owned(),
        101..=108 => format!("I_CLAMP{}", channel - 100),
        _ => format!("V_CLAMP{}", channel - 400),
    };
    let mut seen = 0;
    for d in CHANNELS.iter() {
        let Some(place) = place(d.channel) else { continue };
        let input = format!("{}{}", ["X", "Y", "Z"][usize::from(place.converter)], place.input);
        assert_eq!(netlist.behind_filter(&signal(d.channel)), input, "{}", d.channel);
        seen += 1;
    }
    assert_eq!(seen, 20);
}
