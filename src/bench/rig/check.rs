//! Which settings can be.

use thiserror::Error;

use crate::operator::Operator;
use crate::settings::Settings;
use crate::tool::Tool;

/// Why there can be no rig.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum SettingsError {
    /// A value is outside what can be simulated.
    #[error("{what} of the simulated bench is {given}; it can be {low} to {high} {unit}")]
    OutOfRange {
        /// which
        what: &'static str,
        /// what was given
        given: f64,
        /// the lowest that can be
        low: f64,
        /// the highest that can be
        high: f64,
        /// in which unit
        unit: &'static str,
    },
    /// The probabilities of mistakes add up to more than 1.
    #[error("the probabilities of bad pulls add up to {sum}, which is more than 1")]
    Mistakes {
        /// to what
        sum: f64,
    },
}

impl SettingsError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            SettingsError::OutOfRange { .. } => {
                "choose a value within the limits; standards-notes/simulated-bench.md says what is usual"
            }
            SettingsError::Mistakes { .. } => "make them smaller: a pull has one mistake at most",
        }
    }
}

fn within(
    what: &'static str,
    given: f64,
    low: f64,
    high: f64,
    unit: &'static str,
) -> Result<(), SettingsError> {
    if given.is_finite() && (low..=high).contains(&given) {
        return Ok(());
    }
    Err(SettingsError::OutOfRange { what, given, low, high, unit })
}

pub(crate) fn settings(settings: &Settings) -> Result<(), SettingsError> {
    within("the sample rate", f64::from(settings.sample_rate_hz), 20.0, 10_000.0, "Hz")?;
    within("the stiffness of the device", settings.device_nm_per_deg, 1e-6, 1e9, "N·m/°")?;
    within("the highest torque of the tool", settings.tool.torque_max().newton_metres(), 1e-3, 1e5, "N·m")?;
    within("the stiffness of the tool", settings.tool.stiffness_nm_per_deg(), 1e-6, 1e9, "N·m/°")?;
    within("the temperature", settings.room.temperature_c, -20.0, 60.0, "°C")?;
    within("the change of temperature", settings.room.kelvin_per_h, -20.0, 20.0, "K/h")?;
    within("the number of decimals", f64::from(settings.display.decimals), 0.0, 6.0, "digits")?;
    within("the step", f64::from(settings.display.step), 1.0, 1000.0, "digits")?;
    tool(&settings.tool)?;
    transducer(settings)?;
    operator(&settings.operator)?;
    let faults = &settings.faults;
    within("the share of dropouts", faults.dropout_share, 0.0, 0.1, "of the samples")?;
    within("the length of a dropout", f64::from(faults.dropout_longest), 1.0, 1e6, "samples")?;
    within("the number of losses", faults.losses_per_hour, 0.0, 3600.0, "per hour")?;
    within("the length of a loss", faults.loss_s, 0.0, 3600.0, "s")
}

fn tool(tool: &Tool) -> Result<(), SettingsError> {
    let max = tool.torque_max().newton_metres();
    match tool {
        Tool::Setting(tool) => {
            within("the drop", tool.drop_percent, 1.0, 20.0, "%")?;
            within("the deviation of the tool", tool.deviation_percent, -50.0, 50.0, "%")?;
            within("the offset", tool.offset.newton_metres(), -0.1 * max, 0.1 * max, "N·m")?;
            within("the scatter of the tool", tool.scatter_percent, 0.0, 10.0, "%")?;
            within("the breakaway", tool.breakaway_percent, 0.0, 20.0, "%")?;
            within("the temperature coefficient", tool.temperature_percent_per_k, -1.0, 1.0, "%/K")?;
            within("the natural frequency", tool.natural_hz, 5.0, 500.0, "Hz")?;
            within("the damping", tool.damping, 0.05, 0.95, "of critical")?;
            within("the torque of latching", tool.relatch_percent, 10.0, 75.0, "%")
        }
        Tool::Indicating(tool) => {
            within("the deviation of the tool", tool.deviation_percent, -50.0, 50.0, "%")?;
            within("the scatter of the tool", tool.scatter_percent, 0.0, 10.0, "%")?;
            within("the temperature coefficient", tool.temperature_percent_per_k, -1.0, 1.0, "%/K")?;
            within("the resolution of the tool", tool.resolution.newton_metres(), 0.0, max, "N·m")?;
            within("the memory of the tool", tool.memory as f64, 0.0, 100_000.0, "peaks")
        }
    }
}

fn transducer(settings: &Settings) -> Result<(), SettingsError> {
    let of = &settings.transducer;
    let range = of.range.newton_metres();
    within("the range of the transducer", range, 1e-3, 1e6, "N·m")?;
    within("the gain", of.gain_percent, -50.0, 50.0, "%")?;
    within("the temperature coefficient of the gain", of.gain_percent_per_k, -1.0, 1.0, "%/K")?;
    within("the zero", of.zero.newton_metres(), -range, range, "N·m")?;
    within("the temperature coefficient of the zero", of.zero_percent_per_k, -1.0, 1.0, "%/K")?;
    within("the drift of the zero", of.zero_percent_per_h, -100.0, 100.0, "%/h")?;
    within("the noise", of.noise_percent, 0.0, 10.0, "%")?;
    within("the hum", of.hum_percent, 0.0, 10.0, "%")?;
    within("the mains frequency", of.mains_hz, 40.0, 70.0, "Hz")?;
    within("the time constant", of.tau_s, 0.0, 10.0, "s")
}

fn operator(operator: &Operator) -> Result<(), SettingsError> {
    within("the approach", operator.approach_s, 0.05, 60.0, "s")?;
    within("the loading time", operator.loading_s, 0.05, 60.0, "s")?;
    within("the spread of the times", operator.spread_percent, 0.0, 30.0, "%")?;
    within("the smoothing", operator.smoothing_s, 0.005, 1.0, "s")?;
    within("the reaction time", operator.reaction_s, 0.0, 5.0, "s")?;
    within("the over-pull", operator.over_pull_percent, 0.0, 50.0, "%")?;
    within("the hold", operator.hold_s, 0.0, 60.0, "s")?;
    within("the time to let go", operator.let_go_s, 0.02, 10.0, "s")?;
    within("the tremor", operator.tremor_percent, 0.0, 5.0, "%")?;
    within("the lowest frequency of the tremor", operator.tremor_hz.0, 1.0, 20.0, "Hz")?;
    within("the highest frequency of the tremor", operator.tremor_hz.1, operator.tremor_hz.0, 20.0, "Hz")?;
    within("the unsteadiness", operator.wobble_percent, 0.0, 10.0, "%")?;
    within("the effect of the grip", operator.grip_percent, -10.0, 10.0, "%")?;
    let mut sum = 0.0;
    for (share, _) in operator.mistakes.shares() {
        within("the probability of a bad pull", share, 0.0, 1.0, "")?;
        sum += share;
    }
    if sum > 1.0 + 1e-12 { Err(SettingsError::Mistakes { sum }) } else { Ok(()) }
}
