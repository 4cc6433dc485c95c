//! Units of the D-SI as they stand in a certificate, and those beside the SI.
//!
//! The schema takes any text for a unit; here only what is known is written, and a torque is read by its
//! prefixes. All of them are powers of ten: a decimal point moves, no digit is lost.

/// A unit that is written (BIPM SI notation of the D-SI, as in `\newton\metre`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// N·m
    NewtonMetre,
    /// kN·m
    KiloNewtonMetre,
    /// cN·m
    CentiNewtonMetre,
    /// mN·m
    MilliNewtonMetre,
    /// %
    Percent,
    /// 1
    One,
    /// °C
    DegreeCelsius,
    /// m
    Metre,
    /// mm
    MilliMetre,
}

impl Unit {
    /// Every unit that is written.
    pub const ALL: [Unit; 9] = [
        Unit::NewtonMetre,
        Unit::KiloNewtonMetre,
        Unit::CentiNewtonMetre,
        Unit::MilliNewtonMetre,
        Unit::Percent,
        Unit::One,
        Unit::DegreeCelsius,
        Unit::Metre,
        Unit::MilliMetre,
    ];

    /// As the D-SI writes it.
    #[must_use]
    pub fn d_si(self) -> &'static str {
        match self {
            Unit::NewtonMetre => r"\newton\metre",
            Unit::KiloNewtonMetre => r"\kilo\newton\metre",
            Unit::CentiNewtonMetre => r"\centi\newton\metre",
            Unit::MilliNewtonMetre => r"\milli\newton\metre",
            Unit::Percent => r"\percent",
            Unit::One => r"\one",
            Unit::DegreeCelsius => r"\degreecelsius",
            Unit::Metre => r"\metre",
            Unit::MilliMetre => r"\milli\metre",
        }
    }

    /// Whether it is a unit of torque.
    #[must_use]
    pub fn is_torque(self) -> bool {
        matches!(dimension(self.d_si()), Dimension::Torque { .. })
    }
}

/// A unit beside the SI: it stands in a `si:hybrid` next to the same quantity in an SI unit, and a
/// statement of the certificate defines it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NonSiUnit {
    /// lbf·ft
    PoundForceFoot,
    /// lbf·in
    PoundForceInch,
    /// ozf·in
    OunceForceInch,
    /// kgf·m
    KilogramForceMetre,
    /// kgf·cm
    KilogramForceCentimetre,
}

impl NonSiUnit {
    /// Every one.
    pub const ALL: [NonSiUnit; 5] = [
        NonSiUnit::PoundForceFoot,
        NonSiUnit::PoundForceInch,
        NonSiUnit::OunceForceInch,
        NonSiUnit::KilogramForceMetre,
        NonSiUnit::KilogramForceCentimetre,
    ];

    /// As it stands in the certificate; the D-SI marks what is no SI unit by a bar.
    #[must_use]
    pub fn mark(self) -> &'static str {
        match self {
            NonSiUnit::PoundForceFoot => "|lbf.ft",
            NonSiUnit::PoundForceInch => "|lbf.in",
            NonSiUnit::OunceForceInch => "|ozf.in",
            NonSiUnit::KilogramForceMetre => "|kgf.m",
            NonSiUnit::KilogramForceCentimetre => "|kgf.cm",
        }
    }

    /// Its definition by exact factors: pound 0.453 592 37 kg, inch 0.0254 m, foot 0.3048 m (NIST SP 811,
    /// appendix B), standard gravity 9.806 65 m/s² (3rd CGPM, 1901).
    #[must_use]
    pub fn definition(self) -> &'static str {
        match self {
            NonSiUnit::PoundForceFoot => {
                "1 lbf·ft = 0.45359237 × 9.80665 × 0.3048 N·m = 1.3558179483314004 N·m"
            }
            NonSiUnit::PoundForceInch => {
                "1 lbf·in = 0.45359237 × 9.80665 × 0.0254 N·m = 0.1129848290276167 N·m"
            }
            NonSiUnit::OunceForceInch => "1 ozf·in = 0.45359237 / 16 × 9.80665 × 0.0254 N·m",
            NonSiUnit::KilogramForceMetre => "1 kgf·m = 9.80665 N·m",
            NonSiUnit::KilogramForceCentimetre => "1 kgf·cm = 0.0980665 N·m",
        }
    }
}

/// What a unit text of a certificate measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// torque: a value times 10 to the power is one in N·m
    Torque {
        /// the power of ten
        power: i32,
    },
    /// a ratio: a value times 10 to the power is one in %
    Ratio {
        /// the power of ten
        power: i32,
    },
    /// a unit beside the SI, marked by a bar
    NonSi,
    /// any other
    Other,
}

/// What a unit text measures. A torque is a newton and a metre in either order, each with or without a
/// prefix; a joule is not taken for one.
#[must_use]
pub fn dimension(text: &str) -> Dimension {
    match text {
        r"\one" => return Dimension::Ratio { power: 2 },
        r"\percent" => return Dimension::Ratio { power: 0 },
        r"\ppm" => return Dimension::Ratio { power: -4 },
        _ => {}
    }
    if text.starts_with('|') {
        return Dimension::NonSi;
    }
    torque(text).map_or(Dimension::Other, |power| Dimension::Torque { power })
}

fn torque(text: &str) -> Option<i32> {
    let mut newton = false;
    let mut metre = false;
    let mut total = 0;
    // a prefix that still waits for its unit
    let mut waiting = None;
    for word in text.strip_prefix('\\')?.split('\\') {
        let unit = match word {
            "newton" => &mut newton,
            "metre" => &mut metre,
            prefix if waiting.is_none() => {
                waiting = Some(power(prefix)?);
                continue;
            }
            _ => return None,
        };
        if std::mem::replace(unit, true) {
            return None;
        }
        total += waiting.take().unwrap_or(0);
    }
    (newton && metre && waiting.is_none()).then_some(total)
}

/// The prefixes of the SI (BIPM, The International System of Units, 9th edition, table 7).
fn power(prefix: &str) -> Option<i32> {
    Some(match prefix {
        "giga" => 9,
        "mega" => 6,
        "kilo" => 3,
        "hecto" => 2,
        "deca" => 1,
        "deci" => -1,
        "centi" => -2,
        "milli" => -3,
        "micro" => -6,
        "nano" => -9,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Oracle: the prefixes of the SI.
    #[test]
    fn torques_are_read_by_their_prefixes() {
        for (text, power) in [
            (r"\newton\metre", 0),
            (r"\metre\newton", 0),
            (r"\kilo\newton\metre", 3),
            (r"\newton\milli\metre", -3),
            (r"\centi\newton\metre", -2),
            (r"\kilo\newton\milli\metre", 0),
        ] {
            assert_eq!(dimension(text), Dimension::Torque { power }, "{text}");
        }
    }

    #[test]
    fn what_is_no_torque_is_none() {
        for text in [
            "",
            "\\",
            r"\banana",
            r"\newton",
            r"\joule",
            r"\newton\metre\metre",
            r"\newton\newton",
            r"\kilo\kilo\newton\metre",
            r"\newton\metre\kilo",
            r"\newton \metre",
            "N·m",
            r"\newton\metre\tothe{2}",
        ] {
            assert_eq!(dimension(text), Dimension::Other, "{text}");
        }
        assert_eq!(dimension("|lbf.ft"), Dimension::NonSi);
    }

    #[test]
    fn ratios_are_percent() {
        assert_eq!(dimension(r"\one"), Dimension::Ratio { power: 2 });
        assert_eq!(dimension(r"\percent"), Dimension::Ratio { power: 0 });
    }

    #[test]
    fn what_is_written_is_known_when_read() {
        for unit in Unit::ALL {
            let torque = matches!(dimension(unit.d_si()), Dimension::Torque { .. });
            assert_eq!(torque, unit.is_torque());
            assert_eq!(torque, unit.d_si().contains("newton"));
        }
        for unit in NonSiUnit::ALL {
            assert_eq!(dimension(unit.mark()), Dimension::NonSi);
        }
    }
}
