//! `leverarm ledger init` and `person`: who can sign, and what each may do.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, Subcommand, ValueEnum};
use leverarm_ledger::Ledger;
use leverarm_ledger::bytes::PublicKey;
use leverarm_ledger::event::{
    self, AuthorisationEnded, Authorised, Authority, Event, KeyReplaced, KeyRevoked, PersonEnrolled,
    Rulebooks,
};
use leverarm_ledger::keys::Signer;
use leverarm_ledger::state::Authorisation;
use leverarm_ledger::text::{Id, Text};
use serde_json::json;
use zeroize::Zeroizing;

use super::desk::{Desk, failure, key_failure, now, passphrase, random};
use super::names;
use crate::cli::key::read_within;
use crate::cli::{Ending, Failure};
use crate::diagnose::harmless;
use crate::office::store::create_store;

/// Where the passphrase of a key that is made for another person may stand.
const NEW_PASSPHRASE: &str = "LEVERARM_NEW_PASSPHRASE";

/// Arguments of `init`.
#[derive(Debug, Args)]
pub(super) struct Init {
    /// the laboratory
    #[arg(long, value_name = "NAME", value_parser = names::text)]
    laboratory: Text,
    /// full name of the founder, who is named by --as; --key says where his new key goes
    #[arg(long, value_name = "NAME", value_parser = names::text)]
    name: Text,
}

/// Commands about people.
#[derive(Debug, Subcommand)]
pub(super) enum Person {
    /// Make a key, encrypted, and print its public half for the administrator
    Key {
        /// where it goes; nothing is overwritten
        file: PathBuf,
    },
    /// Enrol a person with a public key, or with a key that is made here
    Add {
        /// short name
        #[arg(value_parser = names::id)]
        id: Id,
        /// full name, as certificates print it
        #[arg(long, value_parser = names::text)]
        name: Text,
        #[command(flatten)]
        key: NewKey,
    },
    /// Let a person do something
    Authorise(Authorise),
    /// End an authorisation
    Revoke {
        /// whose
        #[arg(value_parser = names::id)]
        id: Id,
        /// its number, as 'person list' shows it
        #[arg(long, value_name = "NUMBER")]
        authorisation: u64,
        /// last day on which it holds; today where it is not said
        #[arg(long, value_name = "DATE", value_parser = names::day)]
        last: Option<NaiveDate>,
        /// why
        #[arg(long, value_parser = names::text)]
        why: Text,
    },
    /// Take nothing more that this person's key signs: the person left, or the key was lost
    End {
        /// who
        #[arg(value_parser = names::id)]
        id: Id,
        /// why
        #[arg(long, value_parser = names::text)]
        why: Text,
    },
    /// Give a person another key
    ReplaceKey {
        /// who
        #[arg(value_parser = names::id)]
        id: Id,
        /// why
        #[arg(long, value_parser = names::text)]
        why: Text,
        #[command(flatten)]
        key: NewKey,
    },
    /// List everyone with his authorisations
    List,
}

/// A key that is enrolled.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
pub(super) struct NewKey {
    /// the public half, 64 hexadecimal digits, as 'person key' printed it
    #[arg(long, value_name = "HEX", value_parser = public)]
    public: Option<PublicKey>,
    /// make a key here; its passphrase is in LEVERARM_NEW_PASSPHRASE or is asked for
    #[arg(long, value_name = "FILE")]
    new_key: Option<PathBuf>,
}

fn public(text: &str) -> Result<PublicKey, String> {
    text.parse().map_err(|_| "write the 64 hexadecimal digits that 'ledger person key' printed".to_owned())
}

/// Arguments of `person authorise`.
#[derive(Debug, Args)]
pub(super) struct Authorise {
    /// who
    #[arg(value_parser = names::id)]
    id: Id,
    /// what for
    #[arg(long = "for", value_enum)]
    authority: AuthorityChoice,
    /// with this rulebook only, such as iso-6789-2; can be given again; every one where none is named
    #[arg(long, value_name = "NAME", value_parser = names::id)]
    rulebook: Vec<Id>,
    /// first day; today where it is not said
    #[arg(long, value_name = "DATE", value_parser = names::day)]
    from: Option<NaiveDate>,
    /// last day; without end where it is not said
    #[arg(long, value_name = "DATE", value_parser = names::day)]
    to: Option<NaiveDate>,
    /// on what ground: training, witnessed work
    #[arg(long, value_parser = names::text)]
    why: Text,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum AuthorityChoice {
    /// receives, measures, evaluates, submits
    Technician,
    /// returns, approves and issues what others measured; keeps the references
    Approver,
    /// amends and withdraws certificates
    Amender,
    /// enrols people and authorises them
    Administrator,
}

impl AuthorityChoice {
    const fn authority(self) -> Authority {
        match self {
            AuthorityChoice::Technician => Authority::Technician,
            AuthorityChoice::Approver => Authority::Approver,
            AuthorityChoice::Amender => Authority::Amender,
            AuthorityChoice::Administrator => Authority::Administrator,
        }
    }
}

pub(super) fn init(desk: &mut Desk<'_, impl Write>, init: &Init) -> Result<Ending, Failure> {
    let id = desk.person()?;
    let path = desk.key_path()?;
    let place = desk.place()?;
    // The key first: a ledger whose founder has no key would be good for nothing.
    let founder = if path.exists() {
        let pem = Zeroizing::new(read_within(&path, 64 << 10)?);
        let pem = String::from_utf8_lossy(&pem);
        let words = format!("Passphrase of {}: ", harmless(&path.display().to_string()));
        Signer::from_pem(id, &pem, &desk.passphrase(&words, false)?).map_err(|error| key_failure(&error))?
    } else {
        let passphrase = desk.passphrase("A new passphrase for your key: ", true)?;
        make_key(id, &path, &passphrase)?
    };
    let store = create_store(&place).map_err(|error| failure(&error, None))?;
    let ledger = Ledger::found(store, init.laboratory.clone(), init.name.clone(), &founder, &now)
        .map_err(|error| failure(&error, None))?;
    let (head, founder, shown) = (ledger.state().head(), founder.id(), path.display());
    let said = format!(
        "{} is founded in {place}; {founder} is its administrator and signs with {shown}",
        init.laboratory
    );
    desk.said(head, &said, json!({ "ledger": place.to_string(), "administrator": founder }))
}

/// Makes a key and writes it, encrypted, for its owner alone.
fn make_key(id: Id, path: &Path, passphrase: &str) -> Result<Signer, Failure> {
    let mut random = random()?;
    let signer = Signer::generate(id, &mut random);
    let pem = signer.to_pem(passphrase, &mut random).map_err(|error| key_failure(&error))?;
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let written = options.open(path).and_then(|mut file| {
        file.write_all(pem.as_bytes())?;
        file.sync_all()
    });
    written.map_err(|error| {
        let what = format!("cannot write the key {}: {error}", harmless(&path.display().to_string()));
        Failure::bad_input(what, "name a new file in a folder that may be written to")
    })?;
    Ok(signer)
}

impl NewKey {
    fn take(&self, id: &Id) -> Result<PublicKey, Failure> {
        match (&self.public, &self.new_key) {
            (Some(public), _) => Ok(*public),
            (None, Some(path)) => {
                let words = format!("A new passphrase for the key of {}: ", harmless(id.as_str()));
                let passphrase = passphrase(None, NEW_PASSPHRASE, &words, true)?;
                make_key(id.clone(), path, &passphrase).map(|signer| signer.public())
            }
            (None, None) => Err(Failure::bad_input("no key was given", "give --public or --new-key")),
        }
    }
}

pub(super) fn run(desk: &mut Desk<'_, impl Write>, person: &Person) -> Result<Ending, Failure> {
    match person {
        Person::Key { file } => {
            let passphrase = desk.passphrase("A new passphrase for your key: ", true)?;
            let id = names::id("nobody-yet").map_err(Failure::fault)?;
            let public = make_key(id, file, &passphrase)?.public();
            if desk.json() {
                return desk.print(&json!({ "public": public }));
            }
            let shown = file.display();
            desk.line(&format!("{shown}  your key, encrypted: keep it, and tell nobody the passphrase"))?;
            desk.line(&format!("{public}  its public half: give it to your administrator"))?;
            Ok(Ending::Done)
        }
        Person::Add { id, name, key } => {
            let key = key.take(id)?;
            let person = event::Person { id: id.clone(), name: name.clone(), key };
            let said = format!("{id}, {name}, can sign; nothing is allowed yet: 'ledger person authorise'");
            desk.record(Event::PersonEnrolled(PersonEnrolled { person }), &[], &said, json!({ "person": id }))
        }
        Person::Authorise(given) => authorise(desk, given),
        Person::Revoke { id, authorisation, last, why } => {
            let last = last.unwrap_or_else(|| now().date_naive());
            let (person, authorisation, why) = (id.clone(), *authorisation, why.clone());
            let said = format!("authorisation {authorisation} of {id} ends on {last}");
            let ended = AuthorisationEnded { person, authorisation, last, why };
            desk.record(Event::AuthorisationEnded(ended), &[], &said, json!({ "person": id }))
        }
        Person::End { id, why } => {
            let revoked = KeyRevoked { person: id.clone(), why: why.clone() };
            let said = format!("nothing more is taken from {id}");
            desk.record(Event::KeyRevoked(revoked), &[], &said, json!({ "person": id }))
        }
        Person::ReplaceKey { id, why, key } => {
            let replaced = KeyReplaced { person: id.clone(), key: key.take(id)?, why: why.clone() };
            let said = format!("{id} signs with another key from now on");
            desk.record(Event::KeyReplaced(replaced), &[], &said, json!({ "person": id }))
        }
        Person::List => list(desk),
    }
}

fn authorise(desk: &mut Desk<'_, impl Write>, given: &Authorise) -> Result<Ending, Failure> {
    let authority = given.authority.authority();
    let rulebooks = match given.rulebook.is_empty() {
        true => Rulebooks::All,
        false => Rulebooks::Named(given.rulebook.clone()),
    };
    let from = given.from.unwrap_or_else(|| now().date_naive());
    let said = format!("{} is authorised as {authority}, {}", given.id, span(from, given.to, &rulebooks));
    let (person, to, why) = (given.id.clone(), given.to, given.why.clone());
    let event = Authorised { person, authority, rulebooks, from, to, why };
    desk.record(Event::Authorised(event), &[], &said, json!({ "person": given.id, "authority": authority }))
}

fn span(from: NaiveDate, to: Option<NaiveDate>, rulebooks: &Rulebooks) -> String {
    let to = to.map_or_else(|| "on".to_owned(), |to| format!("to {to}"));
    let with = match rulebooks {
        Rulebooks::All => "every rulebook".to_owned(),
        Rulebooks::Named(names) => names.iter().map(Id::as_str).collect::<Vec<_>>().join(", "),
    };
    format!("from {from} {to}, {with}")
}

fn list(desk: &mut Desk<'_, impl Write>) -> Result<Ending, Failure> {
    let ledger = desk.open()?;
    let people = ledger.state().people();
    if desk.json() {
        let list: Vec<_> = people
            .iter()
            .map(|(id, person)| {
                let authorisations: Vec<_> = person
                    .authorisations
                    .iter()
                    .map(|given: &Authorisation| {
                        json!({ "number": given.number, "authority": given.authority,
                                "rulebooks": given.rulebooks, "from": given.from, "to": given.to })
                    })
                    .collect();
                json!({ "id": id, "name": person.name, "key": person.key, "revoked": person.is_revoked,
                        "authorisations": authorisations })
            })
            .collect();
        return desk.print(&list);
    }
    let mut rows = Vec::new();
    for (id, person) in people {
        let name = match person.is_revoked {
            true => format!("{} (key revoked)", person.name),
            false => person.name.to_string(),
        };
        if person.authorisations.is_empty() {
            rows.push(vec![
                id.to_string(),
                name.clone(),
                String::new(),
                "nothing yet".to_owned(),
                String::new(),
            ]);
        }
        for (place, given) in person.authorisations.iter().enumerate() {
            let (id, name) = if place == 0 { (id.to_string(), name.clone()) } else { Default::default() };
            let how = span(given.from, given.to, &given.rulebooks);
            rows.push(vec![id, name, given.number.to_string(), given.authority.to_string(), how]);
        }
    }
    desk.table(&["person", "name", "no.", "may act as", "when, with"], rows)?;
    Ok(Ending::Done)
}
