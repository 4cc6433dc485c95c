//! What the screen shows at one moment: every word and digit chosen, nothing left to decide but places.

use leverarm_metrology::reading::Direction;

/// The whole of it.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// the laboratory's number of the job, and the state of the tool
    pub job: String,
    /// the tool in a few words
    pub tool: String,
    /// who is at the bench
    pub technician: String,
    /// the instrument and its state
    pub instrument: Instrument,
    /// the work in hand; none before the first step and after the last one
    pub step: Option<Step>,
    /// what the instrument shows; none while it has shown nothing
    pub live: Option<Live>,
    /// the bar under it
    pub bar: Option<Bar>,
    /// how long the pull has lasted from 80 % of the target on; none where nothing limits it
    pub meter: Option<Meter>,
    /// what the technician is asked, over everything else
    pub ask: Option<Ask>,
    /// readings of the step so far, the newest last
    pub rows: Vec<Row>,
    /// what was said last, the newest last; a few lines
    pub said: Vec<Said>,
    /// the keys that do something now, in the order to show them
    pub keys: Vec<KeyHint>,
    /// whether a sound accompanies what happens
    pub has_sound: bool,
}

/// How the instrument is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Instrument {
    /// It is being sought.
    Sought,
    /// It speaks.
    Speaks {
        /// its name
        name: String,
    },
    /// Something is wrong with it.
    Troubled {
        /// what
        message: String,
        /// how to mend it
        remedy: String,
    },
}

/// The work in hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// which step, from 1
    pub number: usize,
    /// of how many
    pub steps: usize,
    /// `Test points`, `Preload` …
    pub title: String,
    /// in one sentence what to do now
    pub order: String,
    /// how the position is made, where that matters
    pub how: Option<String>,
    /// the target with its unit, for the large type
    pub target: String,
    /// the sense of rotation; none where nothing is pulled
    pub direction: Option<Direction>,
    /// which reading is next, from 1; none where none is taken
    pub reading: Option<u32>,
    /// of how many
    pub readings: u32,
}

/// What the instrument shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Live {
    /// its digits, in the unit of the target, for the large type
    pub digits: String,
    /// the unit
    pub unit: String,
    /// what kind of moment this is, in a word or two: `zero`, `pull`, `slowly now`, `let go`
    pub phase: Phase,
}

/// Where in the pull we are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// the zero is not known yet: hands off
    Settling,
    /// the pull may begin
    Ready,
    /// the torque rises
    Pulling,
    /// 80 % is passed: slowly now
    Slowly,
    /// the reading is there: let go
    LetGo,
}

/// A bar from 0 to a little above the target. All values in the unit of the target, without sign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// where the bar ends
    pub end: f64,
    /// where the pull is
    pub value: f64,
    /// the highest value of the pull so far
    pub highest: f64,
    /// the target
    pub target: f64,
    /// the accept window's lower end
    pub lowest_accepted: Option<f64>,
    /// its upper end
    pub highest_accepted: Option<f64>,
    /// no pull may go beyond this
    pub limit: Option<f64>,
}

/// The loading-time meter, in seconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// since 80 % of the target
    pub seconds: f64,
    /// it may not be shorter
    pub seconds_min: f64,
    /// nor longer
    pub seconds_max: Option<f64>,
    /// whether it runs
    pub is_running: bool,
}

/// A reading of the step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// its number in the record, from 1
    pub number: u32,
    /// the reference's digits with unit
    pub reference: String,
    /// what the tool indicated, where that differs from the target or is still to be said
    pub indicated: Option<String>,
    /// the loading time, where it was measured
    pub seconds: Option<String>,
    /// the reason why it does not count
    pub void: Option<String>,
}

/// Something that was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// how grave
    pub tone: Tone,
    /// the words
    pub text: String,
}

/// How grave it is. Never by colour alone: the screen puts a sign before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// done, taken
    Good,
    /// to know
    Plain,
    /// to mind
    Caution,
    /// wrong
    Bad,
}

/// A key and what it does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyHint {
    /// `Enter`, `x`, `p`
    pub key: &'static str,
    /// what it does
    pub does: String,
}

/// What the technician is asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ask {
    /// Cautions to be acknowledged, one key for all of them.
    Cautions {
        /// before what
        before: String,
        /// each in words
        cautions: Vec<String>,
    },
    /// A line to be typed.
    Line {
        /// what it is about
        title: String,
        /// what to type, with an example
        hint: String,
        /// what has been typed
        typed: String,
        /// why it was not taken
        fault: Option<String>,
    },
    /// One of a few, by its key.
    Choice {
        /// what it is about
        title: String,
        /// key and words of each
        choices: Vec<(char, String)>,
    },
    /// Work stands still.
    Paused {
        /// since when, by whom, in words
        words: String,
    },
    /// All is done.
    Finished {
        /// what was taken and where it is, line by line
        lines: Vec<String>,
    },
}
