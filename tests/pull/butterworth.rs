//! The filter against published coefficients and against scipy 1.17.1.
//!
//! ```text
//! python3 -c "
//! from scipy.signal import butter, lfilter, freqz; import numpy as np
//! for n, fc, fs in [(2, 20, 1000), (4, 20, 1000), (2, 100, 500), (4, 1000, 10000)]:
//!     b, a = butter(n, fc, fs=fs)
//!     print(butter(n, fc, fs=fs, output='sos'))
//!     print(lfilter(b, a, np.ones(40))[[0, 1, 2, 5, 10, 20, 39]])
//!     print(abs(freqz(b, a, worN=[fc / 4, fc / 2], fs=fs)[1]))"
//! ```

use leverarm_metrology::quantity::Percent;
use leverarm_pull::butterworth::{Butterworth, FilterError, Order, cutoff_for};

/// Order, cut-off, rate; denominators of the sections, in ascending damping; the step response at
/// 0, 1, 2, 5, 10, 20, 39; the gain at a quarter and half of the cut-off.
type Row = (Order, f64, f64, &'static [[f64; 2]], [f64; 7], [f64; 2]);

#[allow(clippy::excessive_precision)] // as scipy printed them
const SCIPY: [Row; 4] = [
    (
        Order::Second,
        20.0,
        1000.0,
        &[[-1.822694925196308, 0.8371816512560226]],
        [
            0.0036216815149286417,
            0.017466265062723637,
            0.043290393440683146,
            0.17057853939000764,
            0.4497789558338855,
            0.8839917192945765,
            1.0387845806182003,
        ],
        [0.9980621464447432, 0.97025507316964],
    ),
    (
        Order::Fourth,
        20.0,
        1000.0,
        &[[-1.7783134881394349, 0.79244747183294684], [-1.8934156010225003, 0.90846441294929525]],
        [
            1.32937288987529e-05,
            0.00011527961559474818,
            0.0005021339392403633,
            0.007038070289852433,
            0.061637000578322006,
            0.4086570042846704,
            1.0814451515242587,
        ],
        [0.9999924456934963, 0.9980678673399598],
    ),
    (
        Order::Second,
        100.0,
        500.0,
        &[[-0.3695273773512414, 0.19581571265583306]],
        [
            0.20657208382614792,
            0.6960502918487009,
            1.0430479143467908,
            0.9924149741868282,
            1.000013525616749,
            1.000000068832376,
            0.9999999999999862,
        ],
        [0.9988726960142709, 0.9805806756909204],
    ),
    (
        Order::Fourth,
        1000.0,
        10_000.0,
        &[[-1.0485995763626117, 0.2961403575616696], [-1.3209134308194264, 0.6327387928852766]],
        [
            0.004824343357716228,
            0.03555306112580201,
            0.12614774308068488,
            0.7521910241370505,
            1.0698895361162044,
            1.0084355957888145,
            1.000058725686779,
        ],
        [0.9999940757818049, 0.9984098979787568],
    ),
];

fn close(got: f64, wanted: f64, what: &str) {
    assert!((got - wanted).abs() <= 2e-11 * wanted.abs().max(1.0), "{what}: {got} for {wanted}");
}

#[test]
fn polynomials_of_the_handbooks() {
    // s² + 1.4142 s + 1; (s² + 0.7654 s + 1)(s² + 1.8478 s + 1)
    let rounded =
        |order: Order| order.prototype().iter().map(|a| (a * 1e4).round() as i32).collect::<Vec<_>>();
    assert_eq!(rounded(Order::Second), [14_142]);
    assert_eq!(rounded(Order::Fourth), [18_478, 7_654]);
}

#[test]
fn coefficients_step_response_and_gain_of_scipy() {
    for (order, cutoff, rate, denominators, step, gain) in SCIPY {
        let mut filter = Butterworth::new(order, cutoff, rate).unwrap();
        for (section, wanted) in filter.sections().zip(denominators) {
            close(section.denominator[0], wanted[0], "a1");
            close(section.denominator[1], wanted[1], "a2");
        }
        close(filter.gain_at(cutoff / 4.0), gain[0], "gain at a quarter");
        close(filter.gain_at(cutoff / 2.0), gain[1], "gain at half");
        close(20.0 * filter.gain_at(cutoff).log10(), -3.010_299_956_639_812, "decibels at the cut-off");
        filter.rest_at(0.0);
        let response: Vec<f64> = (0..40).map(|_| filter.step(1.0)).collect();
        for (index, wanted) in [0, 1, 2, 5, 10, 20, 39].into_iter().zip(step) {
            close(response[index], wanted, "step response");
        }
    }
}

#[test]
fn begins_at_rest_and_says_what_it_cannot_be() {
    let mut filter = Butterworth::new(Order::Fourth, 50.0, 1000.0).unwrap();
    for _ in 0..100 {
        close(filter.step(12.5), 12.5, "rest");
    }
    let nyquist_hz = 500.0;
    assert_eq!(
        Butterworth::new(Order::Second, 500.0, 1000.0),
        Err(FilterError::CutOff { given_hz: 500.0, nyquist_hz })
    );
    assert!(Butterworth::new(Order::Second, f64::NAN, 1000.0).is_err());
    assert!(Butterworth::new(Order::Second, 10.0, 0.0).is_err());
}

/// The filtered ramp lags by exactly rate × delay; a sinusoid at the cut-off loses 29.3 %.
#[test]
fn delay_of_a_ramp() {
    for order in [Order::Second, Order::Fourth] {
        let mut filter = Butterworth::new(order, 30.0, 1000.0).unwrap();
        let last = (0..2000).map(|i| filter.step(f64::from(i) * 0.05)).last().unwrap();
        close(1999.0 * 0.05 - last, 50.0 * filter.ramp_delay_s(), "lag");
        close(filter.swing_error(30.0).value(), 29.289_321_881_345_25, "loss");
        let needed = cutoff_for(order, Percent::new(40.0), Percent::new(0.5));
        let fine = Butterworth::new(order, needed, 1.0e5).unwrap();
        assert!((fine.peak_error(Percent::new(40.0)).value() - 0.5).abs() < 1e-4);
    }
}

/// A ramp to 100 that then stands, turns back or drops at once: the peak of the output lies within
/// the bound, for any cut-off and rise, and for a drop from 1 % to 20 % that lasts.
#[test]
fn peak_error_is_a_bound() {
    let rate = 2000.0;
    for order in [Order::Second, Order::Fourth] {
        for cutoff in [5.0, 20.0, 100.0, 400.0] {
            for rise in [5.0, 15.0, 40.0] {
                let bound =
                    Butterworth::new(order, cutoff, rate).unwrap().peak_error(Percent::new(rise)).value();
                let after: [&dyn Fn(f64) -> f64; 6] = [
                    &|_| 100.0,
                    &|t| 100.0 - rise * t,
                    &|t| (100.0 - 1000.0 * t).max(0.0),
                    &|_| 99.0,
                    &|_| 95.0,
                    &|_| 80.0,
                ];
                for (number, fall) in after.iter().enumerate() {
                    let mut filter = Butterworth::new(order, cutoff, rate).unwrap();
                    filter.rest_at(0.0);
                    let top_s = 100.0 / rise;
                    let count = ((top_s + 3.0) * rate) as usize;
                    let torque = |i: usize| {
                        let t = i as f64 / rate;
                        if t <= top_s { rise * t } else { fall(t - top_s) }
                    };
                    let peak = (0..count).map(|i| filter.step(torque(i))).fold(0.0, f64::max);
                    let error = (peak - 100.0).abs();
                    assert!(
                        error <= bound + rise / rate,
                        "{order:?} {cutoff} {rise} {number}: {error} > {bound}"
                    );
                }
            }
        }
    }
}
