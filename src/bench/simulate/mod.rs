//! The simulated bench at a door that hardware would come through: a TCP port of the loopback, or a
//! real pseudo-terminal. What reads it is the code that reads instruments.
//!
//! [`Simulation`] runs a [`Rig`] in a thread of its own and writes its lines. Samples that the reader is
//! too slow for are not lost: the bench waits, and its time with it. While nobody is connected it
//! stands still. The hand pulls only on a command. `standards-notes/simulated-bench.md` says what is
//! simulated, and what it is no proof of.

mod door;
mod error;
mod pace;
#[cfg(test)]
mod tests;
mod work;

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{SyncSender, TrySendError, sync_channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

pub use error::{OrderError, StartError};
pub use leverarm_rig::{
    Command, Faults, IndicatingTool, Mistake, Mistakes, Operator, SettingTool, Settings, Stored, Tool,
    Transducer, Truth,
};
pub use pace::Pace;

use leverarm_rig::{Rig, line};

use self::door::Opened;

/// So many commands may wait.
const COMMANDS: usize = 64;

/// The door through which the bench speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Door {
    /// a port of 127.0.0.1, chosen by the system
    Tcp,
    /// a pseudo-terminal, where the system has them
    Pty,
}

/// What the thread tells.
#[derive(Debug, Clone, Default)]
struct Told {
    time_s: f64,
    is_pulling: bool,
    sent: u64,
    dropped: u64,
    truth: Option<Truth>,
    stored: Vec<Stored>,
}

#[derive(Debug, Default)]
struct Shared {
    stops: AtomicBool,
    told: Mutex<Told>,
}

impl Shared {
    fn told(&self) -> MutexGuard<'_, Told> {
        // whoever panicked with it left plain values
        self.told.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A simulated bench that speaks. It stops when it is dropped.
#[derive(Debug)]
pub struct Simulation {
    settings: Settings,
    description: String,
    shared: Arc<Shared>,
    orders: SyncSender<Command>,
    thread: Option<JoinHandle<()>>,
    /// the far side of the pseudo-terminal: while it is open the terminal lives on without a reader
    #[cfg(unix)]
    far_side: Option<serialport::TTYPort>,
}

impl Simulation {
    /// Opens the door and lets the bench run.
    ///
    /// # Errors
    /// [`StartError`] where the settings or the pace cannot be, or the system opens no door.
    pub fn start(settings: Settings, door: Door, pace: Pace) -> Result<Simulation, StartError> {
        pace.check()?;
        let rig = Rig::new(settings)?;
        let opened = Opened::open(door)?;
        let description = line::describe(&settings, &opened.link);
        let shared = Arc::new(Shared::default());
        let (orders, ordered) = sync_channel(COMMANDS);
        let work = work::Work::new(rig, opened.side, pace, ordered, Arc::clone(&shared));
        let thread = std::thread::Builder::new()
            .name("simulated bench".into())
            .spawn(move || work.run())
            .map_err(|error| StartError::Thread { said: error.to_string() })?;
        Ok(Simulation {
            settings,
            description,
            shared,
            orders,
            thread: Some(thread),
            #[cfg(unix)]
            far_side: opened.far_side,
        })
    }

    /// The description of its display, as TOML, with the door in it.
    #[must_use]
    pub fn description(&self) -> String {
        self.description.clone()
    }

    /// What it was started with.
    #[must_use]
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Tells the bench what to do. It is done a few samples later; no call waits.
    ///
    /// # Errors
    /// [`OrderError`] when it cannot be done, or when too many commands wait.
    pub fn command(&self, command: Command) -> Result<(), OrderError> {
        command.check(&self.settings)?;
        self.orders.try_send(command).map_err(|error| match error {
            TrySendError::Full(_) => OrderError::Busy { waiting: COMMANDS },
            TrySendError::Disconnected(_) => OrderError::Stopped,
        })?;
        if let Some(thread) = &self.thread {
            thread.thread().unpark();
        }
        Ok(())
    }

    /// What really happened in the last pull that is over.
    #[must_use]
    pub fn truth(&self) -> Option<Truth> {
        self.shared.told().truth
    }

    /// The peaks that an electronic tool has kept, the oldest first.
    #[must_use]
    pub fn stored(&self) -> Vec<Stored> {
        self.shared.told().stored.clone()
    }

    /// The time of the bench, s; it stands while nobody reads.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.shared.told().time_s
    }

    /// Whether the hand is at the tool, or is about to be.
    #[must_use]
    pub fn is_pulling(&self) -> bool {
        self.shared.told().is_pulling
    }

    /// How many samples were written, and how many were lost because the physics ordered it.
    #[must_use]
    pub fn counts(&self) -> (u64, u64) {
        let told = self.shared.told();
        (told.sent, told.dropped)
    }
}

impl Drop for Simulation {
    fn drop(&mut self) {
        self.shared.stops.store(true, Ordering::Relaxed);
        let Some(thread) = self.thread.take() else { return };
        thread.thread().unpark();
        while !thread.is_finished() {
            #[cfg(unix)]
            self.make_room();
            std::thread::sleep(Duration::from_millis(1));
        }
        // a panic there was said there; here is nothing to mend
        let _ = thread.join();
    }
}

#[cfg(unix)]
impl Simulation {
    /// A write to a pseudo-terminal that nobody reads may wait on some systems: what is read here lets
    /// it end.
    fn make_room(&mut self) {
        use std::io::Read;

        use serialport::SerialPort;

        if let Some(port) = &mut self.far_side {
            let _ = port.set_timeout(Duration::from_millis(1));
            let _ = port.read(&mut [0; 4096]);
        }
    }
}
