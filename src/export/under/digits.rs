//! Three figures, rounded to the safe side: what is printed as enough is enough.

use leverarm_metrology::rounding::{RoundingError, round_decimals, round_figures};
use rust_decimal::prelude::ToPrimitive;

/// To the nearest; what binary arithmetic left of nothing is nothing.
pub(super) fn three(value: f64) -> Result<String, RoundingError> {
    let value = if value.abs() < 1e-9 { 0.0 } else { value };
    Ok(round_figures(value, 3)?.to_string())
}

/// Never above the value.
pub(super) fn not_above(value: f64) -> Result<String, RoundingError> {
    toward(value, -1.0)
}

/// Never below the value.
pub(super) fn not_below(value: f64) -> Result<String, RoundingError> {
    toward(value, 1.0)
}

fn toward(value: f64, side: f64) -> Result<String, RoundingError> {
    let nearest = round_figures(value, 3)?;
    let printed = nearest.decimal().to_f64().unwrap_or(value);
    if (printed - value) * side >= 0.0 {
        return Ok(nearest.to_string());
    }
    let step = 10_f64.powi(-i32::try_from(nearest.decimals()).unwrap_or(0));
    Ok(round_decimals(printed + side * step, nearest.decimals())?.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn to_the_safe_side() -> Result<(), RoundingError> {
        assert_eq!(not_above(0.123_96)?, "0.123");
        assert_eq!(not_above(0.123)?, "0.123");
        assert_eq!(not_above(0.099_96)?, "0.099");
        assert_eq!(not_below(0.123_01)?, "0.124");
        assert_eq!(not_below(12.0)?, "12.0");
        assert_eq!(three(1e-15)?, "0");
        Ok(())
    }
}
