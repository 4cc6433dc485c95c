//! `leverarm evaluate --under`: what is printed, its JSON against its own schema, and the chart.
//!
//! `LEVERARM_BLESS=1 cargo test --release under` writes the texts anew.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

fn leverarm(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

const SAMPLES: [&str; 2] = ["guard-band-zone", "electronic-30"];

#[test]
fn the_comparisons_are_those_on_file() {
    let bless = std::env::var_os("LEVERARM_BLESS").is_some_and(|value| value == "1");
    let mut changed = Vec::new();
    for sample in SAMPLES {
        let shown = stdout(&leverarm(&["evaluate", &format!("sample-runs/{sample}"), "--under", "all"]));
        let text = &shown[shown.find("Under each decision rule").unwrap()..];
        assert!(text.lines().all(|line| line.chars().count() <= 110), "{text}");
        assert!(text.contains("agreed before the readings exist"), "{text}");
        let file = root().join(format!("tests/paper/snapshots/under-{sample}.txt"));
        if bless {
            fs::write(&file, text).unwrap();
        }
        if fs::read_to_string(&file).ok().as_deref() != Some(text) {
            changed.push(sample);
        }
    }
    assert!(
        changed.is_empty(),
        "changed: {changed:?}; read the difference, then write with LEVERARM_BLESS=1"
    );
}

#[test]
fn its_json_follows_its_schema_and_holds_the_result_unchanged() {
    let schema: Value = serde_json::from_str(&stdout(&leverarm(&["schema", "--under"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for sample in SAMPLES {
        let folder = format!("sample-runs/{sample}");
        let both = stdout(&leverarm(&["evaluate", &folder, "--under", "all", "--json"]));
        let mut both: Value = serde_json::from_str(&both).unwrap();
        let errors: Vec<String> = validator.iter_errors(&both).map(|error| error.to_string()).collect();
        assert_eq!(errors, Vec::<String>::new(), "{sample}");
        let under = both.as_object_mut().unwrap().remove("under").unwrap();
        let alone: Value =
            serde_json::from_str(&stdout(&leverarm(&["evaluate", &folder, "--json"]))).unwrap();
        assert_eq!(both, alone, "{sample}");
        assert_eq!(under["rules"].as_array().unwrap().len(), 8);
        let agreed: Vec<&Value> =
            under["rules"].as_array().unwrap().iter().filter(|rule| rule["agreed"] == true).collect();
        assert_eq!(agreed.len(), 1);
        assert_eq!(agreed[0]["verdict"], alone["runs"][0]["verdict"]);
    }
}

#[test]
fn a_rule_that_lacks_something_says_so() {
    let shown = stdout(&leverarm(&["evaluate", "sample-runs/guard-band-zone", "--under", "capped 2 %"]));
    assert!(shown.contains("it needs a prior"), "{shown}");
    let shown = stdout(&leverarm(&["evaluate", "sample-runs/conformance", "--under", "guarded"]));
    assert!(shown.contains("asks for no budget") && shown.contains("does not allow it"), "{shown}");
    let wrong = leverarm(&["evaluate", "sample-runs/conformance", "--under", "gaurded"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(String::from_utf8(wrong.stderr).unwrap().contains("guarded 0.83"));
}

fn chart(to: &Path, more: &[&str]) -> Output {
    let mut arguments = vec!["evaluate", "sample-runs/guard-band-zone", "--under", "all", "--chart"];
    arguments.push(to.to_str().unwrap());
    arguments.extend_from_slice(more);
    leverarm(&arguments)
}

#[test]
fn the_chart_is_the_same_twice_and_speaks() {
    let scratch = tempfile::tempdir().unwrap();
    let (a, b) = (scratch.path().join("a.svg"), scratch.path().join("b.svg"));
    assert!(chart(&a, &[]).status.success() && chart(&b, &["--json"]).status.success());
    let svg = fs::read_to_string(&a).unwrap();
    assert_eq!(svg, fs::read_to_string(&b).unwrap());
    assert!(svg.contains("<title>Probability density") && svg.contains("<desc>40 N·m clockwise: mean"));
    assert_eq!(svg.matches("<text").count(), svg.matches("font-family=\"Noto Sans\"").count());
}

#[test]
fn a_chart_replaces_no_other_file_unasked() {
    let scratch = tempfile::tempdir().unwrap();
    let file = scratch.path().join("a.svg");
    fs::write(&file, "mine").unwrap();
    let refused = chart(&file, &[]);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    assert!(chart(&file, &["--force"]).status.success());
    assert!(chart(&file, &[]).status.success(), "the same content is no conflict");
    assert_eq!(fs::read_dir(scratch.path()).unwrap().count(), 1);
}
