//! The good samples: each loads without an error or a gap, and comes to the verdict that
//! `sample-runs/README.md` promises. The tables that `leverarm evaluate` prints are kept in
//! `tests/paper/snapshots`.
//!
//! `LEVERARM_BLESS=1 cargo test --release samples` writes the tables anew.

use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

use leverarm::assess::{Assessed, Overrides, assess};
use leverarm::export::text;
use leverarm::metrology::decision::Verdict::{self, Fail, Pass};
use leverarm::metrology::decision::Zone;

struct Sample {
    folder: &'static str,
    verdict: Verdict,
    /// verdict of each point, clockwise first, rising
    points: &'static [Verdict],
    /// the warnings that belong to what the sample shows
    warnings: &'static [&'static str],
}

const THREE: &[Verdict] = &[Pass, Pass, Pass];

const fn sample(
    folder: &'static str,
    verdict: Verdict,
    points: &'static [Verdict],
    warnings: &'static [&'static str],
) -> Sample {
    Sample { folder, verdict, points, warnings }
}

const SAMPLES: [Sample; 17] = [
    sample("click-wrench-full", Pass, THREE, &[]),
    sample("mean-passes-reading-outside", Pass, THREE, &["reading-outside-mean-inside"]),
    sample("guard-band-zone", Fail, &[Fail, Pass, Pass], &[]),
    sample("capped-risk", Pass, THREE, &[]),
    sample("dial-wrench", Pass, THREE, &[]),
    sample(
        "electronic-30",
        Fail,
        &[Fail, Pass, Pass],
        &["display-step-coarse", "reading-outside-mean-inside", "rule-unreachable"],
    ),
    sample("electronic-135", Pass, THREE, &["display-step-coarse"]),
    sample("electronic-200", Pass, THREE, &["display-step-coarse"]),
    sample("screwdriver", Pass, THREE, &[]),
    sample("traced-screwdriver", Pass, THREE, &[]),
    sample("fixed-tool", Pass, &[Pass], &[]),
    sample("both-directions", Pass, &[Pass, Pass, Pass, Pass, Pass, Pass], &[]),
    sample("found-fails", Fail, &[Fail, Fail, Pass], &[]),
    sample("left-passes", Pass, THREE, &["as-found-absent"]),
    sample("foot-pounds", Pass, THREE, &[]),
    sample("semicolon-comma", Pass, THREE, &[]),
    sample("conformance", Pass, THREE, &[]),
];

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn assessed(folder: &str) -> Assessed {
    assess(&root().join("sample-runs").join(folder), &Overrides::default())
        .unwrap_or_else(|error| panic!("{folder}: {error}"))
}

#[test]
fn every_folder_is_in_the_table_and_in_the_readme() {
    let of_table: BTreeSet<String> = SAMPLES.iter().map(|sample| sample.folder.to_owned()).collect();
    let on_disk: BTreeSet<String> = fs::read_dir(root().join("sample-runs"))
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().join("run.toml").exists())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    assert_eq!(of_table, on_disk);
    let readme = fs::read_to_string(root().join("sample-runs/README.md")).unwrap();
    for sample in &SAMPLES {
        let row = readme.lines().find(|line| line.starts_with(&format!("| `{}` |", sample.folder)));
        let promised = row.and_then(|row| row.trim_end_matches(" |").rsplit("| ").next());
        assert_eq!(promised, Some(sample.verdict.word()), "{}", sample.folder);
    }
}

#[test]
fn every_sample_comes_to_its_verdict() {
    for sample in &SAMPLES {
        let assessed = assessed(sample.folder);
        let found: Vec<&str> = assessed.findings.iter().map(|finding| finding.check.name).collect();
        assert_eq!(found, sample.warnings, "{}", sample.folder);
        assert!(assessed.is_certifiable(), "{}", sample.folder);
        let evaluation = &assessed.judged.as_ref().unwrap().evaluation;
        let points: Vec<Verdict> = evaluation.points.iter().map(|point| point.verdict).collect();
        assert_eq!(points, sample.points, "{}", sample.folder);
        assert_eq!(evaluation.verdict, sample.verdict, "{}", sample.folder);
        assert!(evaluation.missing().is_empty(), "{}", sample.folder);
    }
}

#[test]
fn the_samples_show_what_they_are_for() {
    let outside = assessed("mean-passes-reading-outside");
    let point = &outside.judged.as_ref().unwrap().evaluation.points[0];
    assert_eq!((point.readings_outside(), point.zone), (1, Some(Zone::Accepted)));

    let guarded = assessed("guard-band-zone");
    let point = &guarded.judged.as_ref().unwrap().evaluation.points[0];
    assert_eq!((point.readings_outside(), point.zone), (0, Some(Zone::GuardBand)));

    let voided = assessed("click-wrench-full");
    let evaluation = &voided.judged.as_ref().unwrap().evaluation;
    assert_eq!(evaluation.points.iter().map(|point| point.voided.len()).sum::<usize>(), 1);
    assert_eq!(evaluation.variations.len(), 4);

    let claimed = assessed("electronic-200");
    assert!(claimed.judged.as_ref().unwrap().evaluation.limit.by_claim);

    let (found, left) = (assessed("found-fails"), assessed("left-passes"));
    let (found, left) = (&found.judged.as_ref().unwrap().run, &left.judged.as_ref().unwrap().run);
    assert_eq!((&found.tool.serial, &found.terms.number), (&left.tool.serial, &left.terms.number));
}

#[test]
fn the_tables_are_those_on_file() {
    let folder = root().join("tests/paper/snapshots");
    let bless = std::env::var_os("LEVERARM_BLESS").is_some_and(|value| value == "1");
    let mut changed = Vec::new();
    for sample in &SAMPLES {
        let assessed = assessed(sample.folder);
        let unit = assessed.judged.as_ref().unwrap().unit();
        let table = text::render(&assessed.record().unwrap().unwrap(), unit).unwrap();
        let file = folder.join(format!("{}.txt", sample.folder));
        if bless {
            fs::create_dir_all(&folder).unwrap();
            fs::write(&file, &table).unwrap();
        }
        if fs::read_to_string(&file).ok().as_ref() != Some(&table) {
            changed.push(sample.folder);
        }
    }
    assert!(
        changed.is_empty(),
        "changed: {changed:?}; read the difference, then write them with LEVERARM_BLESS=1"
    );
}
