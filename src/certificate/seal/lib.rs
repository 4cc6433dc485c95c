//! Signatures on a certificate: PDF signatures that a customer's reader verifies, detached
//! signatures that need no PDF machinery, and the verification of both.
//!
//! Bytes in, bytes out: nothing here opens a file or reads a clock; times are parameters, and so is
//! the source of random bytes. What is verified is hostile: memory, depth and work are bounded, and
//! what two readers might read in two ways is an error, never a guess.
//!
//! * [`Signer`]: the laboratory's key and certificate; [`self_made`] makes a pair for a start.
//! * [`sign_pdf`] and [`verify_pdf`]: `PAdES` baseline B-B (ETSI EN 319 142-1).
//! * [`sign_detached`] and [`verify_detached`]: CMS (RFC 5652) over any bytes, such as a
//!   [`Manifest`] of attachments or a [`WithdrawnList`].
//! * [`pdf`]: the reader, for whoever looks further into a file.
//!
//! The cryptography is that of the `RustCrypto` crates; own are the reader of PDF files, the update
//! that carries a signature, and the rules of what is accepted.

mod certificate;
mod cms;
mod detached;
mod error;
mod manifest;
mod sign;
mod signer;
mod trust;
mod verify;
mod withdrawn;

pub mod pdf;

pub use certificate::{CertificateSummary, Fingerprint};
pub use detached::{DetachedVerification, sign_detached, verify_detached};
pub use error::SealError;
pub use manifest::{Manifest, ManifestDifference, ManifestEntry, ManifestError};
pub use sign::{SigningInfo, sign_pdf};
pub use signer::{SelfMade, Signer, self_made};
pub use trust::{ChainFault, Trust, Trusted};
pub use verify::{Finding, Verification, verify_pdf};
pub use withdrawn::{Withdrawal, WithdrawnError, WithdrawnList};
