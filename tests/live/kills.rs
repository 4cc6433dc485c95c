//! The process is killed at random moments. What the screen had said is on disk, with the same digits;
//! nothing torn is taken; the same command goes on.
//!
//! `LEVERARM_KILLS=1000` for the whole proof, `LEVERARM_KILLS_SEED` for the same moments again, as far
//! as the machine lets them be the same.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use leverarm_session::journal::decode;

use crate::dice::{Dice, number};
use crate::folder::{Folder, leverarm, said};
use crate::person::{Asked, Person, asked};
use crate::record::{agree, readings, sayable};
use crate::terminal::Terminal;

/// Pulls last a tenth of a second: the moments between them are as likely as those in them.
const PACE: &str = "50";
const NAMES: [&str; 2] = ["Runa Hjaltevik", "Eskil Marnburg"];
/// A frame is drawn each 16 ms, and no two readings are taken within it at this pace.
const UNSHOWN_MAX: usize = 1;

/// One session, from folder to folder.
struct Series {
    folder: Folder,
    /// the journal when the process began
    before: Vec<u8>,
    /// what the journal let anybody say then
    known: usize,
    /// said by the screen of any process
    said: BTreeSet<String>,
    kills: u64,
}

/// What was found over all of them.
#[derive(Debug, Default)]
struct Found {
    kills: u64,
    sessions: u64,
    torn: u64,
    said: usize,
    /// how many entries stood in the journal that the screen had not said yet, and how often
    unshown: BTreeMap<usize, u64>,
    /// kills by what was on the screen then
    moments: BTreeMap<String, u64>,
    while_finishing: u64,
    before_a_picture: u64,
    /// finished folders of which a check doubts a trace
    trace_differs: u64,
}

#[test]
fn killed_at_any_moment_nothing_that_was_said_is_lost() {
    let wanted = number("LEVERARM_KILLS", 15);
    let mut dice = Dice::of("LEVERARM_KILLS_SEED");
    let mut found = Found::default();
    let begun = Instant::now();
    while found.kills < wanted {
        let tool = ["fixed-tool", "fixed-tool", "screwdriver", "electronic-30"][dice.below(4) as usize];
        let mut series = Series::new(tool);
        while found.kills < wanted && !series.kill_once(&mut dice, &mut found) {}
        found.trace_differs += u64::from(series.go_to_the_end(&mut dice));
        found.sessions += 1;
        found.said += series.said.len();
    }
    println!("{found:#?}\nin {:.1} s", begun.elapsed().as_secs_f64());
}

impl Series {
    fn new(tool: &str) -> Series {
        Series { folder: Folder::of(tool), before: Vec::new(), known: 0, said: BTreeSet::new(), kills: 0 }
    }

    fn start(&self, pace: &str, dice: &mut Dice) -> Terminal {
        let seed = dice.below(1000).to_string();
        let door = if dice.one_in(4) { "pty" } else { "tcp" };
        let arguments = [
            "bench",
            self.folder.run(),
            "--simulate",
            "--pace",
            pace,
            "--seed",
            &seed,
            "--door",
            door,
            "--rate",
            "500",
        ];
        Terminal::start(&arguments, 24, 80, readings)
    }

    /// Starts, works for a while, kills, looks. Returns whether the session had come to its end.
    fn kill_once(&mut self, dice: &mut Dice, found: &mut Found) -> bool {
        let mut terminal = self.start(PACE, dice);
        let mut person = Person::new(NAMES[dice.below(2) as usize]);
        // at the very beginning, soon after, or well within
        let time = match dice.below(6) {
            0 => dice.ms(0, 60),
            1 => dice.ms(0, 250),
            _ => dice.ms(60, 1600),
        };
        let mut is_over = self.work(&mut person, &mut terminal, time, dice);
        if is_over {
            // the folder is made when the person leaves
            terminal.key("l");
            std::thread::sleep(dice.ms(0, 12));
            found.while_finishing += 1;
        }
        let moment =
            format!("{:?}", asked(&terminal.text())).split(['(', ' ']).next().unwrap_or_default().to_owned();
        found.before_a_picture += u64::from(terminal.frames() == 0);
        let seen = terminal.kill();
        *found.moments.entry(moment).or_default() += 1;
        found.kills += 1;
        self.kills += 1;
        self.look(seen, found);
        is_over &= dice.one_in(3);
        is_over
    }

    /// Works, and now and then does what a person does besides.
    fn work(
        &mut self,
        person: &mut Person,
        terminal: &mut Terminal,
        time: Duration,
        dice: &mut Dice,
    ) -> bool {
        let until = Instant::now() + time;
        while let Some(left) = until.checked_duration_since(Instant::now()).filter(|left| !left.is_zero()) {
            let some = dice.ms(20, 400).min(left);
            if person.work_for(terminal, some) {
                return true;
            }
            if dice.one_in(6) && asked(&terminal.text()) == Asked::Pull {
                terminal.key(["x", "p", "t", "s"][dice.below(4) as usize]);
            }
        }
        false
    }

    /// What is on disk, against what the screens have said.
    fn look(&mut self, seen: Vec<String>, found: &mut Found) {
        let bytes = self.folder.bytes("session.journal");
        let decoded = decode(&bytes).unwrap_or_else(|error| panic!("kill {}: {error}", self.kills));
        found.torn += u64::from(decoded.torn);
        let good = &bytes[..decoded.good_bytes];
        assert!(good.starts_with(&self.before), "kill {}: the journal was changed, not added to", self.kills);
        self.said.extend(seen);
        let sayable = sayable(&decoded);
        for words in &self.said {
            assert!(sayable.contains(words), "kill {}: '{words}' was said and is not on disk", self.kills);
        }
        let new = sayable.get(self.known..).unwrap();
        let unshown: Vec<&String> = new.iter().filter(|words| !self.said.contains(*words)).collect();
        assert!(unshown.len() <= UNSHOWN_MAX, "kill {}: {unshown:?} were never said", self.kills);
        assert!(
            unshown.iter().all(|words| Some(*words) == new.last()),
            "kill {}: {unshown:?} of {new:?}",
            self.kills
        );
        *found.unshown.entry(unshown.len()).or_default() += 1;
        for (number, trace) in traces(&decoded) {
            assert!(self.folder.file(&trace).exists(), "kill {}: no trace of reading {number}", self.kills);
        }
        // without the line that was torn the next one begins
        self.before = good.to_vec();
        self.known = sayable.len();
    }

    /// Nobody kills any more. The finished folder evaluates; whether its only fault is that a check
    /// recomputes a trace with other settings than the session had is returned, and counted.
    fn go_to_the_end(&mut self, dice: &mut Dice) -> bool {
        let mut terminal = self.start("max", dice);
        let mut person = Person::new(NAMES[0]);
        person.work_until(&mut terminal, "the end", |text| asked(text) == Asked::Over);
        terminal.key("l");
        let (status, text) = terminal.end();
        assert!(status.success(), "{text}");
        assert!(self.folder.bytes("session.journal").starts_with(&self.before));
        agree(&self.folder);
        let output = leverarm(&["evaluate", self.folder.run(), "--gum-only"]);
        let text = said(&output);
        let errors = text.lines().filter(|line| line.starts_with("ERROR")).count();
        let differs = text.lines().filter(|line| line.starts_with("ERROR trace-differs")).count();
        assert_eq!(errors, differs, "{text}");
        assert!(differs > 0 || (output.status.success() && text.contains("Verdict")), "{text}");
        differs > 0
    }
}

fn traces(decoded: &leverarm_session::journal::Decoded) -> Vec<(u32, String)> {
    let named = |(number, kept): (u32, crate::record::Kept)| Some((number, kept.reading.trace?.file));
    crate::record::kept(decoded).into_iter().filter_map(named).collect()
}
