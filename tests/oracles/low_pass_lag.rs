//! The lag of a Butterworth low-pass behind a pull. The oracle is the differential equation of the
//! filter, y⁗ + … = x, solved numerically here by the classical method of Runge and Kutta; it shares
//! nothing with the formula Σa / ω_c.

use leverarm_metrology::budget::{Distribution, Influence, Scope};
use leverarm_metrology::evaluate::evaluate;
use leverarm_metrology::low_pass::{LowPass, Order, SignalChain};
use leverarm_metrology::quantity::{Hertz, Torque};
use leverarm_metrology::reading::{LoadingTime, Series};
use leverarm_metrology::run::Run;

use crate::sample;

/// Butterworth polynomials as handbooks tabulate them, lowest power first, without the leading 1.
const SECOND: [f64; 2] = [1.0, std::f64::consts::SQRT_2];
const FOURTH: [f64; 4] = [1.0, 2.613_125_929_8, 3.414_213_562_4, 2.613_125_929_8];

/// The greatest output of the filter for an even pull from zero to 1 that drops to `after` at once,
/// and its lag just before the release. Time in units of 1 / ω_c.
fn pulled<const N: usize>(polynomial: [f64; N], rate: f64, after: f64) -> (f64, f64) {
    let derivative = |state: [f64; N], x: f64| {
        let mut next = [0.0; N];
        next[..N - 1].copy_from_slice(&state[1..]);
        next[N - 1] = x - state.iter().zip(polynomial).map(|(s, c)| s * c).sum::<f64>();
        next
    };
    let add =
        |state: [f64; N], slope: [f64; N], step: f64| std::array::from_fn(|i| state[i] + step * slope[i]);
    let h = 0.01;
    let release = 1.0 / rate;
    let torque = |t: f64| if t <= release { rate * t } else { after };
    let (mut state, mut greatest, mut lag) = ([0.0; N], 0.0_f64, 0.0);
    let steps = ((release + 30.0) / h) as u32;
    for step in 0..steps {
        let t = f64::from(step) * h;
        if t <= release {
            lag = torque(t) - state[0];
        }
        let k1 = derivative(state, torque(t));
        let k2 = derivative(add(state, k1, h / 2.0), torque(t + h / 2.0));
        let k3 = derivative(add(state, k2, h / 2.0), torque(t + h / 2.0));
        let k4 = derivative(add(state, k3, h), torque(t + h));
        state = std::array::from_fn(|i| state[i] + h / 6.0 * (k1[i] + 2.0 * k2[i] + 2.0 * k3[i] + k4[i]));
        greatest = greatest.max(state[0]);
    }
    (greatest, lag)
}

#[test]
fn the_lag_is_that_of_the_differential_equation_and_bounds_the_peak() {
    for rate in [0.002, 0.01] {
        // released by a fifth, stopped, let go altogether
        for after in [0.8, 1.0, 0.0] {
            for (order, (greatest, lag)) in
                [(Order::Second, pulled(SECOND, rate, after)), (Order::Fourth, pulled(FOURTH, rate, after))]
            {
                let bound = rate * order.ramp_delay_s(1.0);
                assert!((lag - bound).abs() < 1e-3 * bound, "{order:?}: {lag} and {bound}");
                assert!((greatest - 1.0).abs() <= bound * 1.001, "{order:?}: {greatest} and {bound}");
            }
        }
    }
}

fn filtered(loading: &[&str]) -> Run {
    let mut run = sample::wrench(&[[0.1, 0.2, 0.3, 0.2, 0.1]; 3], 0.1);
    run.chain = Some(SignalChain {
        instrument: "I-1".into(),
        rate: Hertz(250.0),
        filter: Some(LowPass { order: Order::Second, cut_off: Hertz(10.0) }),
        journal: None,
    });
    let points = run.readings.iter_mut().filter(|r| r.series == Series::Points);
    for (reading, seconds) in points.zip(loading.iter().cycle()) {
        reading.loading_time = LoadingTime::new(seconds).ok();
    }
    run
}

/// By hand: 1.414214 / (2π · 10 Hz) = 22.508 ms; 20 % in 2 s at the fastest, 10 % a second: 0.22508 % of
/// the target, and of a reference torque that is 0.18 % below it (the mean deviation) 0.22548 %.
#[test]
fn the_line_of_the_budget_is_the_lag_of_the_fastest_pull() {
    let rulebook = sample::rulebook("iso-6789-2");
    let evaluation =
        evaluate(&filtered(&["2.5", "2.0", "3.1", "2.2", "2.4"]), &rulebook, &sample::ideal_reference())
            .unwrap();
    for point in &evaluation.points {
        let budget = &point.uncertainty.as_ref().unwrap().budget;
        let line = budget.lines.iter().find(|line| line.influence == Influence::Filter).unwrap();
        assert_eq!((line.distribution, line.scope), (Distribution::Rectangular, Scope::Common));
        assert!((line.value.value() - 0.22548).abs() < 2e-5, "{}", line.value);
        assert!(budget.missing.iter().all(|missing| *missing != Influence::Filter));
    }
    let error = LowPass { order: Order::Second, cut_off: Hertz(10.0) }
        .peak_error(Torque::from_newton_metres(100.0), 2.0);
    assert!((error.newton_metres() - 0.22508).abs() < 1e-5);
}

#[test]
fn without_a_time_the_line_is_missing_and_without_a_filter_there_is_none() {
    let rulebook = sample::rulebook("iso-6789-2");
    let reference = sample::ideal_reference();
    // one reading of each point lacks its time
    let evaluation = evaluate(&filtered(&["2.5", "2.0", "", "2.2", "2.4"]), &rulebook, &reference).unwrap();
    assert_eq!(evaluation.missing(), [Influence::Filter]);
    let mut plain = filtered(&["2.5"]);
    plain.chain = None;
    let evaluation = evaluate(&plain, &rulebook, &reference).unwrap();
    assert_eq!(evaluation.missing(), []);
    let lines = evaluation.points.iter().filter_map(|p| p.uncertainty.as_ref()).flat_map(|u| &u.budget.lines);
    assert!(lines.into_iter().all(|line| line.influence != Influence::Filter));
}
