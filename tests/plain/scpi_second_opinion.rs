//! Where both should agree, the `scpi` crate, which no one here wrote, is asked as well.
//!
//! It is no arbiter: it takes no white space around an exponent, lets `1e999` through, and its
//! channel lists take no white space. Such inputs are left out here.

use musterbench::wire::channel_list::ChannelList;
use musterbench::wire::error::ErrorCode;
use musterbench::wire::message::Message;
use musterbench::wire::number::Unit;
use musterbench::wire::parameters::Parameters;
use musterbench::wire::pattern::mnemonic_matches;
use musterbench::wire::tree::TREE;
use proptest::prelude::*;
use scpi::parser::expression::channel_list;
use scpi::parser::tokenizer::{Token, Tokenizer};
use scpi::tree::prelude::{Command, Parameters as TheirParameters, ResponseUnit};
use scpi::{Branch, Context, Device, Leaf, Root};

#[test]
fn error_texts_and_event_bits() {
    for &code in ErrorCode::ALL {
        let theirs = scpi::error::ErrorCode::get_error(code.number())
            .unwrap_or_else(|| panic!("they know no {}", code.number()));
        assert_eq!(code.text().as_bytes(), theirs.get_message(), "{}", code.number());
        assert_eq!(code.event_bit(), theirs.esr_mask(), "{}", code.number());
    }
}

/// Every beginning of every mnemonic in the tree: both take the short and the long form only.
#[test]
fn mnemonic_forms() {
    let mut compared = 0;
    let words = TREE.iter().flat_map(|entry| entry.pattern.split([':', '[', ']', '#']));
    for pattern in words.filter(|word| !word.is_empty() && !word.starts_with('*')) {
        for end in 1..=pattern.len() {
            for word in [&pattern[..end], &pattern[..end].to_lowercase()] {
                let theirs = Token::ProgramMnemonic(word.as_bytes())
                    .match_program_header(pattern.as_bytes());
                assert_eq!(mnemonic_matches(pattern, word.as_bytes()), theirs, "{pattern} {word}");
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "only {compared} words compared");
}

fn their_number(text: &str) -> f64 {
    let token = Tokenizer::new_params(text.as_bytes()).next().expect("a token").expect("a number");
    f64::try_from(token).expect("a number")
}

fn our_number(text: &str) -> f64 {
    let mut parameters = Parameters::read(text.as_bytes()).expect("sound syntax");
    let value = parameters.number(Unit::None).expect("a number");
    parameters.finish().expect("just one");
    value
}

proptest! {
    #[test]
    fn decimal_numbers(text in "[+-]?([0-9]{1,12}(\\.[0-9]{0,12})?|\\.[0-9]{1,12})([eE][+-]?[0-9]{1,2})?") {
        prop_assert_eq!(our_number(&text), their_number(&text));
    }

    #[test]
    fn non_decimal_numbers(text in "#([hH][0-9A-Fa-f]{1,8}|[qQ][0-7]{1,8}|[bB][01]{1,30})") {
        let theirs = Tokenizer::new_params(text.as_bytes()).next().expect("a token");
        let Ok(Token::NonDecimalNumericProgramData(theirs)) = theirs else { panic!("{theirs:?}") };
        prop_assert_eq!(our_number(&text), theirs as f64);
    }

    #[test]
    fn strings(text in "\"[ !#-~]{0,20}\"|'[ -&(-~]{0,20}'") {
        let theirs = Tokenizer::new_params(text.as_bytes()).next().expect("a token");
        let Ok(Token::StringProgramData(theirs)) = theirs else { panic!("{theirs:?}") };
        let mut parameters = Parameters::read(text.as_bytes()).expect("sound syntax");
        let ours: String = parameters.string().expect("a string").chars().collect();
        prop_assert_eq!(ours.as_bytes(), theirs);
    }

    #[test]
    fn channel_lists(text in "\\(@[0-9]{1,3}(:[0-9]{1,3})?(,[0-9]{1,3}(:[0-9]{1,3})?){0,4}\\)") {
        let inside = &text.as_bytes()[1..text.len() - 1];
        let mut theirs = Vec::new();
        for token in channel_list::ChannelList::new(inside).expect("a channel list") {
            let number = |spec: channel_list::ChannelSpec| u16::try_from(isize::try_from(spec).unwrap()).unwrap();
            match token.expect("an entry") {
                channel_list::Token::ChannelSpec(one) => theirs.push(number(one)),
                channel_list::Token::ChannelRange(first, last) => {
                    let (first, last) = (number(first), number(last));
                    if first <= last {
                        theirs.extend(first..=last);
                    } else {
                        theirs.extend((last..=first).rev());
                    }
                }
                other => panic!("{other:?}"),
            }
        }
        let list = ChannelList::parse(text.as_bytes()).expect("a channel list");
        prop_assert_eq!(list.channels().collect::<Vec<_>>(), theirs);
    }
}

/// Writes down what was carried out, and the errors.
#[derive(Default)]
struct Log(Vec<String>);

impl Device for Log {
    fn handle_error(&mut self, error: scpi::error::Error) {
        self.0.push(error.get_code().to_string());
    }
}

/// Stands for the node with this pattern.
struct Named(&'static str);

impl Named {
    fn log(&self, device: &mut Log, mut parameters: TheirParameters) -> scpi::error::Result<()> {
        while parameters.next_optional_token()?.is_some() {}
        device.0.push(self.0.into());
        Ok(())
    }
}

impl Command<Log> for Named {
    fn event(&self, d: &mut Log, _: &mut Context, p: TheirParameters) -> scpi::error::Result<()> {
        self.log(d, p)
    }

    fn query(
        &self,
        device: &mut Log,
        _: &mut Context,
        parameters: TheirParameters,
        _: ResponseUnit,
    ) -> scpi::error::Result<()> {
        self.log(device, parameters)
    }
}

const ROOT: scpi::tree::Node<Log> = Root![
    Leaf!(b"*CLS" => &Named("*CLS")),
    Leaf!(b"*ESE" => &Named("*ESE")),
    Branch![b"SYSTem";
        Branch![b"ERRor";
            Leaf!(default b"NEXT" => &Named("SYSTem:ERRor[:NEXT]")),
            Leaf!(b"COUNt" => &Named("SYSTem:ERRor:COUNt"))
        ],
        Leaf!(b"SILence" => &Named("SYSTem:SILence"))
    ],
    Branch![b"SENSe";
        Branch![b"SWEep";
            Leaf!(b"POINts" => &Named("SENSe#:SWEep:POINts")),
            Leaf!(b"TINTerval" => &Named("SENSe#:SWEep:TINTerval")),
            Branch![b"OFFSet"; Leaf!(b"POINts" => &Named("SENSe#:SWEep:OFFSet:POINts"))]
        ],
        Branch![b"AVERage"; Leaf!(b"COUNt" => &Named("SENSe#:AVERage:COUNt"))]
    ],
    Branch![b"ROUTe";
        Leaf!(b"CLOSe" => &Named("ROUTe:CLOSe")),
        Leaf!(b"OPEN" => &Named("ROUTe:OPEN"))
    ]
];

fn theirs(line: &str) -> Vec<String> {
    let mut log = Log::default();
    let _ = ROOT.run(line.as_bytes(), &mut log, &mut Context::new(), &mut Vec::new());
    log.0
}

fn ours(line: &str) -> Vec<String> {
    Message::new(line.as_bytes())
        .map(|unit| match unit {
            Ok(unit) => unit.node.entry().pattern.into(),
            Err(error) => error.code.number().to_string(),
        })
        .collect()
}

/// Header paths, common commands between them, white space, and errors that end a line.
#[test]
fn whole_lines() {
    for line in [
        "SENS:SWE:POIN 5;TINT 1;OFFS:POIN 0",
        "sense:sweep:points 5;:rout:clos (@101:104);open (@101)",
        "SENS:SWE:POIN 5;*ESE 1;TINT 1",
        "SENS:SWE:POIN 5 ; *CLS ; TINT 1 MS",
        "SENS1:SWE:POIN 5;AVER:COUN 2",
        "SENS:SWE:OFFS:POIN -5;TINT 1",
        "SYST:ERR?;COUN?",
        "SYST:ERR?;SIL?",
        "SYST:ERR:NEXT?;COUN?",
        "SYST:SIL 5;ERR?;SIL?",
        "*CLS;*CLS;*ESE #H20",
        "*CLS;NONE:SUCH 1;*CLS",
        "*CLS;*XYZ;*CLS",
        "*CLS;ABCDEFGHIJKLM 1;*CLS",
        "ROUT:CLOS (@101;*CLS",
        "ROUT:CLOS 'abc;*CLS",
        "",
    ] {
        assert_eq!(ours(line), theirs(line), "{line}");
    }
}
