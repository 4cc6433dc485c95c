//! All that a rig is made from.

use leverarm_metrology::quantity::{Torque, TorqueUnit};

use crate::check::{self, SettingsError};
use crate::fault::Faults;
use crate::operator::Operator;
use crate::tool::Tool;
use crate::transducer::Transducer;

/// The display.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Display {
    /// the unit that it shows
    pub unit: TorqueUnit,
    /// digits behind the point, 0 to 6
    pub decimals: u8,
    /// its step, in units of the last digit: 1, 2 or 5 as a rule
    pub step: u32,
}

impl Display {
    /// One with about twenty to fifty thousand steps over the range, as practice has it.
    #[must_use]
    pub fn for_range(range: Torque, unit: TorqueUnit) -> Display {
        let finest = (range.in_unit(unit).abs() / 50_000.0).max(1e-6);
        let mut decimals = 0_u8;
        let mut digit = 1.0;
        while digit > finest && decimals < 6 {
            digit /= 10.0;
            decimals += 1;
        }
        let step = [1_u32, 2, 5, 10].into_iter().find(|step| f64::from(*step) * digit >= finest);
        Display { unit, decimals, step: step.unwrap_or(10) }
    }

    /// One step.
    #[must_use]
    pub fn resolution(&self) -> Torque {
        let digit = libm::pow(10.0, -f64::from(self.decimals));
        Torque::new(f64::from(self.step) * digit, self.unit)
    }
}

/// The room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// the temperature at the beginning, °C
    pub temperature_c: f64,
    /// how it goes, K per hour
    pub kelvin_per_h: f64,
}

/// All that a rig is made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// the same seed gives the same samples
    pub seed: u64,
    /// samples a second, 20 to 10,000
    pub sample_rate_hz: u32,
    /// the tool on the bench
    pub tool: Tool,
    /// stiffness of the loading device with the transducer, N·m per degree
    pub device_nm_per_deg: f64,
    /// who pulls
    pub operator: Operator,
    /// the transducer
    pub transducer: Transducer,
    /// the display
    pub display: Display,
    /// the room
    pub room: Room,
    /// what gets lost
    pub faults: Faults,
}

impl Settings {
    /// A tool on a bench in fair state with a steady hand: 1 kHz, N·m, the transducer a quarter larger
    /// than the tool.
    #[must_use]
    pub fn new(tool: Tool, seed: u64) -> Settings {
        let range = Torque::from_newton_metres(1.25 * tool.torque_max().newton_metres());
        Settings {
            seed,
            sample_rate_hz: 1000,
            tool,
            device_nm_per_deg: 2.0 * tool.torque_max().newton_metres(),
            operator: Operator::steady(),
            transducer: Transducer::fair(range),
            display: Display::for_range(range, TorqueUnit::NewtonMetre),
            room: Room { temperature_c: 21.3, kelvin_per_h: 0.1 },
            faults: Faults::default(),
        }
    }

    /// Whether a rig can be made of them.
    ///
    /// # Errors
    /// The first value that cannot be.
    pub fn check(&self) -> Result<(), SettingsError> {
        check::settings(self)
    }

    /// Tool and device in series, N·m per degree: 1/k = 1/k_tool + 1/k_device (springs in series, any
    /// textbook of mechanics).
    #[must_use]
    pub fn stiffness_nm_per_deg(&self) -> f64 {
        let (tool, device) = (self.tool.stiffness_nm_per_deg(), self.device_nm_per_deg);
        tool * device / (tool + device)
    }
}
