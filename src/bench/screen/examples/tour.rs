//! Shows moments of an invented session in the terminal at hand: `cargo run --release -p leverarm-screen
//! --example tour`. Any key goes on, `q` leaves. With `play` a pull runs by itself; with `ascii` nothing
//! but ASCII is written; with a name the tour begins there.

#[path = "../tests/screen/scenes.rs"]
mod scenes;

use std::env;
use std::time::Duration;

use leverarm_screen::fault::ScreenError;
use leverarm_screen::look::Look;
use leverarm_screen::screen::Key;
use leverarm_screen::terminal::{Event, Terminal};
use leverarm_session::view::{Phase, View};

fn main() -> Result<(), ScreenError> {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let has = |word: &str| arguments.iter().any(|argument| argument == word);
    let variable = |name: &str| env::var(name).ok();
    let look = Look::of(variable("TERM").as_deref(), variable("NO_COLOR").as_deref(), has("ascii"));
    let mut terminal = Terminal::open(look)?;
    if has("play") {
        return play(&mut terminal);
    }
    let scenes = scenes::all();
    let first = scenes.iter().position(|(name, _)| has(name)).unwrap_or(0);
    for (_, view) in scenes.iter().skip(first) {
        if !shown(&mut terminal, view)? {
            break;
        }
    }
    Ok(())
}

/// Shows one moment until a key goes on; false when the tour is left.
fn shown(terminal: &mut Terminal, view: &View) -> Result<bool, ScreenError> {
    loop {
        terminal.draw(view)?;
        match terminal.next(Duration::from_secs(3600))? {
            Some(Event::Leave | Event::Key(Key::Char('q'))) => return Ok(false),
            Some(Event::Key(key)) if !terminal.takes(key, view) => return Ok(true),
            _ => {}
        }
    }
}

/// A pull, thirty frames a second, over and over.
fn play(terminal: &mut Terminal) -> Result<(), ScreenError> {
    const FRAME: Duration = Duration::from_millis(33);
    loop {
        for frame in 0..150_u32 {
            let at = f64::from(frame) / 30.0;
            // Fast to 80 % of 120 N·m, then slowly; a release at 119.4 N·m.
            let value = if at < 2.0 { at * 48.0 } else { (96.0 + (at - 2.0) * 12.0).min(119.4) };
            let (value, phase) = match at {
                at if at < 2.0 => (value, Phase::Pulling),
                at if at < 3.95 => (value, Phase::Slowly),
                at => ((119.4 - (at - 3.95) * 140.0).max(0.0), Phase::LetGo),
            };
            let highest = if at < 3.95 { value } else { 119.4 };
            let seconds = (at - 2.0).clamp(0.0, 1.95);
            terminal.draw(&scenes::pull(&format!("{value:.2}"), value, highest, phase, seconds))?;
            if let Some(Event::Leave | Event::Key(_)) = terminal.next(FRAME)? {
                return Ok(());
            }
        }
    }
}
