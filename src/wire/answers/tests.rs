use super::*;
use crate::wire::refusal::Refusal;

fn read<'a, T: Data<'a>>(text: &'a [u8]) -> Result<T, Error> {
    Answers::only(text)
}

/// IEEE 488.2, 8.7.9: `#`, how many digits, the digits, the bytes.
#[test]
fn reads_blocks() {
    let block = |text| read::<Block>(text).map(|block| block.0.to_vec());
    assert_eq!(block(b"#10"), Ok(vec![]));
    assert_eq!(block(b"#15\n;#A,"), Ok(b"\n;#A,".to_vec()));
    assert_eq!(block(b"#212abcdefghijkl"), Ok(b"abcdefghijkl".to_vec()));
    for wrong in
        [&b""[..], b"#", b"#1", b"#0", b"#15abcd", b"#15abcdef", b"#A5", b"#2-1", b"15abcde"]
    {
        assert!(block(wrong).is_err(), "{wrong:?}");
    }
}

#[test]
fn reads_errors() {
    let report = read::<ErrorReport>(b"111,\"Load resting\"").unwrap();
    assert_eq!(report, Error::from(Refusal::LoadResting).into());
    let report = read::<ErrorReport>(b"-222,\"Data out of range;no such channel\"").unwrap();
    assert_eq!(report, ErrorCode::DataOutOfRange.because("no such channel").into());
    for wrong in ["", "0", "0,", "0,\"", "0,No error", "\"No error\"", "0,\"No error\",1"] {
        assert!(read::<ErrorReport>(wrong.as_bytes()).is_err(), "{wrong}");
    }
}

#[test]
fn reads_identities() {
    let who = read::<Identification>(b"musterbench,simulated bench,SIM-1,0.1.0").unwrap();
    assert_eq!((&*who.model, &*who.serial, &*who.firmware), ("simulated bench", "SIM-1", "0.1.0"));
    for wrong in ["", "somebody,jig,1,1", "musterbench,jig,1", "musterbench,jig,1,1,1"] {
        assert!(read::<Identification>(wrong.as_bytes()).is_err(), "{wrong}");
    }
}

#[test]
fn reads_versions() {
    assert_eq!(read::<Version>(b"1999.0").unwrap().to_string(), "1999.0");
    assert_eq!(read::<Version>(b"2.10"), Ok(Version { major: 2, minor: 10 }));
    for wrong in ["", "2", "2.", ".1", "2.1.0", "two.one", "-1.0"] {
        assert!(read::<Version>(wrong.as_bytes()).is_err(), "{wrong}");
    }
}
