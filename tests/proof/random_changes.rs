//! Random changes of single bytes in an issued PDF: each is found, and none is more than that.
//!
//! `LEVERARM_CHANGES=10000 cargo test --release --test proof random -- --nocapture` for more of them.

use std::sync::atomic::{AtomicUsize, Ordering};

use leverarm::recheck::Conclusion;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

use crate::support::{issued, rechecked};

const CHANGES: usize = 300;

#[test]
fn random_changes_are_found() {
    let wanted = std::env::var("LEVERARM_CHANGES").ok().and_then(|text| text.parse().ok());
    let wanted: usize = wanted.unwrap_or(CHANGES);
    let pdf = &issued().pdf;
    let (next, refused) = (AtomicUsize::new(0), AtomicUsize::new(0));
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= wanted {
                        return;
                    }
                    let mut random = StdRng::seed_from_u64(number as u64);
                    let mut changed = pdf.clone();
                    let at = random.random_range(0..pdf.len());
                    let by: u8 = random.random_range(1..=255);
                    changed[at] ^= by;
                    match rechecked(&changed) {
                        Err(_) => {
                            refused.fetch_add(1, Ordering::Relaxed);
                        }
                        Ok(report) => {
                            assert_eq!(
                                report.conclusion,
                                Conclusion::Differs,
                                "byte {at} by {by}, change {number}"
                            );
                        }
                    }
                }
            });
        }
    });
    println!("{wanted} changes, all found; {} of them refused as unreadable", refused.into_inner());
}
