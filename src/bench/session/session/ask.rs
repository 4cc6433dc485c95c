//! What the technician can be asked.

use leverarm_metrology::reading::Recorded;
use leverarm_metrology::sequence::Moment;
use rust_decimal::Decimal;

use crate::text::Line;

/// A question over everything else.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Question {
    /// who is at the bench
    Technician(Line),
    /// the temperature, then the humidity
    Temperature {
        moment: Moment,
        line: Line,
    },
    Humidity {
        moment: Moment,
        temperature: Decimal,
        line: Line,
    },
    /// something is outside its limits: anew, or on with a reason
    Doubt {
        doubt: Doubt,
        outside: Vec<String>,
    },
    /// the reason for going on
    Reason {
        doubt: Doubt,
        outside: Vec<String>,
        line: Line,
    },
    /// what is to be acknowledged before a step
    Cautions {
        step: usize,
        cautions: Vec<String>,
    },
    /// what the tool showed
    ToolValue {
        reading: u32,
        line: Line,
        doubted: Option<Recorded>,
    },
    /// why the last reading is struck out
    Strike {
        reading: u32,
    },
    StrikeReason {
        reading: u32,
        line: Line,
    },
    /// work stands still
    Paused,
    /// all is taken; the last chance to strike something out
    Finish,
    /// all is on disk
    Over,
}

/// What is outside its limits.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Doubt {
    Room { moment: Moment, temperature: Decimal, humidity: Decimal },
    Zero { shown: Recorded },
}

impl Question {
    /// The line that is being typed.
    pub(super) fn line_mut(&mut self) -> Option<&mut Line> {
        match self {
            Question::Technician(line)
            | Question::Temperature { line, .. }
            | Question::Humidity { line, .. }
            | Question::Reason { line, .. }
            | Question::ToolValue { line, .. }
            | Question::StrikeReason { line, .. } => Some(line),
            _ => None,
        }
    }
}
