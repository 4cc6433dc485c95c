//! A line becomes a sample, or one says why not.

use std::borrow::Cow;

use leverarm_metrology::quantity::TorqueUnit;
use leverarm_metrology::reading::Recorded;
use regex::CaptureLocations;

use super::description::{Description, Encoding, Pattern, Status, TimeAs};
use super::{Checksum, Misfit, Written};

/// So many spellings of units that came in are remembered.
const SPELLINGS_MAX: usize = 32;

/// What one line says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// the torque with the digits of the display
    pub torque: Recorded,
    /// the time that the display gives, in seconds from its own beginning, or from midnight
    pub time_s: Option<f64>,
    /// what the display says of the value
    pub status: Option<Status>,
}

/// What a line was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Understood {
    /// a sample
    Sample(Sample),
    /// a line that the description leaves aside, or an empty one
    Ignored,
}

/// Where the parts of the pattern are among its groups.
#[derive(Debug, Clone, Copy, Default)]
struct Parts {
    value: Option<usize>,
    unit: Option<usize>,
    sign: Option<usize>,
    status: Option<usize>,
    time: Option<usize>,
    checksum: Option<usize>,
    checked: Option<usize>,
}

/// Understands lines by a description. It keeps no more than a few spellings of units.
#[derive(Debug, Clone)]
pub struct Understander {
    pattern: Pattern,
    encoding: Encoding,
    checksum: Option<Checksum>,
    parts: Parts,
    places: CaptureLocations,
    spellings: Vec<(String, TorqueUnit)>,
}

impl Understander {
    /// For the lines of an instrument.
    #[must_use]
    pub fn new(description: &Description) -> Understander {
        let pattern = description.pattern.clone();
        let at = |name| pattern.line.capture_names().position(|part| part == Some(name));
        let parts = Parts {
            value: at("value"),
            unit: at("unit"),
            sign: at("sign"),
            status: at("status"),
            time: at("time"),
            checksum: at("checksum"),
            checked: at("checked"),
        };
        Understander {
            parts,
            places: pattern.line.capture_locations(),
            spellings: pattern.units.clone(),
            encoding: description.encoding,
            checksum: description.checksum,
            pattern,
        }
    }

    /// What a line says.
    ///
    /// # Errors
    /// Why it is not a sample.
    pub fn understand(&mut self, raw: &[u8]) -> Result<Understood, Misfit> {
        let text = self.decode(raw)?;
        if text.trim().is_empty() || self.pattern.ignore.iter().any(|regex| regex.is_match(&text)) {
            return Ok(Understood::Ignored);
        }
        if self.pattern.line.captures_read(&mut self.places, &text).is_none() {
            let stray_terminator = text.starts_with(['\r', '\n']) || text.ends_with(['\r', '\n']);
            return Err(Misfit::NoMatch { stray_terminator });
        }
        let places = &self.places;
        let part = |at: Option<usize>| {
            at.and_then(|at| places.get(at)).and_then(|(start, end)| text.get(start..end))
        };
        if let Some(checksum) = self.checksum {
            let checked = part(self.parts.checked).unwrap_or("");
            verify(checksum, &self.encode(checked), part(self.parts.checksum).unwrap_or(""))?;
        }
        let status = part(self.parts.status).map(|word| status(&self.pattern, word)).transpose()?;
        let value = part(self.parts.value).unwrap_or("");
        let is_minus = part(self.parts.sign).map(|word| is_minus(&self.pattern, word)).transpose()?;
        let time_s = part(self.parts.time).map(|time| seconds(self.pattern.time, time)).transpose()?;
        let digits = digits(&self.pattern, value, is_minus)?;
        let unit = part(self.parts.unit).map(|word| unit(&mut self.spellings, word)).transpose()?;
        let unit = match (unit, self.pattern.unit) {
            (Some(given), Some(wanted)) if given != wanted => {
                return Err(Misfit::OtherUnit { given, wanted });
            }
            (Some(unit), _) | (None, Some(unit)) => unit,
            (None, None) => return Err(Misfit::UnknownUnit { given: String::new() }),
        };
        let torque =
            Recorded::new(&digits, unit).map_err(|_| Misfit::NotANumber { given: value.to_owned() })?;
        Ok(Understood::Sample(Sample { torque, time_s, status }))
    }

    fn decode<'r>(&self, raw: &'r [u8]) -> Result<Cow<'r, str>, Misfit> {
        match (std::str::from_utf8(raw), self.encoding) {
            (Ok(text), Encoding::Utf8) => Ok(Cow::Borrowed(text)),
            (Ok(text), Encoding::Latin1) if raw.is_ascii() => Ok(Cow::Borrowed(text)),
            (_, Encoding::Latin1) => Ok(Cow::Owned(raw.iter().map(|byte| char::from(*byte)).collect())),
            (Err(error), Encoding::Utf8) => {
                let at = error.valid_up_to();
                Err(Misfit::NotText { at: at + 1, byte: raw.get(at).copied().unwrap_or(0) })
            }
        }
    }

    /// The bytes as they came.
    fn encode<'c>(&self, text: &'c str) -> Cow<'c, [u8]> {
        match self.encoding {
            Encoding::Latin1 if !text.is_ascii() => {
                Cow::Owned(text.chars().filter_map(|c| u8::try_from(u32::from(c)).ok()).collect())
            }
            _ => Cow::Borrowed(text.as_bytes()),
        }
    }
}

fn verify(checksum: Checksum, checked: &[u8], given: &str) -> Result<(), Misfit> {
    let wanted = checksum.method.of(checked);
    if checksum.read(given) == Some(wanted) {
        return Ok(());
    }
    let wanted = match checksum.written {
        Written::Hex => format!("{wanted:0>width$X}", width = given.trim().len().min(4)),
        Written::Decimal => wanted.to_string(),
    };
    Err(Misfit::Checksum { given: given.to_owned(), wanted })
}

fn look_up<T: Copy>(words: &[(String, T)], given: &str) -> Option<T> {
    words.iter().find(|(word, _)| word == given).map(|(_, meant)| *meant)
}

fn status(pattern: &Pattern, word: &str) -> Result<Status, Misfit> {
    let given = word.trim();
    match look_up(&pattern.status, given) {
        Some(Status::Overload) => Err(Misfit::Overload { given: given.to_owned() }),
        Some(Status::Fault) => Err(Misfit::Fault { given: given.to_owned() }),
        Some(status) => Ok(status),
        None => Err(Misfit::UnknownStatus { given: given.to_owned() }),
    }
}

fn is_minus(pattern: &Pattern, word: &str) -> Result<bool, Misfit> {
    let given = word.trim();
    match look_up(&pattern.signs, given) {
        Some(minus) => Ok(minus),
        None => match given {
            "" | "+" => Ok(false),
            "-" | "\u{2212}" => Ok(true),
            _ => Err(Misfit::UnknownSign { given: given.to_owned() }),
        },
    }
}

/// The digits with a sign at most and a decimal point. A second sign, or a sign that contradicts the
/// part `sign`, is not a number.
fn digits<'v>(pattern: &Pattern, value: &'v str, is_minus: Option<bool>) -> Result<Cow<'v, str>, Misfit> {
    let given = value.trim();
    if pattern.overload.iter().any(|word| word == given) {
        return Err(Misfit::Overload { given: given.to_owned() });
    }
    let wrong = || Misfit::NotANumber { given: value.to_owned() };
    let (own, bare) = match given.strip_prefix(['+', '-', '\u{2212}']) {
        Some(bare) => (Some(!given.starts_with('+')), bare.trim_start()),
        None => (None, given),
    };
    let decimal = if pattern.decimal_comma { ',' } else { '.' };
    let has_digit = bare.bytes().any(|byte| byte.is_ascii_digit());
    let is_plain = bare.chars().all(|c| c.is_ascii_digit() || c == decimal);
    if !has_digit || !is_plain || bare.matches(decimal).count() > 1 || (own.is_some() && is_minus.is_some()) {
        return Err(wrong());
    }
    let bare = if pattern.decimal_comma { Cow::Owned(bare.replace(',', ".")) } else { Cow::Borrowed(bare) };
    Ok(if own.or(is_minus).unwrap_or(false) { Cow::Owned(format!("-{bare}")) } else { bare })
}

fn unit(spellings: &mut Vec<(String, TorqueUnit)>, word: &str) -> Result<TorqueUnit, Misfit> {
    let given = word.trim();
    if let Some(unit) = look_up(spellings, given) {
        return Ok(unit);
    }
    let unit = TorqueUnit::parse(given).map_err(|_| Misfit::UnknownUnit { given: given.to_owned() })?;
    if spellings.len() < SPELLINGS_MAX {
        spellings.push((given.to_owned(), unit));
    }
    Ok(unit)
}

fn seconds(time: Option<TimeAs>, text: &str) -> Result<f64, Misfit> {
    let number = |text: &str| -> Option<f64> {
        let is_plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        if is_plain { text.parse().ok() } else { None }
    };
    let trimmed = text.trim();
    let read = match time {
        None | Some(TimeAs::Seconds) => number(trimmed),
        Some(TimeAs::Milliseconds) => number(trimmed).map(|n| n / 1e3),
        Some(TimeAs::Microseconds) => number(trimmed).map(|n| n / 1e6),
        Some(TimeAs::Clock) => {
            let mut fields = trimmed.splitn(3, ':').map(number);
            match (fields.next().flatten(), fields.next().flatten(), fields.next().flatten()) {
                (Some(h), Some(m), Some(s)) if h < 24.0 && m < 60.0 && s < 61.0 => {
                    Some(h * 3600.0 + m * 60.0 + s)
                }
                _ => None,
            }
        }
    };
    read.filter(|seconds| seconds.is_finite()).ok_or_else(|| Misfit::NotATime { given: text.to_owned() })
}
