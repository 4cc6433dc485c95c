//! The canonical bytes stand still.

use leverarm_ledger::bytes::Digest;
use leverarm_ledger::entry::{Body, EntryError, FORMAT, Head};
use leverarm_ledger::event::Event;
use leverarm_ledger::state::JobState;
use leverarm_ledger::store::Reading;
use proptest::prelude::*;

use crate::house::{House, customer, id, start, text};

fn body(event: Event) -> Body {
    Body {
        format: FORMAT,
        sequence: 7,
        previous: Digest([0xab; 32]),
        time: start(),
        author: id("runa"),
        event,
    }
}

/// The golden bytes: written by hand from the definition in `entry.rs`. Their hash by
/// `printf 'leverarm ledger entry 1\n%s' '…' | sha256sum`.
#[test]
fn golden() {
    let body = body(Event::CustomerRegistered(customer("haldervoe")));
    let wanted = concat!(
        r#"{"format":1,"sequence":7,"previous":"abababababababababababababababababababababababababababababababab","#,
        r#""time":"2026-11-25T08:00:00+01:00","author":"runa","event":{"customer-registered":{"#,
        r#""id":"haldervoe","name":"Haldervoe Bank Offshore Wind Site"}}}"#
    );
    assert_eq!(String::from_utf8(body.canonical().unwrap()).unwrap(), wanted);
    assert_eq!(Body::read(wanted.as_bytes()).unwrap(), body);
    let hash = leverarm_ledger::entry::hash(wanted.as_bytes());
    assert_eq!(hash.to_string(), include_str!("data/golden.sha256").trim());
    assert_eq!(hash, Digest::of(format!("leverarm ledger entry 1\n{wanted}").as_bytes()));
}

/// The whole life of a laboratory: its last hash stands for every byte of it. A change here means
/// that ledgers of today no longer verify.
#[test]
fn a_life_has_the_same_head_for_ever() {
    let mut house = House::in_memory();
    for (index, state) in JobState::ALL.into_iter().enumerate() {
        house.job_to(&format!("J-{index}"), "runa", state);
    }
    let head = house.ledger.state().head();
    assert_eq!(format!("{} {}", head.sequence, head.hash), include_str!("data/life.head").trim());
}

#[test]
fn only_the_canonical_spelling_is_read() {
    let bytes =
        String::from_utf8(body(Event::CustomerRegistered(customer("haldervoe"))).canonical().unwrap())
            .unwrap();
    let read = |text: &str| Body::read(text.as_bytes());
    assert!(read(&bytes).is_ok());
    let spellings = [
        bytes.replace(':', ": "),
        bytes.replace("Bank", "\\u0042ank"),
        bytes.replace("+01:00", "+01:00 "),
        bytes.replace("08:00:00", "08:00:00.000"),
        bytes.replace(r#""format":1,"#, "").replace(r#""sequence":7"#, r#""sequence":7,"format":1"#),
        bytes.replace(r#""format":1"#, r#""format":1,"format":1"#),
        bytes.replace(r#""id""#, r#""contact":null,"id""#),
        bytes.replace(r#""id""#, r#""extra":1,"id""#),
        bytes.replace("customer-registered", "customer-erased"),
        bytes.replace("abab", "ABab"),
        bytes.replace(r#""format":1"#, r#""format":2"#),
        bytes.replace("haldervoe", " haldervoe"),
        format!("{bytes}\n"),
        bytes[..bytes.len() - 1].to_owned(),
        String::new(),
    ];
    for spelling in &spellings {
        assert!(read(spelling).is_err(), "{spelling}");
    }
    assert!(matches!(read(&spellings[0]), Err(EntryError::NotCanonical { at: 10 })));
    assert!(matches!(read(&spellings[10]), Err(EntryError::Format { given: 2 })));
    assert!(matches!(Body::read(&vec![b'['; 2 << 20]), Err(EntryError::TooLong { .. })));
    assert!(Body::read(&vec![b'['; 1 << 20]).is_err()); // deep nesting ends in an error, not in the stack
}

#[test]
fn every_event_of_a_life_is_read_back_bit_by_bit() {
    let mut house = House::in_memory();
    house.job_to("J", "runa", JobState::Withdrawn);
    let mut store = house.ledger.into_store();
    let mut head = Head::NONE;
    for row in store.rows(1, 100).unwrap() {
        let body = row.read_after(&head).unwrap();
        assert_eq!(body.canonical().unwrap(), row.body);
        let kind = body.event.kind();
        assert!(String::from_utf8(row.body.clone()).unwrap().contains(&format!("{{\"{kind}\":")));
        head = row.head();
    }
    assert!(head.sequence > 20);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_survives(name in "[^\\p{Cc}]{1,200}", note in "(?s)[^\\p{Cc}]{0,40}[\n\t]?[^\\p{Cc}]{1,40}") {
        let mut customer = customer("haldervoe");
        customer.name = text(&name);
        customer.address = Some(text(&note));
        let body = body(Event::CustomerRegistered(customer));
        let bytes = body.canonical().unwrap();
        prop_assert_eq!(Body::read(&bytes).unwrap(), body);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        prop_assert!(Body::read(&bytes).is_err());
    }

    #[test]
    fn any_changed_byte_is_noticed(at in 0_usize..5_000, with in 1_u8..) {
        let mut bytes = body(Event::CustomerRegistered(customer("haldervoe"))).canonical().unwrap();
        let hash = leverarm_ledger::entry::hash(&bytes);
        let at = at % bytes.len();
        bytes[at] ^= with;
        prop_assert_ne!(leverarm_ledger::entry::hash(&bytes), hash);
        if let Ok(other) = Body::read(&bytes) {
            prop_assert_eq!(other.canonical().unwrap(), bytes);
        }
    }
}
