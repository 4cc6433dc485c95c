//! The program as its user meets it: exit codes, what is printed where, what is on disk afterwards.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

fn leverarm(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", "100")
        .output()
        .unwrap()
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn certify(runs: &[&str], out: &Path, more: &[&str]) -> Output {
    let mut arguments = vec!["certify"];
    arguments.extend_from_slice(runs);
    let out = out.to_str().unwrap();
    arguments.extend_from_slice(&["--out", out, "--issued", "2026-11-25"]);
    arguments.extend_from_slice(more);
    leverarm(&arguments)
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() { folders.push(path) } else { found.push(path) }
        }
    }
    found.sort();
    found
}

const SAMPLE: &str = "sample-runs/click-wrench-full";

#[test]
fn help_of_every_command() {
    let mut all = stdout(&leverarm(&["--help"]));
    for command in [
        "certify",
        "evaluate",
        "pair",
        "trace",
        "rulebook",
        "checks",
        "selftest",
        "schema",
        "completions",
        "man",
    ] {
        all.push_str(&format!("\n──── {command}\n\n{}", stdout(&leverarm(&[command, "--help"]))));
    }
    insta::assert_snapshot!(all);
}

#[test]
fn the_same_run_gives_the_same_bytes_and_a_certificate_is_never_overwritten() {
    let scratch = tempfile::tempdir().unwrap();
    let (a, b) = (scratch.path().join("a"), scratch.path().join("b"));
    let first = certify(&[SAMPLE], &a, &[]);
    assert_eq!(code(&first), 0, "{}", stderr(&first));
    assert_eq!(code(&certify(&[SAMPLE], &b, &[])), 0);
    let (in_a, in_b) = (files(&a), files(&b));
    let names = [
        "certificate.html",
        "certificate.pdf",
        "certificate.xml",
        "manifest.sha256",
        "result.csv",
        "result.json",
    ];
    assert_eq!(in_a.iter().map(|p| p.file_name().unwrap().to_str().unwrap()).collect::<Vec<_>>(), names);
    for (x, y) in in_a.iter().zip(&in_b) {
        assert_eq!(std::fs::read(x).unwrap(), std::fs::read(y).unwrap(), "{}", x.display());
    }
    let again = certify(&[SAMPLE], &a, &[]);
    assert_eq!(code(&again), 0);
    assert!(stdout(&again).contains("unchanged"), "{}", stdout(&again));
    let other_paper = certify(&[SAMPLE], &a, &["--paper", "letter"]);
    assert_eq!(code(&other_paper), 2);
    assert!(stderr(&other_paper).contains("never overwritten"), "{}", stderr(&other_paper));
    for (x, y) in in_a.iter().zip(&in_b) {
        assert_eq!(std::fs::read(x).unwrap(), std::fs::read(y).unwrap());
    }
}

#[test]
fn result_json_is_valid_against_the_schema_that_leverarm_publishes() {
    let schema: Value = serde_json::from_str(&stdout(&leverarm(&["schema"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let scratch = tempfile::tempdir().unwrap();
    let pair = ["sample-runs/found-fails", "sample-runs/left-passes"];
    assert_eq!(code(&certify(&pair, scratch.path(), &[])), 0);
    let path = files(scratch.path()).into_iter().find(|p| p.ends_with("result.json")).unwrap();
    let result: Value = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let complaints: Vec<String> = validator.iter_errors(&result).map(|e| e.to_string()).collect();
    assert!(complaints.is_empty(), "{complaints:?}");
    let conditions: Vec<&str> =
        result["runs"].as_array().unwrap().iter().map(|r| r["condition"].as_str().unwrap()).collect();
    assert_eq!(conditions, ["as found", "as left"]);
    // A schema that lets everything pass would prove nothing.
    let mut broken = result.clone();
    broken["runs"][0]["points"][0]["verdict"] = "perhaps".into();
    assert!(!validator.is_valid(&broken));
    broken = result;
    broken["runs"][0].as_object_mut().unwrap().remove("floor");
    assert!(!validator.is_valid(&broken));
}

#[test]
fn as_left_alone_is_warned_of_and_beside_as_found_it_is_not() {
    let scratch = tempfile::tempdir().unwrap();
    let (found, left) = ("sample-runs/found-fails", "sample-runs/left-passes");
    let alone = certify(&[left], &scratch.path().join("alone"), &[]);
    assert_eq!(code(&alone), 0);
    assert!(stdout(&alone).contains("as-found-absent"), "{}", stdout(&alone));
    let both = certify(&[found, left], &scratch.path().join("both"), &[]);
    assert_eq!(code(&both), 0);
    assert!(!stdout(&both).contains("as-found-absent"), "{}", stdout(&both));
}

#[test]
fn gate_tells_by_the_exit_code_whether_the_tool_conforms() {
    assert_eq!(code(&leverarm(&["evaluate", SAMPLE, "--gate"])), 0);
    assert_eq!(code(&leverarm(&["evaluate", "sample-runs/guard-band-zone", "--gate"])), 1);
    assert_eq!(code(&leverarm(&["evaluate", "sample-runs/guard-band-zone"])), 0);
    let scratch = tempfile::tempdir().unwrap();
    assert_eq!(code(&certify(&["sample-runs/guard-band-zone"], scratch.path(), &["--gate"])), 1);
    assert_eq!(files(scratch.path()).len(), 6, "a tool that fails gets its certificate all the same");
}

#[test]
fn what_is_missing_is_listed_and_nothing_is_written() {
    let scratch = tempfile::tempdir().unwrap();
    let out = scratch.path().join("certificates");
    let broken = "sample-runs/broken/technician-missing";
    let refused = certify(&[broken], &out, &[]);
    assert_eq!(code(&refused), 2);
    assert!(stderr(&refused).contains("technician-missing"), "{}", stderr(&refused));
    assert!(stderr(&refused).contains("17025"), "{}", stderr(&refused));
    assert!(!out.exists());
    let shown = leverarm(&["evaluate", broken]);
    assert_eq!(code(&shown), 0);
    assert!(stdout(&shown).contains("Verdict"), "{}", stdout(&shown));
}

#[test]
fn a_folder_that_is_none_is_said_plainly() {
    let nothing = leverarm(&["evaluate", "sample-runs/no-such-folder"]);
    assert_eq!(code(&nothing), 2);
    let said = "There is no run folder 'sample-runs/no-such-folder'.";
    assert!(
        stderr(&nothing).contains(said) && stderr(&nothing).contains("1 error\n"),
        "{}",
        stderr(&nothing)
    );
    let file = leverarm(&["evaluate", "sample-runs/click-wrench-full/readings.csv"]);
    assert_eq!(code(&file), 2);
    assert!(stderr(&file).contains("is a file, and a run is the folder"), "{}", stderr(&file));
    let empty = leverarm(&["evaluate", "sample-runs/broken"]);
    assert!(stderr(&empty).contains("1 error; further checks wait until run.toml"), "{}", stderr(&empty));
    let json = leverarm(&["evaluate", "sample-runs/no-such-folder", "--json"]);
    let findings: Value = serde_json::from_str(&stdout(&json)).unwrap();
    assert!(findings["findings"].as_array().is_some_and(|f| !f.is_empty()));
}

/// Text that is given as an option is looked at as that of a file is, and the finding names the option.
#[test]
fn an_option_is_named_where_its_text_is_wrong() {
    let scratch = tempfile::tempdir().unwrap();
    for (option, text, check) in [
        ("--number", "", "GAP certificate-number-missing  --number\n"),
        ("--approver", " ", "GAP approver-missing  --approver\n"),
        ("--approver", "東", "ERROR character-unprintable  --approver\n"),
        ("--number", "1\u{7}", "ERROR character-unprintable  --number\n"),
    ] {
        let refused = certify(&[SAMPLE], scratch.path(), &[option, text]);
        assert_eq!(code(&refused), 2);
        assert!(stderr(&refused).contains(check), "{}", stderr(&refused));
    }
    assert!(files(scratch.path()).is_empty());
}

/// Nobody is told that `head` went away.
#[test]
fn a_reader_that_goes_away_is_no_fault() {
    use std::process::Stdio;
    for arguments in [["evaluate", SAMPLE, "--json"], ["evaluate", SAMPLE, "--gum-only"]] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_leverarm"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let ended = child.wait_with_output().unwrap();
        assert_eq!((code(&ended), stderr(&ended).as_str()), (0, ""), "{arguments:?}");
    }
}

#[test]
fn a_pair_must_be_one_tool_found_and_left() {
    let scratch = tempfile::tempdir().unwrap();
    for (pair, what) in [
        (["sample-runs/left-passes", "sample-runs/found-fails"], "as found"),
        (["sample-runs/found-fails", "sample-runs/click-wrench-full"], "as left"),
    ] {
        let refused = certify(&pair, scratch.path(), &[]);
        assert_eq!(code(&refused), 2);
        assert!(stderr(&refused).contains(what), "{}", stderr(&refused));
    }
    assert!(files(scratch.path()).is_empty());
}

#[test]
fn a_certificate_is_not_issued_before_the_readings() {
    let scratch = tempfile::tempdir().unwrap();
    let out = scratch.path().to_str().unwrap();
    let early = leverarm(&["certify", SAMPLE, "--out", out, "--issued", "2026-11-01"]);
    assert_eq!(code(&early), 2);
    assert!(stderr(&early).contains("before the readings"), "{}", stderr(&early));
}

#[test]
fn every_rulebook_prints_its_marks_and_comes_back_from_its_own_toml() {
    let scratch = tempfile::tempdir().unwrap();
    for name in ["iso-6789-1", "iso-6789-2", "asme-b107-300"] {
        let text = stdout(&leverarm(&["rulebook", name]));
        assert!(text.contains("from memory") && text.contains("confirmed"), "{text}");
        let own = scratch.path().join("own.toml");
        std::fs::write(&own, stdout(&leverarm(&["rulebook", name, "--toml"]))).unwrap();
        assert_eq!(stdout(&leverarm(&["rulebook", own.to_str().unwrap()])), text);
    }
    let unknown = leverarm(&["rulebook", "iso-9999"]);
    assert_eq!(code(&unknown), 2);
    assert!(stderr(&unknown).contains("iso-6789-2"), "{}", stderr(&unknown));
}

#[test]
fn the_rulebook_of_the_laboratory_is_read_beside_the_run() {
    let scratch = tempfile::tempdir().unwrap();
    let run = scratch.path().join("run");
    std::fs::create_dir_all(&run).unwrap();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs");
    let toml = std::fs::read_to_string(root.join("click-wrench-full/run.toml")).unwrap();
    std::fs::write(run.join("run.toml"), toml.replace("\"iso-6789-2\"", "\"own.toml\"")).unwrap();
    std::fs::copy(root.join("click-wrench-full/readings.csv"), run.join("readings.csv")).unwrap();
    std::fs::create_dir(scratch.path().join("references")).unwrap();
    for file in ["laboratory.toml", "references/rt-250.toml"] {
        std::fs::copy(root.join(file), scratch.path().join(file)).unwrap();
    }
    let own = stdout(&leverarm(&["rulebook", "iso-6789-2", "--toml"]));
    let tighter = own.replace("permissible_percent = 4", "permissible_percent = 0.5");
    assert_ne!(own, tighter);
    std::fs::write(run.join("own.toml"), tighter).unwrap();
    let shown = leverarm(&["evaluate", run.to_str().unwrap(), "--json"]);
    let result: Value = serde_json::from_str(&stdout(&shown)).unwrap();
    assert_eq!(result["runs"][0]["decision"]["limit"], 0.5, "{}", stdout(&shown));
    assert_eq!(result["runs"][0]["verdict"], "fail");
}

#[test]
fn checks_are_listed_and_a_misspelt_one_is_helped() {
    let list: Value = serde_json::from_str(&stdout(&leverarm(&["checks", "--json"]))).unwrap();
    assert!(list.as_array().unwrap().len() > 80);
    let one = stdout(&leverarm(&["checks", "technician-missing"]));
    assert!(one.contains("17025"), "{one}");
    let misspelt = leverarm(&["checks", "technicain-missing"]);
    assert_eq!(code(&misspelt), 2);
    assert!(stderr(&misspelt).contains("technician-missing"));
    assert!(!stderr(&leverarm(&["checks", "nonsense"])).contains("did you mean"));
}
