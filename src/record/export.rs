//! Our tables for spreadsheets of places where numbers have a decimal comma and lists semicolons.
//!
//! The records themselves are the same everywhere (RFC 4180, commas, decimal points). This is a copy for looking
//! at, and nothing reads it back.

/// What a copy is like.
#[derive(Clone, Copy, Debug)]
pub struct Export {
    /// Numbers have a decimal comma.
    pub decimal_comma: bool,
}

/// By this mark a spreadsheet knows that the text is UTF-8.
const MARK: char = '\u{feff}';

/// Columns of measured and reckoned numbers. The cells of all others are names, counts or versions, however much they
/// look like such numbers.
const NUMBERS: &[&str] = &[
    "suspect_probability",
    "time",
    "value",
    "uncertainty",
    "lower_limit",
    "upper_limit",
    "risk",
    "guard_band",
    "outside",
    "spread",
    "drift",
    "drift_uncertainty",
];

/// A table anew, with semicolons between its cells.
///
/// # Errors
/// When it is no table whose rows are all of one length.
pub fn export(bytes: &[u8], like: Export) -> Result<String, String> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
    let mut writer = csv::WriterBuilder::new()
        .delimiter(b';')
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let mut columns: Option<Vec<bool>> = None;
    for row in reader.records() {
        let row = row.map_err(|_| "its rows are not all of one length".to_owned())?;
        let are_numbers =
            columns.get_or_insert_with(|| row.iter().map(|c| NUMBERS.contains(&c)).collect());
        let cells = row.iter().zip(are_numbers.iter()).map(|(cell, is_number)| {
            match like.decimal_comma && *is_number && is_decimal(cell) {
                true => cell.replace('.', ","),
                false => cell.to_owned(),
            }
        });
        writer.write_record(cells).map_err(|error| error.to_string())?;
    }
    if columns.is_none_or(|columns| columns.len() < 2) {
        return Err("it has no columns".into());
    }
    let text = writer.into_inner().map_err(|error| error.to_string())?;
    Ok(format!("{MARK}{}", String::from_utf8(text).map_err(|_| "it is no text")?))
}

/// Whether a cell is a number with a decimal point.
fn is_decimal(cell: &str) -> bool {
    cell.contains('.')
        && cell.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '.'))
        && cell.parse::<f64>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &[u8] =
        b"module,serial,firmware,value,unit,note\r\n1.5,2.5,0.3,-0.25,A,\"a, 2.5\"\r\nb,b,1.0.1,1e-3,V,\r\n";

    #[test]
    fn numbers_get_commas_and_names_stay() {
        let text = export(TABLE, Export { decimal_comma: true }).expect("a table");
        let wanted = "\u{feff}module;serial;firmware;value;unit;note\r\n1.5;2.5;0.3;-0,25;A;a, 2.5\r\nb;b;1.0.1;1e-3;V;\r\n";
        assert_eq!(text, wanted);
        let points = export(TABLE, Export { decimal_comma: false }).expect("a table");
        assert_eq!(points, wanted.replace("-0,25", "-0.25"));
    }

    /// Another program's reading of the locale's table gives back what was there.
    #[test]
    fn nothing_is_lost() {
        let text = export(TABLE, Export { decimal_comma: true }).expect("a table");
        let back = csv::ReaderBuilder::new()
            .delimiter(b';')
            .has_headers(false)
            .from_reader(text.trim_start_matches(MARK).as_bytes())
            .records()
            .map(|row| row.expect("a row").iter().map(|c| c.replace(',', ".")).collect::<Vec<_>>())
            .collect::<Vec<_>>();
        let there = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(TABLE)
            .records()
            .map(|row| row.expect("a row").iter().map(|c| c.replace(',', ".")).collect::<Vec<_>>())
            .collect::<Vec<_>>();
        assert_eq!(back, there);
    }

    #[test]
    fn what_is_no_table_is_told() {
        for (bytes, why) in
            [(&b""[..], "no columns"), (b"groceries\n", "no columns"), (b"a,b\n1\n", "length")]
        {
            let told = export(bytes, Export { decimal_comma: true }).expect_err("refused");
            assert!(told.contains(why), "{told}");
        }
        assert!(export(b"a,b\n\xff,1\n", Export { decimal_comma: true }).is_err());
    }
}
