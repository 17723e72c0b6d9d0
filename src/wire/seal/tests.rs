use super::*;
use crate::wire::checksum::crc32;
use proptest::prelude::*;

fn sealed(session: u32, number: u32, rest: &str) -> Vec<u8> {
    seal(session, number, rest).expect("short enough").to_vec()
}

/// Python 3: `zlib.crc32(b"7,1,4,*CLS")`.
#[test]
fn one_line_byte_for_byte() {
    assert_eq!(sealed(7, 1, "*CLS"), b"SEAL 7,1,4,#HC43D7BB1;*CLS\n");
}

#[test]
fn plain_lines_pass_through() {
    for line in [&b"*IDN?"[..], b"", b"SEA", b" :SYST:SEAL:END"] {
        assert_eq!(open(line), Opened::Plain(line));
    }
}

#[test]
fn only_the_one_spelling_is_read() {
    let good = sealed(7, 1, "*CLS");
    let good = std::str::from_utf8(&good[..good.len() - 1]).expect("text");
    assert!(matches!(open(good.as_bytes()), Opened::Sealed(_)));
    let crc = crc32(b"07,1,4,*CLS");
    let number_zero = format!("SEAL 7,0,4,#H{:08X};*CLS", crc32(b"7,0,4,*CLS"));
    for bad in [
        good.to_lowercase(),
        format!(" {good}"),
        format!("{good} "),
        good.replace("SEAL ", "SEAL  "),
        good.replace(";*", ",*"),
        format!("SEAL 07,1,4,#H{crc:08X};*CLS"),
        number_zero,
        "SEAL".into(),
        "SEAL 7,1,4".into(),
    ] {
        assert_eq!(open(bad.as_bytes()), Opened::Damaged, "{bad}");
    }
}

#[test]
fn what_cannot_be_sealed_is_refused() {
    assert_eq!(seal(1, 1, "a\nb"), Err(CannotSeal::Newline));
    let longest = "x".repeat(REST_MAX);
    let line = seal(u32::MAX, u32::MAX, &longest).expect("the longest rest fits");
    assert!(matches!(open(&line[..line.len() - 1]), Opened::Sealed(_)));
    assert_eq!(seal(u32::MAX, u32::MAX, &format!("{longest}x")), Err(CannotSeal::TooLong));
}

#[test]
fn the_longest_trailer_fits() {
    let trailer =
        Trailer { session: u32::MAX, number: u32::MAX, carried_out: u16::MAX, errors: u16::MAX };
    let text = trailer.after(b"1");
    assert!(text.starts_with(';') && text.ends_with('\n'));
    let answer = format!("1{}", text.trim_end());
    assert_eq!(Trailer::split(answer.as_bytes(), 2), Some((&b"1"[..], trailer)));
}

proptest! {
    #[test]
    fn what_is_sealed_opens(session: u32, number in 1u32.., rest in "[ -~]{0,400}") {
        let line = sealed(session, number, &rest);
        let expected = Sealed { session, number, rest: rest.as_bytes() };
        prop_assert_eq!(open(&line[..line.len() - 1]), Opened::Sealed(expected));
    }

    /// A checksum of 32 bits finds every burst of up to 32 bits; here one byte is damaged.
    #[test]
    fn one_damaged_byte_breaks_the_seal(
        number in 1u32..100_000,
        rest in "[ -~]{0,100}",
        at: prop::sample::Index,
        flips in 1u8..,
    ) {
        let mut line = sealed(77, number, &rest);
        line.pop();
        let at = at.index(line.len());
        line[at] ^= flips;
        prop_assert!(!matches!(open(&line), Opened::Sealed(_)));
    }

    #[test]
    fn a_cut_line_is_damaged(rest in "[ -~]{1,100}", keep: prop::sample::Index) {
        let line = sealed(77, 3, &rest);
        let keep = keep.index(line.len() - 1);
        prop_assert!(!matches!(open(&line[..keep]), Opened::Sealed(_)));
    }
}
