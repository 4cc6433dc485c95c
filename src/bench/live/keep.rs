//! The thread that writes: a trace, then its entry, each on disk before the session hears of it.

use std::sync::mpsc::{self, Receiver, Sender};
use std::thread::JoinHandle;

use leverarm_session::journal::{Chain, encode};
use leverarm_session::{Entry, Input, TraceFile};

use super::disk::Disk;

/// Writes entries one after the other. Dropped, it finishes what it was given and ends.
#[derive(Debug)]
pub struct Keeper {
    jobs: Option<Sender<(Entry, Option<TraceFile>)>>,
    done: Receiver<Input>,
    thread: Option<JoinHandle<Disk>>,
}

impl Keeper {
    /// Begins behind the last line of the journal.
    #[must_use]
    pub fn start(mut disk: Disk, mut chain: Chain) -> Keeper {
        let (jobs, orders) = mpsc::channel::<(Entry, Option<TraceFile>)>();
        let (answers, done) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            for (entry, trace) in orders {
                let answer = match keep(&mut disk, &chain, &entry, trace.as_ref()) {
                    Ok(next) => {
                        chain = next;
                        Input::Written(entry.number)
                    }
                    Err(message) => Input::Refused { message },
                };
                if answers.send(answer).is_err() {
                    break;
                }
            }
            disk
        });
        Keeper { jobs: Some(jobs), done, thread: Some(thread) }
    }

    /// Gives it an entry to write; false where the thread is gone.
    pub fn write(&self, entry: Entry, trace: Option<TraceFile>) -> bool {
        self.jobs.as_ref().is_some_and(|jobs| jobs.send((entry, trace)).is_ok())
    }

    /// What became of it, if that is known.
    pub fn next(&self) -> Option<Input> {
        self.done.try_recv().ok()
    }

    /// Waits until everything is written, and gives the disk back; none where the thread died.
    pub fn end(mut self) -> Option<Disk> {
        self.jobs = None;
        self.thread.take()?.join().ok()
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            // What it wrote is on disk; what it could not write was never said to be.
            let _ = thread.join();
        }
    }
}

fn keep(disk: &mut Disk, chain: &Chain, entry: &Entry, trace: Option<&TraceFile>) -> Result<Chain, String> {
    let (line, next) = encode(chain, entry).map_err(|error| error.to_string())?;
    if let Some(trace) = trace {
        disk.keep(&trace.file, &trace.bytes).map_err(|fault| fault.to_string())?;
    }
    disk.append(&line).map_err(|fault| fault.to_string())?;
    Ok(next)
}
