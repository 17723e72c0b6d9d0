//! CRC-32/ISO-HDLC, which guards sealed lines and blocks.

/// Tables for 16 bytes at a time where memory is no matter, one small table in the jig.
#[cfg(feature = "host")]
type Tables = crc::Table<16>;
#[cfg(not(feature = "host"))]
type Tables = crc::Table<1>;

static TABLE: crc::Crc<u32, Tables> = crc::Crc::<u32, Tables>::new(&crc::CRC_32_ISO_HDLC);

/// The checksum of these bytes.
pub fn crc32(bytes: &[u8]) -> u32 {
    TABLE.checksum(bytes)
}

/// A checksum that grows piece by piece.
#[derive(Clone)]
pub struct Checksum(crc::Digest<'static, u32, Tables>);

impl Checksum {
    /// The checksum of nothing yet.
    pub fn new() -> Self {
        Checksum(TABLE.digest())
    }

    /// Takes more bytes in.
    pub fn update(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// The checksum of all bytes so far.
    pub fn value(&self) -> u32 {
        self.0.clone().finalize()
    }
}

impl core::fmt::Debug for Checksum {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "Checksum({:08X})", self.value())
    }
}

impl Default for Checksum {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms
    /// (reveng.sourceforge.io).
    #[test]
    fn published_check_value() {
        assert_eq!(crc32(b"123456789"), 0xCBF4_3926);
    }

    /// Python 3: `zlib.crc32(b"harbour crane, output 2, clamp b")`.
    #[test]
    fn agrees_with_zlib() {
        assert_eq!(crc32(b"harbour crane, output 2, clamp b"), 0x272F_C4E1);
    }

    #[test]
    fn grows_piece_by_piece() {
        let mut checksum = Checksum::new();
        checksum.update(b"1234");
        assert_eq!(checksum.value(), crc32(b"1234"));
        checksum.update(b"56789");
        assert_eq!(checksum.value(), 0xCBF4_3926);
    }
}
