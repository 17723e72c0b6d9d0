//! Which sheet or script something was made with: its name, and a digest of what stands in it.

use sha2::{Digest, Sha256};

/// How many hexadecimal digits of the digest are kept: two sheets that anyone has differ in them.
const DIGITS: usize = 12;

/// Where a sheet or script comes from.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Origin {
    /// Its name: of a file its last part, else the name of what comes with the program.
    pub name: String,
    /// The first digits of the SHA-256 of what it says. Comments, the order of keys, white space and
    /// line ends change nothing.
    pub digest: String,
}

impl Origin {
    /// Of a TOML text. Text that is no TOML counts as it stands.
    pub fn of(name: &str, text: &str) -> Self {
        // The tables of this reader are sorted by their keys, and so is what is made of them.
        let said = match text.parse::<toml::Table>() {
            Ok(table) => serde_json::to_string(&table).unwrap_or_default(),
            Err(_) => text.to_owned(),
        };
        Origin { name: name.to_owned(), digest: short_digest(said.as_bytes()) }
    }
}

/// The first digits of a SHA-256. The word before them keeps whoever reads a table from taking digits
/// that happen to be decimal for a number.
fn short_digest(bytes: &[u8]) -> String {
    let mut digits = hexadecimal(&Sha256::digest(bytes));
    digits.truncate(DIGITS);
    format!("sha256:{digits}")
}

/// Bytes as hexadecimal digits.
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 as published with its examples: the digest of the message "abc" begins with these.
    #[test]
    fn the_digest_is_sha_256() {
        assert_eq!(short_digest(b"abc"), "sha256:ba7816bf8f01");
    }

    #[test]
    fn what_says_the_same_has_the_same_digest() {
        let one = "# quay\r\ntitle = \"quay\"\r\n[lamp]\r\nrate = 2\r\nduty = \"40 to 60 %\"\r\n";
        let same = "title   = 'quay' # once more\n\n[lamp]\nduty = \"40 to 60 %\"\nrate = 0x2\n";
        let other = same.replace("0x2", "3");
        assert_eq!(Origin::of("a", one), Origin::of("a", same));
        assert_ne!(Origin::of("a", one).digest, Origin::of("a", &other).digest);
    }
}
