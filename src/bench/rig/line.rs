//! The lines of an invented display, and the description that says how to read them.
//!
//! `12.345000 M + 101.25 N.m` and a carriage return and a line feed: the time of the display in seconds
//! with six decimals, a letter (`S` standing, `M` moving, `O` overload, with `----` for the value), sign,
//! value, unit.

use leverarm_metrology::quantity::TorqueUnit;

use crate::rig::Sample;
use crate::settings::Settings;

/// No line is longer, in bytes, its end included.
pub const LONGEST: usize = 80;

/// Where the display is connected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Link {
    /// a socket
    Tcp {
        /// host and port
        address: String,
    },
    /// a serial port with 115,200 bit/s
    Serial {
        /// its name in the system
        port: String,
    },
    /// a recorded file
    File {
        /// its path
        path: String,
    },
}

/// Writes samples as lines.
#[derive(Debug, Clone)]
pub struct Speaker {
    rate_hz: u64,
    decimals: u32,
    scale: u64,
    width: usize,
    unit: &'static str,
}

impl Speaker {
    /// For the display of these settings.
    #[must_use]
    pub fn new(settings: &Settings) -> Speaker {
        let display = &settings.display;
        let decimals = u32::from(display.decimals.min(6));
        let range = settings.transducer.range.in_unit(display.unit).abs();
        let before = if range >= 10.0 { libm::log10(1.1 * range) as usize + 1 } else { 1 };
        Speaker {
            rate_hz: u64::from(settings.sample_rate_hz.max(1)),
            decimals,
            scale: 10_u64.pow(decimals),
            width: before,
            unit: spelling(display.unit),
        }
    }

    /// Adds the line of a sample, also of one that will get lost: that is the business of the sender.
    pub fn write(&self, sample: &Sample, line: &mut Vec<u8>) {
        // whole seconds first: the number of a sample times a million may be too large after years
        let (seconds, rest) = (sample.index / self.rate_hz, sample.index % self.rate_hz);
        number(line, seconds, 1, b'0');
        line.push(b'.');
        number(line, rest * 1_000_000 / self.rate_hz, 6, b'0');
        let letter = match (sample.is_overload, sample.is_moving) {
            (true, _) => b'O',
            (false, true) => b'M',
            (false, false) => b'S',
        };
        let sign = if sample.digits < 0 { b'-' } else { b'+' };
        line.extend_from_slice(&[b' ', letter, b' ', sign]);
        if sample.is_overload {
            line.extend_from_slice(b" ----");
        } else {
            let digits = sample.digits.unsigned_abs();
            number(line, digits / self.scale, self.width, b' ');
            if self.decimals > 0 {
                line.push(b'.');
                number(line, digits % self.scale, self.decimals as usize, b'0');
            }
        }
        line.push(b' ');
        line.extend_from_slice(self.unit.as_bytes());
        line.extend_from_slice(b"\r\n");
    }
}

/// The digits of a number, filled up on the left.
fn number(line: &mut Vec<u8>, mut value: u64, width: usize, fill: u8) {
    let mut digits = [fill; 20];
    let mut used = 0;
    for digit in digits.iter_mut().rev() {
        if value == 0 && used > 0 {
            break;
        }
        *digit = b'0' + (value % 10) as u8;
        value /= 10;
        used += 1;
    }
    let from = digits.len() - used.max(width.min(digits.len()));
    line.extend_from_slice(digits.get(from..).unwrap_or(&[]));
}

/// The unit in ASCII, as displays write it.
fn spelling(unit: TorqueUnit) -> &'static str {
    match unit {
        TorqueUnit::NewtonMetre => "N.m",
        TorqueUnit::CentinewtonMetre => "cN.m",
        TorqueUnit::MillinewtonMetre => "mN.m",
        TorqueUnit::KilonewtonMetre => "kN.m",
        TorqueUnit::PoundForceFoot => "lbf.ft",
        TorqueUnit::PoundForceInch => "lbf.in",
        TorqueUnit::OunceForceInch => "ozf.in",
        TorqueUnit::KilogramForceMetre => "kgf.m",
        TorqueUnit::KilogramForceCentimetre => "kgf.cm",
    }
}

/// What the display says when somebody connects: a line that is no reading.
pub const GREETING: &[u8] = b"# simulated bench\r\n";

/// The description of the display (`standards-notes/instrument.md`), as TOML.
#[must_use]
pub fn describe(settings: &Settings, link: &Link) -> String {
    let link = match link {
        Link::Tcp { address } => format!("kind = \"tcp\"\naddress = {}\n", quoted(address)),
        Link::Serial { port } => {
            format!("kind = \"serial\"\nport = {}\nspeed = 115200\n", quoted(port))
        }
        Link::File { path } => format!("kind = \"file\"\nfile = {}\n", quoted(path)),
    };
    format!(
        "# A display that exists only in the simulated bench.\n\
         name = \"Simulated display\"\n\
         rate = \"{rate} Hz\"\n\n\
         [link]\n{link}\n\
         [lines]\nterminator = \"\\r\\n\"\nlongest = {LONGEST}\n\n\
         [pattern]\n\
         line = '(?<time>[0-9]+\\.[0-9]{{6}}) (?<status>[A-Z]) (?<sign>[+-]) *(?<value>[0-9.]+|-{{4}}) (?<unit>\\S+)'\n\
         unit = \"{unit}\"\n\
         time = \"s\"\n\
         overload = [\"----\"]\n\
         ignore = ['#.*']\n\n\
         [pattern.status]\nS = \"good\"\nM = \"moving\"\nO = \"overload\"\n",
        rate = settings.sample_rate_hz,
        unit = settings.display.unit.symbol(),
    )
}

/// A basic string of TOML.
fn quoted(text: &str) -> String {
    let mut quoted = String::with_capacity(text.len() + 2);
    quoted.push('"');
    for character in text.chars() {
        match character {
            '"' | '\\' => quoted.extend(['\\', character]),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::tool::Tool;
    use leverarm_metrology::quantity::Torque;
    use proptest::prelude::*;

    fn sample(index: u64, digits: i64) -> Sample {
        Sample {
            index,
            time_s: 0.0,
            torque_nm: 0.0,
            digits,
            is_moving: false,
            is_overload: false,
            is_dropped: false,
            is_cut: false,
        }
    }

    fn line(sample: &Sample) -> String {
        let mut settings = Settings::new(Tool::click_wrench(Torque::from_newton_metres(200.0)), 1);
        (settings.display.decimals, settings.display.step) = (2, 1);
        let mut line = Vec::new();
        Speaker::new(&settings).write(sample, &mut line);
        String::from_utf8(line).unwrap()
    }

    #[test]
    fn lines_look_like_this() {
        assert_eq!(line(&sample(12_345, 10_125)), "12.345000 S +101.25 N.m\r\n");
        assert_eq!(line(&sample(7, -5)), "0.007000 S -  0.05 N.m\r\n");
        let moving = Sample { is_moving: true, ..sample(0, 0) };
        assert_eq!(line(&moving), "0.000000 M +  0.00 N.m\r\n");
        let overload = Sample { is_overload: true, ..sample(1, 30_000) };
        assert_eq!(line(&overload), "0.001000 O + ---- N.m\r\n");
    }

    proptest! {
        #[test]
        fn every_sample_has_its_line(index in any::<u64>(), digits in any::<i64>()) {
            let line = line(&sample(index, digits));
            let mut parts = line.trim_end().splitn(4, ' ');
            let time = parts.next().unwrap();
            prop_assert_eq!(time, format!("{}.{:06}", index / 1000, index % 1000 * 1000));
            prop_assert!(line.len() <= LONGEST && line.is_ascii());
            let value = line.replace(' ', "");
            let bare = format!("{}.{:02}N.m\r\n", digits.unsigned_abs() / 100, digits.unsigned_abs() % 100);
            prop_assert!(value.ends_with(&bare), "{}", value);
        }
    }
}
