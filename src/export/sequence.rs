//! The bench sheet: the sequence of the work with its words and digits chosen, as text for a terminal
//! or a printer, as an empty `readings.csv`, and (in [`paper`]) as a PDF to write on by hand.

mod csv;
pub mod paper;
mod text;

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_metrology::reading::{Direction, Series};
use leverarm_metrology::rulebook::{LimitError, Rulebook};
use leverarm_metrology::run::Run;
use leverarm_metrology::sequence::{Action, Moment, PullTime, Readings, SequenceError, Step, sequence_on};
use leverarm_metrology::tool::Acting;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::Serialize;

pub use csv::to_bytes as csv;
pub use text::text;

/// Version of what `leverarm sequence --json` prints.
pub const SHEET_VERSION: u32 = 1;

/// A bench sheet, every word and digit ready to print.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sheet {
    /// `leverarm sequence`
    pub format: &'static str,
    /// [`SHEET_VERSION`]
    pub version: u32,
    /// program and version
    pub software: String,
    /// the laboratory's name
    pub laboratory: Option<String>,
    /// the laboratory's number of the job
    pub job: String,
    /// state of the tool
    pub condition: String,
    /// the day for which the work is set down
    pub performed: String,
    /// who takes the readings, where that is said already
    pub technician: Option<String>,
    /// label and value of what is known of tool, procedure and limits
    pub facts: Vec<Fact>,
    /// what to mind at the bench
    pub cautions: Vec<String>,
    /// how to fill the sheet in
    pub notes: Vec<String>,
    /// readings in all
    pub total: u32,
    /// whether the tool's own value is read at each pull
    pub reads_tool: bool,
    /// whether rows say their direction
    pub has_directions: bool,
    /// unit of the tool's range
    pub unit: String,
    /// the work in its order
    pub groups: Vec<Group>,
}

/// A label and what stands beside it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    /// the label
    pub label: String,
    /// the value
    pub value: String,
    /// for the template's table of facts: nothing here is marked
    pub by_customer: bool,
}

/// Neighbouring steps of one series and direction, or one look at the surroundings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Group {
    /// what it is
    pub title: String,
    /// a sentence on how it is done
    pub about: String,
    /// to be acknowledged before it
    pub cautions: Vec<String>,
    /// the steps; one without readings for the surroundings
    pub steps: Vec<StepView>,
}

/// A step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StepView {
    /// its number, from 1
    pub number: usize,
    /// the series as `readings.csv` names it; none for the surroundings
    pub series: Option<&'static str>,
    /// the position as `readings.csv` names it
    pub position: String,
    /// the sense of rotation
    pub direction: Option<&'static str>,
    /// the target's digits as `readings.csv` has them
    pub target: String,
    /// its unit
    pub unit: String,
    /// how many valid readings
    pub count: u32,
    /// how long a pull lasts from 80 % to 100 % of the target
    pub seconds: Option<String>,
    /// lowest reference torque within the permissible deviation, in the unit of the target
    pub lowest: Option<String>,
    /// highest one
    pub highest: Option<String>,
    /// how it is done, where it is not as the others of its group
    pub how: Option<String>,
}

/// Makes the sheet of a run.
///
/// # Errors
/// [`SequenceError`] when the rulebook does not cover the tool.
pub fn sheet(run: &Run, rulebook: &Rulebook) -> Result<Sheet, SequenceError> {
    let steps = sequence_on(&run.tool, rulebook, run.study.as_ref(), run.sides)?;
    let tool = &run.tool;
    let reads_tool = tool.class.acting() == Acting::Indicating;
    Ok(Sheet {
        format: "leverarm sequence",
        version: SHEET_VERSION,
        software: format!("leverarm {}", env!("CARGO_PKG_VERSION")),
        laboratory: run.laboratory.name.clone(),
        job: run.job.clone(),
        condition: run.condition.to_string(),
        performed: run.performed.to_string(),
        technician: run.people.technician.clone(),
        facts: facts(run, rulebook)?,
        cautions: rulebook.cautions.clone(),
        notes: notes(rulebook, reads_tool),
        total: steps.iter().filter_map(Step::readings).fold(0, |sum, r| sum.saturating_add(r.count)),
        reads_tool,
        has_directions: tool.directions.len() != 1,
        unit: tool.range.upper.unit().to_string(),
        groups: groups(&steps, rulebook),
    })
}

fn facts(run: &Run, rulebook: &Rulebook) -> Result<Vec<Fact>, LimitError> {
    let tool = &run.tool;
    let limit = rulebook.governing_limit(tool)?;
    let room = &rulebook.environment;
    let written = |w: &leverarm_metrology::rulebook::Written, unit: &str| {
        w.as_written.clone().unwrap_or_else(|| format!("{} {unit}", w.value))
    };
    let directions: Vec<&str> = tool.directions.iter().map(|d| d.word()).collect();
    let mut facts = vec![
        ("Tool", format!("{} {}, serial {}", tool.maker, tool.model, tool.serial)),
        ("Type and class", format!("{}, {}", tool.class, tool.class.words())),
        ("Range", tool.range.to_string()),
        ("Direction", directions.join(" and ")),
        ("Procedure", format!("{}, {}", rulebook.certificate.method, rulebook.title)),
        ("Permissible deviation", format!("{}{}", sides(run), limit.permissible)),
        (
            "Room",
            format!(
                "{} to {}, change of {} at most, humidity {} at most",
                written(&room.temperature_min, "°C"),
                written(&room.temperature_max, "°C"),
                written(&room.temperature_change, "K"),
                written(&room.humidity_max, "%"),
            ),
        ),
    ];
    facts.extend(tool.resolution.map(|r| ("Resolution", r.to_string())));
    facts.extend(tool.drive.clone().map(|drive| ("Drive", drive)));
    facts.extend(tool.head.clone().map(|head| ("Head", head)));
    facts.extend(tool.owner_mark.clone().map(|mark| ("Owner’s mark", mark)));
    facts.extend(run.study.as_ref().map(|study| ("Type study", study.id.clone())));
    Ok(facts
        .into_iter()
        .map(|(label, value)| Fact { label: label.to_owned(), value, by_customer: false })
        .collect())
}

fn sides(run: &Run) -> &'static str {
    use leverarm_metrology::decision::Sides;
    match run.sides {
        Sides::Both => "±",
        Sides::Upper => "at most +",
        Sides::Lower => "at least \u{2212}",
    }
}

fn notes(rulebook: &Rulebook, reads_tool: bool) -> Vec<String> {
    let at_target = if reads_tool {
        "“Reference may show” holds when the tool shows just the target; read tool and reference at the same moment."
    } else {
        "“Reference may show” holds when the tool is set to just the target."
    };
    vec![
        rulebook.deviation.value.words().to_owned(),
        format!(
            "{at_target} It is the reference torque after its own correction, without uncertainty: whether the tool conforms is decided by the agreed rule, not here."
        ),
        "A reading that does not count is struck out with one line and stays legible; its reason goes into the remarks, and it is replaced at the end of the sheet. Readings are not chosen.".to_owned(),
    ]
}

fn groups(steps: &[Step], rulebook: &Rulebook) -> Vec<Group> {
    let mut groups: Vec<(Option<(Series, Direction)>, Group)> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        let key = step.readings().map(|r| (r.series, r.direction));
        let view = view(at + 1, step);
        match groups.last_mut().filter(|(known, _)| key.is_some() && *known == key) {
            Some((_, group)) => group.steps.push(view),
            None => {
                let (title, about) = match &step.action {
                    Action::Environment(moment) => surroundings(*moment),
                    Action::Readings(readings) => words(readings, rulebook),
                };
                groups
                    .push((key, Group { title, about, cautions: step.cautions.clone(), steps: vec![view] }));
            }
        }
    }
    groups.into_iter().map(|(_, group)| group).collect()
}

fn surroundings(moment: Moment) -> (String, String) {
    match moment {
        Moment::Start => (
            "Before the first reading".to_owned(),
            "Write down temperature and humidity. Tool and reference have been in the room long enough to have its temperature.".to_owned(),
        ),
        Moment::End => {
            ("After the last reading".to_owned(), "Write down temperature and humidity again.".to_owned())
        }
    }
}

fn words(readings: &Readings, rulebook: &Rulebook) -> (String, String) {
    let direction = readings.direction;
    let (title, about) = match readings.series {
        Series::Preload => (
            "Preload",
            "Load to the maximum, never above it, and let go. Acknowledge the cautions first.".to_owned(),
        ),
        Series::Zero => {
            ("Zero", "Unloaded: set to zero what can be, and write down what is shown.".to_owned())
        }
        Series::Points => ("Test points", "From the lowest to the highest.".to_owned()),
        Series::Reproducibility => {
            ("Reproducibility", lowest("taken off and put back between the sequences"))
        }
        Series::Drive => ("Output drive", lowest("the output drive turned between the positions")),
        Series::Interface => {
            ("Interface", lowest("the adaptor between tool and device turned between the positions"))
        }
        Series::Grip => ("Loading point", lowest("the hand on each side of the mark on the grip")),
    };
    let is_measured = !matches!(readings.series, Series::Preload | Series::Zero);
    let pull = readings.pull.filter(|_| is_measured).map_or_else(String::new, |pull| {
        format!(" Each pull takes {} from 80 % to 100 % of the target.", seconds(pull))
    });
    let claim = if is_measured && rulebook.purpose == leverarm_metrology::rulebook::Purpose::Conformance {
        " Every single reading counts."
    } else {
        ""
    };
    (format!("{title}, {direction}"), format!("{about}{pull}{claim}"))
}

fn lowest(how: &str) -> String {
    format!("At the lowest test point, {how}.")
}

fn seconds(pull: PullTime) -> String {
    match pull.seconds_max {
        Some(most) => format!("{} s to {most} s", pull.seconds_min),
        None => format!("at least {} s", pull.seconds_min),
    }
}

fn view(number: usize, step: &Step) -> StepView {
    let Some(readings) = step.readings() else {
        return StepView {
            number,
            series: None,
            position: String::new(),
            direction: None,
            target: String::new(),
            unit: String::new(),
            count: 0,
            seconds: None,
            lowest: None,
            highest: None,
            how: None,
        };
    };
    let (target, unit) = (readings.target, readings.target.unit());
    let inward = |torque: Option<Torque>, strategy| end(torque?, unit, target.value(), strategy);
    let window = readings.window;
    StepView {
        number,
        series: Some(readings.series.word()),
        position: readings.position.clone(),
        direction: Some(readings.direction.word()),
        target: target.digits().to_string(),
        unit: unit.to_string(),
        count: readings.count,
        seconds: readings.pull.map(seconds),
        lowest: inward(window.and_then(|w| w.lowest), RoundingStrategy::ToPositiveInfinity),
        highest: inward(window.and_then(|w| w.highest), RoundingStrategy::ToNegativeInfinity),
        how: readings.how.clone(),
    }
}

/// An end of the window with a last digit of about a ten-thousandth of the target, rounded into the
/// window, so that what the sheet lets pass is never outside.
fn end(torque: Torque, unit: TorqueUnit, target: f64, strategy: RoundingStrategy) -> Option<String> {
    let value = torque.in_unit(unit);
    let leading = if target > 0.0 { target.log10().floor().clamp(-12.0, 12.0) as i32 } else { 0 };
    let decimals = u32::try_from((4 - leading).max(0)).unwrap_or(0).min(12);
    let exact = Decimal::from_str_exact(&format!("{value:.14}")).ok()?;
    // What conversion did to the last digits of a double is no part of the limit.
    let mut rounded = exact.round_dp(12.min(decimals + 6)).round_dp_with_strategy(decimals, strategy);
    rounded.rescale(decimals);
    Some(rounded.to_string())
}
