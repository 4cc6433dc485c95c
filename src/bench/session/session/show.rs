//! What the screen shows now.

use leverarm_metrology::quantity::Torque;
use leverarm_metrology::reading::Series;
use leverarm_metrology::sequence::{Readings, Step as Work};
use leverarm_pull::detector::Mode;

use super::ask::{Doubt, Question};
use super::{Link, Session};
use crate::digits;
use crate::record::Kept;
use crate::text::Line;
use crate::view::{Ask, Bar, Instrument, KeyHint, Live, Meter, Phase, Row, Step, View};
use crate::watch::Watch;
use crate::words;

impl Session {
    /// What the screen shows now.
    #[must_use]
    pub fn view(&self) -> View {
        let at = self.record.step(&self.plan);
        let work = self.plan.steps.get(at).filter(|_| self.record.finished.is_none());
        let readings = work.and_then(Work::readings);
        let watch = self.watch.as_ref().filter(|_| readings.is_some() && self.watched_step == at);
        View {
            job: format!("{}, {}", self.plan.job, self.plan.condition),
            tool: self.plan.tool_words(),
            technician: self.record.technician.clone(),
            instrument: self.shown_instrument(),
            step: work.map(|work| self.shown_step(at, work)),
            live: self.shown_live(readings, watch),
            bar: readings.zip(watch).map(|(readings, watch)| self.shown_bar(readings, watch)),
            meter: readings.zip(watch).and_then(|(readings, watch)| {
                let pull = readings.pull?;
                let (seconds, is_running) = watch.loading();
                let (seconds_min, seconds_max) = (pull.seconds_min, pull.seconds_max);
                Some(Meter { seconds, seconds_min, seconds_max, is_running })
            }),
            ask: self.asked(),
            rows: self.shown_rows(at),
            said: self.said.iter().cloned().collect(),
            keys: self.hints(),
            has_sound: self.has_sound,
        }
    }

    fn shown_instrument(&self) -> Instrument {
        match &self.link {
            Link::Sought => Instrument::Sought,
            Link::Speaks => Instrument::Speaks { name: self.plan.instrument.name.clone() },
            Link::Troubled { message, remedy } => {
                Instrument::Troubled { message: message.clone(), remedy: remedy.clone() }
            }
        }
    }

    fn shown_step(&self, at: usize, work: &Work) -> Step {
        let readings = work.readings();
        let taken = u32::try_from(self.record.valid(at).count()).unwrap_or(u32::MAX);
        Step {
            number: at + 1,
            steps: self.plan.steps.len(),
            title: words::title(work),
            order: words::order(&self.plan, work),
            how: readings.and_then(|r| r.how.clone()),
            target: readings.map(|r| r.target.to_string()).unwrap_or_default(),
            direction: readings.filter(|r| r.series != Series::Zero).map(|r| r.direction),
            reading: readings.map(|r| taken.saturating_add(1).min(r.count)),
            readings: readings.map_or(0, |r| r.count),
        }
    }

    fn shown_live(&self, readings: Option<&Readings>, watch: Option<&Watch>) -> Option<Live> {
        let recorded = self.live?;
        let phase = match watch {
            Some(watch) if watch.is_above() => Phase::LetGo,
            Some(watch) => watch.phase,
            None => match self.rest.level(self.plan.instrument.step.value()) {
                Some(_) => Phase::Ready,
                None => Phase::Settling,
            },
        };
        // the display's own digits, unless the target is in another unit
        let other = readings.map(|r| r.target).filter(|target| target.unit() != recorded.unit());
        Some(match other {
            None => Live { digits: recorded.digits().to_string(), unit: recorded.unit().to_string(), phase },
            Some(target) => Live {
                digits: digits::in_unit_of(target, recorded.torque(), self.plan.instrument.step),
                unit: target.unit().to_string(),
                phase,
            },
        })
    }

    fn shown_bar(&self, readings: &Readings, watch: &Watch) -> Bar {
        let (display, unit) = (self.plan.instrument.step.unit(), readings.target.unit());
        let of_display = |value: f64| Torque::new(value, display).in_unit(unit);
        // what the display shows, also while the watch begins anew
        let sign = self.plan.sign(readings.direction);
        let value = self.live.map_or(0.0, |recorded| recorded.value() * sign);
        let highest = watch.highest();
        let target = readings.target.value();
        let window = readings.window;
        let highest_accepted = window.and_then(|w| w.highest).map(|t| t.in_unit(unit));
        let limit = self.plan.limit.torque.in_unit(unit);
        // the limit of the tool is shown where the bar comes near it
        let end = (1.1 * target).max(1.03 * highest_accepted.unwrap_or(target));
        let end = if limit < 1.15 * end { end.max(1.03 * limit) } else { end };
        Bar {
            end,
            value: of_display(value).max(0.0),
            highest: of_display(highest).max(0.0),
            target,
            lowest_accepted: window.and_then(|w| w.lowest).map(|t| t.in_unit(unit)),
            highest_accepted,
            limit: Some(limit),
        }
    }

    fn shown_rows(&self, at: usize) -> Vec<Row> {
        // while the tool's value is asked, its reading may be the last one of the step before
        let at = self.record.waiting(&self.plan).map_or(at, |kept| kept.step);
        let row = |kept: &Kept| {
            let readings = kept.readings(&self.plan)?;
            let is_telling = kept.is_measured(&self.plan) && kept.indicated != Some(readings.target);
            Some(Row {
                number: kept.number,
                reference: kept.reference.to_string(),
                indicated: is_telling
                    .then(|| kept.indicated.map_or_else(|| "?".to_owned(), |shown| shown.to_string())),
                seconds: kept.seconds.as_deref().and_then(|s| words::seconds(readings, s)),
                void: kept.void.clone(),
            })
        };
        self.record.readings.iter().filter(|kept| kept.step == at).filter_map(row).collect()
    }

    fn asked(&self) -> Option<Ask> {
        if let Some(message) = self.pending.as_ref().and_then(|pending| pending.refused.as_ref()) {
            return Some(Ask::Choice {
                title: format!(
                    "The disk did not take it: {message}. Nothing of it counts yet. Make room or mend the disk, then try again."
                ),
                choices: vec![('⏎', "try again".to_owned()), ('l', "leave without it".to_owned())],
            });
        }
        Some(match self.question.as_ref()? {
            Question::Technician(line) => typed("Who is at the bench?", "name, such as Runa Hjaltevik", line),
            Question::Temperature { moment, line } => {
                typed(&format!("Temperature {}", words::moment(*moment)), "in °C, such as 21.3", line)
            }
            Question::Humidity { moment, line, .. } => {
                typed(&format!("Relative humidity {}", words::moment(*moment)), "in %, such as 45", line)
            }
            Question::Doubt { doubt, outside } => Ask::Choice {
                title: sentence(&outside.join("; ")),
                choices: match doubt {
                    Doubt::Room { .. } => {
                        choices(["measure and type again", "go on, with a reason for the record"])
                    }
                    Doubt::Zero { .. } => choices([
                        "set it to zero and take again",
                        "keep it as it is, with a reason for the record",
                    ]),
                },
            },
            Question::Reason { outside, line, .. } => typed(
                &format!("Why go on? {}", sentence(&outside.join("; "))),
                "the reason, for the record",
                line,
            ),
            Question::Cautions { step, cautions } => Ask::Cautions {
                before: self.plan.steps.get(*step).map(words::title).unwrap_or_default(),
                cautions: cautions.clone(),
            },
            Question::ToolValue { reading, line, .. } => self.asked_value(*reading, line),
            Question::Strike { reading } => Ask::Choice {
                title: format!(
                    "Strike out reading {reading}: why? It stays in the record and is replaced. A value that merely looks bad is no reason."
                ),
                choices: words::REASONS
                    .iter()
                    .map(|(key, reason)| (*key, (*reason).to_owned()))
                    .chain([(words::OTHER_REASON, "another reason".to_owned())])
                    .collect(),
            },
            Question::StrikeReason { reading, line } => {
                typed(&format!("Strike out reading {reading}: why?"), "the reason, for the record", line)
            }
            Question::Paused => Ask::Paused { words: self.pause_words() },
            Question::Finish => Ask::Finished { lines: self.last_lines(false) },
            Question::Over => Ask::Finished { lines: self.last_lines(true) },
        })
    }

    fn asked_value(&self, reading: u32, line: &Line) -> Ask {
        let kept = self.record.waiting(&self.plan);
        let readings = kept.and_then(|kept| kept.readings(&self.plan));
        let hint = readings.map_or_else(String::new, |r| match self.plan.tool.resolution {
            Some(step) => format!("in {}, in steps of {step}, about {}", r.target.unit(), r.target.digits()),
            None => format!("in {}, about {}", r.target.unit(), r.target.digits()),
        });
        typed(&format!("Reading {reading}: what did the tool show?"), &hint, line)
    }

    fn pause_words(&self) -> String {
        match self.record.pause() {
            Some(pause) => format!("Paused by {} since {}", pause.technician, pause.from.format("%H:%M:%S")),
            None => "Paused".to_owned(),
        }
    }

    fn last_lines(&self, is_over: bool) -> Vec<String> {
        let void = self.record.readings.iter().filter(|kept| kept.void.is_some()).count();
        let valid = self.record.readings.len() - void;
        let mut lines = vec![format!("{valid} readings count, {void} do not and stay in the record.")];
        let room = [("Start", &self.record.start), ("End", &self.record.end)];
        for (when, seen) in room.into_iter().filter_map(|(when, seen)| Some((when, seen.as_ref()?))) {
            lines.push(format!("{when}: {}, {}", seen.temperature, seen.humidity));
        }
        lines.push(if is_over {
            "All is on disk.".to_owned()
        } else {
            "Enter finishes; after that nothing can be struck out here.".to_owned()
        });
        lines
    }

    fn hints(&self) -> Vec<KeyHint> {
        let hint = |key, does: &str| KeyHint { key, does: does.to_owned() };
        let sound = hint("s", if self.has_sound { "sound off" } else { "sound on" });
        let (strike, pause) = (hint("x", "strike out the last"), hint("p", "pause"));
        let (person, leave) = (hint("t", "other technician"), hint("l", "leave"));
        if self.pending.as_ref().is_some_and(|pending| pending.refused.is_some()) {
            return vec![hint("Enter", "try again"), hint("l", "leave without it")];
        }
        match &self.question {
            Some(Question::Cautions { .. }) => {
                vec![hint("Enter", "read and understood"), strike, pause, person, leave]
            }
            Some(Question::Doubt { .. }) => vec![hint("1", "again"), hint("2", "go on"), leave],
            Some(Question::Strike { .. }) => {
                vec![hint("1–5, 9", "the reason"), hint("Esc", "do not strike out")]
            }
            Some(Question::Paused) => vec![hint("p", "go on"), person, leave],
            Some(Question::Finish) => vec![hint("Enter", "finish"), strike, person, leave],
            Some(Question::Over) => vec![leave],
            Some(_) => vec![hint("Enter", "take it"), hint("Esc", "back")],
            None if self.at_zero => vec![hint("Enter", "take the zero"), strike, pause, person, sound, leave],
            None => {
                let mut keys = vec![strike, pause, person, sound, leave];
                let aim = self.watch.is_some().then(|| self.plan.steps.get(self.watched_step)).flatten();
                match aim.and_then(Work::readings).map(|readings| self.plan.mode(readings)) {
                    Some(Mode::Track) => keys.insert(0, hint("Enter", "the tool shows the target")),
                    None => keys.insert(0, hint("Enter", "go on")),
                    _ => {}
                }
                keys
            }
        }
    }
}

fn typed(title: &str, hint: &str, line: &Line) -> Ask {
    Ask::Line {
        title: title.to_owned(),
        hint: hint.to_owned(),
        typed: line.typed.clone(),
        fault: line.fault.clone(),
    }
}

fn choices(words: [&str; 2]) -> Vec<(char, String)> {
    ['1', '2'].into_iter().zip(words).map(|(key, words)| (key, words.to_owned())).collect()
}

/// With a capital letter and a full stop.
fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    format!("{first}{}.", chars.as_str())
}
