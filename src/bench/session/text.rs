//! What people type: bounded, in one line, without a character that steers a terminal.

use rust_decimal::Decimal;

/// Characters of a typed line.
pub(crate) const TYPED_MAX: usize = 200;
/// Characters of a name.
pub(crate) const NAME_MAX: usize = 80;

/// Whether a character may stand in the record: no control, and none that turns the direction of the
/// writing unseen.
pub(crate) fn is_fit(c: char) -> bool {
    let turns = matches!(
        c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
    );
    !c.is_control() && !turns && !matches!(c, '\u{2028}' | '\u{2029}')
}

/// A text of others, fit for the record.
pub(crate) fn fit(text: &str, chars_max: usize) -> String {
    text.chars().map(|c| if is_fit(c) { c } else { '\u{fffd}' }).take(chars_max).collect()
}

/// A line while it is typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Line {
    pub(crate) typed: String,
    pub(crate) fault: Option<String>,
}

impl Line {
    pub(crate) fn push(&mut self, c: char) {
        if is_fit(c) && self.typed.chars().count() < TYPED_MAX {
            self.typed.push(c);
            self.fault = None;
        }
    }

    pub(crate) fn erase(&mut self) {
        self.typed.pop();
        self.fault = None;
    }

    pub(crate) fn refuse(&mut self, fault: impl Into<String>) {
        self.fault = Some(fault.into());
    }
}

/// A number with one of a few units behind it, or none; digits as typed.
pub(crate) fn number_with(text: &str, units: &[&str]) -> Result<Decimal, String> {
    let text = text.trim().replace('\u{2212}', "-");
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    let unit = unit.trim();
    if number.is_empty() {
        return Err("type a number".to_owned());
    }
    if number.contains(',') {
        return Err("write a decimal point, no comma".to_owned());
    }
    let bare: String = unit.chars().filter(|c| !c.is_whitespace()).collect();
    if !bare.is_empty() && !units.iter().any(|known| known.eq_ignore_ascii_case(&bare)) {
        let wanted = units.first().copied().unwrap_or_default();
        return Err(format!("'{bare}' is not the unit here: type the number in {wanted}"));
    }
    let digits = number.strip_prefix('+').unwrap_or(number);
    let is_plain = !digits.is_empty()
        && digits.len() <= 20
        && digits.trim_start_matches('-').bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && digits.bytes().any(|b| b.is_ascii_digit());
    let decimal = is_plain.then(|| Decimal::from_str_exact(digits).ok()).flatten();
    decimal.ok_or_else(|| format!("'{number}' is not a number"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn numbers_are_read_as_they_are_typed() {
        let degrees = |text| number_with(text, &["°C", "C"]).map(|d| d.to_string());
        assert_eq!(degrees("21.3 °C").unwrap(), "21.3");
        assert_eq!(degrees(" 21.30").unwrap(), "21.30");
        assert_eq!(degrees("+21c").unwrap(), "21");
        assert_eq!(degrees("\u{2212}5").unwrap(), "-5");
        for wrong in ["", "x", "21,3", "70 F", "1.2.3", "-", ".", "1e5", "99999999999999999999999"] {
            assert!(degrees(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_steers_a_terminal_does_not_come_in() {
        let mut line = Line::default();
        "a\u{1b}[2J\u{202e}b".chars().for_each(|c| line.push(c));
        assert_eq!(line.typed, "a[2Jb");
        (0..2 * TYPED_MAX).for_each(|_| line.push('é'));
        assert_eq!(line.typed.chars().count(), TYPED_MAX);
    }
}
