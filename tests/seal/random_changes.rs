//! Random changes of a signed file: every one is found, none panics.
//!
//! `LEVERARM_SEAL_CHANGES=10000` makes as many as wanted instead of some hundred.

use leverarm_seal::verify_pdf;

use crate::support::*;

fn wanted() -> usize {
    std::env::var("LEVERARM_SEAL_CHANGES").ok().and_then(|text| text.parse().ok()).unwrap_or(600)
}

#[test]
fn a_change_of_one_byte_anywhere_is_found() {
    let mut random = Counted::new(42);
    for kind in [Kind::Table, Kind::Streams] {
        let (file, trust) = signed(&small_pdf(kind));
        assert!(verify_pdf(&file, &trust, now()).is_genuine());
        for _ in 0..wanted() / 2 {
            let (at, change) = (random.below(file.len()), 1 + random.below(255) as u8);
            let mut changed = file.clone();
            changed[at] ^= change;
            let verification = verify_pdf(&changed, &trust, now());
            assert!(!verification.is_genuine(), "{kind:?}: byte {at} changed by {change:#04x}");
            assert!(!verification.findings.is_empty());
        }
    }
}

#[test]
fn a_change_of_a_digit_in_the_place_of_the_signature_is_found() {
    // Nothing there is covered by the digest: digits are changed to other digits and to capitals.
    let (file, trust) = signed(&small_pdf(Kind::Table));
    let (start, end) = contents_at(&file);
    let step = if wanted() >= 10_000 { 1 } else { 7 };
    for at in (start + 1..end - 1).step_by(step) {
        let mut changed = file.clone();
        changed[at] = match file[at] {
            b'9' => b'a',
            b'f' => b'0',
            digit => digit + 1,
        };
        assert!(!verify_pdf(&changed, &trust, now()).is_genuine(), "digit {at}");
    }
}

#[test]
fn a_file_that_was_cut_is_found() {
    let (file, trust) = signed(&small_pdf(Kind::Table));
    for end in (0..file.len()).step_by(if wanted() >= 10_000 { 1 } else { 29 }) {
        assert!(!verify_pdf(&file[..end], &trust, now()).is_genuine(), "cut at {end}");
    }
}

#[test]
fn parts_that_were_moved_or_doubled_are_found() {
    let mut random = Counted::new(7);
    let (file, trust) = signed(&small_pdf(Kind::Table));
    for _ in 0..wanted() / 4 {
        let (a, b, at) = (random.below(file.len()), random.below(file.len()), random.below(file.len()));
        let part = &file[a.min(b)..a.max(b)];
        let changed = [&file[..at], part, &file[at..]].concat();
        if changed != file {
            assert!(!verify_pdf(&changed, &trust, now()).is_genuine(), "{a} {b} {at}");
        }
    }
}
