//! Digests, public keys and signatures: bytes of a fixed length, written in lower-case hexadecimal.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use thiserror::Error;

/// Why a text is no such bytes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("'{given}' is not {wanted} lower-case hexadecimal digits")]
pub struct HexError {
    /// the beginning of what was given
    pub given: String,
    /// how many digits there must be
    pub wanted: usize,
}

macro_rules! bytes {
    ($(#[$doc:meta])* $name:ident, $length:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(pub [u8; $length]);

        impl $name {
            /// The bytes.
            #[must_use]
            pub fn as_bytes(&self) -> &[u8; $length] {
                &self.0
            }

            /// Takes bytes of just this length.
            #[must_use]
            pub fn from_slice(bytes: &[u8]) -> Option<$name> {
                bytes.try_into().ok().map($name)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                fmt::Display::fmt(self, f)
            }
        }

        impl FromStr for $name {
            type Err = HexError;

            fn from_str(given: &str) -> Result<$name, HexError> {
                let mut bytes = [0; $length];
                read_hex(given, &mut bytes)?;
                Ok($name(bytes))
            }
        }

        impl TryFrom<String> for $name {
            type Error = HexError;

            fn try_from(given: String) -> Result<$name, HexError> {
                given.parse()
            }
        }

        impl From<$name> for String {
            fn from(bytes: $name) -> String {
                bytes.to_string()
            }
        }
    };
}

bytes!(
    /// A SHA-256 (FIPS 180-4), the name of a file or of an entry.
    Digest, 32
);
bytes!(
    /// A public key of Ed25519 (RFC 8032).
    PublicKey, 32
);
bytes!(
    /// A signature of Ed25519 (RFC 8032).
    Signature, 64
);

impl Digest {
    /// The digest of bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Digest {
        Digest(Sha256::digest(bytes).into())
    }

    /// The digest of several parts, one after the other.
    #[must_use]
    pub fn of_parts(parts: &[&[u8]]) -> Digest {
        let mut hasher = Sha256::new();
        parts.iter().for_each(|part| hasher.update(part));
        Digest(hasher.finalize().into())
    }
}

fn read_hex(given: &str, into: &mut [u8]) -> Result<(), HexError> {
    let wanted = into.len() * 2;
    let error = || HexError { given: given.chars().take(16).collect(), wanted };
    if given.len() != wanted {
        return Err(error());
    }
    for (byte, pair) in into.iter_mut().zip(given.as_bytes().chunks_exact(2)) {
        let mut value = 0;
        for digit in pair {
            let digit = match digit {
                b'0'..=b'9' => digit - b'0',
                b'a'..=b'f' => digit - b'a' + 10,
                _ => return Err(error()),
            };
            value = value << 4 | digit;
        }
        *byte = value;
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    /// FIPS 180-4 examples (NIST, "SHA256.pdf" of the cryptographic standards' example values).
    #[test]
    fn sha_256_of_the_standard() {
        let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        let long = "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1";
        assert_eq!(Digest::of(b"abc").to_string(), abc);
        let message = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
        assert_eq!(Digest::of(message).to_string(), long);
        assert_eq!(Digest::of_parts(&[&message[..7], &message[7..]]).to_string(), long);
    }

    #[test]
    fn only_one_spelling() {
        let digest = Digest::of(b"");
        let text = digest.to_string();
        assert_eq!(text.parse::<Digest>().unwrap(), digest);
        assert!(text.to_uppercase().parse::<Digest>().is_err());
        assert!(text[1..].parse::<Digest>().is_err());
        assert!("é".repeat(32).parse::<Digest>().is_err());
    }
}
