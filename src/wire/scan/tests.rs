use super::*;

fn elements(text: &str) -> Result<Vec<Element<'_>>, i16> {
    let mut scanner = Scanner::new(text.as_bytes());
    let mut all = Vec::new();
    let mut step = || {
        loop {
            all.push(scanner.element()?);
            if !scanner.separator()? {
                return Ok(());
            }
        }
    };
    step().map_err(|error: Error| error.code.number())?;
    Ok(all)
}

#[test]
fn an_e_without_digits_starts_a_suffix() {
    let decimal = |mantissa, exponent, suffix| Element::Decimal { mantissa, exponent, suffix };
    assert_eq!(
        elements("1E2,1E,1 EXV,1e-V, 1 e 2 V"),
        Ok(vec![
            decimal(b"1", 2, b""),
            decimal(b"1", 0, b"E"),
            decimal(b"1", 0, b"EXV"),
            decimal(b"1", 0, b"e-V"),
            decimal(b"1", 2, b"V"),
        ])
    );
}

#[test]
fn expressions_nest_and_hold_strings() {
    assert_eq!(
        elements("((1),\")\"),(@1)"),
        Ok(vec![Element::Expression(b"((1),\")\")"), Element::Expression(b"(@1)")])
    );
    for text in ["(", "((1)", "(a;b)", "(#1)", "('a)"] {
        assert!(matches!(elements(text), Err(-171 | -151)), "{text}");
    }
    assert_eq!(elements("(1))"), Err(-103));
    assert_eq!(elements(")"), Err(-102));
}

#[test]
fn words() {
    assert_eq!(
        elements("ABC_1 , x"),
        Ok(vec![Element::Character(b"ABC_1"), Element::Character(b"x")])
    );
    assert_eq!(elements("_a"), Err(-102));
    assert_eq!(elements("ABCDEFGHIJKLM"), Err(-144));
}
