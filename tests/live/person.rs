//! Somebody at the bench who does what the screen says. All that is known is what stands there now, so
//! the work goes on from any state, also after a crash.

use std::time::{Duration, Instant};

use crate::terminal::{GLANCE, PATIENCE, Terminal};

/// A key that is not heeded at once is not pressed again before this.
const AGAIN: Duration = Duration::from_millis(250);

/// What the screen wants.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asked {
    Name,
    Temperature,
    Humidity,
    WhyGoOn,
    ToolValue(u32),
    StrikeOut,
    WhyStruck,
    Cautions { has_more: bool },
    Doubt,
    Zero,
    Paused,
    Finish,
    Over,
    Pull,
    Nothing,
}

/// Reads what the screen wants.
pub fn asked(text: &str) -> Asked {
    let has = |words: &str| text.contains(words);
    if has("All is on disk.") {
        Asked::Over
    } else if has("Enter finishes;") {
        Asked::Finish
    } else if has("Who is at the bench?") {
        Asked::Name
    } else if has("Temperature before the first") || has("Temperature after the last") {
        Asked::Temperature
    } else if has("Relative humidity") {
        Asked::Humidity
    } else if has("Why go on?") {
        Asked::WhyGoOn
    } else if has("what did the tool show?") {
        Asked::ToolValue(number_before(text, ": what did the tool show?"))
    } else if has("Strike out reading") && has("[9]") {
        Asked::StrikeOut
    } else if has("Strike out reading") {
        Asked::WhyStruck
    } else if has("read and understood") {
        Asked::Cautions { has_more: has("Space reads on; acknowledge") }
    } else if has("with a reason for the record") {
        Asked::Doubt
    } else if has("Paused by") {
        Asked::Paused
    } else if has("take the zero") {
        Asked::Zero
    } else if has("strike out the last") && has("clockwise: ") {
        Asked::Pull
    } else {
        Asked::Nothing
    }
}

fn number_before(text: &str, words: &str) -> u32 {
    let before = text.split(words).next().unwrap_or_default();
    before.rsplit(' ').next().and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// The words behind some others, to the end of the line.
pub fn after<'t>(text: &'t str, words: &str) -> Option<&'t str> {
    text.split_once(words).and_then(|(_, rest)| rest.lines().next()).map(str::trim)
}

/// Which step of how many, such as `step 4 of 18`.
pub fn step(text: &str) -> &str {
    let Some(at) = text.find("step ") else { return "" };
    let rest = &text[at..];
    rest.find("  ").map_or(rest, |end| &rest[..end])
}

/// The person.
pub struct Person {
    pub name: &'static str,
    /// the zero is set first where it is off; where that does not help it is kept, with a reason
    sets_zero: bool,
    /// what was asked, when last an answer was given
    last: Option<(Asked, String, Instant)>,
    /// everything that was asked, in order, without repetitions
    pub history: Vec<Asked>,
}

impl Person {
    pub fn new(name: &'static str) -> Person {
        Person { name, sets_zero: true, last: None, history: Vec::new() }
    }

    /// Works until the picture is as wanted.
    pub fn work_until(
        &mut self,
        terminal: &mut Terminal,
        what: &str,
        is_there: impl Fn(&str) -> bool,
    ) -> String {
        let begun = Instant::now();
        let mut moved = (Instant::now(), terminal.seen().len(), String::new());
        loop {
            let text = terminal.text();
            if is_there(&text) {
                return text;
            }
            assert!(
                terminal.is_alive(),
                "leverarm ended before {what}, at {:?}:\n{}",
                begun.elapsed(),
                terminal.text()
            );
            let now = (terminal.seen().len(), step(&text).to_owned());
            if (moved.1, moved.2.as_str()) != (now.0, now.1.as_str()) {
                moved = (Instant::now(), now.0, now.1);
            }
            assert!(moved.0.elapsed() < PATIENCE, "no {what}; nothing goes on:\n{text}");
            self.glance(terminal, &text);
        }
    }

    /// Works until a moment, or until all is done. Returns whether all is done.
    pub fn work_for(&mut self, terminal: &mut Terminal, time: Duration) -> bool {
        let until = Instant::now() + time;
        while Instant::now() < until && terminal.is_alive() {
            let text = terminal.text();
            if asked(&text) == Asked::Over {
                return true;
            }
            self.glance(terminal, &text);
        }
        false
    }

    /// One look, and an answer where one is wanted.
    pub fn glance(&mut self, terminal: &mut Terminal, text: &str) {
        let wanted = asked(text);
        let place = format!("{}{}", step(text), after(text, "page ").unwrap_or_default());
        if self.history.last() != Some(&wanted) && wanted != Asked::Nothing {
            self.history.push(wanted.clone());
        }
        let is_same = self.last.as_ref().is_some_and(|(asked, at, _)| *asked == wanted && *at == place);
        let is_typed = matches!(
            wanted,
            Asked::Name
                | Asked::Temperature
                | Asked::Humidity
                | Asked::WhyGoOn
                | Asked::ToolValue(_)
                | Asked::WhyStruck
        );
        let waits = self
            .last
            .as_ref()
            .is_some_and(|(_, _, when)| when.elapsed() < if is_typed { PATIENCE } else { AGAIN });
        if is_same && waits {
            std::thread::sleep(GLANCE);
            return;
        }
        match self.answer(&wanted, text) {
            Some(keys) => {
                terminal.key(&keys);
                self.last = Some((wanted, place, Instant::now()));
            }
            None => {
                self.last = None;
                std::thread::sleep(GLANCE);
            }
        }
    }

    fn answer(&mut self, wanted: &Asked, text: &str) -> Option<String> {
        let line = |words: &str| Some(format!("{words}\r"));
        match wanted {
            Asked::Name => line(self.name),
            Asked::Temperature => line("21.3"),
            Asked::Humidity => line("45"),
            Asked::WhyGoOn => line("the display has no key for its zero"),
            Asked::WhyStruck => line("the adaptor was loose"),
            Asked::StrikeOut => Some("1".to_owned()),
            Asked::ToolValue(_) => line(&tool_value(text)),
            Asked::Cautions { has_more: true } => Some(" ".to_owned()),
            Asked::Cautions { has_more: false } | Asked::Zero | Asked::Finish => Some("\r".to_owned()),
            Asked::Doubt => {
                let sets = self.sets_zero;
                self.sets_zero = !sets;
                Some(if sets { "1" } else { "2" }.to_owned())
            }
            Asked::Paused => Some("p".to_owned()),
            Asked::Over | Asked::Pull | Asked::Nothing => None,
        }
    }
}

/// What the simulated tool shows; where nobody can say it any more, what was aimed at.
fn tool_value(text: &str) -> String {
    let number = |rest: &str| rest.split([' ', ',']).next().unwrap_or_default().to_owned();
    match after(text, "the simulated tool shows ") {
        Some(rest) => number(rest),
        None => after(text, "about ").map(number).unwrap_or_default(),
    }
}
