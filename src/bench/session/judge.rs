//! Whether a pull is a reading, in words with numbers.

use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::{Recorded, Series};
use leverarm_metrology::sequence::Readings;
use leverarm_metrology::tool::Acting;
use leverarm_pull::detector::{Flaw, Mode, Pull};

use crate::digits;
use crate::plan::Plan;

/// A movement that stays below this share of the target is no pull: common practice, no published
/// source.
const BUMP: Percent = Percent::new(30.0);

/// What cut a pull short, from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Cut {
    /// the instrument was lost
    Lost,
    /// it lasted too long for its samples to be kept
    TooLong,
    /// a key ended it
    Key,
    /// the instrument's clock began anew
    Clock,
}

impl Cut {
    const fn words(self) -> &'static str {
        match self {
            Cut::Lost => "the instrument was lost during the pull",
            Cut::TooLong => "the pull lasted too long to be kept",
            Cut::Key => "the pull was broken off by a key",
            Cut::Clock => "the instrument's clock began anew during the pull",
        }
    }
}

/// What is thought of a pull.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Verdict {
    /// it counts
    Taken { reference: Recorded, seconds: Option<String>, note: String },
    /// it is a reading that does not count
    Voided { reference: Recorded, seconds: Option<String>, reason: String, advice: String },
    /// it is none
    Disregarded { peak: String, reason: String },
}

/// Judges a pull.
pub(crate) fn judge(
    plan: &Plan,
    readings: &Readings,
    pull: &Pull,
    was_pressed: bool,
    cut: Option<Cut>,
) -> Verdict {
    let step = plan.instrument.step;
    let sign = plan.sign(readings.direction);
    let along = |torque: Torque| Torque::from_newton_metres(torque.newton_metres() * sign);
    let peak = along(pull.peak.torque);
    let target = readings.target.torque().abs();
    let peak_words = digits::words(peak, step);
    if peak < target.share(BUMP) {
        let reason = format!(
            "{peak_words} is under {BUMP} of the target of {}: no pull, and no reading",
            readings.target
        );
        return Verdict::Disregarded { peak: peak_words, reason };
    }
    // a tracked value that nobody took by the key is none: the tool may have shown anything
    let read = pull.reading().filter(|_| pull.mode != Mode::Track || was_pressed).map(along);
    let mut flaws: Vec<(String, &'static str)> = Vec::new();
    if let Some(cut) = cut.filter(|cut| *cut != Cut::Key || !pull.flaws.is_empty()) {
        flaws.push((cut.words().to_owned(), "pull again"));
    }
    for flaw in pull.flaws.iter().filter(|flaw| counts(flaw, readings, pull, plan, read)) {
        flaws.push(words(flaw, readings, step, along));
    }
    if pull.mode == Mode::Track && !was_pressed {
        flaws.push((
            "the key was not pressed while the tool showed the target".to_owned(),
            "hold the tool at the target and press Enter",
        ));
    }
    short_preload(plan, readings, peak, &mut flaws);
    let seconds = pull.loading.map(|loading| format!("{:.3}", loading.seconds));
    let Some(reference) = digits::at_step(read.unwrap_or(peak), step) else {
        let reason = "its torque is beyond all that a display shows".to_owned();
        return Verdict::Disregarded { peak: peak_words, reason };
    };
    if read.is_none() && flaws.is_empty() {
        flaws.push(("there is no reading in it".to_owned(), "pull again"));
    }
    if flaws.is_empty() {
        let note = above_limit(plan, peak, step);
        return Verdict::Taken { reference, seconds, note };
    }
    let reasons: Vec<&str> = flaws.iter().map(|(reason, _)| reason.as_str()).collect();
    let mut advice: Vec<&str> = flaws.iter().map(|(_, advice)| *advice).collect();
    advice.dedup();
    Verdict::Voided { reference, seconds, reason: reasons.join("; "), advice: advice.join("; ") }
}

/// A reading that counts although the reference went above the limit: the tool itself reads low, as a
/// worn one does. Said, for whoever reads the record.
fn above_limit(plan: &Plan, peak: Torque, step: Recorded) -> String {
    if peak > plan.limit.torque {
        let (peak, limit) = (digits::words(peak, step), digits::words(plan.limit.torque, step));
        format!("the reference went to {peak}, above the limit of {limit}")
    } else {
        String::new()
    }
}

/// An indicating tool that was preloaded too low.
fn short_preload(plan: &Plan, readings: &Readings, peak: Torque, flaws: &mut Vec<(String, &'static str)>) {
    let is_indicating = plan.tool.class.acting() == Acting::Indicating;
    let least = readings.target.torque().share(Percent::new(100.0 - plan.permissible.value()));
    if readings.series == Series::Preload && is_indicating && peak < least && flaws.is_empty() {
        let step = plan.instrument.step;
        let (peak, least) = (digits::words(peak, step), digits::words(least, step));
        flaws.push((
            format!("it went to {peak} only, and {least} are the least for a preload"),
            "pull to the maximum",
        ));
    }
}

/// Whether a flaw makes a pull void. A preload settles tool and device: how long it took, how evenly,
/// and what the zero does then is no matter.
///
/// The limit protects the tool. Where the tool itself released, or was read, above it, the torque is the
/// tool's own deviation and is to be on record as it is; where the hand went on above it, the pull is
/// void. A peak is not told from a hand that went on: what the tool showed, which is typed, tells it.
fn counts(flaw: &Flaw, readings: &Readings, pull: &Pull, plan: &Plan, read: Option<Torque>) -> bool {
    let is_preload = readings.series == Series::Preload;
    match flaw {
        Flaw::Overshoot { .. } if is_preload && pull.mode == Mode::Peak => true,
        Flaw::Overshoot { .. } => match pull.mode {
            Mode::Peak => false,
            Mode::FirstPeak | Mode::Track => read.is_none_or(|read| read <= plan.limit.torque),
        },
        Flaw::TargetNotReached { .. } | Flaw::NeverReleased | Flaw::Clipped { .. } | Flaw::Gap { .. } => true,
        _ => !is_preload,
    }
}

fn words(
    flaw: &Flaw,
    readings: &Readings,
    step: Recorded,
    along: impl Fn(Torque) -> Torque,
) -> (String, &'static str) {
    let torque = |torque: Torque| digits::words(along(torque), step);
    let size = |torque: Torque| digits::words(torque.abs(), step);
    match flaw {
        Flaw::TooFast { seconds, window } => {
            (took(*seconds, "at least", window.seconds_min), "from 80 % on pull more slowly")
        }
        Flaw::TooSlow { seconds, window } => {
            let most = window.seconds_max.unwrap_or(window.seconds_min);
            (took(*seconds, "at most", most), "from 80 % on pull a little faster, without a stop")
        }
        Flaw::TargetNotReached { peak } => (
            format!("it went to {} only, under 80 % of the target of {}", torque(*peak), readings.target),
            "look at the setting of the tool, and pull through",
        ),
        Flaw::Jerky { reversals, largest } => (
            format!(
                "the torque fell back {} before the reading, by up to {}",
                times(*reversals),
                size(*largest)
            ),
            "pull evenly, without setting down",
        ),
        Flaw::DoubleClick { first, second } => (
            format!("the tool released twice, at {} and at {}", torque(first.torque), torque(second.torque)),
            "let go at the first release",
        ),
        Flaw::NeverReleased => ("the tool never released".to_owned(), "pull on until it releases"),
        Flaw::Overshoot { peak, limit } => (
            format!("it went to {}, above the limit of {}", torque(*peak), size(*limit)),
            "let go at once: the tool may be overloaded, see that it still works",
        ),
        Flaw::NoZeroBefore { samples } => (
            format!("there was no zero before it ({samples} samples)"),
            "take the load off and wait for the sign before you pull",
        ),
        Flaw::NoReturnToZero { rest } => {
            (format!("{} were left after it", size(*rest)), "take the load off completely")
        }
        Flaw::ZeroDrifted { before, after, limit } => (
            drifted([along(*before), along(*after), *limit].map(|torque| fine(torque, step))),
            "look for a tool that hangs, a side load or a warming amplifier",
        ),
        Flaw::Clipped { range } => (
            format!("the instrument was at its end of {}", size(*range)),
            "take a reference with a larger range",
        ),
        Flaw::SampledTooSlowly { advance, limit } => (
            too_coarse(*advance, *limit),
            "pull more slowly, or let the instrument send more samples a second",
        ),
        Flaw::Gap { seconds } => (
            format!("samples were missing for {seconds:.2} s during the pull"),
            "see to the cable and the load of the computer",
        ),
    }
}

fn took(seconds: f64, side: &str, wanted: f64) -> String {
    format!("80 % to 100 % took {seconds:.2} s, the rulebook wants {side} {wanted} s")
}

fn drifted([before, after, limit]: [String; 3]) -> String {
    format!("the zero went from {before} to {after}, more than {limit}")
}

fn too_coarse(advance: Percent, limit: Percent) -> String {
    let advance = advance.value();
    format!(
        "the torque rose by {advance:.2} % from one sample to the next, and {limit} are the most at which a first peak is known"
    )
}

/// One digit more than the display has: a zero that drifted by a part of a step is else not seen.
fn fine(torque: Torque, step: Recorded) -> String {
    format!("{:.*} {}", step.decimals() as usize + 1, torque.in_unit(step.unit()), step.unit())
}

fn times(count: u32) -> String {
    match count {
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    }
}
