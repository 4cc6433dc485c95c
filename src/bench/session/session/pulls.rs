//! Samples, the pulls in them, and what becomes of each.

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::quantity::{Percent, Torque};
use leverarm_metrology::reading::{Recorded, Series};
use leverarm_metrology::sequence::{Readings, Step};
use leverarm_pull::detector::{Event, Pull};

use super::{Cue, Effect, Link, News, Session, TraceFile};
use crate::digits;
use crate::entry::{Did, Taking, TraceRef};
use crate::journal;
use crate::judge::{self, Cut, Verdict};
use crate::plan::Indicated;
use crate::text;
use crate::view::Tone;
use crate::watch::{Alarm, Watch};
use crate::words;

type Now = DateTime<FixedOffset>;

/// An unloaded display that stands beyond this share of the target has a load on it.
const LOADED: Percent = Percent::new(5.0);

/// A pull that is over and judged.
#[derive(Debug, Clone)]
pub(super) struct Held {
    verdict: Verdict,
    trace: Vec<u8>,
    step: usize,
}

impl Session {
    pub(super) fn sample(&mut self, time_s: f64, recorded: Recorded, now: Now, out: &mut Vec<Effect>) {
        if recorded.unit() != self.plan.instrument.step.unit() {
            self.wrong_unit(recorded, out);
            return;
        }
        self.live = Some(recorded);
        if self.link != Link::Speaks {
            self.link = Link::Speaks;
        }
        if self.at_zero {
            self.rest.push(time_s, recorded.value());
        }
        let Some(watch) = &mut self.watch else { return };
        let alarm = watch.push(time_s, recorded, &mut self.events);
        if let Some(alarm) = alarm {
            self.alarmed(alarm, now, out);
        }
        if !self.events.is_empty() {
            self.hear(None, now, out);
        }
    }

    fn wrong_unit(&mut self, recorded: Recorded, out: &mut Vec<Effect>) {
        let wanted = self.plan.instrument.step.unit();
        let message = format!("the display speaks {}, and {wanted} was expected", recorded.unit());
        let link = Link::Troubled { message, remedy: format!("set the display to {wanted}") };
        if self.link != link {
            self.link = link;
            self.sound(Cue::Trouble, out);
        }
    }

    fn alarmed(&mut self, alarm: Alarm, now: Now, out: &mut Vec<Effect>) {
        match alarm {
            Alarm::Limit => {
                let step = self.plan.instrument.step;
                let limit = digits::words(self.plan.limit.torque, step);
                self.say(Tone::Bad, format!("Let go: the torque is above {limit}."));
                self.sound(Cue::Stop, out);
            }
            Alarm::WrongWay => {
                let way = self.aimed().map(|(_, readings)| readings.direction);
                if let Some(way) = way {
                    let other = words::other_way(way);
                    self.say(Tone::Caution, format!("The torque goes {other}; {way} is asked."));
                    self.sound(Cue::Stop, out);
                }
            }
            Alarm::TooLong => self.cut_short(Cut::TooLong, now, out),
            Alarm::Clock => self.cut_short(Cut::Clock, now, out),
        }
    }

    /// The step of the watch.
    fn aimed(&self) -> Option<(usize, &Readings)> {
        let at = self.watched_step;
        Some((at, self.plan.steps.get(at).and_then(Step::readings)?))
    }

    /// Follows what the detector said.
    fn hear(&mut self, cut: Option<Cut>, now: Now, out: &mut Vec<Effect>) {
        let mut events = std::mem::take(&mut self.events);
        for event in events.drain(..) {
            let Some(watch) = &mut self.watch else { continue };
            watch.note(&event);
            match event {
                Event::Ready(zero) => self.made_ready(zero.torque),
                // the detector has no zero yet, and takes the load for a pull from nothing
                Event::Started(point) if watch.began_loaded(LOADED.fraction()) => {
                    self.made_ready(point.torque)
                }
                Event::Slowly(_) => self.sound(Cue::Slowly, out),
                Event::Done(pull) => self.done(&pull, cut, now, out),
                _ => {}
            }
        }
        // its memory serves again
        self.events = events;
    }

    /// The display stands at this torque before the pull: at zero, or with a load on.
    fn made_ready(&mut self, zero: Torque) {
        let Some((at, readings)) = self.aimed() else { return };
        if zero.abs() <= readings.target.torque().share(LOADED).abs() {
            self.told_loaded = false;
            return;
        }
        let watch = Watch::new(&self.plan, readings).ok();
        let shown = digits::words(zero, self.plan.instrument.step);
        (self.watch, self.watched_step) = (watch, at);
        if !std::mem::replace(&mut self.told_loaded, true) {
            self.say(Tone::Caution, format!("Take the load off: the display stands at {shown}."));
        }
    }

    /// A pull is over.
    fn done(&mut self, pull: &Pull, cut: Option<Cut>, now: Now, out: &mut Vec<Effect>) {
        let Some(watch) = &mut self.watch else { return };
        let was_pressed = watch.was_pressed;
        let trace = watch.take_trace(pull);
        let Some((step, readings)) = self.aimed() else { return };
        let verdict = judge::judge(&self.plan, readings, pull, was_pressed, cut);
        let held = Held { verdict, trace, step };
        if self.pending.is_none() {
            self.conclude(held, now, out);
        } else if self.held.is_none() {
            // the disk is still at work on what was before
            self.held = Some(held);
        } else {
            self.say(Tone::Bad, "That pull was lost: the disk is too slow. Wait for it.".to_owned());
        }
    }

    /// What becomes of a pull: an entry.
    pub(super) fn conclude(&mut self, held: Held, now: Now, out: &mut Vec<Effect>) {
        let Held { verdict, trace, step } = held;
        let at = self.record.step(&self.plan);
        let readings = self.plan.steps.get(step).and_then(Step::readings);
        let Some(readings) = readings else { return };
        // A pull that was made before the one before it was on disk, and is one too many.
        let is_surplus = at != step || self.question.is_some();
        let verdict = match verdict {
            Verdict::Taken { reference, .. } | Verdict::Voided { reference, .. } if is_surplus => {
                Verdict::Disregarded {
                    peak: reference.to_string(),
                    reason: "it was pulled before it was asked for".to_owned(),
                }
            }
            other => other,
        };
        let number = self.next_number();
        let file = match verdict {
            Verdict::Disregarded { .. } => format!("traces/none-{:04}.ltrc", self.record.entries + 1),
            _ => format!("traces/{number:04}.ltrc"),
        };
        let reference = TraceRef { file: file.clone(), sha256: journal::sha256(&trace) };
        let file = TraceFile { file, bytes: trace };
        let taking = |shown: Recorded, seconds, note, is_valid| Taking {
            number,
            step,
            series: readings.series.word().to_owned(),
            position: readings.position.clone(),
            direction: readings.direction,
            target: readings.target.to_string(),
            indicated: self.indicated(readings, is_valid),
            reference: shown.to_string(),
            seconds,
            trace: Some(reference.clone()),
            note,
        };
        let (did, advice) = match verdict {
            Verdict::Taken { reference: shown, seconds, note } => {
                (Did::Taken { reading: taking(shown, seconds, note, true) }, String::new())
            }
            Verdict::Voided { reference: shown, seconds, reason, advice } => {
                let note = self.void_note(readings);
                (Did::Voided { reading: taking(shown, seconds, note, false), reason }, advice)
            }
            Verdict::Disregarded { peak, reason } => {
                (Did::Disregarded { step, peak, reason, trace: reference }, String::new())
            }
        };
        self.write_with(did, Some(file), advice, now, out);
    }

    /// What the tool is known to have been at, when the pull is over.
    fn indicated(&self, readings: &Readings, is_valid: bool) -> Option<String> {
        let is_preload = readings.series == Series::Preload;
        match self.plan.indicated {
            Indicated::Stored => None,
            Indicated::Typed if is_valid && !is_preload => None,
            // Nobody reads the tool at a pull that does not count: the note says so.
            _ => Some(readings.target.to_string()),
        }
    }

    fn void_note(&self, readings: &Readings) -> String {
        let is_unread = matches!(self.plan.indicated, Indicated::Typed | Indicated::AtTarget)
            && readings.series != Series::Preload;
        if is_unread {
            "the tool was not read: the target stands in its place".to_owned()
        } else {
            String::new()
        }
    }

    pub(super) fn is_pulling(&self) -> bool {
        self.watch.as_ref().is_some_and(Watch::is_pulling)
    }

    /// Ends the pull that is under way, and begins to watch anew.
    pub(super) fn cut_short(&mut self, cut: Cut, now: Now, out: &mut Vec<Effect>) {
        if let Some(watch) = &mut self.watch {
            watch.finish(&mut self.events);
        }
        self.hear(Some(cut), now, out);
        let watch = self.aimed().and_then(|(_, readings)| Watch::new(&self.plan, readings).ok());
        if self.watch.is_some() {
            self.watch = watch;
        }
    }

    pub(super) fn news(&mut self, news: News, now: Now, out: &mut Vec<Effect>) {
        match news {
            News::Connected => {
                self.link = Link::Speaks;
                self.rest.clear();
                self.cut_short(Cut::Lost, now, out);
                // whoever was told to pull may have pulled unseen
                if self.is_armed && self.question.is_none() && self.pending.is_none() {
                    self.advance(out);
                }
            }
            News::Lost { message, remedy } => {
                let fit = |words: &str| text::fit(words, text::TYPED_MAX);
                self.link = Link::Troubled { message: fit(&message), remedy: fit(&remedy) };
                self.live = None;
                self.rest.clear();
                self.cut_short(Cut::Lost, now, out);
                self.sound(Cue::Trouble, out);
            }
            News::Silent { seconds } => {
                self.link = Link::Troubled {
                    message: format!("nothing has come for {seconds} s"),
                    remedy: "see that the display is on and sends".to_owned(),
                };
                self.live = None;
                self.rest.clear();
                self.sound(Cue::Trouble, out);
            }
            News::Misread { message } => {
                self.misread = self.misread.saturating_add(1);
                let message = text::fit(&message, text::TYPED_MAX);
                // said at the first one and then ever more rarely: a noisy line must not hide all else
                if self.misread.is_power_of_two() {
                    let count = self.misread;
                    self.say(Tone::Caution, format!("Not understood ({count} in all): {message}"));
                }
            }
        }
    }
}
