//! Why there can be no session.

use leverarm_metrology::reading::Recorded;
use leverarm_metrology::rulebook::LimitError;
use leverarm_metrology::sequence::SequenceError;
use leverarm_pull::butterworth::FilterError;
use leverarm_pull::detector::SettingsError;
use thiserror::Error;

/// Why there can be no session.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PlanError {
    /// There is no sequence.
    #[error(transparent)]
    Sequence(#[from] SequenceError),
    /// There is no permissible deviation.
    #[error(transparent)]
    Limit(#[from] LimitError),
    /// There is nothing to do.
    #[error("there is no step to do")]
    NoSteps,
    /// The way to the tool's value does not suit the tool.
    #[error("the tool's value cannot be got in the way '{given}' from a tool of type {class}")]
    Indicated {
        /// the way
        given: &'static str,
        /// type and class
        class: &'static str,
    },
    /// The step of the display is none.
    #[error("{given} is no step of a display")]
    Step {
        /// what was given
        given: Recorded,
    },
    /// The limit is below the maximum of the tool, or none.
    #[error("the limit of {given_nm} N·m must be a torque above the maximum of the tool, {maximum}")]
    TooLow {
        /// what was given, in newton metres
        given_nm: f64,
        /// the maximum of the tool
        maximum: Recorded,
    },
    /// The instrument ends below a torque that is to be measured.
    #[error("the instrument ends at {range_nm} N·m, and {target} are to be measured")]
    Range {
        /// where it ends, in newton metres
        range_nm: f64,
        /// the target
        target: Recorded,
    },
    /// The detector cannot be had.
    #[error(transparent)]
    Detector(#[from] SettingsError),
    /// The filter cannot be had.
    #[error(transparent)]
    Filter(#[from] FilterError),
    /// Texts that are too long for a line of the journal.
    #[error("{what}: {bytes} bytes, and {most} are the most")]
    TooLong {
        /// which
        what: &'static str,
        /// how many bytes
        bytes: usize,
        /// how many are the most
        most: usize,
    },
}

impl PlanError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            PlanError::Sequence(error) => error.remedy(),
            PlanError::Limit(error) => error.remedy(),
            PlanError::NoSteps => "choose a rulebook that covers the tool",
            PlanError::Indicated { .. } => {
                "a setting tool's value is what it is set to; an indicating tool's is typed, kept by the tool, or read at the target"
            }
            PlanError::Step { .. } => "write resolution in the reference file, such as 0.01 N·m",
            PlanError::TooLow { .. } => "leave the limit to the rulebook, or state a higher one",
            PlanError::Range { .. } => "take a reference with a larger range",
            PlanError::Detector(_) => "see whether the sample rate in the instrument's description is right",
            PlanError::Filter(_) => "choose a cut-off below half the sample rate, or no filter",
            PlanError::TooLong { .. } => "shorten it",
        }
    }
}
