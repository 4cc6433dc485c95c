//! A trace as bytes, compact and without loss.
//!
//! Values of a display are whole numbers of its last digit: they are written as differences from
//! the one before, seven bits a byte, one byte for most samples. Values that are no such numbers
//! are written as the bits in which they differ from the one before. Decoding gives every bit back.
//!
//! | bytes | holds |
//! |---|---|
//! | 4 | `LTRC` |
//! | 1 | version, 1 |
//! | 1 | unit, in the order of [`TorqueUnit::ALL`] |
//! | 1 | 0: even rate, then start and rate, 8 bytes each, little endian; 1: a column of times follows |
//! | varint | count of the samples |
//! | column | the times, where each has its own |
//! | column | the values |
//!
//! A column begins with a byte: 0 to 12 for integers of 10⁻ᵏ, 255 for bits.

use leverarm_metrology::quantity::TorqueUnit;
use thiserror::Error;

use crate::trace::{Timing, Trace, TraceError};

const MAGIC: [u8; 4] = *b"LTRC";
const VERSION: u8 = 1;
const UNIFORM: u8 = 0;
const EXPLICIT: u8 = 1;
const BITS: u8 = 255;
const POWERS: [f64; 13] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12];
/// Up to here every whole number is a double.
const EXACT: f64 = 9_007_199_254_740_992.0;

/// Why the bytes are no trace.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CodecError {
    /// They do not begin as a trace does.
    #[error("this is no trace: it does not begin with LTRC")]
    NoTrace,
    /// A later version wrote them.
    #[error("the trace is of version {given}, and this program reads version {known}")]
    Version {
        /// the version of the bytes
        given: u8,
        /// the one that is read here
        known: u8,
    },
    /// A code that means nothing.
    #[error("byte {at} holds {given}, which is no {what}")]
    Code {
        /// where
        at: usize,
        /// what stands there
        given: u8,
        /// what should
        what: &'static str,
    },
    /// They end too early.
    #[error("the trace ends at byte {at} in the middle of something")]
    CutOff {
        /// where
        at: usize,
    },
    /// Something follows the last sample.
    #[error("{count} bytes follow the end of the trace")]
    Trailing {
        /// how many
        count: usize,
    },
    /// More samples are announced than the bytes can hold.
    #[error("{count} samples are announced, and {bytes} bytes are left")]
    Count {
        /// how many samples
        count: u64,
        /// how many bytes
        bytes: usize,
    },
    /// What they hold is not a trace.
    #[error(transparent)]
    Trace(#[from] TraceError),
}

/// The trace as bytes.
#[must_use]
pub fn encode(trace: &Trace) -> Vec<u8> {
    let mut out = Vec::with_capacity(32 + trace.len() * 2);
    out.extend(MAGIC);
    out.push(VERSION);
    let unit = TorqueUnit::ALL.iter().position(|unit| *unit == trace.unit()).unwrap_or_default();
    out.push(unit as u8);
    let count = trace.len() as u64;
    match trace.timing() {
        Timing::Uniform { start_s, rate_hz } => {
            out.push(UNIFORM);
            out.extend(start_s.to_le_bytes());
            out.extend(rate_hz.to_le_bytes());
            varint(&mut out, count);
        }
        Timing::Explicit { times_s } => {
            out.push(EXPLICIT);
            varint(&mut out, count);
            column(&mut out, times_s);
        }
    }
    column(&mut out, trace.values());
    out
}

/// The bytes as a trace.
///
/// # Errors
/// [`CodecError`] where they are none.
pub fn decode(bytes: &[u8]) -> Result<Trace, CodecError> {
    let mut reader = Reader { bytes, at: 0 };
    if reader.take::<4>().ok() != Some(MAGIC) {
        return Err(CodecError::NoTrace);
    }
    let version = reader.byte()?;
    if version != VERSION {
        return Err(CodecError::Version { given: version, known: VERSION });
    }
    let code = reader.byte()?;
    let unit = *TorqueUnit::ALL.get(usize::from(code)).ok_or(CodecError::Code {
        at: reader.at - 1,
        given: code,
        what: "unit",
    })?;
    let (timing, count) = match reader.byte()? {
        UNIFORM => {
            let start_s = f64::from_le_bytes(reader.take()?);
            let rate_hz = f64::from_le_bytes(reader.take()?);
            (Timing::Uniform { start_s, rate_hz }, reader.count()?)
        }
        EXPLICIT => {
            let count = reader.count()?;
            (Timing::Explicit { times_s: reader.column(count)? }, count)
        }
        given => return Err(CodecError::Code { at: reader.at - 1, given, what: "kind of timing" }),
    };
    let values = reader.column(count)?;
    match bytes.len() - reader.at {
        0 => Ok(Trace::new(unit, timing, values)?),
        count => Err(CodecError::Trailing { count }),
    }
}

fn varint(out: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        out.push(value as u8 | 0x80);
        value >>= 7;
    }
    out.push(value as u8);
}

/// The whole number n of which n / power is exactly this value, where there is one.
fn whole(value: f64, power: f64) -> Option<i64> {
    let n = (value * power).round();
    (n.abs() < EXACT && (n / power).to_bits() == value.to_bits()).then_some(n as i64)
}

fn column(out: &mut Vec<u8>, values: &[f64]) {
    let exact = |power: &f64| values.iter().all(|value| whole(*value, *power).is_some());
    match POWERS.iter().position(exact) {
        Some(places) => {
            out.push(places as u8);
            let mut before = 0_i64;
            for n in values.iter().filter_map(|value| whole(*value, POWERS[places])) {
                let step = n.wrapping_sub(before);
                // small numbers of either sign become small numbers: 0, -1, 1, -2 …
                varint(out, (step.wrapping_shl(1) ^ (step >> 63)) as u64);
                before = n;
            }
        }
        None => {
            out.push(BITS);
            let mut before = 0_u64;
            for bits in values.iter().map(|value| value.to_bits()) {
                difference(out, bits ^ before);
                before = bits;
            }
        }
    }
}

/// A byte with the count of zero bytes at either end, then what stands between.
fn difference(out: &mut Vec<u8>, bits: u64) {
    let high = (bits.leading_zeros() / 8) as usize;
    let low = if bits == 0 { 0 } else { (bits.trailing_zeros() / 8) as usize };
    out.push(((high << 4) | low) as u8);
    out.extend(&bits.to_be_bytes()[high..8 - low]);
}

struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], CodecError> {
        let slice = self.bytes.get(self.at..self.at + N);
        let array = slice.and_then(|slice| slice.try_into().ok());
        let array = array.ok_or(CodecError::CutOff { at: self.bytes.len() })?;
        self.at += N;
        Ok(array)
    }

    fn byte(&mut self) -> Result<u8, CodecError> {
        self.take::<1>().map(|[byte]| byte)
    }

    fn varint(&mut self) -> Result<u64, CodecError> {
        let mut value = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            if shift == 63 && byte > 1 {
                return Err(CodecError::Code { at: self.at - 1, given: byte, what: "end of a number" });
            }
            value |= u64::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                return Ok(value);
            }
        }
        Err(CodecError::CutOff { at: self.at })
    }

    /// A sample takes a byte at least: a wrong count cannot ask for all memory.
    fn count(&mut self) -> Result<usize, CodecError> {
        let count = self.varint()?;
        let bytes = self.bytes.len() - self.at;
        usize::try_from(count).ok().filter(|n| *n <= bytes).ok_or(CodecError::Count { count, bytes })
    }

    fn column(&mut self, count: usize) -> Result<Vec<f64>, CodecError> {
        let kind = self.byte()?;
        let mut values = Vec::with_capacity(count);
        if kind == BITS {
            let mut bits = 0_u64;
            for _ in 0..count {
                bits ^= self.difference()?;
                values.push(f64::from_bits(bits));
            }
        } else {
            let power = POWERS.get(usize::from(kind)).ok_or(CodecError::Code {
                at: self.at - 1,
                given: kind,
                what: "number of decimals",
            })?;
            let mut n = 0_i64;
            for _ in 0..count {
                let coded = self.varint()?;
                n = n.wrapping_add((coded >> 1) as i64 ^ -((coded & 1) as i64));
                values.push(n as f64 / power);
            }
        }
        Ok(values)
    }

    fn difference(&mut self) -> Result<u64, CodecError> {
        let head = self.byte()?;
        let (high, low) = (usize::from(head >> 4), usize::from(head & 0x0f));
        let bad = CodecError::Code { at: self.at - 1, given: head, what: "difference" };
        let width = 8_usize.checked_sub(high + low).ok_or(bad)?;
        let mut bits = 0_u64;
        for _ in 0..width {
            bits = bits << 8 | u64::from(self.byte()?);
        }
        Ok(if low == 8 { 0 } else { bits << (8 * low) })
    }
}
