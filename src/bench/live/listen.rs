//! The instrument, listened to on a thread of its own, so that no sample waits for screen or disk.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, SyncSender};
use std::thread::JoinHandle;
use std::time::Instant;

use leverarm_metrology::reading::Recorded;
use leverarm_session::News;

use super::clock::SampleClock;
use crate::bench::instrument::{Description, Event, Feed, Flow, Sample, Status, Understood, shown};

/// So many bundles may wait; then the instrument waits, and nothing is lost or piled up.
const BUNDLES: usize = 64;
/// A bundle is sent on when it has so many samples.
const BUNDLE: usize = 512;

/// What was heard.
#[derive(Debug)]
pub enum Heard {
    /// Samples, each with its time in seconds.
    Samples {
        /// when the last of them arrived
        at: Instant,
        /// time and torque
        samples: Vec<(f64, Recorded)>,
    },
    /// News of the instrument.
    News(News),
}

/// The thread that listens. Dropped, it stops.
#[derive(Debug)]
pub struct Listener {
    heard: Option<Receiver<Heard>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Listener {
    /// Begins to listen to what a description names.
    #[must_use]
    pub fn start(description: Description) -> Listener {
        let (sender, heard) = mpsc::sync_channel(BUNDLES);
        let stop = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&stop);
        let thread = std::thread::spawn(move || listen(&description, &sender, &flag));
        Listener { heard: Some(heard), stop, thread: Some(thread) }
    }

    /// The next thing that was heard, if there is one.
    pub fn next(&self) -> Option<Heard> {
        self.heard.as_ref()?.try_recv().ok()
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        // without its receiver a thread that waits to send goes on and sees the flag
        self.heard = None;
        if let Some(thread) = self.thread.take() {
            // A listener that panicked has nothing more to say.
            let _ = thread.join();
        }
    }
}

fn listen(description: &Description, sender: &SyncSender<Heard>, stop: &AtomicBool) {
    let mut feed = Feed::new(description);
    let mut ear = Ear::new(description.rate_hz);
    while !stop.load(Ordering::Relaxed) {
        let flow = feed.step(&mut |event| ear.hear(&event));
        if ear.out.drain(..).any(|heard| sender.send(heard).is_err()) {
            return;
        }
        if flow == Flow::Ended {
            let ended = News::Lost {
                message: "the recording is at its end".to_owned(),
                remedy: "leave the session, or give another recording".to_owned(),
            };
            // The session that is gone needs no news.
            let _ = sender.send(Heard::News(ended));
            return;
        }
    }
}

/// Makes of events what the session hears.
struct Ear {
    clock: SampleClock,
    began: Instant,
    out: Vec<Heard>,
    is_silent: bool,
}

impl Ear {
    fn new(rate_hz: Option<f64>) -> Ear {
        Ear { clock: SampleClock::new(rate_hz), began: Instant::now(), out: Vec::new(), is_silent: false }
    }

    fn hear(&mut self, event: &Event<'_>) {
        match event {
            Event::Connected { .. } => self.news(News::Connected),
            Event::Lost(trouble) => {
                self.clock.interrupted();
                let message = shown(trouble.to_string().as_bytes());
                self.news(News::Lost { message, remedy: trouble.remedy().to_owned() });
            }
            Event::Silence { lasted, .. } => {
                self.is_silent = true;
                self.news(News::Silent { seconds: lasted.as_secs() });
            }
            Event::TooLong { count } => {
                self.misread(format!("{count} lines were longer than the description allows"));
            }
            Event::First { .. } | Event::Cut { .. } => {}
            Event::Line { at, read, .. } => {
                if std::mem::take(&mut self.is_silent) {
                    self.news(News::Connected);
                }
                match read {
                    Ok(Understood::Sample(sample)) => self.sample(*at, sample),
                    Ok(Understood::Ignored) => {}
                    Err(misfit) => self.misread(shown(misfit.to_string().as_bytes())),
                }
            }
        }
    }

    fn sample(&mut self, at: Instant, sample: &Sample) {
        if sample.status == Some(Status::Fault) {
            return self.misread("the display says that its value is at fault".to_owned());
        }
        let arrived_s = at.saturating_duration_since(self.began).as_secs_f64();
        let timed = (self.clock.time(arrived_s, sample.time_s), sample.torque);
        match self.out.last_mut() {
            Some(Heard::Samples { at: last, samples }) if samples.len() < BUNDLE => {
                *last = at;
                samples.push(timed);
            }
            _ => {
                let mut samples = Vec::with_capacity(16);
                samples.push(timed);
                self.out.push(Heard::Samples { at, samples });
            }
        }
    }

    fn news(&mut self, news: News) {
        self.out.push(Heard::News(news));
    }

    fn misread(&mut self, message: String) {
        self.news(News::Misread { message });
    }
}
