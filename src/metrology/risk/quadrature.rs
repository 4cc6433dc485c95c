//! Gauss-Legendre quadrature over panels.

/// Abscissas and weights of the 20-point rule on −1 to 1, the positive half (Abramowitz and Stegun,
/// table 25.4; recomputed with 40 digits as the roots of the Legendre polynomial).
const RULE: [(f64, f64); 10] = [
    (0.076_526_521_133_497_34, 0.152_753_387_130_725_84),
    (0.227_785_851_141_645_07, 0.149_172_986_472_603_74),
    (0.373_706_088_715_419_55, 0.142_096_109_318_382_04),
    (0.510_867_001_950_827_1, 0.131_688_638_449_176_64),
    (0.636_053_680_726_515, 0.118_194_531_961_518_41),
    (0.746_331_906_460_150_8, 0.101_930_119_817_240_43),
    (0.839_116_971_822_218_8, 0.083_276_741_576_704_75),
    (0.912_234_428_251_326, 0.062_672_048_334_109_07),
    (0.963_971_927_277_913_8, 0.040_601_429_800_386_93),
    (0.993_128_599_185_094_9, 0.017_614_007_139_152_118),
];

/// The integral of a smooth function, cut into equal panels no longer than `panel`.
pub(super) fn integral(from: f64, to: f64, panel: f64, f: &impl Fn(f64) -> f64) -> f64 {
    if to.partial_cmp(&from) != Some(std::cmp::Ordering::Greater) {
        return 0.0;
    }
    // A float cast to an integer saturates; the callers' panels number at most a few tens.
    let panels = ((to - from) / panel).ceil().clamp(1.0, 1e4) as u32;
    let half = (to - from) / f64::from(panels) / 2.0;
    (0..panels)
        .map(|i| {
            let middle = from + half * f64::from(2 * i + 1);
            let sum: f64 = RULE.iter().map(|(x, w)| w * (f(middle - half * x) + f(middle + half * x))).sum();
            half * sum
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_up_to_degree_39_are_exact() {
        for degree in 0..40 {
            let found = integral(0.0, 2.0, 3.0, &|x| x.powi(degree));
            let wanted = 2.0_f64.powi(degree + 1) / f64::from(degree + 1);
            assert!((found / wanted - 1.0).abs() < 1e-14, "{degree}: {found} {wanted}");
        }
    }

    #[test]
    fn nothing_to_integrate_is_nothing() {
        assert_eq!(integral(2.0, 2.0, 1.0, &|x| x), 0.0);
        assert_eq!(integral(2.0, 1.0, 1.0, &|x| x), 0.0);
        assert_eq!(integral(f64::NAN, 1.0, 1.0, &|x| x), 0.0);
    }
}
