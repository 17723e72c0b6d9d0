use super::*;
use crate::wire::tree::TREE;
use proptest::prelude::*;

/// Nodes and error numbers of a line, in order.
fn read(line: &str) -> Vec<Result<Node, i16>> {
    Message::new(line.as_bytes())
        .map(|unit| unit.map(|unit| unit.node).map_err(|error| error.code.number()))
        .collect()
}

#[test]
fn nothing_holds_no_unit() {
    for line in ["", " ", "\t\r"] {
        assert!(read(line).is_empty());
    }
}

/// After the examples of SCPI-1999, volume 1, 6.2.4: the path of the unit before counts.
#[test]
fn the_path_of_the_unit_before_counts() {
    assert_eq!(
        read("SENS1:SWE:POIN 5;TINT 1;OFFS:POIN 0"),
        [Ok(Node::SweepPoints), Ok(Node::SweepInterval), Ok(Node::SweepOffset)]
    );
    assert_eq!(
        read("SENS:SWE:POIN 5;:OUTP ON;OUTP2 ON"),
        [Ok(Node::SweepPoints), Ok(Node::Output), Ok(Node::Output)],
    );
    assert_eq!(read("SENS:SWE:POIN 5;OUTP ON"), [Ok(Node::SweepPoints), Err(-113)]);
    assert_eq!(
        read("STAT:OPER:ENAB 1;*CLS;PTR 1"),
        [Ok(Node::OperationEnable), Ok(Node::Cls), Ok(Node::OperationPositive)],
        "common commands leave the path alone"
    );
    assert_eq!(
        read("OUTP ON;POL NORM"),
        [Ok(Node::Output), Err(-113)],
        "OUTPut alone leaves the path at the root"
    );
    assert_eq!(read("OUTP:STAT ON;POL NORM"), [Ok(Node::Output), Ok(Node::Polarity)]);
}

#[test]
fn white_space_where_the_standard_allows_it() {
    let all = [Ok(Node::Ese), Ok(Node::OperationEvent), Ok(Node::Close)];
    assert_eq!(read(" \t*ESE \x01 1 ; :STAT:OPER? ;\x0B:ROUT:CLOS (@ 101 : 102 , 3 ) \r"), all);
    assert_eq!(read("*ESE 1;:stat:oper:even?;:Route:Close (@1)"), all);
    assert_eq!(read("OUTP :STAT ON"), [Err(-102)], "none inside a header");
    assert_eq!(read("* CLS"), [Err(-110)]);
}

#[test]
fn a_command_error_throws_the_rest_away() {
    for (line, number) in [
        ("*CLS;FOO;*CLS", -113),
        ("*CLS;;*CLS", -102),
        ("*CLS;", -102),
        ("*CLS;*ESE 1 2;*CLS", -103),
        ("*CLS;*ESE 1:2;*CLS", -103),
        ("*CLS;*ESE 1,;*CLS", -102),
        ("*CLS;*ESE ,1;*CLS", -102),
        ("*CLS;5;*CLS", -102),
        ("*CLS;SYST::ERR?;*CLS", -110),
        ("*CLS;:;*CLS", -110),
        ("*CLS;:*CLS;*CLS", -110),
        ("*CLS;*ESE\"a\";*CLS", -111),
        ("*CLS;*ESE#H1;*CLS", -111),
        ("*CLS;ABCDEFGHIJKLM;*CLS", -112),
        ("*CLS;ABCDEFGHIJKL;*CLS", -113),
        ("*CLS;A:B:C:D:E:F:G:H;*CLS", -113),
        ("*CLS;OUTP3 1;*CLS", -114),
        ("*CLS;SETUP&;*CLS", -101),
        ("*CLS;&;*CLS", -101),
        ("*CLS;*ESE é;*CLS", -101),
        ("*CLS;*ESE #15hello;*CLS", -168),
        ("*CLS;*ESE 'x;*CLS", -151),
        ("*CLS;*ESE (1;*CLS", -171),
        ("*CLS;*ESE 1e32001;*CLS", -123),
    ] {
        assert_eq!(read(line), [Ok(Node::Cls), Err(number)], "{line}");
    }
}

#[test]
fn semicolons_inside_strings_end_no_unit() {
    assert_eq!(read("*ESE ';';*CLS"), [Ok(Node::Ese), Ok(Node::Cls)]);
    assert_eq!(read("*ESE \"a\"\";b\";*CLS"), [Ok(Node::Ese), Ok(Node::Cls)]);
}

/// IEEE 488.2, 6.5.7.5 and 10.14: `*IDN?` must be the last query of its message.
#[test]
fn a_query_after_idn_is_refused() {
    assert_eq!(
        read("*CLS;*IDN?;*ESR?;*CLS;SYST:ERR?"),
        [Ok(Node::Cls), Ok(Node::Idn), Err(-440), Ok(Node::Cls), Err(-440)]
    );
    assert_eq!(read("*ESR?;*IDN?"), [Ok(Node::Esr), Ok(Node::Idn)]);
}

/// A header in a random case, long or short.
fn header() -> impl Strategy<Value = (Node, String)> {
    let entries = 0..TREE.len();
    (entries, any::<bool>(), prop::collection::vec(any::<bool>(), 80)).prop_map(
        |(at, long, upper)| {
            let node = TREE[at].node;
            let query = TREE[at].takes(true);
            let header = if query { node.query() } else { node.command() };
            let text = if long { header.long().to_string() } else { header.to_string() };
            let text = text.chars().zip(upper).map(|(c, upper)| {
                if upper { c.to_ascii_uppercase() } else { c.to_ascii_lowercase() }
            });
            (node, text.collect())
        },
    )
}

proptest! {
    #[test]
    fn case_and_form_do_not_matter(headers in prop::collection::vec(header(), 1..5)) {
        let line: Vec<&str> = headers.iter().map(|(_, text)| text.as_str()).collect();
        let identified = headers.iter().position(|(node, _)| *node == Node::Idn);
        for (i, unit) in read(&line.join(";")).into_iter().enumerate() {
            let node = headers[i].0;
            let query = headers[i].1.ends_with('?');
            let late = identified.is_some_and(|at| i > at) && query;
            prop_assert_eq!(unit, if late { Err(-440) } else { Ok(node) });
        }
    }

    #[test]
    fn any_bytes_are_taken_without_a_panic(line in prop::collection::vec(any::<u8>(), 0..200)) {
        walk(&line);
    }

    #[test]
    fn any_message_like_text_is_taken_without_a_panic(
        line in "(\\*IDN|:|;|,|\\?| |OUTP|SYST:ERR|2|1E9|#H|#1|\\(@|\\)|\"|'|MA|-|\\.|é){0,30}"
    ) {
        walk(line.as_bytes());
    }
}

/// Asks every parameter for every type.
fn walk(line: &[u8]) {
    use crate::wire::number::Unit::Ampere;
    for mut unit in Message::new(line).flatten() {
        while unit.parameters.more() {
            let mut p = unit.parameters.clone();
            let _ = unit.parameters.element();
            let _ = p.clone().number(Ampere);
            let _ = p.clone().numeric(Ampere).map(|n| n.resolve(&(0.0..=9.0), 1.0));
            let _ = p.clone().boolean();
            let _ = p.clone().string().map(|text| text.chars().count());
            if let Ok(list) = p.clone().channels() {
                list.channels().take(70_000).count();
            }
            let _ = p.bound();
        }
    }
}

proptest! {
    /// A line that is gone on with after every unit reads as one that is read through.
    #[test]
    fn a_position_is_where_it_goes_on(
        pieces in prop::collection::vec(
            prop::sample::select(vec![
                "SENS:SWE:POIN 5", "TINT 1", "*IDN?", "*ESE?", ":OUTP ON", "POL?", "FOO", "1", ";", " ", ":",
                "SYST:ERR?", "COUN?", "(@101)",
            ]),
            0..12,
        ),
        separator in prop::sample::select(vec![";", " ;", ""]),
    ) {
        let line = pieces.join(separator);
        let told = |unit: Result<Unit<'_>, Error>| unit.map(|u| (u.node, u.suffix, u.query));
        let through: Vec<_> = Message::new(line.as_bytes()).map(told).collect();
        let mut position = Message::new(line.as_bytes()).position();
        let mut resumed = Vec::new();
        loop {
            let mut message = Message::resume(line.as_bytes(), position);
            let Some(unit) = message.next() else { break };
            resumed.push(told(unit));
            position = message.position();
        }
        prop_assert_eq!(resumed, through);
    }
}
