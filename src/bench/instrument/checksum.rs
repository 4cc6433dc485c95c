//! Checksums of a line. The names and check values of the cyclic ones are those of the public
//! catalogue of parametrised CRC algorithms: CRC-16/ARC gives BB3D, CRC-16/CCITT-FALSE gives 29B1 for
//! the nine digits 123456789.

/// How the checksum is computed over the bytes of the part `checked`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// exclusive or of all bytes
    Xor,
    /// sum of all bytes, its lowest eight bits
    Sum,
    /// what completes the sum of all bytes to a multiple of 256
    SumComplement,
    /// polynomial 0x8005 reflected, starting from 0
    Crc16Arc,
    /// polynomial 0x1021, starting from 0xFFFF
    Crc16CcittFalse,
}

impl Method {
    /// Every method with its word in a description.
    pub const WORDS: [(&'static str, Method); 5] = [
        ("xor", Method::Xor),
        ("sum", Method::Sum),
        ("sum-complement", Method::SumComplement),
        ("crc-16-arc", Method::Crc16Arc),
        ("crc-16-ccitt-false", Method::Crc16CcittFalse),
    ];

    /// The checksum of bytes.
    #[must_use]
    pub fn of(self, bytes: &[u8]) -> u16 {
        let sum = || bytes.iter().fold(0_u8, |sum, byte| sum.wrapping_add(*byte));
        match self {
            Method::Xor => u16::from(bytes.iter().fold(0, |all, byte| all ^ byte)),
            Method::Sum => u16::from(sum()),
            Method::SumComplement => u16::from(sum().wrapping_neg()),
            Method::Crc16Arc => bytes.iter().fold(0, |crc: u16, byte| {
                (0..8)
                    .fold(crc ^ u16::from(*byte), |c, _| if c & 1 == 1 { (c >> 1) ^ 0xA001 } else { c >> 1 })
            }),
            Method::Crc16CcittFalse => bytes.iter().fold(0xFFFF, |crc: u16, byte| {
                (0..8).fold(crc ^ (u16::from(*byte) << 8), |c, _| {
                    if c & 0x8000 == 0 { c << 1 } else { (c << 1) ^ 0x1021 }
                })
            }),
        }
    }
}

/// In what digits the checksum stands in the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// hexadecimal
    Hex,
    /// decimal
    Decimal,
}

/// The checksum of a description.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Checksum {
    /// how it is computed
    pub method: Method,
    /// how it is written
    pub written: Written,
}

impl Checksum {
    /// The number that digits stand for.
    #[must_use]
    pub fn read(self, digits: &str) -> Option<u16> {
        let radix = match self.written {
            Written::Hex => 16,
            Written::Decimal => 10,
        };
        u16::from_str_radix(digits.trim(), radix).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Catalogue of parametrised CRC algorithms, `check`; the others by hand: the digits 1 to 9 add up
    /// to 477 = 256 + 221.
    #[test]
    fn published_check_values() {
        let nine = b"123456789";
        assert_eq!(Method::Crc16Arc.of(nine), 0xBB3D);
        assert_eq!(Method::Crc16CcittFalse.of(nine), 0x29B1);
        assert_eq!(Method::Sum.of(nine), 221);
        assert_eq!(Method::SumComplement.of(nine), 35);
        assert_eq!(Method::Xor.of(nine), 0x31);
    }
}
