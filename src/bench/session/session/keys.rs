//! What a key does.

use chrono::{DateTime, FixedOffset};
use leverarm_metrology::reading::Recorded;
use rust_decimal::Decimal;

use super::ask::{Doubt, Question};
use super::{Effect, Key, Session};
use crate::entry::Did;
use crate::judge::Cut;
use crate::text::{self, Line};
use crate::view::Tone;
use crate::watch::Rest;
use crate::words;

/// A tool's value farther from the target than this share is asked for twice, as the checks doubt it:
/// common practice, no published source.
const FAR: f64 = 1.0 / 3.0;

type Now = DateTime<FixedOffset>;

impl Session {
    pub(super) fn key(&mut self, key: Key, now: Now, out: &mut Vec<Effect>) {
        if self.has_left {
            return;
        }
        if let Some(pending) = &mut self.pending {
            match (pending.refused.is_some(), key) {
                (true, Key::Enter) => {
                    pending.refused = None;
                    out.push(Effect::Write(Box::new(pending.entry.clone()), pending.trace.clone()));
                }
                // nothing can be written, so what waits is given up: it was never said to count
                (true, Key::Char('l')) => self.leave(out),
                _ if self.keys.len() < super::KEYS_MAX => self.keys.push_back((key, false)),
                _ => {}
            }
            return;
        }
        self.act(key, now, out);
    }

    /// The keys that came while the disk was at work. None of them answers what was not on the screen
    /// when it was pressed, unless it is typed text.
    pub(super) fn replay(&mut self, now: Now, out: &mut Vec<Effect>) {
        while self.pending.is_none() && !self.has_left {
            let Some((key, is_command)) = self.keys.pop_front() else { return };
            let is_typed = self.question.as_mut().is_some_and(|question| question.line_mut().is_some());
            let can_command =
                self.question.is_none() && matches!(key, Key::Char('x' | 'p' | 't' | 's' | 'l'));
            if is_command && key == Key::Char('l') {
                self.leave(out);
            } else if can_command || (is_typed && !is_command) {
                self.act(key, now, out);
            }
        }
    }

    fn act(&mut self, key: Key, now: Now, out: &mut Vec<Effect>) {
        match self.question.take() {
            Some(question) => self.answer(question, key, now, out),
            None => self.command(key, now, out),
        }
    }

    fn command(&mut self, key: Key, now: Now, out: &mut Vec<Effect>) {
        match key {
            Key::Char('s') => self.turn_sound(),
            Key::Char('l' | 'x' | 'p' | 't') if self.is_pulling() => {
                // what was pulled stays in the record; the key follows when it is there
                self.cut_short(Cut::Key, now, out);
                if self.pending.is_some() {
                    self.keys.push_front((key, true));
                } else {
                    self.command(key, now, out);
                }
            }
            Key::Char('l') => self.leave(out),
            _ if self.record.technician.is_empty() => self.advance(out),
            Key::Char('x') => self.ask_strike(out),
            Key::Char('p') => {
                self.disarm(out);
                self.write(Did::Paused, None, now, out);
            }
            Key::Char('t') => {
                self.disarm(out);
                self.question = Some(Question::Technician(Line::default()));
            }
            Key::Enter | Key::Char(' ') => self.enter(now, out),
            _ => {}
        }
    }

    fn enter(&mut self, now: Now, out: &mut Vec<Effect>) {
        if self.at_zero {
            self.take_zero(now, out);
        } else if let Some(watch) = &mut self.watch {
            if watch.press() {
                self.say(Tone::Plain, "Read at the target: let go.".to_owned());
            }
        } else {
            self.advance(out);
        }
    }

    fn turn_sound(&mut self) {
        self.has_sound = !self.has_sound;
        self.say(Tone::Plain, if self.has_sound { "Sound on." } else { "Sound off." }.to_owned());
    }

    fn leave(&mut self, out: &mut Vec<Effect>) {
        self.disarm(out);
        self.has_left = true;
        self.pending = None;
        self.say(Tone::Plain, "Left. The same command goes on where this stopped.".to_owned());
        out.push(Effect::Leave);
    }

    fn ask_strike(&mut self, out: &mut Vec<Effect>) {
        match self.record.last_valid().map(|kept| kept.number) {
            Some(reading) => {
                self.disarm(out);
                self.at_zero = false;
                self.question = Some(Question::Strike { reading });
            }
            None => self.say(Tone::Plain, "There is no reading to strike out.".to_owned()),
        }
    }

    fn answer(&mut self, mut question: Question, key: Key, now: Now, out: &mut Vec<Effect>) {
        if let Some(line) = question.line_mut() {
            match key {
                Key::Char(c) => line.push(c),
                Key::Backspace => line.erase(),
                Key::Enter => return self.submit(question, now, out),
                Key::Escape => return self.escape(question, out),
            }
            self.question = Some(question);
            return;
        }
        match (&question, key) {
            (_, Key::Char('s')) => self.turn_sound(),
            (Question::Strike { reading }, Key::Char(words::OTHER_REASON)) => {
                let reading = *reading;
                self.question = Some(Question::StrikeReason { reading, line: Line::default() });
                return;
            }
            (Question::Strike { reading }, Key::Char(c)) => {
                if let Some((_, reason)) = words::REASONS.iter().find(|(key, _)| *key == c) {
                    let did = Did::Struck { reading: *reading, reason: (*reason).to_owned() };
                    return self.write(did, None, now, out);
                }
            }
            (Question::Strike { .. }, Key::Escape) => return self.advance(out),
            (_, Key::Char('l')) => return self.leave(out),
            (Question::Cautions { step, cautions }, Key::Enter) => {
                let did = Did::Acknowledged { step: *step, cautions: cautions.clone() };
                return self.write(did, None, now, out);
            }
            (Question::Cautions { .. } | Question::Finish, Key::Char('x')) => {
                self.ask_strike(out);
                if self.question.is_some() {
                    return;
                }
            }
            (Question::Cautions { .. } | Question::Finish, Key::Char('p')) => {
                return self.write(Did::Paused, None, now, out);
            }
            (Question::Cautions { .. } | Question::Finish | Question::Paused, Key::Char('t')) => {
                self.question = Some(Question::Technician(Line::default()));
                return;
            }
            (Question::Doubt { doubt, .. }, Key::Char('1') | Key::Escape) => {
                return self.anew(&doubt.clone(), out);
            }
            (Question::Doubt { doubt, outside }, Key::Char('2')) => {
                let (doubt, outside) = (doubt.clone(), outside.clone());
                self.question = Some(Question::Reason { doubt, outside, line: Line::default() });
                return;
            }
            (Question::Paused, Key::Char('p') | Key::Enter) => {
                return self.write(Did::Resumed, None, now, out);
            }
            (Question::Finish, Key::Enter) => return self.write(Did::Finished, None, now, out),
            _ => {}
        }
        self.question = Some(question);
    }

    /// Closes a question. What must be answered comes again with Enter; in between the last reading can
    /// be struck out, or the bench left.
    fn escape(&mut self, question: Question, out: &mut Vec<Effect>) {
        match question {
            Question::Humidity { moment, .. } => {
                self.question = Some(Question::Temperature { moment, line: Line::default() });
            }
            Question::Reason { doubt, outside, .. } => {
                self.question = Some(Question::Doubt { doubt, outside });
            }
            Question::StrikeReason { reading, .. } => self.question = Some(Question::Strike { reading }),
            Question::Technician(_) if !self.record.technician.is_empty() => self.advance(out),
            _ => self.say(Tone::Plain, "Enter asks again.".to_owned()),
        }
    }

    fn submit(&mut self, question: Question, now: Now, out: &mut Vec<Effect>) {
        match question {
            Question::Technician(line) => self.submit_technician(line, now, out),
            Question::Temperature { moment, line } => self.submit_temperature(moment, line),
            Question::Humidity { moment, temperature, line } => {
                self.submit_humidity(moment, temperature, line, now, out);
            }
            Question::Reason { doubt, outside, mut line } => match said(&line.typed) {
                Some(reason) => self.go_on(doubt, outside, reason, now, out),
                None => {
                    line.refuse("type the reason");
                    self.question = Some(Question::Reason { doubt, outside, line });
                }
            },
            Question::StrikeReason { reading, mut line } => match said(&line.typed) {
                Some(reason) => self.write(Did::Struck { reading, reason }, None, now, out),
                None => {
                    line.refuse("type the reason");
                    self.question = Some(Question::StrikeReason { reading, line });
                }
            },
            Question::ToolValue { reading, line, doubted } => {
                self.submit_value(reading, line, doubted, now, out);
            }
            other => self.question = Some(other),
        }
    }

    fn submit_technician(&mut self, mut line: Line, now: Now, out: &mut Vec<Effect>) {
        let name = line.typed.trim().to_owned();
        if name == self.record.technician && !name.is_empty() {
            return self.advance(out);
        }
        if name.is_empty() || name.chars().count() > text::NAME_MAX {
            line.refuse(format!("type a name of 1 to {} characters", text::NAME_MAX));
            self.question = Some(Question::Technician(line));
            return;
        }
        self.write(Did::Technician { name }, None, now, out);
    }

    fn submit_value(
        &mut self,
        reading: u32,
        mut line: Line,
        doubted: Option<Recorded>,
        now: Now,
        out: &mut Vec<Effect>,
    ) {
        let Some(target) = self
            .record
            .last_valid()
            .and_then(|kept| kept.readings(&self.plan))
            .map(|readings| readings.target)
        else {
            return self.advance(out);
        };
        match tool_value(&line.typed, target, self.plan.tool.resolution) {
            Ok(shown) => {
                let off = shown.torque().newton_metres() / target.torque().newton_metres() - 1.0;
                if off.abs() > FAR && doubted != Some(shown) {
                    line.refuse(format!(
                        "{shown} is far from the target of {target}: type it right, or press Enter again if the tool showed it"
                    ));
                    self.question = Some(Question::ToolValue { reading, line, doubted: Some(shown) });
                    return;
                }
                let did = Did::Showed { reading, indicated: shown.to_string() };
                self.write(did, None, now, out);
            }
            Err(fault) => {
                line.refuse(fault);
                self.question = Some(Question::ToolValue { reading, line, doubted });
            }
        }
    }
}

/// A reason that says something.
fn said(typed: &str) -> Option<String> {
    let reason = typed.trim();
    reason.chars().any(char::is_alphanumeric).then(|| reason.to_owned())
}

/// What the tool showed, in the unit of its range, a multiple of its step.
fn tool_value(typed: &str, target: Recorded, resolution: Option<Recorded>) -> Result<Recorded, String> {
    let unit = target.unit();
    let text = typed.trim();
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '\u{2212}' | '.' | ',')))
        .unwrap_or(text.len());
    let (number, own) = text.split_at(end);
    if !own.trim().is_empty() {
        match leverarm_metrology::quantity::TorqueUnit::parse(own) {
            Ok(own) if own == unit => {}
            Ok(own) => return Err(format!("the tool shows {unit}, not {own}")),
            Err(error) => return Err(format!("{error}: {}", error.remedy())),
        }
    }
    let decimal = text::number_with(number, &[])?;
    if decimal <= Decimal::ZERO {
        return Err("type the magnitude: a number above zero, in both directions".to_owned());
    }
    let step = resolution.filter(|step| step.unit() == unit && step.digits() > Decimal::ZERO);
    if let Some(step) = step.filter(|step| {
        let rest = decimal.checked_rem(step.digits());
        rest.is_none_or(|rest| !rest.is_zero())
    }) {
        return Err(format!("the tool has steps of {step}"));
    }
    Recorded::new(&decimal.to_string(), unit).map_err(|error| error.to_string())
}

impl Session {
    /// What was outside its limits is measured anew.
    fn anew(&mut self, doubt: &Doubt, out: &mut Vec<Effect>) {
        match doubt {
            Doubt::Room { moment, .. } => {
                self.question = Some(Question::Temperature { moment: *moment, line: Line::default() });
            }
            Doubt::Zero { .. } => {
                out.push(Effect::SetZero);
                self.rest = Rest::default();
                self.advance(out);
            }
        }
    }
}
