//! What the rig is told.

use leverarm_metrology::quantity::Torque;
use thiserror::Error;

use crate::operator::Operator;
use crate::settings::Settings;
use crate::tool::Tool;

/// What the rig is told. Torques below zero are pulls against the clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Command {
    /// Sets a setting tool; without it a tool is set to the target of each pull.
    SetTool {
        /// to what
        torque: Torque,
    },
    /// The hand pulls once, with the habits and mistakes of the operator. A pull that waits is replaced.
    Pull {
        /// the target
        target: Torque,
        /// not before this time of the rig, s; a time that has passed means at once, and while a pull is
        /// under way after it
        at_s: f64,
    },
    /// The hand pulls once briskly and without mistakes.
    Preload {
        /// the target
        target: Torque,
        /// as for a pull
        at_s: f64,
    },
    /// The hand lets go at once.
    Unload,
    /// Another person comes to the bench, from the next pull on.
    ChangeOperator(Operator),
    /// A pull that waits is forgotten.
    Idle,
    /// The display is set to zero: what it shows now is taken off from here on. While the hand is at the
    /// tool nothing happens.
    SetZero,
}

/// Why a command cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum CommandError {
    /// The target is zero, no number, or more than twice what the tool can.
    #[error("a pull to {} N·m is none for a tool of {} N·m", given.newton_metres(), torque_max.newton_metres())]
    Target {
        /// what was given
        given: Torque,
        /// the highest torque of the tool
        torque_max: Torque,
    },
    /// The time is no number.
    #[error("a pull at {given} s cannot be")]
    Time {
        /// what was given
        given: f64,
    },
    /// An indicating tool is not set.
    #[error("an indicating tool has nothing to set")]
    NothingToSet,
    /// The new person's habits cannot be.
    #[error(transparent)]
    Operator(#[from] crate::check::SettingsError),
}

impl CommandError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            CommandError::Target { .. } => "pull to a torque that the tool has",
            CommandError::Time { .. } => "give the time in seconds; 0 means at once",
            CommandError::NothingToSet => {
                "leave the setting out: the hand pulls until the tool shows the target"
            }
            CommandError::Operator(error) => error.remedy(),
        }
    }
}

impl Command {
    /// Whether a rig of these settings can do it.
    ///
    /// # Errors
    /// Why not.
    pub fn check(&self, settings: &Settings) -> Result<(), CommandError> {
        let torque_max = settings.tool.torque_max();
        let target = |given: Torque| {
            let size = given.newton_metres().abs();
            let is_one = size.is_finite() && size > 0.0 && size <= 2.0 * torque_max.newton_metres();
            if is_one { Ok(()) } else { Err(CommandError::Target { given, torque_max }) }
        };
        match self {
            Command::SetTool { torque } => match settings.tool {
                Tool::Setting(_) => target(*torque),
                Tool::Indicating(_) => Err(CommandError::NothingToSet),
            },
            Command::Pull { target: to, at_s } | Command::Preload { target: to, at_s } => {
                target(*to)?;
                if at_s.is_nan() { Err(CommandError::Time { given: *at_s }) } else { Ok(()) }
            }
            Command::ChangeOperator(operator) => Ok(Settings { operator: *operator, ..*settings }.check()?),
            Command::Unload | Command::Idle | Command::SetZero => Ok(()),
        }
    }
}
