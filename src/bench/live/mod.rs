//! The guided session at work: instrument, disk, screen and keys around
//! [`leverarm_session::Session`], which alone decides.
//!
//! One thread listens, one writes, and this one shows: no sample waits for the screen, no frame for the
//! disk. What was said to be taken is on disk ([`keep`]), and what was cut off goes on from the journal
//! ([`disk`]).

mod clock;
mod complete;
mod disk;
mod fault;
mod figures;
mod finish;
mod keep;
mod listen;
mod prepare;
mod simulated;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset, Local};
use leverarm_screen::look::Look;
use leverarm_screen::terminal::{Event, Terminal};
use leverarm_session::view::{Ask, Said, Tone, View};
use leverarm_session::{Effect, Input, Key, Outcome, Plan, Session, journal};

use super::instrument::Description;
use super::simulate::{Command, Simulation};
use keep::Keeper;
use listen::{Heard, Listener};

pub use disk::{Disk, DiskFault, JOURNAL_FILE, TRACES};
pub use fault::LiveFault;
pub use figures::Figures;
pub use finish::PREPARED_FILE;
pub use prepare::{Choices, Prepared, read};
pub use simulated::settings as simulated_settings;

/// The screen is drawn no more often: sixty times a second.
const FRAME: Duration = Duration::from_millis(16);
/// Where nothing comes in, the keyboard is waited for so long.
const IDLE: Duration = Duration::from_millis(4);
/// So long at most is the instrument listened to before the screen gets its turn.
const TURN: Duration = Duration::from_millis(8);

/// All that a session needs.
#[derive(Debug)]
pub struct Bench {
    /// what is to be done
    pub plan: Plan,
    /// its journal, open, and what stands in it
    pub disk: Disk,
    /// the bytes of the journal
    pub journal: Vec<u8>,
    /// how the instrument speaks
    pub description: Description,
    /// the simulated bench behind it
    pub simulation: Option<Simulation>,
    /// how the screen looks
    pub look: Look,
    /// whether sounds are made from the beginning
    pub has_sound: bool,
    /// set from outside when the process is to end
    pub stop: Arc<AtomicBool>,
}

/// How a session ended.
#[derive(Debug)]
pub struct Ended {
    /// what was taken
    pub outcome: Outcome,
    /// keys of `run.toml` that said something else before
    pub replaced: Vec<(String, String)>,
    /// how quickly the screen followed
    pub figures: Figures,
    /// what the simulated tool has stored, where there is one with a memory
    pub stored: Vec<super::simulate::Stored>,
}

/// Leads a session to its end, or until somebody leaves.
///
/// # Errors
/// [`LiveFault`]; whatever was said to be taken is on disk all the same.
pub fn lead(bench: Bench) -> Result<Ended, LiveFault> {
    let Bench { plan, mut disk, journal, description, simulation, look, has_sound, stop } = bench;
    let decoded = journal::decode(&journal)?;
    disk.cut(decoded.good_bytes as u64)?;
    let clock = Clock::new(simulation.is_some(), decoded.entries.last().map(|entry| entry.time));
    let (session, effects) = if decoded.entries.is_empty() {
        Session::begin(plan, clock.now(0.0)).map_err(|error| LiveFault::Plan(Box::new(error)))?
    } else {
        Session::resume(plan, &decoded.entries).map_err(|error| LiveFault::Resume(Box::new(error)))?
    };
    let folder = disk.folder().to_owned();
    let keeper = Keeper::start(disk, decoded.chain);
    let terminal = Terminal::open(look)?;
    let listener = Listener::start(description);
    let mut live = Live {
        session,
        keeper,
        terminal,
        simulation,
        clock,
        time_s: 0.0,
        figures: Figures::default(),
        newest: None,
        folder,
        replaced: Vec::new(),
        has_left: false,
    };
    live.perform(effects)?;
    if !has_sound {
        live.input(Input::Key(Key::Char('s')))?;
    }
    live.work(&listener, &stop)?;
    let Live { session, keeper, terminal, simulation, figures, replaced, .. } = live;
    drop(listener);
    drop(terminal);
    keeper.end().ok_or(LiveFault::KeeperGone)?;
    let outcome = session.outcome();
    let stored = simulation.as_ref().map(Simulation::stored).unwrap_or_default();
    Ok(Ended { outcome, replaced, figures, stored })
}

/// The time of what happens. A simulated bench may run faster than the day: then its own time counts
/// from the moment at which the session began.
#[derive(Debug)]
struct Clock {
    simulated_from: Option<DateTime<FixedOffset>>,
}

impl Clock {
    fn new(is_simulated: bool, last: Option<DateTime<FixedOffset>>) -> Clock {
        let now = Local::now().fixed_offset();
        let from = last.map_or(now, |last| last.max(now));
        Clock { simulated_from: is_simulated.then_some(from) }
    }

    fn now(&self, time_s: f64) -> DateTime<FixedOffset> {
        let now = Local::now().fixed_offset();
        match self.simulated_from {
            Some(from) => {
                let ms = (time_s.clamp(0.0, 1e9) * 1000.0) as i64;
                from.checked_add_signed(chrono::Duration::milliseconds(ms)).unwrap_or(now).max(now)
            }
            None => now,
        }
    }
}

struct Live {
    session: Session,
    keeper: Keeper,
    terminal: Terminal,
    simulation: Option<Simulation>,
    clock: Clock,
    /// the time of the newest sample
    time_s: f64,
    figures: Figures,
    /// when the newest sample arrived that is not on the screen yet
    newest: Option<Instant>,
    folder: PathBuf,
    /// keys of `run.toml` that said something else before
    replaced: Vec<(String, String)>,
    has_left: bool,
}

impl Live {
    fn work(&mut self, listener: &Listener, stop: &AtomicBool) -> Result<(), LiveFault> {
        let mut view = self.view();
        let (mut drawn_at, mut is_stale) = (None::<Instant>, true);
        while !self.has_left && !stop.load(Ordering::Relaxed) {
            let is_due = drawn_at.is_none_or(|at| at.elapsed() >= FRAME);
            if is_stale && is_due {
                view = self.view();
                self.terminal.draw(&view)?;
                if let Some(arrived) = self.newest.take() {
                    self.figures.drawn(arrived.elapsed());
                }
                (drawn_at, is_stale) = (Some(Instant::now()), false);
            }
            while let Some(done) = self.keeper.next() {
                self.input(done)?;
                is_stale = true;
            }
            let has_heard = self.hear(listener)?;
            is_stale |= has_heard;
            let wait = if has_heard { Duration::ZERO } else { IDLE };
            match self.terminal.next(wait)? {
                None => {}
                Some(Event::Resize) => is_stale = true,
                Some(Event::Leave) => return Ok(()),
                Some(Event::Key(key)) => {
                    // what was pressed was pressed on what is on the screen
                    let is_kept = self.terminal.takes(key, &view);
                    if let Some(key) = plain(key).filter(|_| !is_kept) {
                        self.input(Input::Key(key))?;
                    }
                    (is_stale, drawn_at) = (true, None);
                }
            }
        }
        Ok(())
    }

    fn view(&self) -> View {
        let mut view = self.session.view();
        // A newcomer without hardware cannot look at the tool.
        let is_asked = matches!(view.ask, Some(Ask::Line { .. }));
        let shown = self.simulation.as_ref().filter(|_| is_asked).and_then(Simulation::truth);
        if let Some(indicated) = shown.and_then(|truth| truth.indicated) {
            let text =
                format!("the simulated tool shows {}", simulated::shown(indicated, self.session.plan()));
            view.said.push(Said { tone: Tone::Plain, text });
        }
        view
    }

    /// Takes in what was heard, for one turn at most.
    fn hear(&mut self, listener: &Listener) -> Result<bool, LiveFault> {
        let begun = Instant::now();
        let mut has_heard = false;
        while begun.elapsed() < TURN {
            let Some(heard) = listener.next() else { break };
            has_heard = true;
            match heard {
                Heard::News(news) => self.input(Input::News(news))?,
                Heard::Samples { at, samples } => {
                    self.figures.heard(samples.len());
                    self.newest = Some(at);
                    for (time_s, recorded) in samples {
                        self.time_s = time_s;
                        self.input(Input::Sample { time_s, recorded })?;
                    }
                }
            }
        }
        Ok(has_heard)
    }

    fn input(&mut self, input: Input) -> Result<(), LiveFault> {
        let now = self.clock.now(self.time_s);
        let effects = self.session.on(input, now);
        self.perform(effects)
    }

    fn perform(&mut self, effects: Vec<Effect>) -> Result<(), LiveFault> {
        for effect in effects {
            match effect {
                Effect::Write(entry, trace) => {
                    if !self.keeper.write(*entry, trace) {
                        return Err(LiveFault::KeeperGone);
                    }
                }
                Effect::Sound(cue) => self.terminal.ring(cue)?,
                Effect::Arm(aim) => {
                    if let Some(simulation) = &self.simulation {
                        // A hand that is still busy, or gone, is seen on the screen.
                        let _ = simulation.command(simulated::pull(&aim, simulation));
                    }
                }
                Effect::Disarm => {
                    if let Some(simulation) = &self.simulation {
                        let _ = simulation.command(Command::Idle);
                    }
                }
                Effect::SetZero => {
                    if let Some(simulation) = &self.simulation {
                        // The technician sees whether the display shows zero.
                        let _ = simulation.command(Command::SetZero);
                    }
                }
                Effect::Finish => {
                    let outcome = self.session.outcome();
                    self.replaced = finish::finish(&self.folder, self.session.plan(), &outcome)?;
                }
                Effect::Leave => self.has_left = true,
            }
        }
        Ok(())
    }
}

fn plain(key: leverarm_screen::screen::Key) -> Option<Key> {
    use leverarm_screen::screen::Key as Pressed;
    match key {
        Pressed::Char(c) => Some(Key::Char(c)),
        Pressed::Enter => Some(Key::Enter),
        Pressed::Escape => Some(Key::Escape),
        Pressed::Backspace => Some(Key::Backspace),
        Pressed::Next | Pressed::Previous => None,
    }
}
