//! From a file to a trace that can be drawn. The file was written by others.

use leverarm_metrology::quantity::Torque;
use leverarm_pull::codec::{self, CodecError};
use leverarm_pull::trace::{Timing, Trace};
use thiserror::Error;

use crate::ingest::store::{Store, StoreError};

/// A file may be so large: 16 million samples, or half an hour at 10 kHz. Decoded it takes at most
/// eight bytes for each of its own.
pub const BYTES_MAX: u64 = 16 * 1024 * 1024;
/// A pull takes seconds; no trace takes longer than a day.
pub const DURATION_MAX_S: f64 = 86_400.0;
/// Beyond every torque that a machine has made, in newton metres.
pub const TORQUE_MAX_NM: f64 = 1e9;

/// Why a file is not opened as a trace.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum OpenError {
    /// It cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Its bytes are no trace.
    #[error("'{path}' cannot be opened: {error}")]
    Codec {
        /// the file
        path: String,
        /// what is wrong with it
        error: CodecError,
    },
    /// It holds no sample.
    #[error("'{path}' holds no sample")]
    Empty {
        /// the file
        path: String,
    },
    /// Its times are not those of a pull.
    #[error("'{path}' lasts {seconds:e} s, and a trace lasts {DURATION_MAX_S} s at most")]
    Duration {
        /// the file
        path: String,
        /// from the first sample to the last
        seconds: f64,
    },
    /// Its values are no torques.
    #[error("'{path}' holds {:e} N·m at sample {index}, and no torque is beyond {TORQUE_MAX_NM:e} N·m", torque.newton_metres())]
    Torque {
        /// the file
        path: String,
        /// which sample, from 0
        index: usize,
        /// what it says
        torque: Torque,
    },
}

impl OpenError {
    /// How to mend it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            OpenError::Store(StoreError::Missing { .. }) => {
                "give a trace (such as traces/0007.ltrc of a run folder) or a run folder"
            }
            OpenError::Store(StoreError::TooLarge { .. }) => {
                "give the trace of one pull; 16 MiB hold half an hour at 10 kHz"
            }
            OpenError::Store(_) => "give a file with the trace of a pull that may be read",
            OpenError::Codec { error: CodecError::NoTrace, .. } => {
                "give a file that leverarm wrote as the trace of a pull; its name ends with .ltrc"
            }
            OpenError::Codec { error: CodecError::Version { .. }, .. } => {
                "open it with the version of leverarm that wrote it, or a later one"
            }
            OpenError::Codec { error: CodecError::CutOff { .. } | CodecError::Count { .. }, .. } => {
                "its end is missing: copy it again from the run folder, or from the backup"
            }
            OpenError::Codec { .. } => {
                "the file is damaged: copy it again from the run folder, or from the backup"
            }
            OpenError::Empty { .. } => {
                "the instrument sent nothing during this pull; there is nothing to draw"
            }
            OpenError::Duration { .. } | OpenError::Torque { .. } => {
                "no pull is like this: the file is damaged, or something else than a bench wrote it"
            }
        }
    }
}

/// Opens a trace.
///
/// # Errors
/// [`OpenError`] where it is none, or none that can be drawn.
pub fn open(store: &dyn Store, path: &str) -> Result<Trace, OpenError> {
    of_bytes(path, &store.read(path, BYTES_MAX)?)
}

/// The bytes of a file as a trace; `path` names it in errors.
///
/// # Errors
/// [`OpenError`] where it is none, or none that can be drawn.
pub fn of_bytes(path: &str, bytes: &[u8]) -> Result<Trace, OpenError> {
    let path = || path.to_owned();
    let trace = codec::decode(bytes).map_err(|error| OpenError::Codec { path: path(), error })?;
    if trace.is_empty() {
        return Err(OpenError::Empty { path: path() });
    }
    let seconds = duration_s(&trace);
    if !(0.0..=DURATION_MAX_S).contains(&seconds) {
        return Err(OpenError::Duration { path: path(), seconds });
    }
    let most = TORQUE_MAX_NM / trace.unit().newton_metres();
    match trace.values().iter().position(|value| value.abs() > most) {
        Some(index) => {
            let value = trace.values().get(index).copied().unwrap_or_default();
            Err(OpenError::Torque { path: path(), index, torque: Torque::new(value, trace.unit()) })
        }
        None => Ok(trace),
    }
}

/// From the first sample to the last, in seconds.
#[must_use]
pub fn duration_s(trace: &Trace) -> f64 {
    since_first_s(trace, trace.len().saturating_sub(1))
}

/// The time of a sample since the first one, in seconds: no digit is lost to a clock that started
/// long ago.
#[must_use]
pub fn since_first_s(trace: &Trace, index: usize) -> f64 {
    match trace.timing() {
        Timing::Uniform { rate_hz, .. } => index as f64 / rate_hz,
        Timing::Explicit { times_s } => match (times_s.first(), times_s.get(index)) {
            (Some(first), Some(time)) => time - first,
            _ => 0.0,
        },
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use leverarm_metrology::quantity::TorqueUnit;
    use leverarm_pull::codec::encode;

    use super::*;
    use crate::ingest::store::Memory;

    fn opened(unit: TorqueUnit, timing: Timing, values: Vec<f64>) -> Result<Trace, OpenError> {
        of_bytes("a.ltrc", &encode(&Trace::new(unit, timing, values).unwrap()))
    }

    fn even(rate_hz: f64) -> Timing {
        Timing::Uniform { start_s: 5.0, rate_hz }
    }

    #[test]
    fn what_is_no_trace_is_named_and_helped() {
        let good = encode(&Trace::new(TorqueUnit::NewtonMetre, even(10.0), vec![1.0, 2.5]).unwrap());
        let mut later = good.clone();
        later[4] = 2;
        for (bytes, says, mend) in [
            (b"hello".to_vec(), "does not begin with LTRC", ".ltrc"),
            (Vec::new(), "does not begin with LTRC", ".ltrc"),
            (later, "version 2", "later one"),
            (good[..good.len() - 1].to_vec(), "ends at byte 26", "its end is missing"),
            (good[..good.len() - 3].to_vec(), "2 samples are announced", "its end is missing"),
            ([good.as_slice(), b"x"].concat(), "1 bytes follow", "damaged"),
        ] {
            let error = of_bytes("a.ltrc", &bytes).unwrap_err();
            assert!(error.to_string().contains(says) && error.remedy().contains(mend), "{error}");
        }
    }

    #[test]
    fn a_value_that_is_no_number_is_refused() {
        // A column of bits holds any double; this one is a NaN.
        let mut bytes = b"LTRC\x01\x00\x00".to_vec();
        bytes.extend(0.0_f64.to_le_bytes());
        bytes.extend(100.0_f64.to_le_bytes());
        bytes.extend([1, 255, 0x00]);
        bytes.extend(f64::NAN.to_bits().to_be_bytes());
        let error = of_bytes("a.ltrc", &bytes).unwrap_err();
        assert!(error.to_string().contains("no number"), "{error}");
    }

    #[test]
    fn absurd_traces_are_refused_and_long_ones_are_not() {
        let nm = TorqueUnit::NewtonMetre;
        assert!(matches!(opened(nm, even(10.0), vec![]), Err(OpenError::Empty { .. })));
        let slow = opened(nm, even(1e-300), vec![0.0, 1.0]);
        assert!(matches!(slow, Err(OpenError::Duration { .. })));
        let apart = Timing::Explicit { times_s: vec![-1.7e308, 1.7e308] };
        assert!(matches!(opened(nm, apart, vec![0.0, 1.0]), Err(OpenError::Duration { .. })));
        let huge = opened(TorqueUnit::KilonewtonMetre, even(10.0), vec![0.0, 2e6]);
        assert!(matches!(huge, Err(OpenError::Torque { index: 1, .. })));
        assert_eq!(opened(nm, even(10.0), vec![2e6; 1000]).unwrap().len(), 1000);
    }

    #[test]
    fn a_count_of_samples_that_is_not_there_takes_no_memory() {
        let mut bytes = b"LTRC\x01\x00\x01".to_vec();
        bytes.extend([0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x01]);
        let error = of_bytes("a.ltrc", &bytes).unwrap_err();
        assert!(matches!(error, OpenError::Codec { error: CodecError::Count { .. }, .. }), "{error}");
    }

    #[test]
    fn a_file_that_is_too_large_is_not_read() {
        let store = Memory::new().with("a.ltrc", vec![0; BYTES_MAX as usize + 1]);
        let error = open(&store, "a.ltrc").unwrap_err();
        assert!(matches!(error, OpenError::Store(StoreError::TooLarge { .. })), "{error}");
        assert!(error.remedy().contains("16 MiB"));
    }

    #[test]
    fn times_run_from_the_first_sample() {
        let clock = vec![1.7e9, 1.7e9 + 0.5, 1.7e9 + 2.0];
        let trace =
            opened(TorqueUnit::NewtonMetre, Timing::Explicit { times_s: clock }, vec![0.0; 3]).unwrap();
        assert_eq!((since_first_s(&trace, 1), duration_s(&trace)), (0.5, 2.0));
    }
}
