//! Values as people write them in TOML text, each with its unit: torque, percent, temperature,
//! length, date, range. A [`Fault`] says what is wrong with one; where it stands is added later.

use chrono::NaiveDate;
use leverarm_metrology::finding::Check;
use leverarm_metrology::quantity::{Celsius, Hertz, Millimetres, Percent, TorqueUnit, UnitError};
use leverarm_metrology::reading::{Recorded, RecordedError};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

use super::checks;

/// What is wrong with a value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fault {
    pub(super) check: &'static Check,
    pub(super) message: String,
    pub(super) wanted: String,
    pub(super) remedy: String,
}

impl Fault {
    pub(super) fn new(
        check: &'static Check,
        message: impl Into<String>,
        wanted: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Fault {
        Fault { check, message: message.into(), wanted: wanted.into(), remedy: remedy.into() }
    }
}

/// A text short enough for a message.
pub(super) fn shorten(text: &str) -> String {
    const CHARS_MAX: usize = 60;
    let mut chars = text.chars();
    let head: String = chars.by_ref().take(CHARS_MAX).collect();
    if chars.next().is_some() { format!("{head}…") } else { head }
}

/// The fault of a torque that cannot be read.
pub(super) fn torque_fault(error: &RecordedError) -> Fault {
    let check = match error {
        RecordedError::NotANumber { .. } => &checks::NUMBER_UNREADABLE,
        RecordedError::Comma { .. } => &checks::DECIMAL_COMMA,
        RecordedError::Unit(UnitError::Missing) => &checks::NUMBER_WITHOUT_UNIT,
        RecordedError::Unit(_) => &checks::UNIT_UNKNOWN,
    };
    Fault::new(check, error.to_string(), "a number and its unit of torque", error.remedy())
}

/// `100 N·m`
pub(super) fn torque(text: &str) -> Result<Recorded, Fault> {
    Recorded::parse(text).map_err(|error| torque_fault(&error))
}

/// Number and unit of a text that is not a torque.
fn split<'t>(text: &'t str, example: &str) -> Result<(Decimal, &'t str), Fault> {
    let text = text.trim();
    let cut = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.' | ',')))
        .unwrap_or(text.len());
    let (digits, unit) = text.split_at(cut);
    if digits.contains(',') {
        return Err(Fault::new(
            &checks::DECIMAL_COMMA,
            format!(
                "'{}' has a comma, which may be a decimal sign or a separator of thousands",
                shorten(text)
            ),
            "a decimal point",
            format!("write a decimal point and no separator of thousands, such as {example}"),
        ));
    }
    let plain = digits.replace('\u{2212}', "-");
    let number = Decimal::from_str_exact(&plain).map_err(|_| {
        Fault::new(
            &checks::NUMBER_UNREADABLE,
            format!("'{}' does not begin with a plain decimal number", shorten(text)),
            "a number and its unit",
            format!("write a number and its unit, such as {example}"),
        )
    })?;
    Ok((number, unit.trim()))
}

fn unit_fault(text: &str, unit: &str, wanted: &str, example: &str) -> Fault {
    if unit.is_empty() {
        Fault::new(
            &checks::NUMBER_WITHOUT_UNIT,
            format!("'{}' has no unit", shorten(text)),
            wanted,
            format!("write the unit behind the number, such as {example}"),
        )
    } else {
        Fault::new(
            &checks::UNIT_UNKNOWN,
            format!("'{}' is not a unit that fits here", shorten(unit)),
            wanted,
            format!("write it such as {example}"),
        )
    }
}

fn to_float(number: Decimal) -> f64 {
    // A Decimal has at most 29 digits: it always fits.
    number.to_f64().unwrap_or(f64::NAN)
}

/// `2 %`
pub(super) fn percent(text: &str) -> Result<Percent, Fault> {
    let (number, unit) = split(text, "2 %")?;
    match unit {
        "%" | "percent" | "per cent" => Ok(Percent::new(to_float(number))),
        other => Err(unit_fault(text, other, "a percentage", "2 %")),
    }
}

/// `45 %` or `45 % RH`
pub(super) fn humidity(text: &str) -> Result<Percent, Fault> {
    let trimmed = text.trim();
    let bare = ["% RH", "% rh", "%RH", "%rh"].iter().find_map(|tail| trimmed.strip_suffix(tail));
    match bare {
        Some(number) => percent(&format!("{number} %")),
        None => percent(trimmed),
    }
}

/// `21.3 °C`, or degrees Fahrenheit, converted in decimal: (F − 32) · 5 / 9
pub(super) fn temperature(text: &str) -> Result<Celsius, Fault> {
    const EXAMPLE: &str = "21.3 °C";
    let (number, unit) = split(text, EXAMPLE)?;
    match unit {
        "°C" | "C" | "℃" | "º C" | "ºC" | "° C" | "degC" | "deg C" => Ok(Celsius(to_float(number))),
        "°F" | "F" | "℉" | "ºF" | "° F" | "degF" | "deg F" => number
            .checked_sub(Decimal::from(32))
            .and_then(|n| n.checked_mul(Decimal::from(5)))
            .and_then(|n| n.checked_div(Decimal::from(9)))
            .map(|n| Celsius(to_float(n)))
            .ok_or_else(|| {
                let message = format!("'{}' is too large a number", shorten(text));
                Fault::new(
                    &checks::NUMBER_UNREADABLE,
                    message,
                    "a temperature",
                    format!("write it such as {EXAMPLE}"),
                )
            }),
        other => Err(unit_fault(text, other, "a temperature in °C or °F", EXAMPLE)),
    }
}

/// `100 Hz`, above zero
pub(super) fn frequency(text: &str) -> Result<Hertz, Fault> {
    const EXAMPLE: &str = "100 Hz";
    let (number, unit) = split(text, EXAMPLE)?;
    let factor = match unit {
        "Hz" => 1.0,
        "kHz" => 1000.0,
        other => return Err(unit_fault(text, other, "a frequency in Hz or kHz", EXAMPLE)),
    };
    if number <= Decimal::ZERO {
        let message = format!("'{}' is no frequency above zero", shorten(text));
        return Err(Fault::new(
            &checks::NUMBER_UNREADABLE,
            message,
            "a frequency above zero",
            format!("write it such as {EXAMPLE}"),
        ));
    }
    Ok(Hertz(to_float(number) * factor))
}

/// `487 mm`
pub(super) fn length(text: &str) -> Result<Millimetres, Fault> {
    const EXAMPLE: &str = "487 mm";
    let (number, unit) = split(text, EXAMPLE)?;
    let millimetres = match unit {
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" => 25.4,
        "ft" => 304.8,
        other => return Err(unit_fault(text, other, "a length in mm, cm, m, in or ft", EXAMPLE)),
    };
    Ok(Millimetres(to_float(number) * millimetres))
}

/// `2026-11-18`
pub(super) fn date(text: &str) -> Result<NaiveDate, Fault> {
    let text = text.trim();
    let shaped = text.len() == 10
        && text
            .bytes()
            .enumerate()
            .all(|(i, b)| if i == 4 || i == 7 { b == b'-' } else { b.is_ascii_digit() });
    let read = if shaped { NaiveDate::parse_from_str(text, "%Y-%m-%d").ok() } else { None };
    read.ok_or_else(|| {
        let why = if shaped { "is not a day of the calendar" } else { "is not a date as year-month-day" };
        Fault::new(
            &checks::DATE_UNREADABLE,
            format!("'{}' {why}.", shorten(text)),
            "a date as year-month-day",
            "write it such as 2026-11-18: other orders are read differently in different countries",
        )
    })
}

/// The part of a division that can be read: `1/2` of `2 N·m` is 1 N·m.
pub(super) fn part_of_division(division: Recorded, readable: &str) -> Result<Recorded, Fault> {
    let bare: String = readable.chars().filter(|c| !c.is_whitespace()).collect();
    let parts = match bare.as_str() {
        "1" | "1/1" => 1,
        "1/2" => 2,
        "1/5" => 5,
        "1/10" => 10,
        _ => {
            return Err(Fault::new(
                &checks::VALUE_UNKNOWN,
                format!("'{}' is not a part of a division that can be read by eye", shorten(readable)),
                "1, 1/2, 1/5 or 1/10",
                "write the part of a division that can be read with certainty",
            ));
        }
    };
    let digits = division.digits().checked_div(Decimal::from(parts)).map(|d| d.normalize().to_string());
    recorded(digits, division.unit())
}

fn recorded(digits: Option<String>, unit: TorqueUnit) -> Result<Recorded, Fault> {
    Recorded::new(&digits.unwrap_or_default(), unit).map_err(|error| torque_fault(&error))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn fahrenheit_converts_exactly() {
        assert_eq!(temperature("71.6 °F").unwrap(), Celsius(22.0));
        assert_eq!(temperature("68 F").unwrap(), Celsius(20.0));
        assert_eq!(temperature("-40 °F").unwrap(), Celsius(-40.0));
        assert_eq!(temperature("21.3").unwrap_err().check.name, "number-without-unit");
        assert_eq!(temperature("21.3 bar").unwrap_err().check.name, "unit-unknown");
        assert_eq!(temperature("21,3 °C").unwrap_err().check.name, "decimal-comma");
        assert_eq!(
            temperature("79228162514264337593543950335 °F").unwrap_err().check.name,
            "number-unreadable"
        );
    }

    #[test]
    fn dates_have_one_order() {
        assert!(date("2026-11-18").is_ok());
        for bad in ["18.11.2026", "2026-02-30", "2026-1-1", "", "２026-11-1", "2026-11-18T00:00"] {
            assert_eq!(date(bad).unwrap_err().check.name, "date-unreadable", "{bad}");
        }
    }

    #[test]
    fn a_readable_part_keeps_its_digits() {
        let two = Recorded::parse("2 N·m").unwrap();
        assert_eq!(part_of_division(two, "1/2").unwrap().to_string(), "1 N·m");
        assert_eq!(part_of_division(two, "1 / 5").unwrap().to_string(), "0.4 N·m");
        assert_eq!(
            part_of_division(Recorded::parse("0.50 N·m").unwrap(), "1/10").unwrap().to_string(),
            "0.05 N·m"
        );
        assert_eq!(part_of_division(two, "1/3").unwrap_err().check.name, "value-unknown");
    }

    #[test]
    fn frequencies_are_above_zero() {
        assert_eq!(frequency("100 Hz").unwrap(), Hertz(100.0));
        assert_eq!(frequency("2.5 kHz").unwrap(), Hertz(2500.0));
        assert_eq!(frequency("100").unwrap_err().check.name, "number-without-unit");
        assert_eq!(frequency("0 Hz").unwrap_err().check.name, "number-unreadable");
        assert_eq!(frequency("10 1/s").unwrap_err().check.name, "unit-unknown");
    }

    #[test]
    fn percents_and_lengths_need_their_units() {
        assert_eq!(percent("-0.1 %").unwrap(), Percent::new(-0.1));
        assert_eq!(percent("2").unwrap_err().check.name, "number-without-unit");
        assert_eq!(humidity("45 % RH").unwrap(), Percent::new(45.0));
        assert_eq!(length("19 in").unwrap(), Millimetres(482.59999999999997));
        assert_eq!(length("487").unwrap_err().check.name, "number-without-unit");
    }
}
