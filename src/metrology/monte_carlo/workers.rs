//! Work in numbered pieces on several threads. Which thread does which piece is chance; the
//! results come back in the order of the pieces.

use std::num::NonZeroUsize;
use std::sync::{Mutex, PoisonError};

/// Does each piece of work, on as many threads as given; the calling one is among them.
pub(super) fn each<T: Send, R: Send>(
    work: Vec<T>,
    threads: NonZeroUsize,
    task: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    let helpers = threads.get().min(work.len().max(1)) - 1;
    if helpers == 0 {
        return work.into_iter().map(task).collect();
    }
    let queue = Mutex::new(work.into_iter().enumerate());
    let worker = || {
        let mut done = Vec::new();
        loop {
            let next = queue.lock().unwrap_or_else(PoisonError::into_inner).next();
            let Some((number, piece)) = next else { return done };
            done.push((number, task(piece)));
        }
    };
    let mut done = std::thread::scope(|scope| {
        let handles: Vec<_> = (0..helpers).map(|_| scope.spawn(worker)).collect();
        let mut done = worker();
        for handle in handles {
            match handle.join() {
                Ok(theirs) => done.extend(theirs),
                // A panic of the caller's own function goes on in the caller's own thread.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(number, _)| *number);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn results_keep_the_order_of_the_pieces() {
        for threads in 1..5 {
            let work: Vec<usize> = (0..50).collect();
            let squares = each(work.clone(), NonZeroUsize::new(threads).unwrap(), |i| i * i);
            assert_eq!(squares, work.iter().map(|i| i * i).collect::<Vec<_>>());
        }
        let nothing: Vec<usize> = each(vec![], NonZeroUsize::new(4).unwrap(), |i: usize| i);
        assert!(nothing.is_empty());
    }
}
