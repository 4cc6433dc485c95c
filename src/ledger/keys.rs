//! Keys: Ed25519 (RFC 8032), the private half as encrypted PKCS#8 in PEM (RFC 5958, RFC 8410,
//! RFC 8018 with scrypt, RFC 7914, and AES-256), which the usual tools read.

use ed25519_dalek::pkcs8::EncodePrivateKey;
use ed25519_dalek::{Signer as _, SigningKey, VerifyingKey};
use pkcs8::der::{Document, pem::PemLabel};
use pkcs8::pkcs5::pbes2::{self, Kdf};
use pkcs8::pkcs5::{EncryptionScheme, scrypt};
use pkcs8::{EncryptedPrivateKeyInfoRef, LineEnding, PrivateKeyInfoRef};
use rand_core::CryptoRng;
use thiserror::Error;
use zeroize::Zeroizing;

use crate::bytes::{PublicKey, Signature};
use crate::text::Id;

/// N = 2¹⁴, r = 8, p = 5: 16 MiB, which other tools take without being asked, and as much work as
/// N = 2¹⁷, p = 1 (the choices named as equal by OWASP's cheat sheet on password storage).
const SCRYPT: (u8, u32, u32) = (14, 8, 5);
/// A key file of another tool may ask for more work than ours, but not for any amount of memory.
const SCRYPT_BYTES_MAX: u64 = 256 << 20;
const PBKDF2_ITERATIONS_MAX: u32 = 10_000_000;
const PARALLEL_MAX: u16 = 64;
const PEM_BYTES_MAX: usize = 16 << 10;

/// The shortest passphrase that a key is kept under, in characters.
pub const PASSPHRASE_CHARACTERS_MIN: usize = 8;

/// Why there is no key.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum KeyError {
    /// Too short a passphrase to keep anything.
    #[error("the passphrase has {given} characters, at least {PASSPHRASE_CHARACTERS_MIN} are wanted")]
    PassphraseTooShort {
        /// how many it has
        given: usize,
    },
    /// The passphrase does not open the file.
    #[error("the passphrase does not open this key")]
    WrongPassphrase,
    /// The file is no encrypted private key.
    #[error("the file is no encrypted private key in PEM: {reason}")]
    NotAKey {
        /// what the reader said
        reason: String,
    },
    /// The file asks for more memory or time than a key file should.
    #[error("the key file asks for too much work to open it: {asked}")]
    TooMuchWork {
        /// what it asks for
        asked: String,
    },
    /// A private key of another kind.
    #[error("the key is not one of Ed25519")]
    OtherAlgorithm,
    /// Encrypting failed.
    #[error("the key could not be encrypted: {reason}")]
    Encrypt {
        /// what the library said
        reason: String,
    },
}

impl KeyError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            KeyError::PassphraseTooShort { .. } => {
                "choose a longer one; several words are easy to keep in mind"
            }
            KeyError::WrongPassphrase => {
                "type it again; when it is lost, have an administrator enter a new key for you"
            }
            KeyError::NotAKey { .. } => {
                "give the file that begins with BEGIN ENCRYPTED PRIVATE KEY, as the ledger made it"
            }
            KeyError::TooMuchWork { .. } => "encrypt it anew with the usual parameters",
            KeyError::OtherAlgorithm => "give a key of Ed25519",
            KeyError::Encrypt { .. } => "report it: this is a fault of the program",
        }
    }
}

/// A person who can sign: the name in the record and the private key. The key is wiped from memory
/// when it is dropped, and is never printed.
#[derive(Clone)]
pub struct Signer {
    id: Id,
    key: SigningKey,
}

impl std::fmt::Debug for Signer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Signer").field("id", &self.id).field("public", &self.public()).finish_non_exhaustive()
    }
}

impl Signer {
    /// Makes a key. The randomness must come from the operating system.
    pub fn generate(id: Id, rng: &mut impl CryptoRng) -> Signer {
        let mut seed = Zeroizing::new([0; 32]);
        rng.fill_bytes(seed.as_mut());
        Signer::from_seed(id, &seed)
    }

    /// Takes a private key as RFC 8032 writes it, 32 bytes.
    #[must_use]
    pub fn from_seed(id: Id, seed: &[u8; 32]) -> Signer {
        Signer { id, key: SigningKey::from_bytes(seed) }
    }

    /// Who signs.
    #[must_use]
    pub fn id(&self) -> &Id {
        &self.id
    }

    /// The public half of the key.
    #[must_use]
    pub fn public(&self) -> PublicKey {
        PublicKey(self.key.verifying_key().to_bytes())
    }

    /// Signs.
    #[must_use]
    pub fn sign(&self, message: &[u8]) -> Signature {
        Signature(self.key.sign(message).to_bytes())
    }

    /// The private key as encrypted PKCS#8 in PEM.
    ///
    /// # Errors
    /// [`KeyError`] where the passphrase is too short.
    pub fn to_pem(&self, passphrase: &str, rng: &mut impl CryptoRng) -> Result<Zeroizing<String>, KeyError> {
        let given = passphrase.chars().count();
        if given < PASSPHRASE_CHARACTERS_MIN {
            return Err(KeyError::PassphraseTooShort { given });
        }
        let encrypt = |reason: String| KeyError::Encrypt { reason };
        let (mut salt, mut iv) = ([0; 16], [0; 16]);
        rng.fill_bytes(&mut salt);
        rng.fill_bytes(&mut iv);
        let (log_n, r, p) = SCRYPT;
        let scrypt = scrypt::Params::new(log_n, r, p).map_err(|error| encrypt(error.to_string()))?;
        let parameters = pbes2::Parameters::generate_scrypt_aes256cbc(scrypt, &salt, iv)
            .map_err(|error| encrypt(error.to_string()))?;
        // Only the seed, as RFC 8410 has it: not every tool reads the form with the public half.
        let plain = ed25519_dalek::pkcs8::KeypairBytes { secret_key: self.key.to_bytes(), public_key: None }
            .to_pkcs8_der()
            .map_err(|error| encrypt(error.to_string()))?;
        let info =
            PrivateKeyInfoRef::try_from(plain.as_bytes()).map_err(|error| encrypt(error.to_string()))?;
        info.encrypt_with_params(parameters, passphrase)
            .and_then(|secret| Ok(secret.to_pem(EncryptedPrivateKeyInfoRef::PEM_LABEL, LineEnding::LF)?))
            .map_err(|error| encrypt(error.to_string()))
    }

    /// Opens an encrypted private key.
    ///
    /// # Errors
    /// [`KeyError`] where it is none, or the passphrase is another one.
    pub fn from_pem(id: Id, pem: &str, passphrase: &str) -> Result<Signer, KeyError> {
        let not = |reason: String| KeyError::NotAKey { reason };
        if pem.len() > PEM_BYTES_MAX {
            return Err(not(format!("it has {} bytes", pem.len())));
        }
        let (label, document) = Document::from_pem(pem.trim_end()).map_err(|error| not(error.to_string()))?;
        if label != EncryptedPrivateKeyInfoRef::PEM_LABEL {
            return Err(not(format!("it holds '{}'", label.escape_debug())));
        }
        let info = EncryptedPrivateKeyInfoRef::try_from(document.as_bytes())
            .map_err(|error| not(error.to_string()))?;
        bound(&info.encryption_algorithm)?;
        // With a wrong passphrase the padding fails, or, one time in 256, the ASN.1 of what came out.
        let plain = info.decrypt(passphrase).map_err(|_| KeyError::WrongPassphrase)?;
        let info = PrivateKeyInfoRef::try_from(plain.as_bytes()).map_err(|_| KeyError::WrongPassphrase)?;
        if info.algorithm.oid != ed25519_dalek::pkcs8::ALGORITHM_OID {
            return Err(KeyError::OtherAlgorithm);
        }
        let key = SigningKey::try_from(info).map_err(|error| not(error.to_string()))?;
        Ok(Signer { id, key })
    }
}

/// Refuses what would take all memory, or for ever, before any of it is spent.
fn bound(scheme: &EncryptionScheme) -> Result<(), KeyError> {
    let EncryptionScheme::Pbes2(parameters) = scheme else {
        return Err(KeyError::NotAKey { reason: "its encryption is of the old kind, PBES1".into() });
    };
    match &parameters.kdf {
        Kdf::Scrypt(scrypt) => {
            let bytes = 128_u64
                .checked_mul(scrypt.cost_parameter)
                .and_then(|bytes| bytes.checked_mul(u64::from(scrypt.block_size)))
                .unwrap_or(u64::MAX);
            if bytes > SCRYPT_BYTES_MAX || scrypt.parallelization > PARALLEL_MAX {
                let asked = format!("{bytes} bytes of memory, {} times", scrypt.parallelization);
                return Err(KeyError::TooMuchWork { asked });
            }
            Ok(())
        }
        Kdf::Pbkdf2(pbkdf2) if pbkdf2.iteration_count > PBKDF2_ITERATIONS_MAX => {
            Err(KeyError::TooMuchWork { asked: format!("{} iterations", pbkdf2.iteration_count) })
        }
        Kdf::Pbkdf2(_) => Ok(()),
        _ => Err(KeyError::NotAKey { reason: "its key derivation is not known".into() }),
    }
}

/// Whether a message was signed with the private half of a key. Weak keys and the second spelling of
/// a signature are refused (RFC 8032, 5.1.7, and strictly).
#[must_use]
pub fn is_signed(key: &PublicKey, message: &[u8], signature: &Signature) -> bool {
    let signature = ed25519_dalek::Signature::from_bytes(&signature.0);
    VerifyingKey::from_bytes(&key.0).is_ok_and(|key| key.verify_strict(message, &signature).is_ok())
}

/// Whether bytes are a public key that can hold a signature at all.
#[must_use]
pub fn is_sound(key: &PublicKey) -> bool {
    VerifyingKey::from_bytes(&key.0).is_ok_and(|key| !key.is_weak())
}
