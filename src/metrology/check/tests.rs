//! The good run has no finding; each check is provoked by one change; nothing makes a check panic.

use std::collections::BTreeSet;

use super::sample::Sample;
use super::spoiled::CASES;
use super::{CATALOGUE, check_alone};
use crate::finding::Severity;

#[test]
fn the_good_run_has_no_finding() {
    assert_eq!(Sample::good().findings(), vec![]);
}

#[test]
fn names_are_unique_and_in_lower_case_with_hyphens() {
    let names: BTreeSet<&str> = CATALOGUE.iter().map(|check| check.name).collect();
    assert_eq!(names.len(), CATALOGUE.len());
    for check in CATALOGUE {
        assert!(check.name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-'), "{}", check.name);
        assert!(check.about.ends_with('.'), "{}", check.name);
        assert!(!check.source.is_empty(), "{}", check.name);
    }
}

#[test]
fn every_check_has_a_case_that_provokes_it() {
    let provoked: BTreeSet<&str> = CASES.iter().map(|(name, _)| *name).collect();
    let missing: Vec<&str> =
        CATALOGUE.iter().map(|check| check.name).filter(|name| !provoked.contains(name)).collect();
    assert_eq!(missing, Vec::<&str>::new());
}

/// One change, one name: nobody should have to mend five findings to learn that one thing is wrong.
#[test]
fn one_change_provokes_one_check() {
    for (name, spoil) in CASES {
        let mut sample = Sample::good();
        spoil(&mut sample);
        assert_eq!(sample.names(), vec![*name]);
    }
}

#[test]
fn every_finding_says_what_was_given_what_is_wanted_and_how_to_mend_it() {
    for (name, spoil) in CASES {
        let mut sample = Sample::good();
        spoil(&mut sample);
        for finding in sample.findings() {
            assert!(!finding.message.is_empty(), "{name}");
            assert!(!finding.given.is_empty(), "{name}: {}", finding.message);
            assert!(!finding.wanted.is_empty(), "{name}: {}", finding.message);
            assert!(!finding.remedy.is_empty(), "{name}: {}", finding.message);
        }
    }
}

#[test]
fn a_check_runs_alone_and_finds_the_same() {
    for (name, spoil) in CASES {
        let mut sample = Sample::good();
        spoil(&mut sample);
        let alone = check_alone(name, &sample.run, &sample.rulebook, &sample.reference);
        assert_eq!(alone, Some(sample.findings()), "{name}");
    }
    let good = Sample::good();
    assert_eq!(check_alone("no-such-check", &good.run, &good.rulebook, &good.reference), None);
}

/// What check() lets through without an error, evaluate() can compute.
#[test]
fn gaps_and_warnings_leave_the_run_evaluable() {
    for (name, spoil) in CASES {
        let mut sample = Sample::good();
        spoil(&mut sample);
        if sample.findings().iter().any(|f| f.severity() == Severity::Error) {
            continue;
        }
        let evaluation = crate::evaluate::evaluate(&sample.run, &sample.rulebook, &sample.reference);
        assert!(evaluation.is_ok(), "{name}: {evaluation:?}");
    }
}

/// Ten faults at once are ten findings, not the first of them.
#[test]
fn everything_is_said_at_once() {
    let mut sample = Sample::good();
    let wanted =
        ["tool-identity", "reference-overdue", "environment-missing", "technician-missing", "outlier"];
    for (name, spoil) in CASES.iter().filter(|(name, _)| wanted.contains(name)) {
        spoil(&mut sample);
        assert!(sample.names().contains(name));
    }
    assert_eq!(sample.names().len(), wanted.len());
}
