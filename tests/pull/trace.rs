//! Traces and their bytes.

use leverarm_metrology::quantity::{Torque, TorqueUnit};
use leverarm_pull::codec::{CodecError, decode, encode};
use leverarm_pull::trace::{Timing, Trace, TraceError};
use proptest::prelude::*;

use crate::dice::Dice;
use crate::truth::{Plan, Pull};

const EVEN: Timing = Timing::Uniform { start_s: 0.0, rate_hz: 1000.0 };

fn trace(values: Vec<f64>) -> Trace {
    Trace::new(TorqueUnit::NewtonMetre, EVEN, values).unwrap()
}

fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|value| value.to_bits()).collect()
}

#[test]
fn a_display_takes_little_more_than_a_byte_a_sample() {
    let mut dice = Dice::new(1);
    let mut plan = Plan::draw(&mut dice, true);
    (plan.target, plan.step, plan.noise) = (100.0, 0.0, 0.02);
    plan.release = plan.release.map(|release| crate::truth::Release { torque: 100.0, ..release });
    let pull = Pull::of(plan);
    // as a display with two decimals prints it
    let values: Vec<f64> =
        pull.samples(&mut dice).map(|(_, torque)| format!("{torque:.2}").parse().unwrap()).collect();
    let written =
        values.iter().map(|value| if value.to_bits() == (-0.0_f64).to_bits() { 0.0 } else { *value });
    let trace = trace(written.collect());
    let bytes = encode(&trace);
    assert_eq!(bits(decode(&bytes).unwrap().values()), bits(trace.values()));
    let per_sample = bytes.len() as f64 / trace.len() as f64;
    assert!(per_sample < 1.2, "{per_sample} bytes a sample");
}

#[test]
fn refuses_what_is_none() {
    let new = |timing, values| Trace::new(TorqueUnit::NewtonMetre, timing, values);
    let at = |times_s: &[f64]| Timing::Explicit { times_s: times_s.to_vec() };
    assert_eq!(new(at(&[0.0]), vec![]), Err(TraceError::Counts { times: 1, values: 0 }));
    assert_eq!(
        new(at(&[0.0, 1.0, 1.0]), vec![0.0; 3]),
        Err(TraceError::Order { index: 2, before_s: 1.0, time_s: 1.0 })
    );
    assert!(matches!(new(EVEN, vec![0.0, f64::NAN]), Err(TraceError::NotFinite { index: 1, .. })));
    assert!(new(Timing::Uniform { start_s: 0.0, rate_hz: 0.0 }, vec![]).is_err());
}

#[test]
fn samples_carry_time_and_unit() {
    let timing = Timing::Uniform { start_s: 2.0, rate_hz: 10.0 };
    let trace = Trace::new(TorqueUnit::PoundForceFoot, timing, vec![0.0, 10.0]).unwrap();
    let last = trace.samples().last().unwrap();
    assert_eq!(last.torque, Torque::new(10.0, TorqueUnit::PoundForceFoot));
    assert!((last.time_s - 2.1).abs() < 1e-15);
    assert_eq!(trace.time_s(2), None);
}

#[test]
fn bytes_that_are_no_trace() {
    let good = encode(&trace(vec![1.5, 2.5, 2.25]));
    assert_eq!(decode(b"PK"), Err(CodecError::NoTrace));
    let mut later = good.clone();
    later[4] = 9;
    assert_eq!(decode(&later), Err(CodecError::Version { given: 9, known: 1 }));
    let longer = [good.as_slice(), &[0, 0]].concat();
    assert_eq!(decode(&longer), Err(CodecError::Trailing { count: 2 }));
    for end in 0..good.len() {
        assert!(decode(&good[..end]).is_err(), "cut at {end}");
    }
}

proptest! {
    #[test]
    fn every_bit_comes_back(
        values in prop::collection::vec(prop::num::f64::NORMAL | prop::num::f64::ZERO | prop::num::f64::SUBNORMAL, 0..200),
        unit in prop::sample::select(&TorqueUnit::ALL[..]),
    ) {
        let trace = Trace::new(unit, EVEN, values).unwrap();
        let back = decode(&encode(&trace)).unwrap();
        prop_assert_eq!(bits(back.values()), bits(trace.values()));
        prop_assert_eq!(back, trace);
    }

    #[test]
    fn counts_of_a_display_come_back(counts in prop::collection::vec(-2_000_000_i64..2_000_000, 1..300), places in 0_u32..6) {
        let values: Vec<f64> = counts.iter().map(|n| *n as f64 / f64::from(10_u32.pow(places))).collect();
        let times_s: Vec<f64> = (0..values.len()).map(|i| i as f64 * 0.1 + (i % 3) as f64 * 0.001).collect();
        let trace = Trace::new(TorqueUnit::NewtonMetre, Timing::Explicit { times_s }, values).unwrap();
        let bytes = encode(&trace);
        prop_assert_eq!(decode(&bytes).unwrap(), trace);
    }

    #[test]
    fn any_bytes_are_a_trace_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = decode(&bytes);
        let mut begun = b"LTRC\x01\x00".to_vec();
        begun.extend(bytes);
        let _ = decode(&begun);
    }
}
