//! The catalogue of checks: every check has a run folder that provokes it in `sample-runs/broken`,
//! and a page in `standards-notes/checks` that is generated from what leverarm says to that folder.
//!
//! `LEVERARM_BLESS=1 cargo test --release catalogue` writes the pages anew.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

use leverarm::assess::{Assessed, Overrides, assess, catalogue};
use leverarm::diagnose;
use leverarm::metrology::check::outcome;
use leverarm::metrology::evaluate::{MonteCarloPlan, Options};
use leverarm::metrology::finding::{Check, Severity};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn broken(name: &str) -> PathBuf {
    root().join("sample-runs/broken").join(name)
}

/// Whether a check looks at Monte Carlo. The others are shown without it: what few degrees of freedom
/// do, Monte Carlo sees too.
fn wants_trials(check: &Check) -> bool {
    check.name == "monte-carlo-disagrees"
}

fn provoked(check: &Check) -> Assessed {
    let plan = wants_trials(check).then(|| MonteCarloPlan::new(6789, NonZeroUsize::MIN));
    let overrides = Overrides { options: Options { monte_carlo: plan }, ..Overrides::default() };
    assess(&broken(check.name), &overrides).unwrap_or_else(|error| panic!("{}: {error}", check.name))
}

#[test]
fn names_are_unique_and_every_folder_is_named_after_a_check() {
    let names: BTreeSet<&str> = catalogue().iter().map(|check| check.name).collect();
    assert_eq!(names.len(), catalogue().len(), "two checks have one name");
    let folders: BTreeSet<String> = fs::read_dir(broken(""))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    let wanted: BTreeSet<String> = names.iter().map(|name| (*name).to_owned()).collect();
    let without: Vec<_> = wanted.difference(&folders).collect();
    let stray: Vec<_> = folders.difference(&wanted).collect();
    assert!(
        without.is_empty() && stray.is_empty(),
        "checks without a folder: {without:?}; folders without a check: {stray:?}"
    );
}

#[test]
fn every_broken_folder_provokes_its_check_and_no_other() {
    let mut wrong = String::new();
    for check in catalogue() {
        let found: BTreeSet<&str> =
            provoked(check).findings.iter().map(|finding| finding.check.name).collect();
        let wanted = BTreeSet::from([check.name]);
        if found != wanted {
            let _ = writeln!(wrong, "{}: wanted {wanted:?}, found {found:?}", check.name);
        }
    }
    assert!(wrong.is_empty(), "\n{wrong}");
}

#[test]
fn errors_stop_the_evaluation_and_nothing_else_does() {
    for check in catalogue() {
        let assessed = provoked(check);
        assert_eq!(assessed.judged.is_none(), check.severity == Severity::Error, "{}", check.name);
        assert_eq!(assessed.is_certifiable(), check.severity == Severity::Warning, "{}", check.name);
    }
}

#[test]
fn the_pages_say_what_leverarm_says() {
    let mut wanted: BTreeMap<String, String> =
        catalogue().iter().map(|check| (format!("{}.md", check.name), page(check))).collect();
    wanted.insert("README.md".to_owned(), index());
    let folder = root().join("standards-notes/checks");
    if std::env::var_os("LEVERARM_BLESS").is_some_and(|value| value == "1") {
        bless(&folder, &wanted);
    }
    let there = pages(&folder);
    let stale: Vec<&String> =
        wanted.iter().filter(|(name, text)| there.get(*name) != Some(text)).map(|(name, _)| name).collect();
    let stray: Vec<&String> = there.keys().filter(|name| !wanted.contains_key(*name)).collect();
    assert!(
        stale.is_empty() && stray.is_empty(),
        "stale pages {stale:?}, stray pages {stray:?}: read the difference, then write them with LEVERARM_BLESS=1"
    );
}

fn pages(folder: &Path) -> BTreeMap<String, String> {
    let entries = fs::read_dir(folder).into_iter().flatten();
    entries
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().into_string().unwrap(), fs::read_to_string(entry.path()).unwrap()))
        .collect()
}

fn bless(folder: &Path, wanted: &BTreeMap<String, String>) {
    fs::create_dir_all(folder).unwrap();
    for name in pages(folder).keys().filter(|name| !wanted.contains_key(*name)) {
        fs::remove_file(folder.join(name)).unwrap();
    }
    for (name, text) in wanted {
        fs::write(folder.join(name), text).unwrap();
    }
}

const fn consequence(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "An **error**: nothing is evaluated until it is mended.",
        Severity::Gap => "A **gap**: the numbers are shown, a certificate is refused.",
        Severity::Warning => "A **warning**: it goes on the record and changes no number.",
    }
}

/// The first line of the broken run, which says in words what is wrong with it.
fn fault_in_words(check: &Check) -> String {
    let run = fs::read_to_string(broken(check.name).join("run.toml")).unwrap();
    run.lines().next().and_then(|line| line.strip_prefix("# ")).unwrap_or_default().to_owned()
}

fn page(check: &Check) -> String {
    let name = check.name;
    let mut page = format!(
        "# {name}\n\n{}\n\n{}\n\nAsked by: {}.\n\n",
        check.about,
        consequence(check.severity),
        check.source
    );
    let assessed = provoked(check);
    let after = outcome::CATALOGUE.iter().any(|c| c.name == name);
    let option = if after && !wants_trials(check) { " --gum-only" } else { "" };
    let _ = write!(
        page,
        "Provoked by [`sample-runs/broken/{name}`](../../sample-runs/broken/{name}): {}\n\n```\nleverarm evaluate sample-runs/broken/{name}{option}\n```\n\n```text\n{}```\n",
        fault_in_words(check),
        diagnose::text(&assessed.findings, &assessed.sources)
    );
    page.push_str("\n<!-- generated from the sample: do not edit, see tests/paper/catalogue.rs -->\n");
    page
}

fn index() -> String {
    let mut index = String::from(
        "# What leverarm checks\n\nEvery check has a name, a sample that provokes it and a page with the exact message. `leverarm checks` lists\nthem, too.\n",
    );
    for (severity, heading) in
        [(Severity::Error, "Errors"), (Severity::Gap, "Gaps"), (Severity::Warning, "Warnings")]
    {
        let _ = write!(
            index,
            "\n## {heading}\n\n{}\n\n| check | what it looks for | asked by |\n|---|---|---|\n",
            consequence(severity)
        );
        for check in catalogue().into_iter().filter(|check| check.severity == severity) {
            let _ = writeln!(index, "| [{0}]({0}.md) | {1} | {2} |", check.name, check.about, check.source);
        }
    }
    index.push_str("\n<!-- generated: do not edit, see tests/paper/catalogue.rs -->\n");
    index
}
