//! The simulated bench of a run: its tool, its reference's display, a hand.

use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::{Direction, Series};
use leverarm_metrology::reference::Reference;
use leverarm_metrology::tool::{Acting, Tool, ToolClass};
use leverarm_rig::Display;
use leverarm_session::Aim;

use crate::bench::simulate::{Command, Operator, Settings, Simulation, Tool as RigTool, Transducer};

/// The hand waits for so long after it was told, in seconds: the zero before the pull is seen in it.
const HAND_WAITS_S: f64 = 0.5;

/// A bench with a tool like that of a run, and the display of its reference.
#[must_use]
pub fn settings(
    tool: &Tool,
    reference: &Reference,
    seed: u64,
    sample_rate_hz: u32,
    operator: Operator,
) -> Settings {
    let made = Settings::new(rig_tool(tool), seed);
    let step = reference.resolution;
    let digits = step.digits().normalize();
    Settings {
        sample_rate_hz,
        operator,
        transducer: Transducer::fair(reference.range.upper.torque()),
        display: Display {
            unit: step.unit(),
            decimals: u8::try_from(digits.scale()).unwrap_or(made.display.decimals),
            step: u32::try_from(digits.mantissa()).unwrap_or(1),
        },
        ..made
    }
}

/// A tool in fair state, of the kind and size of the one in the run.
fn rig_tool(tool: &Tool) -> RigTool {
    let torque_max = tool.range.upper.torque();
    let is_driver = matches!(
        tool.class,
        ToolClass::ID | ToolClass::IE | ToolClass::IID | ToolClass::IIE | ToolClass::IIF
    );
    let is_electronic = matches!(tool.class, ToolClass::IC | ToolClass::IE);
    let made = match (tool.class.acting(), is_driver, is_electronic) {
        (Acting::Setting, true, _) => RigTool::slipping(torque_max),
        (Acting::Setting, false, _) => RigTool::click_wrench(torque_max),
        (Acting::Indicating, _, true) => RigTool::electronic_wrench(torque_max),
        (Acting::Indicating, _, false) => RigTool::dial_wrench(torque_max),
    };
    match (made, tool.resolution) {
        (RigTool::Indicating(made), Some(resolution)) => {
            RigTool::Indicating(leverarm_rig::IndicatingTool { resolution: resolution.torque(), ..made })
        }
        (made, _) => made,
    }
}

/// What the hand is to do for a pull that is awaited.
#[must_use]
pub fn pull(aim: &Aim, simulation: &Simulation) -> Command {
    let sign = if aim.direction == Direction::Clockwise { 1.0 } else { -1.0 };
    let target = Torque::from_newton_metres(sign * aim.target.torque().newton_metres().abs());
    let at_s = simulation.time_s() + HAND_WAITS_S;
    if aim.series == Series::Preload {
        Command::Preload { target, at_s }
    } else {
        Command::Pull { target, at_s }
    }
}

/// What the tool shows, with the digits of its display.
#[must_use]
pub fn shown(indicated: Torque, plan: &leverarm_session::Plan) -> String {
    let unit = plan.tool.range.upper.unit();
    let decimals = plan.tool.resolution.map_or(2, |resolution| resolution.decimals()) as usize;
    format!("{:.decimals$} {unit}", indicated.in_unit(unit).abs())
}
