//! The words of the work: the tone is that of the bench sheet.

use leverarm_metrology::reading::{Direction, Series};
use leverarm_metrology::sequence::{Action, Moment, Readings, Step};
use leverarm_metrology::tool::Acting;

use crate::plan::{Indicated, Plan};

/// Reasons for which a reading is struck out, by key. A value that merely looks bad is none.
pub(crate) const REASONS: [(char, &str); 5] = [
    ('1', "the hand slipped"),
    ('2', "tool or adaptor moved in the device"),
    ('3', "the tool was not set as it should be"),
    ('4', "the bench was disturbed"),
    ('5', "the tool was not read at the right moment"),
];

/// The key for a reason of one's own.
pub(crate) const OTHER_REASON: char = '9';

/// The name of a step.
pub(crate) fn title(step: &Step) -> String {
    match &step.action {
        Action::Environment(Moment::Start) => "Before the first reading".to_owned(),
        Action::Environment(Moment::End) => "After the last reading".to_owned(),
        Action::Readings(readings) => {
            let series = match readings.series {
                Series::Preload => "Preload",
                Series::Zero => "Zero",
                Series::Points => "Test points",
                Series::Reproducibility => "Reproducibility",
                Series::Drive => "Output drive",
                Series::Interface => "Interface",
                Series::Grip => "Loading point",
            };
            let position = match (readings.position.as_str(), readings.series) {
                ("", _) => String::new(),
                (name, Series::Drive | Series::Interface) => format!(", position {name}°"),
                (name, Series::Reproducibility) => format!(", sequence {name}"),
                (name, _) => format!(", {name}"),
            };
            format!("{series}{position}, {}", readings.direction)
        }
    }
}

/// What to do now, in a sentence or two.
pub(crate) fn order(plan: &Plan, step: &Step) -> String {
    let Some(readings) = step.readings() else {
        return "Write down temperature and humidity.".to_owned();
    };
    let (way, target) = (readings.direction, readings.target);
    if readings.series == Series::Zero {
        return "Take the load off and press Enter when the display stands still.".to_owned();
    }
    if plan.tool.class.acting() == Acting::Setting {
        let set =
            if plan.tool.class.is_fixed() { String::new() } else { format!("Set the tool to {target}. ") };
        return match readings.series {
            Series::Preload => format!("{set}Pull {way} until it releases, no further, and let go."),
            _ => format!("{set}Pull {way} until it releases, slowly and evenly from 80 % on."),
        };
    }
    match (readings.series, plan.indicated) {
        (Series::Preload, _) => format!("Load {way} to {target}, no further, and let go."),
        (_, Indicated::AtTarget) => format!(
            "Pull {way} until the tool shows {target}, slowly from 80 % on; hold it there, press Enter, let go."
        ),
        _ => format!("Pull {way} until the tool shows {target}, slowly from 80 % on, and let go."),
    }
}

/// What is to be acknowledged before a step: its cautions, and how its position is made, lest ten
/// readings be taken in a position that nobody made.
pub(crate) fn to_acknowledge(step: &Step) -> Vec<String> {
    let how = step.readings().filter(|r| !r.position.is_empty()).and_then(|r| r.how.clone());
    step.cautions.iter().cloned().chain(how).collect()
}

pub(crate) fn moment(moment: Moment) -> &'static str {
    match moment {
        Moment::Start => "before the first reading",
        Moment::End => "after the last reading",
    }
}

pub(crate) fn other_way(direction: Direction) -> Direction {
    match direction {
        Direction::Clockwise => Direction::CounterClockwise,
        Direction::CounterClockwise => Direction::Clockwise,
    }
}

/// A seconds cell in words.
pub(crate) fn seconds(readings: &Readings, seconds: &str) -> Option<String> {
    (!matches!(readings.series, Series::Preload | Series::Zero)).then(|| format!("{seconds} s"))
}
