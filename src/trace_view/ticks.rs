//! Where an axis has its ticks, and what stands beside them.

/// A place on an axis with its label.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// where
    pub at: f64,
    /// its digits
    pub label: String,
}

/// At most `most` ticks from `low` to `high` at multiples of 1, 2 or 5 times a power of ten, each with
/// just the decimals that it needs. None where the ends are no numbers.
#[must_use]
pub fn ticks(low: f64, high: f64, most: usize) -> Vec<Tick> {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return Vec::new();
    }
    let steps = (-9..=20_i32).flat_map(|exponent| [1.0, 2.0, 5.0].map(|digit| (digit, exponent)));
    let size = |digit: f64, exponent: i32| digit * 10_f64.powi(exponent);
    let fits = |digit, exponent| {
        let size = size(digit, exponent);
        (high / size).floor() - (low / size).ceil() < most as f64
    };
    let Some((digit, exponent)) = steps.into_iter().find(|(digit, exponent)| fits(*digit, *exponent)) else {
        return Vec::new();
    };
    let size = size(digit, exponent);
    let decimals = usize::try_from(-exponent).unwrap_or(0);
    ((low / size).ceil() as i64..=(high / size).floor() as i64)
        .map(|n| {
            // A quotient of whole numbers is rounded once; a product with 0.1 would carry its error.
            let whole = n as f64 * digit;
            let at =
                if exponent < 0 { whole / 10_f64.powi(-exponent) } else { whole * 10_f64.powi(exponent) };
            Tick { at, label: format!("{at:.decimals$}").replace('-', "\u{2212}") }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn labels(low: f64, high: f64, most: usize) -> String {
        ticks(low, high, most).iter().map(|tick| tick.label.as_str()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn labels_are_plain() {
        assert_eq!(labels(0.0, 130.0, 8), "0 20 40 60 80 100 120");
        assert_eq!(labels(-0.05, 0.72, 8), "0.0 0.1 0.2 0.3 0.4 0.5 0.6 0.7");
        assert_eq!(labels(-130.0, 2.0, 4), "−100 −50 0");
        assert_eq!(labels(0.0, 1e12, 3), "0 500000000000 1000000000000");
        assert_eq!(labels(0.0, f64::NAN, 3), "");
        assert_eq!(labels(1.0, 1.0, 3), "");
    }

    proptest! {
        #[test]
        fn they_lie_within_and_are_few(low in -1e12..1e12_f64, span in 1e-6..1e12_f64, most in 2_usize..12) {
            let ticks = ticks(low, low + span, most);
            prop_assert!(ticks.len() <= most);
            let slack = (low.abs() + span) * 1e-12;
            prop_assert!(ticks.iter().all(|tick| tick.at >= low - slack && tick.at <= low + span + slack));
        }
    }
}
