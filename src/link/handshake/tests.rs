use super::*;
use crate::link::scripted::Scripted;

const IDN: &[u8] = b"musterbench,jig,0042,1.0.0\n";

fn reply(line: &[u8], version: &str) -> Option<Vec<u8>> {
    match line {
        b"*IDN?" => Some(IDN.to_vec()),
        b"SYST:PROT?" => Some(format!("{version}\n").into_bytes()),
        _ => None,
    }
}

/// What becomes of the handshake, and how long it took.
fn outcome(mut device: Scripted) -> (Result<Identity, LinkError>, Duration) {
    let result = recognise(&mut device);
    (result, device.now())
}

fn refusal(device: Scripted) -> String {
    let (result, took) = outcome(device);
    assert!(took < Duration::from_secs(20), "{took:?}");
    let said = result.expect_err("must be refused").to_string();
    assert!(said.chars().all(|c| c == ' ' || c == '…' || c.is_ascii_graphic()), "{said}");
    said
}

#[test]
fn a_jig_is_recognised_at_once() {
    let (result, took) = outcome(Scripted::by_line(|line| reply(line, &PROTOCOL.to_string())));
    assert_eq!(result.unwrap().serial, "0042");
    assert!(took < Duration::from_millis(200), "{took:?}");
}

#[test]
fn a_later_minor_version_is_understood() {
    let (result, _) =
        outcome(Scripted::by_line(|line| reply(line, &format!("{}.17", PROTOCOL.major))));
    assert!(result.is_ok());
}

#[test]
fn a_jig_that_still_boots_is_waited_for() {
    let mut asked = 0;
    let device = Scripted::by_line(move |line| {
        asked += u32::from(line == b"*IDN?");
        if asked < 8 { None } else { reply(line, &PROTOCOL.to_string()) }
    });
    let (result, took) = outcome(device);
    assert!(result.is_ok());
    assert!(took > Duration::from_secs(3), "{took:?}");
}

#[test]
fn a_jig_left_in_sealed_mode_is_released() {
    use crate::wire::seal::{Opened, open};
    let mut is_sealed = true;
    let device = Scripted::by_line(move |line| match open(line) {
        Opened::Sealed(sealed) => {
            is_sealed = sealed.rest != b"SYST:SEAL:END";
            None
        }
        _ if is_sealed => None,
        _ => reply(line, &PROTOCOL.to_string()),
    });
    let (result, took) = outcome(device);
    assert!(result.is_ok());
    assert!(took < Duration::from_secs(2), "{took:?}");
}

/// What a jig answers to the lines that release it.
fn released(line: &[u8]) -> Option<Vec<u8>> {
    use crate::wire::seal::{Opened, Trailer, open};
    let Opened::Sealed(sealed) = open(line) else { return None };
    let (session, number) = (sealed.session, sealed.number);
    let trailer = Trailer { session, number, carried_out: 1, errors: 0 };
    Some(trailer.after(b"").as_bytes().to_vec())
}

#[test]
fn a_jig_that_answers_late_is_recognised() {
    let answer = |line: &[u8]| released(line).or_else(|| reply(line, &PROTOCOL.to_string()));
    let device = Scripted::by_line(answer).late(Duration::from_millis(2_500));
    let (result, took) = outcome(device);
    assert_eq!(result.expect("it is a jig").serial, "0042");
    assert!(took < Duration::from_secs(6), "{took:?}");
}

#[test]
fn an_answer_to_the_release_is_no_strangers() {
    let said = refusal(Scripted::by_line(released).late(Duration::from_millis(400)));
    assert!(said.starts_with("nothing answers there"), "{said}");
}

#[test]
fn one_spoilt_answer_does_not_make_a_stranger() {
    let mut asked = 0;
    let device = Scripted::by_line(move |line| {
        asked += u32::from(line == b"*IDN?");
        if asked == 1 && line == b"*IDN?" {
            return Some(b"mustdrbench,jig,0042,1.0.0\n".to_vec());
        }
        reply(line, &PROTOCOL.to_string())
    });
    assert!(outcome(device).0.is_ok());
}

#[test]
fn the_rest_of_an_old_answer_is_no_garbage() {
    let mut asked = 0;
    let device = Scripted::by_line(move |line| {
        asked += u32::from(!line.is_empty());
        if asked < 4 { Some(vec![0xF3; 900]) } else { reply(line, &PROTOCOL.to_string()) }
    });
    assert!(outcome(device).0.is_ok());
}

#[test]
fn other_versions_are_refused() {
    let newer = format!("{}.0", PROTOCOL.major + 1);
    for version in [newer.leak(), "1.0", "0.9"] {
        let said = refusal(Scripted::by_line(move |line| reply(line, version)));
        assert!(said.contains(version) && said.contains(&PROTOCOL.to_string()), "{said}");
    }
    let wordless =
        Scripted::by_line(|line| if line == b"*IDN?" { Some(IDN.to_vec()) } else { None });
    assert!(refusal(wordless).contains("version unknown"));
}

#[test]
fn silence_is_refused() {
    let (result, took) = outcome(Scripted::by_line(|_| None));
    assert!(matches!(result, Err(LinkError::Silent { .. })));
    assert!(took > Duration::from_secs(5), "a jig's silence limit is 5 s");
}

#[test]
fn an_echo_is_refused() {
    let device = Scripted::new(|bytes| vec![(Duration::from_millis(1), bytes.to_vec())]);
    let (result, took) = outcome(device);
    assert!(matches!(result, Err(LinkError::Echo)), "{result:?}");
    assert!(took < Duration::from_secs(3), "{took:?}");
}

#[test]
fn strangers_are_refused_with_what_they_say() {
    let said = refusal(Scripted::by_line(|_| Some(b"Harbour Lights,HL-2,77,3.1\r\n".to_vec())));
    assert!(said.contains("Harbour Lights,HL-2,77,3.1"), "{said}");

    // Echoes and prompts, without an end of line.
    let login = Scripted::by_line(|line| Some([line, b"\r\nquay login: "].concat()));
    assert!(refusal(login).contains("quay login:"));
}

#[test]
fn garbage_is_refused() {
    let noise = Scripted::by_line(|_| Some(b"\xfe\x80\x1b]0;owned\x07\xe2\x80\xae\n".to_vec()));
    let said = refusal(noise);
    assert!(said.contains("garbage") && said.contains("\\x1b]0;owned\\x07"), "{said}");

    for byte in [0, b'\n', b'U', 0xFF] {
        let (result, took) = outcome(Scripted::by_line(|_| None).babbling(byte, 100_000));
        assert!(result.is_err());
        assert!(took < Duration::from_secs(10), "{took:?}");
    }
}
