//! Numbers as the report shows them: what was found with every digit, a tolerance with two.

use super::case::Value;

/// The shortest decimal that brings the double back.
pub(super) fn full_digits(value: f64) -> String {
    let size = value.abs();
    let is_long = value.is_finite() && size != 0.0 && !(1e-5..1e15).contains(&size);
    if is_long { format!("{value:e}") } else { value.to_string() }
}

/// A number as it is set: "-5e-7" as −5×10^−7. Words stay as they are.
pub(super) fn shown(text: &str) -> String {
    if text.parse::<f64>().is_ok() { scientific(text) } else { text.to_owned() }
}

/// What is allowed, in the narrow column.
pub(super) fn allowed(value: &Value) -> String {
    match value.tolerance {
        Some(0.0) => "exact".to_owned(),
        Some(tolerance) => format!("± {}", short(tolerance)),
        None if value.agreement.starts_with("no more") => "at most".to_owned(),
        None => "as it reads".to_owned(),
    }
}

/// Two significant figures.
fn short(value: f64) -> String {
    let text = format!("{value:.1e}");
    let exponent: i32 = text.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0);
    if (-4..=2).contains(&exponent) {
        let decimals = usize::try_from(1 - exponent).unwrap_or(0);
        let plain = format!("{value:.decimals$}");
        if plain.contains('.') {
            return plain.trim_end_matches('0').trim_end_matches('.').to_owned();
        }
        return plain;
    }
    scientific(&text.replace(".0e", "e"))
}

/// "5e-7" as 5×10^−7.
fn scientific(text: &str) -> String {
    text.replace('e', "×10^").replace('-', "−")
}

/// "5×10^−7" as 5×10⁻⁷, where a raised digit is a letter of its own.
pub(super) fn raised(text: &str) -> String {
    let Some((mantissa, exponent)) = text.split_once('^') else { return text.to_owned() };
    mantissa.chars().chain(exponent.chars().map(superscript)).collect()
}

const fn superscript(digit: char) -> char {
    match digit {
        '0' => '⁰',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        '4' => '⁴',
        '5' => '⁵',
        '6' => '⁶',
        '7' => '⁷',
        '8' => '⁸',
        '9' => '⁹',
        '−' => '⁻',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::{full_digits, raised, short, shown};

    #[test]
    fn nothing_is_lost_and_nothing_is_long() {
        assert_eq!(full_digits(0.0), "0");
        assert_eq!(full_digits(100.145), "100.145");
        assert_eq!(full_digits(-2.5e-10), "-2.5e-10");
        assert_eq!(shown("-9.87e-10"), "−9.87×10^−10");
        assert_eq!(raised(&shown("-9.87e-10")), "−9.87×10⁻¹⁰");
        assert_eq!(shown("as-is"), "as-is");
        assert_eq!(full_digits(f64::NAN), "NaN");
        assert_eq!(short(0.0005), "0.0005");
        assert_eq!(short(0.007_812), "0.0078");
        assert_eq!(short(0.5), "0.5");
        assert_eq!(short(5e-7), "5×10^−7");
        assert_eq!(short(2.77e-12), "2.8×10^−12");
    }
}
