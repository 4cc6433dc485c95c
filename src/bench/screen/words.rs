//! The words for a moment of the pull and for its duration.

use leverarm_session::view::{Bar, Instrument, Meter, Phase, Tone, View};

use crate::look::Paint;

/// What is called to the technician.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Call {
    /// for the large type
    pub(crate) large: &'static str,
    /// in a sentence
    pub(crate) words: &'static str,
    pub(crate) paint: Paint,
}

const SETTLING: Call =
    Call { large: "WAIT", words: "hands off: the zero is being taken", paint: Paint::Caution };
const READY: Call = Call { large: "PULL", words: "the pull may begin", paint: Paint::Target };
const STEADY: Call =
    Call { large: "STEADY", words: "unloaded, and the display stands still", paint: Paint::Good };
const PULLING: Call = Call { large: "GO ON", words: "the torque rises", paint: Paint::Strong };
const SLOWLY: Call =
    Call { large: "SLOWLY", words: "80 % is passed: slowly and evenly now", paint: Paint::Caution };
const LET_GO: Call = Call { large: "LET GO", words: "the reading is there: let go", paint: Paint::Good };
const STOP: Call = Call { large: "STOP !", words: "! above the limit: stop and ease off", paint: Paint::Bad };
const CHECK: Call = Call { large: "CHECK", words: "! do not trust this value", paint: Paint::Bad };
const SILENT: Call =
    Call { large: "WAIT", words: "the instrument has shown nothing yet", paint: Paint::Caution };

const CALLS: [Call; 9] = [SETTLING, READY, STEADY, PULLING, SLOWLY, LET_GO, STOP, CHECK, SILENT];

/// Every word that may appear in the large type, so that room is kept for the widest.
pub(crate) fn large_calls() -> impl Iterator<Item = &'static str> {
    CALLS.iter().map(|call| call.large)
}

/// Whether the pull is beyond what it may not exceed.
pub(crate) fn is_over_limit(view: &View) -> bool {
    view.bar.is_some_and(|bar| bar.limit.is_some_and(|limit| bar.value > limit))
}

/// Whether the work in hand is a pull; at a zero and between the steps nobody pulls.
fn is_pulled(view: &View) -> bool {
    view.step.as_ref().is_some_and(|step| step.direction.is_some())
}

/// What to call now; danger before everything else.
pub(crate) fn call(view: &View) -> Call {
    if is_over_limit(view) {
        return STOP;
    }
    if matches!(view.instrument, Instrument::Troubled { .. }) {
        return CHECK;
    }
    match view.live.as_ref().map(|live| live.phase) {
        None => SILENT,
        Some(Phase::Settling) => SETTLING,
        Some(Phase::Ready) if is_pulled(view) => READY,
        Some(Phase::Ready) => STEADY,
        Some(Phase::Pulling) => PULLING,
        Some(Phase::Slowly) => SLOWLY,
        Some(Phase::LetGo) => LET_GO,
    }
}

/// Where the pull is, in words, beside the bar. When it is over the torque falls, and only danger is
/// worth a word.
pub(crate) fn place(bar: &Bar, is_over: bool) -> (&'static str, Tone) {
    let is_above = |end: Option<f64>| end.is_some_and(|end| bar.value > end);
    if is_above(bar.limit) {
        return ("! ABOVE THE LIMIT", Tone::Bad);
    }
    if is_over {
        return ("", Tone::Plain);
    }
    if is_above(bar.highest_accepted) {
        return ("above the window", Tone::Caution);
    }
    match bar.lowest_accepted.filter(|_| !bar.value.is_nan()) {
        Some(lowest) if bar.value >= lowest => ("in the window", Tone::Good),
        Some(_) => ("below the window", Tone::Plain),
        None => ("", Tone::Plain),
    }
}

/// How the loading time stands, in words.
pub(crate) fn loading(meter: &Meter) -> (&'static str, Tone) {
    let is_short = meter.seconds < meter.seconds_min;
    let is_long = meter.seconds_max.is_some_and(|most| meter.seconds > most);
    match (meter.is_running, is_short, is_long) {
        (false, true, _) if meter.seconds <= 0.0 => ("waits for 80 %", Tone::Plain),
        (true, true, _) => ("too fast yet", Tone::Caution),
        (false, true, _) => ("was too fast", Tone::Bad),
        (true, _, true) => ("too slow", Tone::Bad),
        (false, _, true) => ("was too slow", Tone::Bad),
        (true, ..) => ("good", Tone::Good),
        (false, ..) => ("was good", Tone::Good),
    }
}

/// The loading time to a tenth, so rounded that it never contradicts the word beside it: down until the
/// window is passed, up from there on. It is shown, never recorded.
pub(crate) fn tenths(meter: &Meter) -> String {
    let is_long = meter.seconds_max.is_some_and(|most| meter.seconds > most);
    let tenths = meter.seconds * 10.0;
    seconds(if is_long { tenths.ceil() } else { tenths.floor() } / 10.0)
}

/// A time in seconds, however absurd.
pub(crate) fn seconds(value: f64) -> String {
    match value {
        value if value.is_nan() => "? s".to_owned(),
        value if value >= 1000.0 => "over 999 s".to_owned(),
        value if value <= 0.0 => "0.0 s".to_owned(),
        value => format!("{value:.1} s"),
    }
}

#[cfg(test)]
mod tests {
    use leverarm_session::view::{Meter, Tone};

    use super::{loading, tenths};

    fn meter(seconds: f64, is_running: bool) -> Meter {
        Meter { seconds, seconds_min: 0.5, seconds_max: Some(4.0), is_running }
    }

    #[test]
    fn the_word_and_the_digits_agree() {
        for (seconds, word, digits) in [
            (0.0, "too fast yet", "0.0 s"),
            (0.499, "too fast yet", "0.4 s"),
            (0.5, "good", "0.5 s"),
            (3.999, "good", "3.9 s"),
            (4.0, "good", "4.0 s"),
            (4.001, "too slow", "4.1 s"),
        ] {
            let meter = meter(seconds, true);
            assert_eq!(loading(&meter).0, word, "{seconds}");
            assert_eq!(tenths(&meter), digits, "{seconds}");
        }
    }

    #[test]
    fn before_and_after_the_pull() {
        assert_eq!(loading(&meter(0.0, false)), ("waits for 80 %", Tone::Plain));
        assert_eq!(loading(&meter(0.3, false)), ("was too fast", Tone::Bad));
        assert_eq!(loading(&meter(1.0, false)), ("was good", Tone::Good));
        assert_eq!(tenths(&meter(f64::NAN, true)), "? s");
        assert_eq!(tenths(&meter(f64::INFINITY, true)), "over 999 s");
    }
}
