//! People, their keys and what they may do.

use std::fmt;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::bytes::PublicKey;
use crate::text::{Id, Text};

/// A person, as enrolled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// short name within the laboratory
    pub id: Id,
    /// full name, as certificates print it
    pub name: Text,
    /// the public half of the key that the person signs with
    pub key: PublicKey,
}

/// The first entry of a ledger. The administrator it names has signed it with the key it carries,
/// and is authorised as administrator from this day without end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Founded {
    /// name of the laboratory
    pub laboratory: Text,
    /// who founded it
    pub administrator: Person,
}

/// A person can sign from now on; it may do nothing until it is authorised.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PersonEnrolled {
    /// who
    pub person: Person,
}

/// What a person can be authorised for (ISO/IEC 17025:2017, 6.2.5 and 6.2.6).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Authority {
    /// receives, measures, evaluates, submits
    Technician,
    /// returns, approves and issues what others measured; keeps the references
    Approver,
    /// amends and withdraws certificates
    Amender,
    /// enrols people and authorises them
    Administrator,
}

impl Authority {
    /// Every one.
    pub const ALL: [Authority; 4] =
        [Authority::Technician, Authority::Approver, Authority::Amender, Authority::Administrator];
}

impl fmt::Display for Authority {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Authority::Technician => "technician",
            Authority::Approver => "approver",
            Authority::Amender => "amender",
            Authority::Administrator => "administrator",
        })
    }
}

/// Which rulebooks an authorisation is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rulebooks {
    /// each one
    All,
    /// these
    Named(Vec<Id>),
}

impl Rulebooks {
    /// Whether the authorisation holds for a rulebook.
    #[must_use]
    pub fn holds(&self, rulebook: &Id) -> bool {
        match self {
            Rulebooks::All => true,
            Rulebooks::Named(names) => names.contains(rulebook),
        }
    }
}

/// An authorisation was granted. Its number is that of its entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Authorised {
    /// who
    pub person: Id,
    /// what for
    pub authority: Authority,
    /// with which rulebooks
    pub rulebooks: Rulebooks,
    /// first day
    pub from: NaiveDate,
    /// last day, none: until it is ended
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<NaiveDate>,
    /// on what ground: training, witnessed work
    pub why: Text,
}

/// An authorisation was ended before its last day.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AuthorisationEnded {
    /// whose
    pub person: Id,
    /// sequence number of the entry that granted it
    pub authorisation: u64,
    /// last day on which it holds
    pub last: NaiveDate,
    /// why
    pub why: Text,
}

/// A person signs with another key from the next entry on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyReplaced {
    /// whose
    pub person: Id,
    /// the new one
    pub key: PublicKey,
    /// why
    pub why: Text,
}

/// Nothing that this person's present key signs is taken from the next entry on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyRevoked {
    /// whose
    pub person: Id,
    /// why
    pub why: Text,
}
