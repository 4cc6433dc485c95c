//! What is written down at the bench, one entry after the other. Nothing is ever changed: a reading is
//! struck out by a further entry.

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::reading::Direction;
use leverarm_metrology::sequence::Moment;
use serde::{Deserialize, Serialize};

use crate::plan::InputFile;

/// Version of the entries, in the first one.
pub const VERSION: u32 = 1;

/// An entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// its number, from 1, without a gap
    pub number: u64,
    /// when
    pub time: DateTime<FixedOffset>,
    /// who was at the bench; empty where nobody had said it yet
    pub technician: String,
    /// what happened
    pub did: Did,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Did {
    /// The session began.
    Began {
        /// [`VERSION`]
        version: u32,
        /// the laboratory's number of the job
        job: String,
        /// state of the tool
        condition: String,
        /// the tool in words
        tool: String,
        /// the rulebook's name
        rulebook: String,
        /// what the judgement of the pulls rests on
        basis: Vec<Fact>,
        /// the files that the plan was made from
        inputs: Vec<InputFile>,
    },
    /// Who is at the bench from now on.
    Technician {
        /// the name
        name: String,
    },
    /// What is to be minded before a step, or made ready for it, was acknowledged.
    Acknowledged {
        /// the step, from 0
        step: usize,
        /// each in words
        cautions: Vec<String>,
    },
    /// Temperature and humidity.
    Surroundings {
        /// when
        moment: When,
        /// such as `21.3 °C`
        temperature: String,
        /// such as `45 %`
        humidity: String,
        /// what is outside the limits, in words; empty where nothing is
        outside: Vec<String>,
        /// why the work went on
        reason: Option<String>,
    },
    /// A reading that counts.
    Taken {
        /// the reading
        reading: Taking,
    },
    /// A reading that does not count: its pull was flawed.
    Voided {
        /// the reading
        reading: Taking,
        /// why
        reason: String,
    },
    /// A movement of the torque that is no reading at all.
    Disregarded {
        /// the step, from 0
        step: usize,
        /// the highest torque
        peak: String,
        /// why it is none
        reason: String,
        /// its trace
        trace: TraceRef,
    },
    /// What the tool showed at a reading.
    Showed {
        /// the reading's number
        reading: u32,
        /// digits and unit
        indicated: String,
    },
    /// A reading was struck out.
    Struck {
        /// its number
        reading: u32,
        /// why
        reason: String,
    },
    /// The work stands still.
    Paused,
    /// It goes on.
    Resumed,
    /// All is done.
    Finished,
}

/// A name and what stands beside it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    /// the name
    pub name: String,
    /// what stands beside it
    pub value: String,
}

/// A reading as it was taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taking {
    /// its number in the record, from 1, in the order of recording
    pub number: u32,
    /// the step, from 0
    pub step: usize,
    /// the series, as `readings.csv` names it
    pub series: String,
    /// the position within the series; empty where there is one only
    pub position: String,
    /// the sense of rotation
    pub direction: Direction,
    /// the torque that was aimed at
    pub target: String,
    /// what the tool was set to or showed; none where that is said later
    pub indicated: Option<String>,
    /// what the reference showed: its magnitude in the direction of the pull
    pub reference: String,
    /// the loading time from 80 % to 100 % of the target, in seconds
    pub seconds: Option<String>,
    /// the trace, where there is one
    pub trace: Option<TraceRef>,
    /// a remark
    pub note: String,
}

/// A trace on disk.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TraceRef {
    /// its path within the run folder, such as `traces/0007.ltrc`
    pub file: String,
    /// SHA-256 of its bytes, as hexadecimal digits
    pub sha256: String,
}

/// When the surroundings were written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    /// before the first reading
    Start,
    /// after the last one
    End,
}

impl From<Moment> for When {
    fn from(moment: Moment) -> When {
        match moment {
            Moment::Start => When::Start,
            Moment::End => When::End,
        }
    }
}
