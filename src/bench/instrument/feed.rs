//! Source, framer and understander together: what an instrument says, event by event. A connection
//! that is lost is sought again, and the feed goes on.

use std::time::{Duration, Instant};

use super::description::{Ask, Description};
use super::source::{self, Arrived, Source, Trouble};
use super::{Framer, Misfit, Understander, Understood};

/// Bytes of one read.
const BUFFER: usize = 16 * 1024;
/// The pause before the second attempt to connect; it doubles with each further one.
const PAUSE_MIN: Duration = Duration::from_millis(100);
/// The longest pause between attempts.
const PAUSE_MAX: Duration = Duration::from_secs(2);
/// A request without an answer is repeated after so long, or after its own interval if that is longer.
const ANSWER: Duration = Duration::from_secs(1);

/// What happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Event<'a> {
    /// The source is open.
    Connected {
        /// port, address or file
        place: String,
    },
    /// The source is gone, or cannot be opened; said once, not at each further attempt that fails alike.
    Lost(Trouble),
    /// No whole line has come for so long; said again each time that the silence has doubled.
    Silence {
        /// since the last line
        lasted: Duration,
        /// bytes that came without the end of a line
        unended: usize,
    },
    /// The first line after connecting to an instrument that speaks unasked. It may have lost its
    /// beginning, and 12.5 is what is left of 112.5: it is never used.
    First {
        /// its bytes
        raw: &'a [u8],
    },
    /// The connection went in the middle of a line.
    Cut {
        /// what had come of it
        raw: &'a [u8],
    },
    /// Lines were longer than the description allows and were dropped.
    TooLong {
        /// how many
        count: u64,
    },
    /// A line.
    Line {
        /// when it arrived
        at: Instant,
        /// its bytes
        raw: &'a [u8],
        /// what it says, or why it is not understood
        read: Result<Understood, Misfit>,
    },
}

/// Whether there is more to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Flow {
    /// There is.
    Goes,
    /// The recording is at its end, or cannot be read.
    Ended,
}

/// An instrument that is listened to.
pub struct Feed {
    source: Box<dyn Source>,
    framer: Framer,
    understander: Understander,
    ask: Option<Ask>,
    silence: Duration,
    buffer: Vec<u8>,
    is_connected: bool,
    trouble: Option<Trouble>,
    try_at: Option<Instant>,
    pause: Duration,
    skips_first: bool,
    last_line: Instant,
    next_silence: Duration,
    asked: Option<Instant>,
    is_answered: bool,
}

impl Feed {
    /// Listens to what a description names.
    #[must_use]
    pub fn new(description: &Description) -> Feed {
        Feed::from_source(description, source::open(&description.link))
    }

    /// Listens to a source of one's own.
    #[must_use]
    pub fn from_source(description: &Description, source: Box<dyn Source>) -> Feed {
        let slowest = description.ask.as_ref().map_or(Duration::ZERO, |ask| ask.every.saturating_mul(2));
        let silence = description.silence.max(slowest);
        Feed {
            source,
            framer: Framer::new(&description.terminator, description.longest),
            understander: Understander::new(description),
            ask: description.ask.clone(),
            silence,
            buffer: vec![0; BUFFER],
            is_connected: false,
            trouble: None,
            try_at: None,
            pause: PAUSE_MIN,
            skips_first: false,
            last_line: Instant::now(),
            next_silence: silence,
            asked: None,
            is_answered: true,
        }
    }

    /// Does one step, which waits no longer than [`source::PATIENCE`] unless a host must be sought, and
    /// tells what happened.
    pub fn step(&mut self, tell: &mut dyn FnMut(Event<'_>)) -> Flow {
        if !self.is_connected {
            return self.connect(tell);
        }
        match self.request() {
            Ok(true) => {}
            Ok(false) => return Flow::Goes,
            Err(trouble) => return self.lost(trouble, tell),
        }
        match self.source.read(&mut self.buffer) {
            Ok(Arrived::Bytes(count)) => self.take(count, tell),
            Ok(Arrived::Nothing) => {}
            Ok(Arrived::End) => {
                if let Some(rest) = self.framer.take_rest() {
                    let read = self.understander.understand(&rest);
                    tell(Event::Line { at: Instant::now(), raw: &rest, read });
                }
                return Flow::Ended;
            }
            Err(trouble) => return self.lost(trouble, tell),
        }
        let lasted = self.last_line.elapsed();
        if lasted >= self.next_silence {
            self.next_silence = lasted.saturating_mul(2);
            tell(Event::Silence { lasted, unended: self.framer.waiting() });
        }
        Flow::Goes
    }

    fn connect(&mut self, tell: &mut dyn FnMut(Event<'_>)) -> Flow {
        if let Some(wait) = self.try_at.and_then(|at| at.checked_duration_since(Instant::now())) {
            std::thread::sleep(wait.min(source::PATIENCE));
            return Flow::Goes;
        }
        if let Err(trouble) = self.source.connect() {
            self.try_at = Some(Instant::now() + self.pause);
            self.pause = self.pause.saturating_mul(2).min(PAUSE_MAX);
            if self.trouble.as_ref() != Some(&trouble) {
                self.trouble = Some(trouble.clone());
                tell(Event::Lost(trouble));
            }
            return if self.source.is_live() { Flow::Goes } else { Flow::Ended };
        }
        self.is_connected = true;
        self.trouble = None;
        self.skips_first = self.ask.is_none() && self.source.is_live();
        self.asked = None;
        self.is_answered = true;
        self.heard();
        tell(Event::Connected { place: self.source.place() });
        Flow::Goes
    }

    fn lost(&mut self, trouble: Trouble, tell: &mut dyn FnMut(Event<'_>)) -> Flow {
        self.is_connected = false;
        if let Some(rest) = self.framer.take_rest() {
            tell(Event::Cut { raw: &rest });
        }
        self.try_at = Some(Instant::now() + self.pause);
        self.trouble = Some(trouble.clone());
        tell(Event::Lost(trouble));
        if self.source.is_live() { Flow::Goes } else { Flow::Ended }
    }

    fn heard(&mut self) {
        self.last_line = Instant::now();
        self.next_silence = self.silence;
    }

    /// Sends the request when it is due. `false` while none is due and no answer is awaited: then there
    /// is nothing to read, and waiting in a read would delay the next request.
    fn request(&mut self) -> Result<bool, Trouble> {
        let Some(ask) = self.ask.as_ref().filter(|_| self.source.is_live()) else { return Ok(true) };
        let wait = if self.is_answered { ask.every } else { ask.every.max(ANSWER) };
        let left = self.asked.map_or(Duration::ZERO, |asked| wait.saturating_sub(asked.elapsed()));
        if !left.is_zero() {
            if self.is_answered {
                std::thread::sleep(left.min(source::PATIENCE));
            }
            return Ok(!self.is_answered);
        }
        self.asked = Some(Instant::now());
        self.is_answered = false;
        self.source.send(&ask.request)?;
        Ok(true)
    }

    fn take(&mut self, count: usize, tell: &mut dyn FnMut(Event<'_>)) {
        let at = Instant::now();
        let (mut lines, mut skips_first, before) = (0_u64, self.skips_first, self.framer.too_long());
        let understander = &mut self.understander;
        self.framer.push(self.buffer.get(..count).unwrap_or(&[]), |raw| {
            lines += 1;
            if std::mem::take(&mut skips_first) {
                tell(Event::First { raw });
            } else {
                tell(Event::Line { at, raw, read: understander.understand(raw) });
            }
        });
        let too_long = self.framer.too_long().saturating_sub(before);
        if too_long > 0 {
            skips_first = false;
            tell(Event::TooLong { count: too_long });
        }
        self.skips_first = skips_first;
        if lines > 0 {
            self.is_answered = true;
            self.pause = PAUSE_MIN;
            self.heard();
        }
    }
}
