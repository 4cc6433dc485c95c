//! The torque tool under test: type and class by ISO 6789, range, resolution, drive, head.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Millimetres, Percent, Torque};
use crate::reading::{Direction, Recorded};

/// Type and class of a hand torque tool (ISO 6789-1:2017, clause 4; from memory, the classes agree
/// with published summaries of the 2003 edition).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
pub enum ToolClass {
    /// indicating wrench with torsion or flexion bar
    #[serde(rename = "I A")]
    IA,
    /// indicating wrench, rigid housing, with scale, dial or display
    #[serde(rename = "I B")]
    IB,
    /// indicating wrench, electronic
    #[serde(rename = "I C")]
    IC,
    /// indicating screwdriver with scale, dial or display
    #[serde(rename = "I D")]
    ID,
    /// indicating screwdriver, electronic
    #[serde(rename = "I E")]
    IE,
    /// setting wrench, adjustable, graduated or with display
    #[serde(rename = "II A")]
    IIA,
    /// setting wrench, fixed
    #[serde(rename = "II B")]
    IIB,
    /// setting wrench, adjustable, not graduated
    #[serde(rename = "II C")]
    IIC,
    /// setting screwdriver, adjustable, graduated or with display
    #[serde(rename = "II D")]
    IID,
    /// setting screwdriver, fixed
    #[serde(rename = "II E")]
    IIE,
    /// setting screwdriver, adjustable, not graduated
    #[serde(rename = "II F")]
    IIF,
    /// setting wrench with flexion bar, adjustable, graduated
    #[serde(rename = "II G")]
    IIG,
}

/// How a tool acts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acting {
    /// It shows the torque that is applied (type I).
    Indicating,
    /// It signals when a set torque is reached (type II).
    Setting,
}

impl ToolClass {
    /// Every type and class.
    pub const ALL: [ToolClass; 12] = [
        ToolClass::IA,
        ToolClass::IB,
        ToolClass::IC,
        ToolClass::ID,
        ToolClass::IE,
        ToolClass::IIA,
        ToolClass::IIB,
        ToolClass::IIC,
        ToolClass::IID,
        ToolClass::IIE,
        ToolClass::IIF,
        ToolClass::IIG,
    ];

    /// Roman type and letter, such as `II A`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            ToolClass::IA => "I A",
            ToolClass::IB => "I B",
            ToolClass::IC => "I C",
            ToolClass::ID => "I D",
            ToolClass::IE => "I E",
            ToolClass::IIA => "II A",
            ToolClass::IIB => "II B",
            ToolClass::IIC => "II C",
            ToolClass::IID => "II D",
            ToolClass::IIE => "II E",
            ToolClass::IIF => "II F",
            ToolClass::IIG => "II G",
        }
    }

    /// The class in words, as `kind` in `run.toml` names it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            ToolClass::IA => "indicating wrench, torsion or flexion bar",
            ToolClass::IB => "indicating wrench, rigid housing, scale, dial or display",
            ToolClass::IC => "indicating wrench, electronic",
            ToolClass::ID => "indicating screwdriver, scale, dial or display",
            ToolClass::IE => "indicating screwdriver, electronic",
            ToolClass::IIA => "setting wrench, adjustable, graduated",
            ToolClass::IIB => "setting wrench, fixed",
            ToolClass::IIC => "setting wrench, adjustable, not graduated",
            ToolClass::IID => "setting screwdriver, adjustable, graduated",
            ToolClass::IIE => "setting screwdriver, fixed",
            ToolClass::IIF => "setting screwdriver, adjustable, not graduated",
            ToolClass::IIG => "setting wrench, flexion bar, adjustable, graduated",
        }
    }

    /// Reads a code (`II A`, `IIA`, `type II class A`) or the class in words.
    #[must_use]
    pub fn parse(text: &str) -> Option<ToolClass> {
        let bare: String = text
            .to_ascii_lowercase()
            .replace("type", "")
            .replace("class", "")
            .chars()
            .filter(|c| !c.is_whitespace() && !matches!(c, ',' | '-' | '.'))
            .collect();
        ToolClass::ALL.into_iter().find(|class| {
            let code = class.code().replace(' ', "").to_ascii_lowercase();
            let words: String = class.words().chars().filter(|c| !c.is_whitespace() && *c != ',').collect();
            bare == code || bare == words
        })
    }

    /// Type I indicates, type II sets.
    #[must_use]
    pub const fn acting(self) -> Acting {
        match self {
            ToolClass::IA | ToolClass::IB | ToolClass::IC | ToolClass::ID | ToolClass::IE => {
                Acting::Indicating
            }
            _ => Acting::Setting,
        }
    }

    /// A screwdriver has no lever, so no loading point on a grip.
    #[must_use]
    pub const fn is_screwdriver(self) -> bool {
        matches!(self, ToolClass::ID | ToolClass::IE | ToolClass::IID | ToolClass::IIE | ToolClass::IIF)
    }

    /// A fixed tool has one torque only.
    #[must_use]
    pub const fn is_fixed(self) -> bool {
        matches!(self, ToolClass::IIB | ToolClass::IIE)
    }

    /// Whether somebody reads a scale or display on it.
    #[must_use]
    pub const fn has_scale(self) -> bool {
        !matches!(self, ToolClass::IIB | ToolClass::IIC | ToolClass::IIE | ToolClass::IIF)
    }
}

impl fmt::Display for ToolClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// The torque range of a tool or a reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TorqueRange {
    /// the lowest torque
    pub lower: Recorded,
    /// the highest torque
    pub upper: Recorded,
}

impl TorqueRange {
    /// Whether a torque lies in it, with a millionth forgiven for unit conversion.
    #[must_use]
    pub fn contains(&self, torque: Torque) -> bool {
        let (lower, upper) = (self.lower.torque(), self.upper.torque());
        (torque >= lower || torque.same_as(lower)) && (torque <= upper || torque.same_as(upper))
    }
}

impl fmt::Display for TorqueRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.lower == self.upper {
            self.upper.fmt(f)
        } else if self.lower.unit() == self.upper.unit() {
            write!(f, "{} … {}", self.lower.digits(), self.upper)
        } else {
            write!(f, "{} … {}", self.lower, self.upper)
        }
    }
}

/// What the customer brought.
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    /// type and class
    pub class: ToolClass,
    /// who made it
    pub maker: String,
    /// the maker's name for the model
    pub model: String,
    /// the serial number: the certificate is about this one
    pub serial: String,
    /// the range that its maker states; for a fixed tool both ends are the set value
    pub range: TorqueRange,
    /// one step of the display, or the part of a division that can be read; absent where nothing
    /// is read on the tool (II B, C, E, F)
    pub resolution: Option<Recorded>,
    /// the directions in which it was to be calibrated
    pub directions: Vec<Direction>,
    /// a permissible deviation that the maker claims, tighter than that of the class
    pub claim: Option<Percent>,
    /// output drive, such as `1/2 in` square
    pub drive: Option<String>,
    /// the head or insert it was calibrated with
    pub head: Option<String>,
    /// from the middle of the grip to the axis of the drive
    pub length: Option<Millimetres>,
    /// how often it was used, where it counts
    pub uses: Option<u64>,
    /// the owner's own number for it
    pub owner_mark: Option<String>,
}
