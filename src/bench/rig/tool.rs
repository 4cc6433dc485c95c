//! The tool on the bench.

use leverarm_metrology::quantity::Torque;

/// How a setting tool releases.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mechanism {
    /// A block tips under a preloaded spring; then the lever meets its stop and the torque rises again
    /// with the hand. It latches again when the torque has gone.
    TiltingBlock,
    /// A cam slips to its next notch and latches there: the tool releases again if the hand goes on.
    Cam,
}

/// A tool that releases at a torque that is set: ISO 6789-1, type II.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SettingTool {
    /// its highest set value
    pub torque_max: Torque,
    /// how it releases
    pub mechanism: Mechanism,
    /// how far the torque falls at the release, % of the release torque, 1 to 20
    pub drop_percent: f64,
    /// the release torque is higher than set by so much, %
    pub deviation_percent: f64,
    /// and by so much at every setting: the preload of the spring
    pub offset: Torque,
    /// standard deviation of one release, %
    pub scatter_percent: f64,
    /// the first release after setting is higher by so much, %; at each release two fifths of it are left
    pub breakaway_percent: f64,
    /// the release torque goes with the temperature, % per kelvin from 20 °C on
    pub temperature_percent_per_k: f64,
    /// stiffness of the tool from grip to drive, N·m per degree
    pub stiffness_nm_per_deg: f64,
    /// natural frequency of the block, Hz
    pub natural_hz: f64,
    /// its damping ratio, 0.05 to 0.95
    pub damping: f64,
    /// the block begins to go back below this share of the release torque, %
    pub relatch_percent: f64,
}

/// A tool that shows the torque: ISO 6789-1, type I.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IndicatingTool {
    /// its highest value
    pub torque_max: Torque,
    /// it shows more than the torque by so much, %
    pub deviation_percent: f64,
    /// standard deviation of what one pull shows, %
    pub scatter_percent: f64,
    /// what it shows goes with the temperature, % per kelvin from 20 °C on
    pub temperature_percent_per_k: f64,
    /// its smallest step, or what can be read of a division
    pub resolution: Torque,
    /// stiffness of the tool from grip to drive, N·m per degree
    pub stiffness_nm_per_deg: f64,
    /// how many peaks it keeps; 0 for one with a dial
    pub memory: usize,
}

/// The tool on the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tool {
    /// one that releases
    Setting(SettingTool),
    /// one that shows
    Indicating(IndicatingTool),
}

impl Tool {
    /// A click wrench in fair state.
    #[must_use]
    pub fn click_wrench(torque_max: Torque) -> Tool {
        Tool::Setting(SettingTool {
            torque_max,
            mechanism: Mechanism::TiltingBlock,
            drop_percent: 6.0,
            deviation_percent: 0.8,
            offset: Torque::from_newton_metres(0.001 * torque_max.newton_metres()),
            scatter_percent: 0.4,
            breakaway_percent: 0.4,
            temperature_percent_per_k: -0.02,
            stiffness_nm_per_deg: 0.12 * torque_max.newton_metres(),
            natural_hz: 60.0,
            damping: 0.5,
            relatch_percent: 50.0,
        })
    }

    /// A slipping screwdriver or wrench, which releases again and again.
    #[must_use]
    pub fn slipping(torque_max: Torque) -> Tool {
        match Tool::click_wrench(torque_max) {
            Tool::Setting(tool) => {
                Tool::Setting(SettingTool { mechanism: Mechanism::Cam, drop_percent: 15.0, ..tool })
            }
            other => other,
        }
    }

    /// A dial wrench in fair state.
    #[must_use]
    pub fn dial_wrench(torque_max: Torque) -> Tool {
        let max = torque_max.newton_metres();
        Tool::Indicating(IndicatingTool {
            torque_max,
            deviation_percent: -0.6,
            scatter_percent: 0.3,
            temperature_percent_per_k: 0.01,
            resolution: Torque::from_newton_metres(max / 200.0),
            stiffness_nm_per_deg: 0.1 * max,
            memory: 0,
        })
    }

    /// An electronic wrench in fair state, which keeps 250 peaks.
    #[must_use]
    pub fn electronic_wrench(torque_max: Torque) -> Tool {
        let max = torque_max.newton_metres();
        Tool::Indicating(IndicatingTool {
            torque_max,
            deviation_percent: 0.3,
            scatter_percent: 0.1,
            temperature_percent_per_k: 0.01,
            resolution: Torque::from_newton_metres(max / 2000.0),
            stiffness_nm_per_deg: 0.2 * max,
            memory: 250,
        })
    }

    /// Its highest torque.
    #[must_use]
    pub fn torque_max(&self) -> Torque {
        match self {
            Tool::Setting(tool) => tool.torque_max,
            Tool::Indicating(tool) => tool.torque_max,
        }
    }

    /// Its stiffness, N·m per degree.
    #[must_use]
    pub fn stiffness_nm_per_deg(&self) -> f64 {
        match self {
            Tool::Setting(tool) => tool.stiffness_nm_per_deg,
            Tool::Indicating(tool) => tool.stiffness_nm_per_deg,
        }
    }
}
