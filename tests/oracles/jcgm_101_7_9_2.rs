//! JCGM 101:2008, 7.9.2: the numerical tolerance of a standard uncertainty.
//!
//! Marks: the two examples M; the rule D.

use leverarm_metrology::monte_carlo::numerical_tolerance;
use leverarm_metrology::rounding::Figures;

#[test]
fn half_a_unit_of_the_last_significant_digit() {
    // 0.000 35 g to two digits is 35 × 10⁻⁵ g, and 2 K to one digit 2 × 10⁰ K.
    assert_eq!(numerical_tolerance(0.000_35, Figures::Two), Ok(0.000_005));
    assert_eq!(numerical_tolerance(2.0, Figures::One), Ok(0.5));
}
