//! What the screen shows, in the two usual sizes of terminals, with one jig and with two.

use musterbench::judge::reading::Verdict;
use musterbench::lot::order::Order;
use musterbench::lot::standing::Lot;
use musterbench::muster::desk::Desk;
use musterbench::muster::happening::{Happening, Look, Progress};
use musterbench::muster::tried::{How, Tried};
use musterbench::record::folder::LotFolder;
use musterbench::report::muster_screen::screen;
use musterbench::report::screen::Screen;
use std::path::Path;
use std::time::Duration;

const ROWS: [(u16, usize); 2] = [(80, 24), (132, 43)];

fn desk(folder: &Path, jigs: &[&str]) -> Desk {
    let records = folder.join("records");
    let order = Order::of("spring", "pier-four", 24, "muster", "thorough");
    let lot = LotFolder::open(&records, "spring").expect("a folder");
    std::fs::write(lot.path().join("lot.toml"), order.to_toml()).expect("written");
    let lot = Lot::read(&records, "spring").expect("read");
    let names: Vec<String> = jigs.iter().map(|&name| name.to_owned()).collect();
    let mut desk = Desk::new(lot, "Ines", &names, false).expect("a desk");
    desk.begin();
    for at in 0..jigs.len() {
        let look = Look { jig: format!("000{at}"), simulated: false, trouble: None };
        happens(&mut desk, Happening::Looked(at, look));
    }
    desk
}

fn happens(desk: &mut Desk, happening: Happening) {
    desk.take(happening, Duration::from_secs(9)).expect("records");
}

fn types(desk: &mut Desk, keys: &str) {
    happens(desk, Happening::Typed(keys.as_bytes().to_vec()));
}

fn tried(verdict: Verdict) -> Tried {
    let (sentence, to_do) = match verdict {
        Verdict::Pass => ("Every reading is inside its limits.", ""),
        _ => (
            "Most likely the module: output 4: told to go to a (ahead), stands at b (astern).",
            "Turn the power off, seat the module again and test once more; reject it only if it fails again in the \
             same way.",
        ),
    };
    let took = Duration::from_secs(30);
    Tried { how: How::Whole, verdict, sentence: sentence.into(), to_do: to_do.into(), took }
}

/// The screen in both sizes.
fn shown(desk: &Desk) -> String {
    let mut text = String::new();
    for (width, rows) in ROWS {
        let one = screen(desk, Screen { width, coloured: false });
        assert!(one.lines().count() < rows, "{one}");
        for line in one.lines() {
            assert!(unicode_width::UnicodeWidthStr::width(line) <= width.into(), "{line}");
        }
        text += &format!("{width} columns:\n{one}\n");
    }
    text
}

#[test]
fn one_jig() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut desk = desk(folder.path(), &["/dev/ttyACM0"]);
    let mut text = shown(&desk);
    types(&mut desk, "\n");
    let progress = Progress {
        words: "operate 2a by contact".into(),
        share: 0.55,
        left: Duration::from_secs(14),
    };
    happens(&mut desk, Happening::Progress(0, progress));
    text += &shown(&desk);
    happens(&mut desk, Happening::Ended(0, tried(Verdict::Fail)));
    types(&mut desk, "?");
    types(&mut desk, "\n");
    text += &shown(&desk);
    types(&mut desk, "?");
    types(&mut desk, "x");
    types(&mut desk, "housing cracked");
    text += &shown(&desk);
    insta::assert_snapshot!(text);
}

#[test]
fn two_jigs() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut desk = desk(folder.path(), &["/dev/ttyACM0", "/dev/ttyACM1"]);
    for at in 0..2 {
        happens(&mut desk, Happening::Pressed(at));
    }
    let progress = Progress {
        words: "operate 2a by contact".into(),
        share: 0.55,
        left: Duration::from_secs(14),
    };
    happens(&mut desk, Happening::Progress(1, progress));
    happens(&mut desk, Happening::Ended(0, tried(Verdict::Pass)));
    let mut text = shown(&desk);
    happens(&mut desk, Happening::Ended(1, tried(Verdict::Fail)));
    types(&mut desk, "2");
    text += &shown(&desk);
    happens(
        &mut desk,
        Happening::Lost(0, "the device at /dev/ttyACM0 is gone: no such device".into()),
    );
    text += &shown(&desk);
    insta::assert_snapshot!(text);
}
