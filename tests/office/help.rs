//! The help of every command of the ledger, as its people read it. `LEVERARM_BLESS=1` writes it anew.

use std::fs;
use std::path::Path;

use crate::house::House;

const COMMANDS: [&[&str]; 47] = [
    &[],
    &["init"],
    &["person"],
    &["person", "key"],
    &["person", "add"],
    &["person", "authorise"],
    &["person", "revoke"],
    &["person", "end"],
    &["person", "replace-key"],
    &["person", "list"],
    &["customer"],
    &["customer", "add"],
    &["customer", "list"],
    &["tool"],
    &["tool", "add"],
    &["tool", "list"],
    &["reference"],
    &["reference", "add"],
    &["reference", "calibrated"],
    &["reference", "list"],
    &["check-standard"],
    &["check-standard", "add"],
    &["check-standard", "measured"],
    &["check-standard", "list"],
    &["receive"],
    &["add-run"],
    &["export-run"],
    &["evaluate"],
    &["submit"],
    &["return"],
    &["approve"],
    &["close"],
    &["issue"],
    &["amend"],
    &["withdraw"],
    &["status"],
    &["queue"],
    &["show"],
    &["log"],
    &["due"],
    &["verify"],
    &["backup"],
    &["restore"],
    &["copy"],
    &["export"],
    &["help"],
    &["help", "issue"],
];

#[test]
fn help_of_every_command() {
    let house = House::empty();
    let mut all = String::new();
    for command in COMMANDS {
        let mut arguments = command.to_vec();
        if command.first() != Some(&"help") {
            arguments.push("--help");
        }
        all.push_str(&format!("──── ledger {}\n\n{}\n", command.join(" "), house.done("runa", &arguments)));
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/office/help.txt");
    if std::env::var_os("LEVERARM_BLESS").is_some() {
        fs::write(&path, &all).unwrap();
    }
    assert!(
        fs::read_to_string(&path).unwrap() == all,
        "tests/office/help.txt differs; LEVERARM_BLESS=1 writes it"
    );
}
