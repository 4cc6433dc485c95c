//! Torques as the schema wants them: in an SI unit, and beside it in the unit of the tool.

use leverarm_dcc::model::{Beside, Named, Series};
use leverarm_dcc::{Digits, NonSiUnit, Unit};
use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::Recorded;
use leverarm_metrology::rounding::round_figures;

use super::DccError;
use super::admin::text;

/// Figures of a torque that was converted to N·m: more than any tool or reference resolves.
const CONVERTED_FIGURES: u32 = 7;

/// A unit as the schema knows it.
pub(super) enum Known {
    Si(Unit),
    Beside(NonSiUnit),
}

pub(super) fn known(unit: TorqueUnit) -> Known {
    match unit {
        TorqueUnit::NewtonMetre => Known::Si(Unit::NewtonMetre),
        TorqueUnit::CentinewtonMetre => Known::Si(Unit::CentiNewtonMetre),
        TorqueUnit::MillinewtonMetre => Known::Si(Unit::MilliNewtonMetre),
        TorqueUnit::KilonewtonMetre => Known::Si(Unit::KiloNewtonMetre),
        TorqueUnit::PoundForceFoot => Known::Beside(NonSiUnit::PoundForceFoot),
        TorqueUnit::PoundForceInch => Known::Beside(NonSiUnit::PoundForceInch),
        TorqueUnit::OunceForceInch => Known::Beside(NonSiUnit::OunceForceInch),
        TorqueUnit::KilogramForceMetre => Known::Beside(NonSiUnit::KilogramForceMetre),
        TorqueUnit::KilogramForceCentimetre => Known::Beside(NonSiUnit::KilogramForceCentimetre),
    }
}

/// A torque with its digits in its own unit, and as a number in N·m.
pub(super) struct Torque {
    pub(super) unit: TorqueUnit,
    pub(super) digits: String,
    pub(super) newton_metres: f64,
    /// its digits in N·m, where a rule of rounding gives them
    pub(super) rounded: Option<String>,
}

impl Torque {
    pub(super) fn of(recorded: &Recorded) -> Torque {
        Torque {
            unit: recorded.unit(),
            digits: recorded.digits().to_string(),
            newton_metres: recorded.torque().newton_metres(),
            rounded: None,
        }
    }

    fn in_newton_metres(&self) -> Result<Digits, DccError> {
        if self.unit == TorqueUnit::NewtonMetre {
            return Ok(Digits::new(&self.digits)?);
        }
        if let Some(rounded) = &self.rounded {
            return Ok(Digits::new(rounded)?);
        }
        let value = round_figures(self.newton_metres, CONVERTED_FIGURES)?;
        Ok(Digits::new(&value.to_string())?)
    }
}

/// Torques as one series: in their own SI unit where they share one, else in N·m, with their own unit
/// beside it where they share that.
pub(super) fn series(torques: &[Torque]) -> Result<Series, DccError> {
    let shared = torques.first().map(|first| first.unit);
    let shared = shared.filter(|unit| torques.iter().all(|torque| torque.unit == *unit));
    let own = || torques.iter().map(|t| Digits::new(&t.digits)).collect::<Result<Vec<_>, _>>();
    if let Some(Known::Si(unit)) = shared.map(known) {
        return Ok(Series::new(unit, own()?));
    }
    let values = torques.iter().map(Torque::in_newton_metres).collect::<Result<_, _>>()?;
    let beside = match shared.map(known) {
        Some(Known::Beside(unit)) => Some(Beside { unit, values: own()? }),
        _ => None,
    };
    Ok(Series { unit: Unit::NewtonMetre, values, beside })
}

/// One recorded torque with its name.
pub(super) fn named(term: &str, name: &str, value: &Recorded) -> Result<Named, DccError> {
    let series = series(&[Torque::of(value)])?;
    Ok(Named { ref_types: vec![term.to_owned()], name: text(name), series })
}

/// Percentages as they are printed.
pub(super) fn percentages<'a>(values: impl Iterator<Item = &'a str>) -> Result<Series, DccError> {
    let values = values.map(Digits::new).collect::<Result<_, _>>()?;
    Ok(Series::new(Unit::Percent, values))
}
