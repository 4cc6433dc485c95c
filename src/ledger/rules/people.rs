//! Rules for people, keys and authorisations.

use super::{Asking, must_be_known, must_be_new};
use crate::bytes::PublicKey;
use crate::event::{AuthorisationEnded, Authorised, Authority, Event, Founded, KeyReplaced, KeyRevoked};
use crate::keys;
use crate::refusal::{Kind, Refusal};
use crate::text::Id;

pub(super) fn found(asking: &Asking<'_>, founded: &Founded) -> Result<(), Refusal> {
    if asking.state.laboratory().is_some() {
        return Err(Refusal::AlreadyFounded);
    }
    if founded.administrator.id != *asking.author {
        let (author, administrator) = (asking.author.clone(), founded.administrator.id.clone());
        return Err(Refusal::FounderIsAnother { author, administrator });
    }
    must_be_fresh(asking, &founded.administrator.key)
}

pub(super) fn permit(asking: &Asking<'_>, event: &Event) -> Result<(), Refusal> {
    match event {
        Event::PersonEnrolled(enrolled) => {
            asking.must_be(&[Authority::Administrator], None)?;
            let id = &enrolled.person.id;
            must_be_new(Kind::Person, id, asking.state.people().contains_key(id))?;
            must_be_fresh(asking, &enrolled.person.key)
        }
        Event::Authorised(given) => authorise(asking, given),
        Event::AuthorisationEnded(ended) => end(asking, ended),
        Event::KeyReplaced(replaced) => replace(asking, replaced),
        Event::KeyRevoked(revoked) => revoke(asking, revoked),
        _ => Ok(()),
    }
}

fn authorise(asking: &Asking<'_>, given: &Authorised) -> Result<(), Refusal> {
    asking.must_be(&[Authority::Administrator], None)?;
    known(asking, &given.person)?;
    match given.to {
        Some(to) => asking.not_after("the first day of the authorisation", given.from, to),
        None => Ok(()),
    }
}

fn end(asking: &Asking<'_>, ended: &AuthorisationEnded) -> Result<(), Refusal> {
    asking.must_be(&[Authority::Administrator], None)?;
    known(asking, &ended.person)?;
    let person = asking.state.people().get(&ended.person);
    let given = person
        .and_then(|person| person.authorisations.iter().find(|given| given.number == ended.authorisation))
        .ok_or_else(|| Refusal::Unknown { kind: Kind::Authorisation, id: ended.authorisation.to_string() })?;
    if let Some(last) = given.to.filter(|to| *to <= ended.last) {
        let (person, authorisation) = (ended.person.clone(), ended.authorisation);
        return Err(Refusal::EndedAlready { person, authorisation, last });
    }
    let stays = asking
        .state
        .people()
        .values()
        .any(|person| person.is_lasting_administrator(asking.day, Some(ended.authorisation)));
    if given.authority == Authority::Administrator && !stays {
        return Err(Refusal::LastAdministrator { person: ended.person.clone() });
    }
    Ok(())
}

fn replace(asking: &Asking<'_>, replaced: &KeyReplaced) -> Result<(), Refusal> {
    if *asking.author != replaced.person {
        asking.must_be(&[Authority::Administrator], None)?;
    }
    known(asking, &replaced.person)?;
    must_be_fresh(asking, &replaced.key)
}

fn revoke(asking: &Asking<'_>, revoked: &KeyRevoked) -> Result<(), Refusal> {
    if *asking.author != revoked.person {
        asking.must_be(&[Authority::Administrator], None)?;
    }
    known(asking, &revoked.person)?;
    let people = asking.state.people();
    let is_revoked = people.get(&revoked.person).is_some_and(|person| person.is_revoked);
    if is_revoked {
        return Err(Refusal::KeyRevoked { author: revoked.person.clone() });
    }
    let another = people
        .iter()
        .any(|(id, person)| *id != revoked.person && person.is_lasting_administrator(asking.day, None));
    if another { Ok(()) } else { Err(Refusal::LastAdministrator { person: revoked.person.clone() }) }
}

fn known(asking: &Asking<'_>, person: &Id) -> Result<(), Refusal> {
    must_be_known(Kind::Person, person, asking.state.people().contains_key(person))
}

/// One key, one person, once: a signature then tells who wrote it for ever.
fn must_be_fresh(asking: &Asking<'_>, key: &PublicKey) -> Result<(), Refusal> {
    if !keys::is_sound(key) {
        return Err(Refusal::NotAKey { key: *key });
    }
    match asking.state.keys.get(key) {
        Some(person) => Err(Refusal::KeyInUse { key: *key, person: person.clone() }),
        None => Ok(()),
    }
}
