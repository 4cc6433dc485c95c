//! The simulated bench: physics against closed forms, statistics against what was asked for, the same
//! seed the same samples, and truths that agree with what an ideal display shows.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, missing_docs)]

mod determinism;
mod display;
mod refused;
mod scatter;
mod truth;

use leverarm_metrology::quantity::Torque;
use leverarm_rig::{Command, Operator, Rig, Sample, SettingTool, Settings, Tool, Transducer, Truth};

pub fn nm(torque: f64) -> Torque {
    Torque::from_newton_metres(torque)
}

/// A click wrench of 100 N·m on an ideal transducer of 200 N·m with a display of six decimals.
pub fn ideal(seed: u64, rate_hz: u32) -> Settings {
    let mut settings = Settings::new(Tool::click_wrench(nm(100.0)), seed);
    settings.sample_rate_hz = rate_hz;
    settings.transducer = Transducer::ideal(nm(200.0));
    settings.display.decimals = 6;
    settings.display.step = 1;
    settings
}

/// The setting tool of the settings, changed.
pub fn with_tool(settings: Settings, change: impl FnOnce(&mut SettingTool)) -> Settings {
    let Tool::Setting(mut tool) = settings.tool else { panic!("no setting tool") };
    change(&mut tool);
    Settings { tool: Tool::Setting(tool), ..settings }
}

/// A hand that does not tremble.
pub fn calm(operator: Operator) -> Operator {
    Operator { tremor_percent: 0.0, wobble_percent: 0.0, ..operator }
}

/// One pull from now to its end, and half a second more.
pub fn pull(rig: &mut Rig, target: f64) -> (Truth, Vec<Sample>) {
    rig.command(Command::Pull { target: nm(target), at_s: 0.0 }).unwrap();
    let mut samples = vec![rig.next_sample()];
    while rig.is_pulling() {
        samples.push(rig.next_sample());
        assert!(samples.len() < 2_000_000, "a pull without end");
    }
    for _ in 0..rig.settings().sample_rate_hz / 2 {
        samples.push(rig.next_sample());
    }
    (rig.truth().unwrap(), samples)
}
