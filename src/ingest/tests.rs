#![allow(clippy::unwrap_used)]

mod fuzz;
mod keys;
mod traces;
mod words;

use leverarm_metrology::check;
use leverarm_metrology::decision::DecisionRule;
use leverarm_metrology::finding::{Document, Finding, Place};
use leverarm_metrology::quantity::Celsius;
use leverarm_metrology::reading::Direction;
use leverarm_metrology::tool::ToolClass;

use super::source::COUNTING;
use super::store::{Folder, Memory, Store, StoreError};
use super::{Loaded, checks, parse};

const RUN: &str = r#"format = 1
[run]
job = "SK-2026-0412"
condition = "as found"
performed = "2026-11-18"
received = 2026-11-16
place = "permanent laboratory"
rulebook = "iso-6789-2"
decision = "guarded"
decision_agreed = "2026-11-02"
[tool]
kind = "setting wrench, adjustable, graduated"
iso = "II A"
maker = "Holm"
model = "H 200"
serial = "4711"
range = "40 N·m .. 200 N·m"
division = "2 N·m"
readable = "1/2"
direction = "clockwise"
tolerance = "3 %"
length = "487 mm"
uses = 4200
[reference]
file = "ref.toml"
[laboratory]
file = "lab.toml"
[people]
technician = "A. Berg"
[environment]
temperature_start = "71.6 °F"
temperature_end = "22.1 °C"
humidity_start = "45 %"
humidity_end = "46 %"
[study]
file = "study.toml"
[certificate]
remarks = ["grip worn"]
"#;

const REFERENCE: &str = r#"id = "RT-250"
description = "torque transducer with display"
serial = "1"
certificate = "C-1"
calibrated_by = "somebody"
calibrated_on = "2026-03-02"
due = "2028-03-02"
range = "20 .. 250 N·m"
resolution = "0.01 N·m"
resolution_included = true
drift_per_year = "0.05 %"
[temperature]
per_kelvin = "0.01 %"
calibrated_at = "21 °C"
[[curve]]
direction = "clockwise"
k = 2
points = [
  { indicated = "20.0 N·m", applied = "20.0 N·m", expanded = "0.05 N·m" },
  { torque = "100 N·m", deviation = "-0.1 %", expanded = "0.1 %", k = 2.1 },
  { indicated = "250.1 N·m", applied = "250.0 N·m", expanded = "0.3 N·m" },
]
"#;

const STUDY: &str = r#"id = "TS-1"
maker = "Holm"
model = "H 200"
tools = 10
concluded = "2026-01-15"
[widths]
reproducibility = "0.4 %"
loading_point = "0.2 %"
"#;

const READINGS: &str = "series,position,target,indicated,reference,unit,time,status,note\n\
    preload,,200,200,201.20,N·m,2026-11-18T09:00:00+01:00,ok,\n\
    points,,40,40,39.87,N·m,2026-11-18T09:01:00+01:00,ok,\n\
    points,,40,40,41.02,N·m,2026-11-18T09:02:00+01:00,void,\"slipped, hand\"\n\
    points,,40,29.5 lbf·ft,40.01,N·m,2026-11-18T09:03:00+01:00,ok,\n\r\n";

fn files() -> Memory {
    Memory::new()
        .with("run.toml", RUN)
        .with("readings.csv", READINGS)
        .with("ref.toml", REFERENCE)
        .with("study.toml", STUDY)
        .with("lab.toml", "name = \"Skerry bench\"\naddress = \"Quay 1\"\n")
}

/// Check name, file, line and column of each finding.
fn told(loaded: &Loaded) -> Vec<String> {
    loaded
        .findings
        .iter()
        .map(|finding| {
            let at = loaded.sources.locate(&finding.place);
            match at.position {
                Some((line, column)) => format!("{} {}:{line}:{column}", finding.check.name, at.path),
                None => format!("{} {}", finding.check.name, at.path),
            }
        })
        .collect()
}

fn pointed(loaded: &Loaded, finding: &Finding) -> String {
    let at = loaded.sources.locate(&finding.place);
    let source = loaded.sources.get(at.document).unwrap();
    String::from_utf8_lossy(&source.bytes[at.span]).into_owned()
}

fn run_with(from: &str, to: &str) -> Loaded {
    assert!(RUN.contains(from), "{from}");
    parse(&files().with("run.toml", RUN.replacen(from, to, 1)))
}

#[test]
fn a_good_folder_is_read_whole() {
    let loaded = parse(&files());
    assert_eq!(told(&loaded), Vec::<String>::new());
    let run = loaded.run.unwrap();
    assert_eq!(run.tool.class, ToolClass::IIA);
    assert_eq!(run.tool.range.to_string(), "40 … 200 N·m");
    assert_eq!(run.tool.resolution.unwrap().to_string(), "1 N·m");
    assert_eq!(run.tool.directions, [Direction::Clockwise]);
    assert_eq!(run.environment.temperature_start, Some(Celsius(22.0)));
    assert_eq!(run.agreement.unwrap().rule, DecisionRule::GUARDED);
    assert_eq!(run.laboratory.name.as_deref(), Some("Skerry bench"));
    assert_eq!(run.study.unwrap().widths.len(), 2);
    assert_eq!(run.readings.len(), 4);
    assert_eq!(run.readings[2].note, "slipped, hand");
    assert!(!run.readings[2].is_valid());
    assert_eq!(run.readings[3].indicated.to_string(), "29.5 lbf·ft");
    let reference = loaded.reference.unwrap();
    let points = reference.curves[0].points();
    assert!((points[1].indicated.newton_metres() - 99.9).abs() < 1e-12);
    assert!((points[1].expanded.newton_metres() - 0.1).abs() < 1e-12);
    assert!((points[1].k - 2.1).abs() < 1e-12 && (points[0].k - 2.0).abs() < 1e-12);
    assert!(loaded.rulebook.is_some());
    let names: Vec<&str> = loaded.inputs.iter().map(|input| input.path.as_str()).collect();
    assert_eq!(names, ["run.toml", "readings.csv", "ref.toml", "study.toml", "lab.toml", "iso-6789-2"]);
    assert!(loaded.inputs.iter().all(|input| input.sha256.len() == 64));
}

#[test]
fn every_file_is_read_even_when_the_first_is_bad() {
    let loaded = parse(
        &files()
            .with("run.toml", RUN.replace("job = \"SK-2026-0412\"", "job = SK"))
            .with("readings.csv", READINGS.replace("39.87", "39,87x"))
            .with("ref.toml", REFERENCE.replace("\"0.01 N·m\"", "0.01")),
    );
    let told = told(&loaded);
    assert!(told.iter().any(|t| t.starts_with("toml-syntax run.toml:3:")), "{told:?}");
    assert!(told.iter().any(|t| t.contains("readings.csv:3:")), "{told:?}");
    assert!(told.contains(&"number-without-unit ref.toml:9:14".to_owned()), "{told:?}");
    assert_eq!(told.len(), 3, "{told:?}");
    assert!(loaded.run.is_none() && loaded.reference.is_none());
}

#[test]
fn each_bad_value_has_its_check_and_its_place() {
    for (from, to, expected) in [
        ("format = 1\n", "", "key-missing run.toml"),
        ("format = 1", "format = 2", "format-version run.toml:1:10"),
        ("format = 1", "format = \"1\"", "value-type run.toml:1:10"),
        ("serial =", "serail =", "key-unknown run.toml:16:1"),
        ("technician =", "technican =", "key-unknown run.toml:29:1"),
        ("serial = \"4711\"\n", "", "key-missing run.toml:11:2"),
        ("serial = \"4711\"", "serial = \"\"", "value-empty run.toml:16:10"),
        ("\"as found\"", "\"as fond\"", "value-unknown run.toml:4:13"),
        ("\"2026-11-18\"", "\"18.11.2026\"", "date-unreadable run.toml:5:13"),
        ("2026-11-16", "2026-11-16T00:00:00Z", "date-unreadable run.toml:6:12"),
        ("40 N·m .. 200 N·m", "40 .. 200", "number-without-unit run.toml:17:9"),
        ("40 N·m .. 200 N·m", "200 N·m", "range-unreadable run.toml:17:9"),
        ("\"2 N·m\"", "\"2 kgf/cm²\"", "unit-unknown run.toml:18:12"),
        ("\"1/2\"", "\"1/3\"", "value-unknown run.toml:19:12"),
        ("direction = \"clockwise\"", "direction = \"clock\"", "value-unknown run.toml:20:13"),
        ("\"3 %\"", "3", "number-without-unit run.toml:21:13"),
        ("uses = 4200", "uses = -1", "value-type run.toml:23:8"),
        ("iso = \"II A\"", "iso = \"I B\"", "kind-contradiction run.toml:12:8"),
        ("\"guarded\"", "\"garded\"", "value-unknown run.toml:9:12"),
        ("\"iso-6789-2\"", "\"iso-6789-3\"", "rulebook-unknown run.toml:8:12"),
        ("\"iso-6789-2\"", "\"own.toml\"", "file-missing run.toml:8:12"),
        ("\"ref.toml\"", "\"rf.toml\"", "file-missing run.toml:25:8"),
        ("\"71.6 °F\"", "\"71,6 °F\"", "decimal-comma run.toml:31:21"),
        ("\"45 %\"", "\"dry\"", "number-unreadable run.toml:33:18"),
        ("remarks = [\"grip worn\"]", "remarks = \"grip worn\"", "value-type run.toml:38:11"),
        ("uses = 4200", "uses = 4200\nset_value = \"90 N·m\"", "said-twice run.toml:24:13"),
        ("file = \"lab.toml\"", "file = \"lab.toml\"\nname = \"x\"", "said-twice run.toml:28:8"),
    ] {
        let loaded = run_with(from, to);
        assert_eq!(told(&loaded), [expected], "{from} -> {to}: {:#?}", loaded.findings);
        assert!(!loaded.findings[0].remedy.is_empty());
    }
}

#[test]
fn each_bad_value_of_a_reference_has_its_place() {
    for (from, to, expected) in [
        ("20.0 N·m\", applied", "120.0 N·m\", applied", "reference-curve ref.toml:20:14"),
        ("\"0.05 N·m\"", "\"0 N·m\"", "reference-curve ref.toml:19:62"),
        ("k = 2\n", "", "key-missing ref.toml:15:1"),
        ("expanded = \"0.3 N·m\"", "expandet = \"0.3 N·m\"", "key-unknown ref.toml:21:53"),
        ("torque = \"100 N·m\"", "torque = \"100\"", "number-without-unit ref.toml:20:14"),
        ("torque = \"100 N·m\"", "torque = \"100 N·m\", applied = \"1 N·m\"", "said-twice ref.toml:20:35"),
        ("resolution_included = true\n", "", "key-missing ref.toml"),
        ("k = 2\n", "k = nan\n", "number-unreadable ref.toml:17:5"),
        ("[[curve]]", "[curve]", "value-type ref.toml:15:1"),
    ] {
        assert!(REFERENCE.contains(from), "{from}");
        let loaded = parse(&files().with("ref.toml", REFERENCE.replacen(from, to, 1)));
        let told = told(&loaded);
        assert!(
            told.len() == 1 && told[0].starts_with(expected),
            "{from} -> {to}: {told:?} wanted {expected}"
        );
        assert!(loaded.reference.is_none() && loaded.run.is_some());
    }
}

#[test]
fn findings_point_at_the_bytes_of_the_value() {
    let loaded = run_with("40 N·m .. 200 N·m", "40 N·m .. 200");
    assert_eq!(pointed(&loaded, &loaded.findings[0]), "\"40 N·m .. 200\"");
    let loaded = parse(&files().with("readings.csv", READINGS.replace("39.87", " \"39x87\" ")));
    let told = told(&loaded);
    assert!(told[0].starts_with("csv-quotes"), "{told:?}");
    let loaded = parse(&files().with("readings.csv", READINGS.replace("39.87", "\"39x87\"")));
    assert_eq!(pointed(&loaded, &loaded.findings[0]), "39x87");
}

#[test]
fn nothing_unreadable_is_called_missing_later() {
    let mut loaded = run_with("temperature_start = \"71.6 °F\"", "temperature_strat = \"71.6 °F\"");
    let run = loaded.run.take().unwrap();
    let found = check::check(&run, loaded.rulebook.as_ref().unwrap(), loaded.reference.as_ref().unwrap());
    assert!(found.iter().any(|f| f.check.name == "environment-missing"), "{found:#?}");
    loaded.admit(found);
    assert!(loaded.findings.iter().all(|f| f.check.name != "environment-missing"), "{:#?}", loaded.findings);
    assert!(loaded.sources.has_failed(Document::Run, "environment.temperature_start"));
    assert!(!loaded.sources.has_failed(Document::Run, "environment.temperature_end"));
}

#[test]
fn lost_rows_prove_nothing_about_counts() {
    let names: Vec<&str> = check::CATALOGUE.iter().map(|check| check.name).collect();
    for name in COUNTING {
        assert!(names.contains(&name), "{name}");
    }
    let mut loaded = parse(&files().with("readings.csv", READINGS.replace("39.87", "?")));
    let finding = Finding::new(&checks::READINGS_EMPTY, Place::row(1, "reference"), "stays");
    loaded.admit(vec![finding]);
    assert_eq!(loaded.findings.len(), 2);
}

#[test]
fn a_bad_study_or_laboratory_is_not_called_absent() {
    let late = |name: &str, place: Place, file: &str, bytes: &str| {
        let check = check::CATALOGUE.iter().find(|check| check.name == name).unwrap();
        let mut loaded = parse(&files().with(file, bytes));
        assert_eq!(loaded.findings.len(), 1, "{:?}", loaded.findings);
        loaded.admit(vec![Finding::new(check, place, "follows")]);
        assert_eq!(loaded.findings.len(), 1, "{:?}", loaded.findings);
    };
    late(
        "variation-missing",
        Place::Whole(Document::Readings),
        "study.toml",
        &STUDY.replace("\"TS-1\"", "1"),
    );
    late("environment-missing", Place::run("laboratory.name"), "lab.toml", "name = x\n");
    late("environment-missing", Place::run("laboratory.name"), "lab.toml", "name = 4\n");
    late("environment-missing", Place::run("laboratory.address"), "lab.toml", "adress = \"x\"\n");
}

#[test]
fn the_catalogue_holds_every_check_once() {
    let mut names: Vec<&str> = checks::CATALOGUE.iter().map(|check| check.name).collect();
    let core: Vec<&str> = check::CATALOGUE.iter().map(|check| check.name).collect();
    names.extend(core);
    let count = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn files_that_cannot_be_read_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let store = Folder::new(folder.path());
    std::fs::create_dir(folder.path().join("sub")).unwrap();
    std::fs::write(folder.path().join("long"), "12345").unwrap();
    assert!(matches!(store.read("sub", 10), Err(StoreError::NotAFile { .. })));
    assert!(matches!(store.read("none", 10), Err(StoreError::Missing { .. })));
    assert!(matches!(store.read("long/none", 10), Err(StoreError::Missing { .. })));
    assert!(matches!(store.read("long", 4), Err(StoreError::TooLarge { found: 5, limit: 4, .. })));
    assert!(matches!(store.read("/etc/hostname", 10), Err(StoreError::NotRelative { .. })));
    assert!(matches!(store.read("a\0b", 10), Err(StoreError::NotRelative { .. })));
    assert_eq!(store.read("sub/../long", 5).unwrap(), b"12345");
    let loaded = super::load(folder.path());
    assert_eq!(told(&loaded), ["file-missing run.toml"]);
    assert_eq!(loaded.sources.awaited(), ["run.toml"]);
    let none = super::load(&folder.path().join("none"));
    assert!(none.findings[0].message.starts_with("there is no run folder '"), "{:?}", none.findings);
    assert_eq!(none.findings.len(), 1);
    let file = super::load(&folder.path().join("long"));
    assert!(file.findings[0].message.contains("is a file"), "{:?}", file.findings);
    assert_eq!((file.findings.len(), file.sources.awaited().len()), (1, 0));
}

#[test]
fn other_encodings_are_named() {
    let latin = RUN.replace("°", "\u{1}").into_bytes().into_iter().map(|b| if b == 1 { 0xB0 } else { b });
    let loaded = parse(&files().with("run.toml", latin.collect::<Vec<u8>>()));
    assert_eq!(told(&loaded), ["file-encoding run.toml:31:27"]);
    let utf16: Vec<u8> =
        [0xFF, 0xFE].into_iter().chain(READINGS.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    assert_eq!(told(&parse(&files().with("readings.csv", utf16))), ["file-encoding readings.csv:1:1"]);
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_change_nothing() {
    let windows = |text: &str| format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let good = parse(&files().with("run.toml", windows(RUN)).with("readings.csv", windows(READINGS)));
    assert_eq!(told(&good), Vec::<String>::new());
    assert_eq!(good.run, parse(&files()).run);
    let bad = RUN.replace("format = 1", "format = 2").replace("\"3 %\"", "\"3\"");
    let loaded = parse(&files().with("run.toml", windows(&bad)));
    assert_eq!(told(&loaded), ["format-version run.toml:1:10", "number-without-unit run.toml:21:13"]);
}

#[test]
fn a_rulebook_of_the_laboratory_is_read_and_judged() {
    let text = leverarm_metrology::rulebook::embedded("iso-6789-1").unwrap().text;
    let run = RUN.replace("\"iso-6789-2\"", "\"../own.toml\"");
    let loaded = parse(&files().with("run.toml", run.as_str()).with("../own.toml", text));
    assert!(loaded.rulebook.is_some());
    let loaded = parse(&files().with("run.toml", run.as_str()).with("../own.toml", "format = 7\n"));
    assert_eq!(told(&loaded), ["rulebook-invalid ../own.toml:1:10"]);
}
