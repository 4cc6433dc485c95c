//! Torque, percent, temperature and length as types.
//!
//! A number never travels without its unit: text without a unit is refused, not guessed.
//! Conversion factors are exact by definition and stand in [`TorqueUnit::newton_metres`].

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A unit in which a torque is written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub enum TorqueUnit {
    /// newton metre, the SI unit
    #[serde(rename = "N·m")]
    NewtonMetre,
    /// centinewton metre
    #[serde(rename = "cN·m")]
    CentinewtonMetre,
    /// millinewton metre
    #[serde(rename = "mN·m")]
    MillinewtonMetre,
    /// kilonewton metre
    #[serde(rename = "kN·m")]
    KilonewtonMetre,
    /// pound-force foot
    #[serde(rename = "lbf·ft")]
    PoundForceFoot,
    /// pound-force inch
    #[serde(rename = "lbf·in")]
    PoundForceInch,
    /// ounce-force inch
    #[serde(rename = "ozf·in")]
    OunceForceInch,
    /// kilogram-force metre
    #[serde(rename = "kgf·m")]
    KilogramForceMetre,
    /// kilogram-force centimetre
    #[serde(rename = "kgf·cm")]
    KilogramForceCentimetre,
}

impl TorqueUnit {
    /// Every unit that leverarm knows.
    pub const ALL: [TorqueUnit; 9] = [
        TorqueUnit::NewtonMetre,
        TorqueUnit::CentinewtonMetre,
        TorqueUnit::MillinewtonMetre,
        TorqueUnit::KilonewtonMetre,
        TorqueUnit::PoundForceFoot,
        TorqueUnit::PoundForceInch,
        TorqueUnit::OunceForceInch,
        TorqueUnit::KilogramForceMetre,
        TorqueUnit::KilogramForceCentimetre,
    ];

    /// How many newton metres make one of this unit.
    ///
    /// Exact products of 0.3048 m, 0.0254 m, 0.45359237 kg, a sixteenth of it for the ounce, and
    /// 9.80665 m/s² (NIST SP 811:2008, appendix B), each written with all digits that a double
    /// holds.
    #[must_use]
    pub const fn newton_metres(self) -> f64 {
        match self {
            TorqueUnit::NewtonMetre => 1.0,
            TorqueUnit::CentinewtonMetre => 0.01,
            TorqueUnit::MillinewtonMetre => 0.001,
            TorqueUnit::KilonewtonMetre => 1000.0,
            TorqueUnit::PoundForceFoot => 1.355_817_948_331_400_4,
            TorqueUnit::PoundForceInch => 0.112_984_829_027_616_7,
            TorqueUnit::OunceForceInch => 0.007_061_551_814_226_043_5,
            TorqueUnit::KilogramForceMetre => 9.806_65,
            TorqueUnit::KilogramForceCentimetre => 0.098_066_5,
        }
    }

    /// The symbol as it is printed.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetre => "N·m",
            TorqueUnit::CentinewtonMetre => "cN·m",
            TorqueUnit::MillinewtonMetre => "mN·m",
            TorqueUnit::KilonewtonMetre => "kN·m",
            TorqueUnit::PoundForceFoot => "lbf·ft",
            TorqueUnit::PoundForceInch => "lbf·in",
            TorqueUnit::OunceForceInch => "ozf·in",
            TorqueUnit::KilogramForceMetre => "kgf·m",
            TorqueUnit::KilogramForceCentimetre => "kgf·cm",
        }
    }

    /// Reads a unit as technicians write it: `Nm`, `N.m`, `N·m`, `ft-lb`, `in lb`, `kgf cm`.
    ///
    /// The letters of SI prefixes keep their case, since mN·m and MN·m are not the same.
    ///
    /// # Errors
    /// [`UnitError`] with what was given, and a hint where the writer probably meant another thing.
    pub fn parse(text: &str) -> Result<TorqueUnit, UnitError> {
        let given = text.trim();
        if given.is_empty() {
            return Err(UnitError::Missing);
        }
        if given.contains('/') {
            return Err(UnitError::Pressure { given: given.to_owned() });
        }
        let bare: String = given
            .chars()
            .filter(|c| {
                !matches!(
                    c,
                    ' ' | '\u{a0}' | '\u{202f}' | '.' | '·' | '⋅' | '∙' | '•' | '*' | '×' | '-' | '‑' | '_'
                )
            })
            .collect();
        let unit = match bare.as_str() {
            "Nm" => TorqueUnit::NewtonMetre,
            "cNm" => TorqueUnit::CentinewtonMetre,
            "mNm" => TorqueUnit::MillinewtonMetre,
            "kNm" => TorqueUnit::KilonewtonMetre,
            _ => match bare.to_ascii_lowercase().as_str() {
                "lbfft" | "ftlbf" | "ftlb" | "lbft" | "ftlbs" | "lbsft" | "footpound" | "footpounds" => {
                    TorqueUnit::PoundForceFoot
                }
                "lbfin" | "inlbf" | "inlb" | "lbin" | "inlbs" | "lbsin" | "inchpound" | "inchpounds" => {
                    TorqueUnit::PoundForceInch
                }
                "ozfin" | "inozf" | "inoz" | "ozin" => TorqueUnit::OunceForceInch,
                "kgfm" | "mkgf" | "kgm" | "mkg" | "kpm" | "mkp" => TorqueUnit::KilogramForceMetre,
                "kgfcm" | "cmkgf" | "kgcm" | "cmkg" | "kpcm" | "cmkp" => TorqueUnit::KilogramForceCentimetre,
                "nm" | "cnm" | "knm" => {
                    return Err(UnitError::Case { given: given.to_owned() });
                }
                _ => return Err(UnitError::Unknown { given: given.to_owned() }),
            },
        };
        Ok(unit)
    }
}

impl fmt::Display for TorqueUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// Why a text is not a unit of torque.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// There is a number and no unit.
    #[error("the unit is missing")]
    Missing,
    /// A pressure, where a kilogram-force centimetre was probably meant.
    #[error("'{given}' is a pressure or a stiffness, not a torque")]
    Pressure {
        /// the text as it was written
        given: String,
    },
    /// The letters are right, their case is not.
    #[error(
        "'{given}' is not a unit of torque in this spelling: capital and small letters matter in SI units"
    )]
    Case {
        /// the text as it was written
        given: String,
    },
    /// Nothing that leverarm knows.
    #[error("'{given}' is not a unit of torque that leverarm knows")]
    Unknown {
        /// the text as it was written
        given: String,
    },
}

impl UnitError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            UnitError::Pressure { .. } => {
                "kgf/cm² is a pressure; for a torque write kgf·cm, with a product sign"
            }
            UnitError::Case { .. } => "write N·m (or Nm), cN·m, mN·m or kN·m",
            UnitError::Missing | UnitError::Unknown { .. } => {
                "write one of N·m, cN·m, mN·m, kN·m, lbf·ft, lbf·in, ozf·in, kgf·m, kgf·cm"
            }
        }
    }
}

/// A torque. Held in newton metres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Torque {
    newton_metres: f64,
}

impl Torque {
    /// No torque.
    pub const ZERO: Torque = Torque { newton_metres: 0.0 };

    /// A torque from a number and its unit.
    #[must_use]
    pub fn new(value: f64, unit: TorqueUnit) -> Torque {
        Torque { newton_metres: value * unit.newton_metres() }
    }

    /// A torque from newton metres.
    #[must_use]
    pub const fn from_newton_metres(newton_metres: f64) -> Torque {
        Torque { newton_metres }
    }

    /// In newton metres.
    #[must_use]
    pub const fn newton_metres(self) -> f64 {
        self.newton_metres
    }

    /// In another unit.
    #[must_use]
    pub fn in_unit(self, unit: TorqueUnit) -> f64 {
        self.newton_metres / unit.newton_metres()
    }

    /// This share of it: `torque.share(Percent::new(60.0))`.
    #[must_use]
    pub fn share(self, of: Percent) -> Torque {
        Torque { newton_metres: self.newton_metres * of.fraction() }
    }

    /// This torque as a percentage of another.
    #[must_use]
    pub fn percent_of(self, whole: Torque) -> Percent {
        Percent::new(self.newton_metres / whole.newton_metres * 100.0)
    }

    /// Its magnitude.
    #[must_use]
    pub fn abs(self) -> Torque {
        Torque { newton_metres: self.newton_metres.abs() }
    }

    /// Equal within one part in a million, which tells typed targets from each other and forgives
    /// what a conversion between units does to the last digits.
    #[must_use]
    pub fn same_as(self, other: Torque) -> bool {
        let scale = self.newton_metres.abs().max(other.newton_metres.abs());
        (self.newton_metres - other.newton_metres).abs() <= scale * 1e-6
    }
}

impl std::ops::Add for Torque {
    type Output = Torque;
    fn add(self, other: Torque) -> Torque {
        Torque { newton_metres: self.newton_metres + other.newton_metres }
    }
}

impl std::ops::Sub for Torque {
    type Output = Torque;
    fn sub(self, other: Torque) -> Torque {
        Torque { newton_metres: self.newton_metres - other.newton_metres }
    }
}

/// A percentage: a unit of its own, not a bare ratio.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Percent(f64);

impl Percent {
    /// Nothing.
    pub const ZERO: Percent = Percent(0.0);

    /// So many percent.
    #[must_use]
    pub const fn new(value: f64) -> Percent {
        Percent(value)
    }

    /// The number before the sign %.
    #[must_use]
    pub const fn value(self) -> f64 {
        self.0
    }

    /// As a fraction of one.
    #[must_use]
    pub fn fraction(self) -> f64 {
        self.0 / 100.0
    }

    /// Its magnitude.
    #[must_use]
    pub fn abs(self) -> Percent {
        Percent(self.0.abs())
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", self.0)
    }
}

/// A temperature in degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Celsius(pub f64);

impl fmt::Display for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} °C", self.0)
    }
}

/// A frequency in hertz.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Hertz(pub f64);

impl fmt::Display for Hertz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} Hz", self.0)
    }
}

/// A length in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
#[serde(transparent)]
pub struct Millimetres(pub f64);

impl fmt::Display for Millimetres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.0)
    }
}
