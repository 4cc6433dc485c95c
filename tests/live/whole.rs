//! A whole calibration at the keyboard, from the first question to the finished run folder.

use std::fs;

use leverarm_session::entry::Did;

use crate::folder::{Folder, leverarm, said};
use crate::person::{Asked, Person, after, asked, step};
use crate::record::{agree, journal, kept, readings, sayable};
use crate::terminal::Terminal;

const SIZE: (u16, u16) = (24, 80);

fn begin(folder: &Folder, further: &[&str]) -> Terminal {
    let mut arguments = vec!["bench", folder.run(), "--simulate"];
    arguments.extend(further);
    if !further.contains(&"--pace") {
        arguments.extend(["--pace", "max"]);
    }
    Terminal::start(&arguments, SIZE.0, SIZE.1, pictures)
}

/// Readings, and what was said beside them.
fn pictures(text: &str) -> Vec<String> {
    let mut found = readings(text);
    let said = text.lines().filter_map(|line| {
        let words = ["Reading ", "Going on.", "At the bench:", "Sound off."];
        words.iter().find_map(|words| line.find(words).map(|at| line[at..].trim().to_owned()))
    });
    found.extend(said);
    found
}

/// Leaves the finished session, and says what stands on the terminal then.
fn leave(mut terminal: Terminal) -> String {
    terminal.key("l");
    let (status, text) = terminal.end();
    assert!(status.success(), "{status}:\n{text}");
    text
}

fn evaluates(folder: &str) -> String {
    let output = leverarm(&["evaluate", folder, "--gum-only"]);
    let text = said(&output);
    assert!(output.status.success(), "{text}");
    assert!(!text.contains("error"), "{text}");
    text
}

fn is_over(text: &str) -> bool {
    asked(text) == Asked::Over
}

fn pulls_at(wanted: &'static str) -> impl Fn(&str) -> bool {
    move |text| asked(text) == Asked::Pull && step(text).starts_with(wanted) && text.contains("3 of 5")
}

#[test]
fn a_click_wrench_is_calibrated_at_the_keyboard() {
    let folder = Folder::of("click-wrench-full");
    let mut terminal = begin(&folder, &["--seed", "4", "--pace", "20"]);
    let mut runa = Person::new("Runa Hjaltevik");
    let first = terminal.wait("the first question", |text| asked(text) == Asked::Name);
    assert!(first.contains("SK-2026-0412, as found"), "{first}");
    assert!(first.contains("Brundholt BC 200"), "{first}");

    // the room is asked for before anything is pulled, and the cautions are read before the preload
    let text = runa.work_until(&mut terminal, "a pull", |text| asked(text) == Asked::Pull);
    assert!(text.contains("Preload, clockwise: Set the tool to 200 N·m."), "{text}");
    assert!(text.contains("TARGET") && text.contains("1 of 5"), "{text}");
    assert!(text.contains("Runa Hjaltevik"), "{text}");
    let wanted = [Asked::Name, Asked::Temperature, Asked::Humidity, Asked::Cautions { has_more: false }];
    let met: Vec<Asked> =
        runa.history.iter().filter(|asked| **asked != Asked::Cautions { has_more: true }).cloned().collect();
    assert!(met.starts_with(&wanted), "{met:?}");

    strike_out(&mut terminal, &mut runa);
    pause(&mut terminal, &mut runa);
    let mut eskil = other_person(&mut terminal, &mut runa);
    silence(&mut terminal, &mut eskil);

    // left, and gone on with by the same command
    eskil.work_until(&mut terminal, "step 8", |text| {
        asked(text) == Asked::Pull && step(text).starts_with("step 8")
    });
    terminal.key("l");
    let (status, text) = terminal.end();
    assert!(status.success(), "{text}");
    assert!(text.contains("the session is not finished; the same command goes on with it"), "{text}");
    let before = sayable(&journal(&folder));
    let mut terminal = begin(&folder, &["--seed", "5"]);
    let text = terminal.wait("the step", |text| text.contains("Going on from the journal"));
    assert!(step(&text).starts_with("step 8"), "{text}");
    let text = eskil.work_until(&mut terminal, "the end", is_over);
    assert!(text.contains("readings count"), "{text}");
    let text = leave(terminal);
    assert!(
        text.contains(&format!("next: leverarm evaluate {}", folder.run()))
            || text.contains("next: leverarm evaluate"),
        "{text}"
    );
    assert!(text.contains("from a sample to the screen at most"), "{text}");

    assert!(sayable(&journal(&folder)).starts_with(&before));
    let (rows, void) = agree(&folder);
    assert_eq!(rows - void, 142);
    assert!(void >= 1);
    let text = evaluates(folder.run());
    assert!(text.to_lowercase().contains("pass"), "{text}");
    let completed = fs::read_to_string(folder.file("run.toml")).unwrap();
    assert!(completed.contains("technician = \"Runa Hjaltevik, Eskil Marnburg\""), "{completed}");
    assert!(completed.contains("temperature_end = \"21.3 °C\""), "{completed}");
}

fn strike_out(terminal: &mut Terminal, person: &mut Person) {
    person.work_until(terminal, "the third pull of step 4", pulls_at("step 4"));
    terminal.key("x");
    let text = terminal.wait("the choice of reasons", |text| asked(text) == Asked::StrikeOut);
    let number = after(&text, "Strike out reading ").unwrap().split(':').next().unwrap().to_owned();
    assert!(text.contains("the hand slipped") && text.contains("another reason"), "{text}");
    terminal.key("9");
    terminal.wait("the line for the reason", |text| asked(text) == Asked::WhyStruck);
    terminal.key("\r");
    terminal.wait("the refusal of no reason", |text| text.contains("type the reason"));
    terminal.key("the adaptor was loose\r");
    terminal.wait_said(&format!("Reading {number} is struck out: the adaptor was loose. It is replaced."));
}

fn pause(terminal: &mut Terminal, person: &mut Person) {
    person.work_until(terminal, "the third pull of step 5", pulls_at("step 5"));
    terminal.key("p");
    let text = terminal.wait("the pause", |text| asked(text) == Asked::Paused);
    assert!(text.contains("Paused by Runa Hjaltevik since"), "{text}");
    let taken = terminal.seen();
    std::thread::sleep(std::time::Duration::from_millis(120));
    assert_eq!(terminal.seen(), taken, "something was taken during the pause");
    terminal.key("p");
    terminal.wait_said("Going on.");
}

fn other_person(terminal: &mut Terminal, person: &mut Person) -> Person {
    person.work_until(terminal, "the third pull of step 6", pulls_at("step 6"));
    terminal.key("t");
    terminal.wait("the question for a name", |text| asked(text) == Asked::Name);
    terminal.key("Eskil Marnburg\r");
    terminal.wait_said("At the bench: Eskil Marnburg");
    Person::new("Eskil Marnburg")
}

fn silence(terminal: &mut Terminal, person: &mut Person) {
    assert!(terminal.text().contains("sound on") && terminal.bells() > 0);
    person.work_until(terminal, "a pull", |text| {
        asked(text) == Asked::Pull && !step(text).starts_with("step 6")
    });
    terminal.key("s");
    terminal.wait_said("Sound off.");
    let (bells, seen) = (terminal.bells(), terminal.seen().len());
    person.work_for(terminal, std::time::Duration::from_millis(500));
    assert!(terminal.seen().len() > seen, "nothing was taken in half a second:\n{}", terminal.text());
    assert_eq!(terminal.bells(), bells);
}

/// An indicating wrench: what the tool shows is typed after each pull.
#[test]
fn an_indicating_wrench_is_read_and_typed() {
    let folder = Folder::of("electronic-30");
    let mut terminal = begin(&folder, &["--seed", "2", "--door", "pty", "--indicated", "typed"]);
    let mut person = Person::new("Runa Hjaltevik");
    let text = person
        .work_until(&mut terminal, "the tool's value", |text| matches!(asked(text), Asked::ToolValue(_)));
    assert!(text.contains("in N·m, in steps of 0.1 N·m"), "{text}");
    terminal.key("0.55\r");
    terminal.wait("the refusal of half a step", |text| text.contains("the tool has steps of 0.1 N·m"));
    terminal.key("\x7f\x7f\x7f\x7f9.9\r");
    terminal.wait("the doubt", |text| text.contains("is far from the target of"));
    terminal.key("\x7f\x7f\x7f");
    terminal.wait("an empty line", |text| !text.contains("9.9_"));
    person.work_until(&mut terminal, "the end", is_over);
    leave(terminal);
    let (_, _) = agree(&folder);
    let decoded = journal(&folder);
    let measured = kept(&decoded)
        .into_values()
        .filter(|kept| kept.void.is_none() && !matches!(kept.reading.series.as_str(), "zero" | "preload"));
    let mut typed = 0;
    for kept in measured {
        typed += 1;
        assert!(kept.reading.indicated.is_some(), "{}", kept.reading.number);
    }
    let showed = decoded.entries.iter().filter(|entry| matches!(entry.did, Did::Showed { .. })).count();
    assert!(showed >= typed && typed >= 15, "{showed} typed, {typed} count");
    verdict(folder.run());
}

/// The same with the values that the tool stored, paired afterwards.
#[test]
fn an_electronic_wrench_gives_out_its_own_values() {
    let folder = Folder::of("electronic-30");
    let mut terminal = begin(&folder, &["--seed", "3", "--indicated", "stored"]);
    let mut person = Person::new("Runa Hjaltevik");
    person.work_until(&mut terminal, "the end", is_over);
    let text = leave(terminal);
    assert!(text.contains("the simulated tool gave out") && text.contains("next: leverarm pair"), "{text}");
    assert!(!person.history.iter().any(|asked| matches!(asked, Asked::ToolValue(_))));
    agree(&folder);
    let columns = folder.around().join("te-30.toml");
    fs::write(
        &columns,
        "format = 1\nmodel = \"TE 30\"\n\n[table]\nheader = 1\n\n[columns]\nindex = \"No.\"\nvalue = \"Peak\"\nunit = \"Unit\"\n",
    )
    .unwrap();
    let (stored, paired) = (folder.file("tool-stored.csv"), folder.around().join("run-paired"));
    let arguments =
        ["pair", folder.run(), "--stored", stored.to_str().unwrap(), "--columns", columns.to_str().unwrap()];
    let output = leverarm(&arguments);
    assert!(output.status.success(), "{}", said(&output));
    verdict(paired.to_str().unwrap());
}

/// A screwdriver, whose reference speaks cN·m or N·m, through a serial port.
#[test]
fn a_screwdriver_is_calibrated_through_a_serial_port() {
    let folder = Folder::of("screwdriver");
    let mut terminal = begin(&folder, &["--seed", "6", "--door", "pty", "--technician", "Runa Hjaltevik"]);
    let mut person = Person::new("Runa Hjaltevik");
    person.work_until(&mut terminal, "the end", is_over);
    assert!(!person.history.contains(&Asked::Name));
    leave(terminal);
    agree(&folder);
    verdict(folder.run());
}

/// It evaluates without an error; whether such a tool passes is its own affair.
fn verdict(folder: &str) {
    let output = leverarm(&["evaluate", folder, "--gum-only", "--json"]);
    let text = said(&output);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap_or_default();
    assert!(!json.is_null(), "{text}");
    assert!(text.contains("verdict"), "{text}");
}
