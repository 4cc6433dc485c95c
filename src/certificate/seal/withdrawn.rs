//! The laboratory's list of certificates that are no longer valid: a small JSON text that it can
//! publish, with a detached signature beside it.

use chrono::{DateTime, NaiveDate, SubsecRound, Utc};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::detached::{DetachedVerification, sign_detached, verify_detached};
use crate::error::SealError;
use crate::signer::Signer;
use crate::trust::Trust;

/// Largest list, bytes.
const TEXT_LIMIT: usize = 8 << 20;
/// What the list says of its form.
const FORMAT: &str = "leverarm-withdrawn-1";

/// One certificate that is no longer valid.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Withdrawal {
    /// The certificate's number.
    pub number: String,
    /// Since when it is not valid.
    pub since: NaiveDate,
    /// Why, in words for the customer.
    pub reason: String,
    /// The certificate that replaces it, if one does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaced_by: Option<String>,
}

/// The list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WithdrawnList {
    format: String,
    /// The laboratory.
    pub laboratory: String,
    /// Counts up with each new list, so that an old one shows.
    pub edition: u64,
    /// When it was issued, UTC, whole seconds.
    pub issued: DateTime<Utc>,
    /// The certificates, sorted by number.
    withdrawn: Vec<Withdrawal>,
}

/// Why a list is not accepted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum WithdrawnError {
    /// It is too large.
    #[error("the list has {bytes} bytes, more than the {TEXT_LIMIT} that are read")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// It is not the JSON of such a list.
    #[error("the list cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// It is of another form.
    #[error("the list is of the form {found:?}, wanted {FORMAT:?}")]
    Format {
        /// What it says.
        found: String,
    },
    /// A number is listed twice.
    #[error("the certificate {number} is listed twice")]
    Twice {
        /// The number.
        number: String,
    },
    /// Its signature is not that of a laboratory that is trusted.
    #[error("the list is not signed by a laboratory that is trusted")]
    NotGenuine(Box<DetachedVerification>),
}

impl WithdrawnError {
    /// What the user can do about it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::NotGenuine(_) => {
                "fetch list and signature again from the laboratory, and name its certificate"
            }
            Self::Twice { .. } => "name each certificate once",
            _ => "fetch the list again from the laboratory",
        }
    }
}

impl WithdrawnList {
    /// A list of these certificates; they are sorted by number.
    ///
    /// # Errors
    /// If a number occurs twice.
    pub fn of(
        laboratory: &str,
        edition: u64,
        issued: DateTime<Utc>,
        mut withdrawn: Vec<Withdrawal>,
    ) -> Result<Self, WithdrawnError> {
        withdrawn.sort_by(|a, b| a.number.cmp(&b.number));
        let list = Self {
            format: FORMAT.to_owned(),
            laboratory: laboratory.to_owned(),
            edition,
            issued: issued.trunc_subsecs(0),
            withdrawn,
        };
        list.check_numbers()?;
        Ok(list)
    }

    fn check_numbers(&self) -> Result<(), WithdrawnError> {
        let mut numbers: Vec<&str> = self.withdrawn.iter().map(|w| w.number.as_str()).collect();
        numbers.sort_unstable();
        match numbers.windows(2).find(|pair| pair.first() == pair.last()) {
            Some(pair) => {
                Err(WithdrawnError::Twice { number: pair.first().copied().unwrap_or_default().to_owned() })
            }
            None => Ok(()),
        }
    }

    /// The certificates by number.
    #[must_use]
    pub fn withdrawn(&self) -> &[Withdrawal] {
        &self.withdrawn
    }

    /// The entry of a certificate, if it was withdrawn.
    #[must_use]
    pub fn of_certificate(&self, number: &str) -> Option<&Withdrawal> {
        self.withdrawn.iter().find(|withdrawal| withdrawal.number == number)
    }

    /// As JSON, one form for one list.
    ///
    /// # Errors
    /// If it cannot be written: a fault of ours.
    pub fn to_json(&self) -> Result<Vec<u8>, SealError> {
        let mut text = serde_json::to_vec_pretty(self).map_err(crate::error::fault("writing the list"))?;
        text.push(b'\n');
        Ok(text)
    }

    /// The JSON text and its detached signature.
    ///
    /// # Errors
    /// If the certificate is not valid when the list is issued.
    pub fn sign(&self, signer: &Signer) -> Result<(Vec<u8>, Vec<u8>), SealError> {
        let json = self.to_json()?;
        let signature = sign_detached(&json, signer, self.issued)?;
        Ok((json, signature))
    }

    /// Reads a list whose signature is not looked at.
    ///
    /// # Errors
    /// If it is too large or not such a list.
    pub fn parse(json: &[u8]) -> Result<Self, WithdrawnError> {
        if json.len() > TEXT_LIMIT {
            return Err(WithdrawnError::TooLarge { bytes: json.len() });
        }
        let list: Self = serde_json::from_slice(json)
            .map_err(|error| WithdrawnError::Unreadable { reason: error.to_string() })?;
        if list.format != FORMAT {
            return Err(WithdrawnError::Format { found: list.format.chars().take(64).collect() });
        }
        list.check_numbers()?;
        Ok(list)
    }

    /// Reads a list that a trusted laboratory signed. `now` is when it is read.
    ///
    /// # Errors
    /// If the signature is not genuine (then the list is not even read), or as
    /// [`WithdrawnList::parse`].
    pub fn verify(
        json: &[u8],
        signature: &[u8],
        trust: &Trust,
        now: DateTime<Utc>,
    ) -> Result<(Self, DetachedVerification), WithdrawnError> {
        if json.len() > TEXT_LIMIT {
            return Err(WithdrawnError::TooLarge { bytes: json.len() });
        }
        let verification = verify_detached(json, signature, trust, now);
        if !verification.is_genuine() {
            return Err(WithdrawnError::NotGenuine(Box::new(verification)));
        }
        Ok((Self::parse(json)?, verification))
    }
}
