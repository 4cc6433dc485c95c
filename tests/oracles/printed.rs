//! Agreement with a printed number: within half a unit of its last digit.

/// Half a unit of the last digit of a printed decimal number, and the number.
fn parse(printed: &str) -> (f64, f64) {
    let value: f64 = printed.parse().expect("a printed number");
    let decimals = printed.split_once('.').map_or(0, |(_, after)| after.len());
    (value, 0.5 * 10f64.powi(-i32::try_from(decimals).expect("few decimals")))
}

/// Holds a computed value against the digits of a source.
#[track_caller]
pub fn agrees(computed: f64, printed: &str) {
    let (value, half_unit) = parse(printed);
    // A value that a source rounded from an exact half lies on the edge, and binary cannot hold it.
    assert!((computed - value).abs() <= half_unit * (1.0 + 1e-9), "computed {computed}, printed {printed}");
}

/// Holds a computed value to be off the digits of a source, where the source is known to differ.
#[track_caller]
pub fn differs(computed: f64, printed: &str) {
    let (value, half_unit) = parse(printed);
    assert!(
        (computed - value).abs() > half_unit,
        "computed {computed} agrees after all with the printed {printed}"
    );
}

#[test]
fn half_a_unit_is_the_boundary() {
    agrees(1.494_999, "1.49");
    agrees(92.6, "93");
    differs(1.496, "1.49");
    differs(93.6, "93");
}
