//! What others wrote does no harm, and every refusal says how to mend it.

use std::fs;

use crate::house::{House, JOB, stderr, stdout};

#[test]
fn a_name_cannot_steer_the_terminal() {
    let house = House::new();
    // A text that turns the direction of writing is taken and shown harmlessly.
    let name = "Fennimarsk\u{202e} Cycles'); DROP TABLE entries;--";
    house.done("runa", &["customer", "add", "fennimarsk", "--name", name]);
    for command in [&["customer", "list"][..], &["log"]] {
        let said = house.done("runa", command);
        assert!(said.contains("DROP TABLE") && !said.contains('\u{202e}'), "{said}");
    }
    let output = house.run("runa", &["customer", "add", "bad\u{1b}[2J", "--name", "x"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("control character U+001B"), "{}", stderr(&output));
    let missing = house.run("runa", &["show", "no\u{1b}such"]);
    assert!(!stderr(&missing).contains('\u{1b}'), "{}", stderr(&missing));
}

#[test]
fn every_refusal_has_a_remedy() {
    let house = House::new();
    for (who, arguments) in [
        ("runa", &["show", "nothing"][..]),
        ("runa", &["evaluate", "nothing"]),
        ("runa", &["submit", "nothing"]),
        ("runa", &["withdraw", "SK-2026-0001", "--reason", "x"]),
        ("runa", &["person", "end", "eskil", "--why", "x"]),
        ("nobody", &["submit", JOB]),
        ("runa", &["add-run", "nothing", "nowhere"]),
        ("runa", &["log", "--ledger", "missing.sqlite"]),
        ("runa", &["log", "--ledger", "runa.pem"]),
        ("runa", &["init", "--laboratory", "Another", "--name", "x"]),
        ("runa", &["reference", "calibrated", "runa.pem"]),
    ] {
        let said = house.refused(who, arguments);
        assert!(said.contains("mend: "), "{arguments:?}: {said}");
        assert!(!said.contains("panicked"), "{said}");
    }
}

#[test]
fn a_wrong_passphrase_and_another_ones_key_are_refused() {
    let house = House::new();
    let output = house
        .command("runa", &["customer", "add", "x", "--name", "x"])
        .env("LEVERARM_PASSPHRASE", "wrong wrong")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("does not open this key"), "{}", stderr(&output));
    let stolen = house.key("idunn");
    let arguments = ["customer", "add", "x", "--name", "x", "--key", stolen.to_str().unwrap()];
    assert!(house.refused("runa", &arguments).contains("is enrolled with another key"));
    let none = house
        .command("runa", &["customer", "add", "x", "--name", "x"])
        .env_remove("LEVERARM_PASSPHRASE")
        .output()
        .unwrap();
    assert!(stderr(&none).contains("no terminal to ask"), "{}", stderr(&none));
}

#[test]
fn who_left_signs_nothing_more_and_a_rulebook_must_be_held() {
    let house = House::new();
    house.enrol("torvald", "Torvald Askerud", &[]);
    let only = ["--for", "approver", "--rulebook", "iso-6789-1", "--from", "2026-01-01", "--why", "training"];
    let mut arguments = vec!["person", "authorise", "torvald"];
    arguments.extend(only);
    house.done("eskil", &arguments);
    house.submitted();
    let said = house.refused("torvald", &["approve", JOB]);
    assert!(said.contains("for rulebook 'iso-6789-2'"), "{said}");
    house.done("eskil", &["person", "end", "torvald", "--why", "left the house"]);
    assert!(house.refused("torvald", &["approve", JOB]).contains("was revoked"));
    assert!(house.done("runa", &["person", "list"]).contains("key revoked"));
}

#[test]
fn a_run_with_errors_is_shown_and_not_taken() {
    let house = House::new();
    let run = house.copy("click-wrench-full", "SK-2026-0700");
    let path = run.to_str().unwrap().to_owned();
    house.done("runa", &["receive", "--from", &path, "--condition", "complete"]);
    fs::write(run.join("readings.csv"), "no,such,columns\n1,2,3\n").unwrap();
    let output = house.run("runa", &["add-run", "SK-2026-0700", &path]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("readings.csv"), "{}{}", stdout(&output), stderr(&output));
    assert_eq!(house.json("runa", &["show", "SK-2026-0700"])[0]["runs"].as_array().unwrap().len(), 0);
}
