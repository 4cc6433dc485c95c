//! The whole life of a job, command by command.

use std::fs;

use crate::house::{House, JOB, samples, tree};

fn sample() -> String {
    samples().join("click-wrench-full").to_str().unwrap().to_owned()
}

#[test]
fn a_job_from_the_door_to_the_withdrawn_certificate() {
    let house = House::new();
    house.submitted();

    // The technician measured and cannot approve; who may is named.
    let said = house.refused("runa", &["approve", JOB]);
    assert!(said.contains("'runa' is not authorised") && said.contains("today may: "), "{said}");
    assert!(said.contains("eskil (Eskil Marnburg), idunn (Idunn Varholm)"), "{said}");

    let queue = house.json("runa", &["queue"]);
    assert_eq!(queue[0]["job"], JOB);
    assert_eq!(queue[0]["state"], "submitted");

    // Given back with remarks, and submitted again.
    house.done("idunn", &["return", JOB, "--remarks", "say more of the head"]);
    assert!(house.done("runa", &["queue"]).contains("idunn: say more of the head"));
    house.done("runa", &["submit", JOB]);
    let early = house.refused("idunn", &["issue", JOB, "--series", "SK-2026"]);
    assert!(early.contains("is submitted; for this it must be approved"), "{early}");
    house.done("idunn", &["approve", JOB]);

    let issued = house.json("idunn", &["issue", JOB, "--series", "SK-2026", "--out", "certificates"]);
    assert_eq!(issued["certificate"], "SK-2026-0001");
    let folder = house.path("certificates/SK-2026-0001");
    let files = tree(&folder);
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    for name in ["certificate.pdf", "certificate.xml", "manifest.sha256", "result.csv", "result.json"] {
        assert!(names.contains(&name), "{names:?}");
    }
    let result: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.join("result.json")).unwrap()).unwrap();
    assert_eq!(result["certificate"]["number"], "SK-2026-0001");
    assert_eq!(result["certificate"]["approver"], "Idunn Varholm");

    // The files of the record are those of the folder.
    house.done("runa", &["show", "SK-2026-0001", "--out", "again"]);
    assert_eq!(tree(&house.path("again/SK-2026-0001")), files);

    // The technician finds it by the serial number of the tool.
    let shown = house.done("runa", &["show", "26-01743"]);
    assert!(shown.contains("SK-2026-0001") && shown.contains("due         2027-11-18"), "{shown}");

    amend_and_withdraw(&house);
    let verified = house.json("runa", &["verify"]);
    assert_eq!(verified["clean"], true);
    assert_eq!(verified["recomputed"], 1);

    // The run folder comes back byte for byte, with what it names outside.
    house.done("runa", &["export-run", JOB, "out"]);
    assert_eq!(
        tree(&house.path("out/as-found/click-wrench-full")),
        tree(&samples().join("click-wrench-full"))
    );
    for name in ["laboratory.toml", "references/rt-250.toml"] {
        let back = fs::read(house.path("out/as-found").join(name)).unwrap();
        assert_eq!(back, fs::read(samples().join(name)).unwrap(), "{name}");
    }
}

fn amend_and_withdraw(house: &House) {
    let corrected = house.path("corrected.toml");
    let text = fs::read_to_string(samples().join("click-wrench-full/run.toml")).unwrap();
    fs::write(&corrected, text.replacen("HB-4471", "HB-4417", 1)).unwrap();
    let corrected = corrected.to_str().unwrap();
    let amend = ["amend", "SK-2026-0001", "--changed", "number of the order", "--run-toml", corrected];
    let said = house.refused("idunn", &amend);
    assert!(said.contains("as amender") && said.contains("today may: eskil"), "{said}");
    let amended = house.json("eskil", &amend);
    assert_eq!(amended["certificate"], "SK-2026-0002");
    assert_eq!(amended["replaces"], "SK-2026-0001");
    let folder = house.path("certificates/SK-2026-0002");
    let result: serde_json::Value =
        serde_json::from_slice(&fs::read(folder.join("result.json")).unwrap()).unwrap();
    assert_eq!(result["certificate"]["replaces"], "SK-2026-0001");
    let run = fs::read_to_string(folder.join("run.toml")).unwrap();
    assert!(run.contains("HB-4417") && run.contains("change = \"number of the order\""), "{run}");

    // What it says of itself follows from what it carries.
    let pdf = folder.join("certificate.pdf");
    let rechecked = std::process::Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(["recheck", pdf.to_str().unwrap()])
        .output()
        .unwrap();
    let said = crate::house::stdout(&rechecked);
    assert!(said.contains("Every number follows from the readings inside"), "{said}");
    assert!(said.contains("it replaces certificate SK-2026-0001"), "{said}");

    assert!(house.refused("eskil", &amend).contains("was replaced already"));
    house.done("eskil", &["withdraw", "SK-2026-0002", "--reason", "the tool was not that of the customer"]);
    let shown = house.done("runa", &["show", "SK-2026-0002"]);
    assert!(shown.contains("WITHDRAWN: the tool was not that of the customer"), "{shown}");
    assert!(house.refused("eskil", &amend).contains("was replaced already"));
}

#[test]
fn a_run_of_another_job_is_refused() {
    let house = House::new();
    let run = house.copy("click-wrench-full", "SK-2026-0500");
    let path = run.to_str().unwrap().to_owned();
    house.done("runa", &["receive", "--from", &path, "--condition", "complete"]);

    let other = sample();
    let said = house.refused("runa", &["add-run", "SK-2026-0500", &other]);
    assert!(said.contains("number of the job: the run says 'SK-2026-0412'"), "{said}");

    for (from, to, what) in [
        ("26-01743", "26-01744", "serial number of the tool"),
        ("\"guarded\"", "\"simple\"", "decision rule"),
        ("Runa Hjaltevik", "Eskil Marnburg", "technician"),
    ] {
        house.edit(&run, from, to);
        let said = house.refused("runa", &["add-run", "SK-2026-0500", &path]);
        assert!(said.contains(&format!("{what}: the run says")), "{what}: {said}");
        house.edit(&run, to, from);
    }

    // A reference file that is not the one of the recorded calibration.
    let reference = house.path("bench/references/rt-250.toml");
    let text = fs::read_to_string(&reference).unwrap();
    fs::write(&reference, text.replacen("0.05 %", "0.04 %", 1)).unwrap();
    let said = house.refused("runa", &["add-run", "SK-2026-0500", &path]);
    assert!(said.contains("reference file (SHA-256)"), "{said}");

    // An approver who did not measure cannot add it either.
    fs::write(&reference, text).unwrap();
    assert!(house.refused("idunn", &["add-run", "SK-2026-0500", &path]).contains("technician: the run says"));
    house.done("runa", &["add-run", "SK-2026-0500", &path]);
}

#[test]
fn as_found_and_as_left_stand_on_one_certificate() {
    let house = House::new();
    house.tool("T-2", "found-fails");
    let (found, left) = (samples().join("found-fails"), samples().join("left-passes"));
    let (found, left) = (found.to_str().unwrap(), left.to_str().unwrap());
    let job = "SK-2026-0427";
    house.done("runa", &["receive", "--from", found, "--condition", "worn"]);
    house.done("runa", &["add-run", job, found]);
    house.done("runa", &["add-run", job, left]);
    house.done("runa", &["evaluate", job]);
    house.done("runa", &["submit", job]);
    house.done("idunn", &["approve", job]);
    let issued = house.json("idunn", &["issue", job, "--series", "SK-2026"]);
    assert_eq!(issued["certificate"], "SK-2026-0001");
    let path = house.path("certificates/SK-2026-0001/result.json");
    let result: serde_json::Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    assert_eq!(result["runs"][0]["condition"], "as found");
    assert_eq!(result["runs"][1]["condition"], "as left");
    assert_eq!(house.json("runa", &["verify"])["recomputed"], 2);
}

#[test]
fn what_is_due_is_said_by_date() {
    let house = House::new();
    house.submitted();
    assert!(house.done("runa", &["due", "--on", "2026-12-01"]).contains("nothing is due"));
    let due = house.json("runa", &["due", "--on", "2027-11-18"]);
    assert_eq!(due["due"][0]["id"], "T-1");
    let later = house.json("runa", &["due", "--on", "2028-03-12"]);
    let ids: Vec<&str> =
        later["due"].as_array().unwrap().iter().map(|due| due["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["T-1", "RT-250"]);
}
