//! People and what they may do on a day.

use chrono::NaiveDate;

use super::State;
use crate::bytes::PublicKey;
use crate::event::{Authority, Rulebooks};
use crate::text::{Id, Text};

/// An authorisation as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Authorisation {
    /// the entry that granted it
    pub number: u64,
    /// what for
    pub authority: Authority,
    /// with which rulebooks
    pub rulebooks: Rulebooks,
    /// first day
    pub from: NaiveDate,
    /// last day
    pub to: Option<NaiveDate>,
}

impl Authorisation {
    /// Whether it holds on a day, for a rulebook where one is asked for.
    #[must_use]
    pub fn holds(&self, authority: Authority, rulebook: Option<&Id>, day: NaiveDate) -> bool {
        self.authority == authority
            && self.from <= day
            && self.to.is_none_or(|to| day <= to)
            && rulebook.is_none_or(|rulebook| self.rulebooks.holds(rulebook))
    }
}

/// A person as the record knows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PersonRecord {
    /// full name
    pub name: Text,
    /// the key that signs now
    pub key: PublicKey,
    /// whether that key is revoked
    pub is_revoked: bool,
    /// every authorisation ever granted
    pub authorisations: Vec<Authorisation>,
}

impl PersonRecord {
    /// Whether the person may do something on a day.
    #[must_use]
    pub fn may(&self, authority: Authority, rulebook: Option<&Id>, day: NaiveDate) -> bool {
        self.authorisations.iter().any(|given| given.holds(authority, rulebook, day))
    }

    /// Whether the person can administrate without end from a day on.
    pub(crate) fn is_lasting_administrator(&self, day: NaiveDate, without: Option<u64>) -> bool {
        let lasting = |given: &&Authorisation| {
            given.holds(Authority::Administrator, None, day)
                && given.to.is_none()
                && Some(given.number) != without
        };
        !self.is_revoked && self.authorisations.iter().any(|given| lasting(&given))
    }
}

impl State {
    /// Whether a person may do something on a day.
    #[must_use]
    pub fn may(&self, person: &Id, authority: Authority, rulebook: Option<&Id>, day: NaiveDate) -> bool {
        self.people
            .get(person)
            .is_some_and(|record| !record.is_revoked && record.may(authority, rulebook, day))
    }
}
