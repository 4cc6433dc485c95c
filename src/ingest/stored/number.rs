//! The digits of a stored value, and what time a cell says.

use chrono::{DateTime, NaiveDateTime};
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};

use super::error::CellFault;
use super::table::{Cell, Table};
use crate::ingest::readings::DecimalSign;
use crate::ingest::value::shorten;

/// How a column of texts writes its numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Sign {
    /// a sign that is certain, with a number that shows it
    Certain(DecimalSign, String),
    /// a number that two countries read differently
    Open(String),
}

/// Finds the decimal sign from the numbers of a column.
pub(super) fn decimal_sign<'c>(
    cells: impl Iterator<Item = &'c Cell>,
    declared: Option<DecimalSign>,
    delimiter: Option<u8>,
) -> Sign {
    if let Some(sign) = declared {
        return Sign::Certain(sign, "the mapping".to_owned());
    }
    let mut open: Option<(DecimalSign, String)> = None;
    for cell in cells {
        let Cell::Text(text) = cell else { continue };
        let text = text.trim();
        let number = text.get(..digits_end(text)).unwrap_or_default();
        let Some(at) = number.find(['.', ',']) else { continue };
        let sign =
            if number.as_bytes().get(at) == Some(&b',') { DecimalSign::Comma } else { DecimalSign::Point };
        let (before, after) =
            (number.get(..at).unwrap_or_default(), number.get(at + 1..).unwrap_or_default());
        let before = before.trim_start_matches(['+', '-', '\u{2212}']);
        let like_thousands = after.len() == 3 && (1..=3).contains(&before.len()) && !before.starts_with('0');
        if !like_thousands {
            return Sign::Certain(sign, shorten(number));
        }
        if open.as_ref().is_some_and(|(other, _)| *other != sign) {
            return Sign::Open(shorten(number));
        }
        open.get_or_insert_with(|| (sign, shorten(number)));
    }
    let custom = match delimiter {
        Some(b',') => Some(DecimalSign::Point),
        Some(b';') => Some(DecimalSign::Comma),
        _ => None,
    };
    match open {
        None => Sign::Certain(DecimalSign::Point, String::new()),
        Some((sign, number)) if custom == Some(sign) => Sign::Certain(sign, number),
        Some((_, number)) => Sign::Open(number),
    }
}

/// Where the number of a cell ends and its unit begins.
pub(super) fn digits_end(cell: &str) -> usize {
    cell.find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | ',' | '\u{2212}')))
        .unwrap_or(cell.len())
}

/// A number, and the unit that stands behind it in the same cell.
pub(super) fn number<'c>(cell: &'c Cell, sign: &Sign) -> Result<(Decimal, &'c str), CellFault> {
    let wrong = || CellFault::NotANumber { given: shorten(cell.text()) };
    match cell {
        Cell::Fault(word) => Err(CellFault::Fault { given: shorten(word) }),
        Cell::Number { is_date: true, .. } => Err(wrong()),
        Cell::Number { digits, .. } => {
            let plain = Decimal::from_str_exact(digits).ok();
            // A spreadsheet writes the shortest digits of a double, with an exponent where it is small.
            let decimal = plain.or_else(|| digits.parse::<f64>().ok().and_then(Decimal::from_f64));
            Ok((decimal.ok_or_else(wrong)?, ""))
        }
        Cell::Text(text) => {
            let text = text.trim();
            let (digits, unit) = text.split_at(digits_end(text));
            let (sign, example) = match sign {
                Sign::Certain(sign, example) => (*sign, example),
                Sign::Open(_) if digits.contains(['.', ',']) => {
                    return Err(CellFault::DecimalAmbiguous { given: shorten(text) });
                }
                Sign::Open(example) => (DecimalSign::Point, example),
            };
            let (own, other) = if sign == DecimalSign::Point { ('.', ',') } else { (',', '.') };
            if digits.contains(other) {
                return Err(CellFault::DecimalMixed { given: shorten(text), other: example.clone() });
            }
            let plain = digits.replace(own, ".").replace('\u{2212}', "-");
            let decimal = Decimal::from_str_exact(plain.trim_start_matches('+')).map_err(|_| wrong())?;
            Ok((decimal, unit.trim()))
        }
    }
}

/// A number with the decimals that the tool shows: filled with zeros, and freed of what a binary
/// number adds behind them. A number that is truly finer is refused, not rounded.
pub(super) fn with_decimals(number: Decimal, decimals: u32, given: &str) -> Result<Decimal, CellFault> {
    let mut rounded = number.round_dp(decimals);
    let step = Decimal::new(1, decimals.min(28));
    let hundredth = step.checked_div(Decimal::from(100)).unwrap_or_default();
    if (number - rounded).abs() > hundredth {
        return Err(CellFault::TooFine { given: shorten(given), decimals });
    }
    rounded.rescale(decimals);
    Ok(rounded)
}

const MS_PER_DAY: f64 = 86_400_000.0;
/// From 1970-01-01 back to the day from which spreadsheets count, in days.
const DAYS_FROM_1900: f64 = 25_569.0;
const DAYS_FROM_1904: f64 = 24_107.0;
/// The last day that a spreadsheet knows, 9999-12-31.
const DAYS_MAX: f64 = 2_958_466.0;
const ISO: [&str; 4] = ["%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M"];

/// The clock of the tool, in milliseconds, from a cell with day and time or from two.
pub(super) fn time(
    table: &Table,
    day: Option<&Cell>,
    clock: &Cell,
    format: Option<&str>,
) -> Result<i64, CellFault> {
    let given = match day {
        Some(day) => format!("{} {}", day.text(), clock.text()),
        None => clock.text().to_owned(),
    };
    let wrong = || CellFault::Time {
        given: shorten(&given),
        format: format.unwrap_or("year-month-day hour:minute:second").to_owned(),
    };
    let days = |cell: &Cell| match cell {
        Cell::Number { digits, .. } => digits.parse::<f64>().ok(),
        _ => None,
    };
    let counted = match day {
        Some(day) => days(day).zip(days(clock)).map(|(day, clock)| day + clock),
        None => days(clock),
    };
    if let Some(days) = counted {
        let from = if table.from_1904 { DAYS_FROM_1904 } else { DAYS_FROM_1900 };
        let ms = ((days - from) * MS_PER_DAY).round();
        return if days > 0.0 && days < DAYS_MAX { ms.to_i64().ok_or_else(wrong) } else { Err(wrong()) };
    }
    let naive = match format {
        Some(format) => NaiveDateTime::parse_from_str(&given, format).ok(),
        None => ISO.iter().find_map(|format| NaiveDateTime::parse_from_str(&given, format).ok()),
    };
    let local = naive.or_else(|| {
        let stamp = match format {
            Some(format) => DateTime::parse_from_str(&given, format),
            None => DateTime::parse_from_rfc3339(&given),
        };
        stamp.ok().and_then(|stamp| stamp.naive_utc().checked_add_offset(*stamp.offset()))
    });
    local.map(|local| local.and_utc().timestamp_millis()).ok_or_else(wrong)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn text(text: &str) -> Cell {
        Cell::Text(text.to_owned())
    }

    #[test]
    fn the_decimal_sign_is_certain_or_open() {
        let of = |cells: &[&str], delimiter| {
            let cells: Vec<Cell> = cells.iter().map(|cell| text(cell)).collect();
            decimal_sign(cells.iter(), None, delimiter)
        };
        assert_eq!(of(&["81", "81,2"], Some(b';')), Sign::Certain(DecimalSign::Comma, "81,2".into()));
        assert_eq!(of(&["1.234"], Some(b',')), Sign::Certain(DecimalSign::Point, "1.234".into()));
        assert_eq!(of(&["1.234"], Some(b';')), Sign::Open("1.234".into()));
        assert_eq!(of(&["1.234", "1,234"], Some(b',')), Sign::Open("1,234".into()));
        assert_eq!(of(&["0.234"], Some(b';')), Sign::Certain(DecimalSign::Point, "0.234".into()));
    }

    #[test]
    fn digits_are_filled_and_freed_and_never_rounded() {
        let digits = |number: &str, decimals| {
            let cell = Cell::Number { digits: number.to_owned(), is_date: false };
            let (decimal, _) = number_of(&cell);
            with_decimals(decimal, decimals, number).map(|d| d.to_string())
        };
        fn number_of(cell: &Cell) -> (Decimal, &str) {
            number(cell, &Sign::Certain(DecimalSign::Point, String::new())).unwrap()
        }
        assert_eq!(digits("81", 1).unwrap(), "81.0");
        assert_eq!(digits("81.19999694824219", 1).unwrap(), "81.2");
        assert_eq!(digits("8.1200000000000003E1", 2).unwrap(), "81.20");
        assert!(matches!(digits("81.23", 1), Err(CellFault::TooFine { decimals: 1, .. })));
    }

    #[test]
    fn times_of_spreadsheets_and_of_texts() {
        let table = Table::default();
        let at = |cell: &Cell| time(&table, None, cell, None);
        let number = Cell::Number { digits: "46345.5".into(), is_date: true };
        assert_eq!(at(&number).unwrap(), at(&text("2026-11-19 12:00:00")).unwrap());
        assert_eq!(at(&text("2026-11-19T12:00:00+01:00")).unwrap(), at(&number).unwrap());
        assert_eq!(
            time(&table, Some(&text("19.11.2026")), &text("12:00:00"), Some("%d.%m.%Y %H:%M:%S")),
            at(&number)
        );
        for bad in ["", "noon", "19/11/2026 12:00"] {
            assert!(at(&text(bad)).is_err(), "{bad}");
        }
        for bad in ["NaN", "inf", "-1", "1e300"] {
            assert!(at(&Cell::Number { digits: bad.into(), is_date: true }).is_err(), "{bad}");
        }
        assert!(time(&table, None, &text("x"), Some("%Q%")).is_err());
    }
}
