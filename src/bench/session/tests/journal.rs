//! The journal under truncation and change.

use std::sync::OnceLock;

use leverarm_session::journal::{self, Chain, JournalError, LINE_BYTES_MAX};
use leverarm_session::{Did, Entry};
use proptest::prelude::*;
use sha2::{Digest, Sha256};

use crate::bench::{Bench, click_plan, short, time};

fn written() -> &'static (Vec<Entry>, Vec<u8>) {
    static WRITTEN: OnceLock<(Vec<Entry>, Vec<u8>)> = OnceLock::new();
    WRITTEN.get_or_init(|| {
        let mut bench = Bench::begin(short(click_plan()));
        bench.work();
        (bench.entries, bench.bytes)
    })
}

#[test]
fn a_journal_is_read_back() {
    let (entries, bytes) = written();
    let decoded = journal::decode(bytes).unwrap();
    assert_eq!(&decoded.entries, entries);
    assert_eq!((decoded.good_bytes, decoded.torn), (bytes.len(), false));
    let empty = journal::decode(b"").unwrap();
    assert_eq!((empty.entries.len(), empty.chain), (0, Chain::start()));
}

/// Oracle: SHA-256 over the chain value before and the line without its own, by the library alone.
#[test]
fn the_chain_is_what_it_says() {
    let (_, bytes) = written();
    let mut before: Vec<u8> = Sha256::digest(b"leverarm bench journal 1").to_vec();
    for line in bytes.split_inclusive(|b| *b == b'\n') {
        let text = std::str::from_utf8(line).unwrap().trim_end();
        let (head, chain) = text.rsplit_once(",\"chain\":\"").unwrap();
        let body = format!("{head}}}");
        let digest = Sha256::new().chain_update(&before).chain_update(body.as_bytes()).finalize();
        let hex: String = digest.iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(chain, format!("{hex}\"}}"));
        before = digest.to_vec();
    }
}

#[test]
fn going_on_after_a_torn_line_makes_a_whole_journal() {
    let (entries, bytes) = written();
    let cut = journal::decode(&bytes[..bytes.len() - 7]).unwrap();
    assert!(cut.torn);
    assert_eq!(cut.entries, entries[..entries.len() - 1]);
    let (line, _) = journal::encode(&cut.chain, entries.last().unwrap()).unwrap();
    let mut mended = bytes[..cut.good_bytes].to_vec();
    mended.extend(line);
    assert_eq!(&mended, bytes);
}

#[test]
fn lines_that_were_moved_doubled_or_left_out_are_found() {
    let (_, bytes) = written();
    let lines: Vec<&[u8]> = bytes.split_inclusive(|b| *b == b'\n').collect();
    let joined = |order: &[usize]| order.iter().flat_map(|i| lines[*i].to_vec()).collect::<Vec<u8>>();
    for order in [vec![0, 2], vec![1, 2], vec![0, 2, 1], vec![0, 1, 1]] {
        assert!(matches!(journal::decode(&joined(&order)), Err(JournalError::Chain { .. })), "{order:?}");
    }
    assert!(journal::decode(&joined(&[0, 1, 2])).is_ok());
}

#[test]
fn errors_name_their_line() {
    let (entries, bytes) = written();
    let mut long = bytes.clone();
    long.extend(vec![b'x'; LINE_BYTES_MAX]);
    let line = entries.len() as u64 + 1;
    assert!(matches!(journal::decode(&long), Err(JournalError::TooLong { line: at, .. }) if at == line));
    let mut foreign = bytes.clone();
    foreign.extend(b"{}\n");
    assert_eq!(journal::decode(&foreign), Err(JournalError::NoChain { line }));
    let first = Entry { number: 1, time: time(0.0), technician: String::new(), did: Did::Paused };
    let (alone, _) = journal::encode(&Chain::start(), &first).unwrap();
    assert_eq!(journal::decode(&alone), Err(JournalError::NotBegun));
    let huge = Entry { did: Did::Technician { name: "x".repeat(LINE_BYTES_MAX) }, ..first };
    assert!(matches!(journal::encode(&Chain::start(), &huge), Err(JournalError::TooLong { .. })));
}

/// Whoever makes a line with a right chain but another content than ours is refused, too.
#[test]
fn a_line_of_another_program_is_no_entry() {
    let mut before = Sha256::new_with_prefix(Sha256::digest(b"leverarm bench journal 1"));
    let body = br#"{"number":1,"time":"2026-11-18T08:40:00+01:00","technician":"","did":{"what":"flown"}}"#;
    before.update(body);
    let hex: String = before.finalize().iter().map(|b| format!("{b:02x}")).collect();
    let line = format!("{},\"chain\":\"{hex}\"}}\n", std::str::from_utf8(&body[..body.len() - 1]).unwrap());
    assert!(matches!(journal::decode(line.as_bytes()), Err(JournalError::Entry { line: 1, .. })));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    /// Cut off anywhere, the whole lines are there and the rest is torn.
    #[test]
    fn any_truncation_keeps_the_whole_lines(share in 0.0..1.0_f64) {
        let (entries, bytes) = written();
        let cut = (share * bytes.len() as f64) as usize;
        let decoded = journal::decode(&bytes[..cut]);
        // a line that lacks nothing but its end is whole, and still torn: its end was never on disk
        let lines = bytes[..cut].iter().filter(|b| **b == b'\n').count();
        let decoded = decoded.unwrap();
        prop_assert_eq!(&decoded.entries, &entries[..lines].to_vec());
        prop_assert_eq!(decoded.torn, decoded.good_bytes < cut);
    }

    /// A bit that turned over is found: no entry comes back that was not written.
    #[test]
    fn any_bit_that_turns_is_found(share in 0.0..1.0_f64, bit in 0_u8..8) {
        let (_, bytes) = written();
        let mut spoilt = bytes.clone();
        let at = ((share * spoilt.len() as f64) as usize).min(spoilt.len() - 1);
        spoilt[at] ^= 1 << bit;
        prop_assert!(journal::decode(&spoilt).is_err(), "byte {} bit {}", at, bit);
    }

    #[test]
    fn any_bytes_are_read_without_a_fault(bytes in prop::collection::vec(any::<u8>(), 0..2000)) {
        let decoded = journal::decode(&bytes);
        prop_assert!(decoded.is_err() || decoded.unwrap().entries.is_empty());
    }

    /// Both at once: what comes back is always a beginning of what was written.
    #[test]
    fn cut_and_changed(share in 0.0..1.0_f64, at in 0.0..1.0_f64, with in any::<u8>()) {
        let (entries, bytes) = written();
        let mut spoilt = bytes[..(share * bytes.len() as f64) as usize].to_vec();
        if !spoilt.is_empty() {
            let at = (at * spoilt.len() as f64) as usize;
            spoilt[at] = with;
        }
        if let Ok(decoded) = journal::decode(&spoilt) {
            prop_assert_eq!(&decoded.entries[..], &entries[..decoded.entries.len()]);
        }
    }
}
