//! Two managers at once: numbers without gap and without double.

use std::fs;

use crate::house::{House, JOB, stderr, stdout};

#[test]
fn two_processes_that_issue_at_once_get_different_numbers() {
    let house = House::new();
    let jobs: Vec<String> = (1..=4).map(|number| format!("SK-2026-06{number:02}")).collect();
    for job in &jobs {
        let run = house.copy("click-wrench-full", job);
        let run = run.to_str().unwrap().to_owned();
        house.done("runa", &["receive", "--from", &run, "--condition", "complete"]);
        house.done("runa", &["add-run", job, &run]);
        house.done("runa", &["evaluate", job, "--gum-only"]);
        house.done("runa", &["submit", job]);
    }
    // Each approves and issues his own two jobs, at the same time as the other.
    let at_once = |arguments: &dyn Fn(&str) -> Vec<String>| {
        let children: Vec<_> = jobs
            .iter()
            .zip(["idunn", "eskil", "idunn", "eskil"])
            .map(|(job, who)| {
                let arguments = arguments(job);
                let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
                let mut command = house.command(who, &arguments);
                command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
                command.spawn().unwrap()
            })
            .collect();
        for child in children {
            let output = child.wait_with_output().unwrap();
            assert!(output.status.success(), "{}{}", stdout(&output), stderr(&output));
        }
    };
    at_once(&|job| vec!["approve".into(), job.into()]);
    at_once(&|job| vec!["issue".into(), job.into(), "--series".into(), "SK-2026".into()]);
    let mut numbers: Vec<String> = jobs
        .iter()
        .map(|job| house.json("runa", &["show", job])[0]["certificates"][0].as_str().unwrap().to_owned())
        .collect();
    numbers.sort();
    assert_eq!(numbers, ["SK-2026-0001", "SK-2026-0002", "SK-2026-0003", "SK-2026-0004"]);
    let folders = fs::read_dir(house.path("certificates")).unwrap().count();
    assert_eq!(folders, 4);
    assert_eq!(house.json("runa", &["verify"])["clean"], true);
}

#[test]
fn of_two_who_approve_one_job_at_once_one_is_refused() {
    let house = House::new();
    house.submitted();
    let children: Vec<_> = ["idunn", "eskil"]
        .into_iter()
        .map(|who| {
            let mut command = house.command(who, &["approve", JOB]);
            command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
            command.spawn().unwrap()
        })
        .collect();
    let mut codes: Vec<_> =
        children.into_iter().map(|child| child.wait_with_output().unwrap().status.code()).collect();
    codes.sort();
    assert_eq!(codes, [Some(0), Some(2)]);
}
