//! What cannot be is refused, with the value and a remedy.

use leverarm_rig::{Command, CommandError, Mistakes, Operator, Rig, Settings, SettingsError, Tool};
use proptest::prelude::*;

use super::{ideal, nm, with_tool};

fn refusal(change: impl FnOnce(&mut Settings)) -> SettingsError {
    let mut settings = ideal(1, 1000);
    change(&mut settings);
    Rig::new(settings).unwrap_err()
}

#[test]
fn settings_that_cannot_be() {
    let error = refusal(|settings| settings.sample_rate_hz = 19);
    assert_eq!(error.to_string(), "the sample rate of the simulated bench is 19; it can be 20 to 10000 Hz");
    assert!(matches!(
        refusal(|settings| settings.transducer.tau_s = f64::NAN),
        SettingsError::OutOfRange { .. }
    ));
    let error = refusal(|settings| settings.operator.mistakes = Mistakes::each(0.3));
    assert!(matches!(error, SettingsError::Mistakes { sum } if (sum - 1.2).abs() < 1e-12));
    assert!(error.remedy().contains("one mistake"));
    let settings = with_tool(ideal(1, 1000), |tool| tool.drop_percent = 25.0);
    assert!(Rig::new(settings).is_err());
}

#[test]
fn commands_that_cannot_be() {
    let mut rig = Rig::new(ideal(1, 1000)).unwrap();
    for target in [0.0, f64::NAN, f64::INFINITY, 201.0] {
        let refused = rig.command(Command::Pull { target: nm(target), at_s: 0.0 });
        assert!(matches!(refused, Err(CommandError::Target { .. })), "{target}");
    }
    let refused = rig.command(Command::Preload { target: nm(100.0), at_s: f64::NAN });
    assert!(matches!(refused, Err(CommandError::Time { .. })));
    let operator = Operator { smoothing_s: 0.0, ..Operator::steady() };
    assert!(matches!(rig.command(Command::ChangeOperator(operator)), Err(CommandError::Operator(_))));
    assert!(!rig.is_ordered());
    let mut dial = Rig::new(Settings::new(Tool::dial_wrench(nm(100.0)), 1)).unwrap();
    assert_eq!(dial.command(Command::SetTool { torque: nm(50.0) }), Err(CommandError::NothingToSet));
}

proptest! {
    /// Whatever the numbers are: refused, or every sample is a number and the pull comes to its end.
    #[test]
    fn no_setting_breaks_the_rig(
        seed in any::<u64>(),
        rate in prop::sample::select(vec![0, 20, 33, 1000, 10_000, 48_000]),
        drop in prop::sample::select(vec![0.0, 1.0, 20.0, f64::NAN]),
        natural_hz in prop::sample::select(vec![5.0, 60.0, 500.0, f64::INFINITY]),
        damping in prop::sample::select(vec![0.05, 0.5, 0.95, 1.0]),
        relatch in prop::sample::select(vec![10.0, 75.0]),
        smoothing in prop::sample::select(vec![0.005, 0.06, 1.0]),
        tau in prop::sample::select(vec![0.0, 1e-6, 0.01, 10.0]),
        deviation in prop::sample::select(vec![-50.0, 0.0, 50.0]),
        operator in 0_usize..4,
        target in prop::sample::select(vec![-200.0, -1.0, 0.01, 1.0, 100.0]),
    ) {
        let mut settings = with_tool(ideal(seed, rate), |tool| {
            (tool.drop_percent, tool.natural_hz, tool.damping) = (drop, natural_hz, damping);
            (tool.relatch_percent, tool.deviation_percent) = (relatch, deviation);
        });
        settings.operator = Operator { smoothing_s: smoothing, mistakes: Mistakes::each(0.25), ..Operator::all()[operator] };
        settings.transducer.tau_s = tau;
        let Ok(mut rig) = Rig::new(settings) else { return Ok(()) };
        rig.command(Command::Pull { target: nm(target), at_s: 0.0 }).unwrap();
        let end_s = 120.0;
        rig.next_sample();
        while rig.is_pulling() {
            let sample = rig.next_sample();
            prop_assert!(sample.torque_nm.is_finite() && sample.torque_nm.abs() < 1000.0);
            prop_assert!(sample.time_s < end_s, "a pull without end");
        }
        let truth = rig.truth().unwrap();
        prop_assert!(truth.peak.torque.newton_metres() * target > 0.0);
    }
}
