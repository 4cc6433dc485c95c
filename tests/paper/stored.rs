//! `leverarm pair`: what an electronic tool stored itself, as CSV and as a spreadsheet, and what is
//! refused. All values are invented.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use flate2::Compression;
use flate2::write::DeflateEncoder;
use serde_json::Value;

struct Bench {
    _scratch: tempfile::TempDir,
    root: PathBuf,
}

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs")
}

impl Bench {
    fn new() -> Bench {
        let scratch = tempfile::tempdir().unwrap();
        let root = scratch.path().join("stored");
        for folder in
            ["stored/electronic-135", "stored/given-out", "stored/stored-columns", "references", "studies"]
        {
            fs::create_dir_all(scratch.path().join(folder)).unwrap();
            for entry in fs::read_dir(samples().join(folder)).unwrap() {
                let path = entry.unwrap().path();
                if path.is_file() {
                    fs::copy(&path, scratch.path().join(folder).join(path.file_name().unwrap())).unwrap();
                }
            }
        }
        fs::copy(samples().join("laboratory.toml"), scratch.path().join("laboratory.toml")).unwrap();
        Bench { _scratch: scratch, root }
    }

    fn pair(&self, more: &[&str]) -> Output {
        self.pair_file("given-out/peaks.csv", more)
    }

    fn pair_file(&self, stored: &str, more: &[&str]) -> Output {
        let mut arguments = vec!["pair", "electronic-135", "--stored", stored];
        arguments.extend_from_slice(more);
        Command::new(env!("CARGO_BIN_EXE_leverarm")).args(arguments).current_dir(&self.root).output().unwrap()
    }

    /// The name of the refusal of a changed table.
    fn refused(&self, change: impl FnOnce(Vec<String>) -> Vec<String>) -> String {
        let lines = change(peaks().lines().map(str::to_owned).collect());
        fs::write(self.root.join("changed.csv"), lines.join("\n")).unwrap();
        self.refusal("changed.csv")
    }

    fn refusal(&self, stored: &str) -> String {
        let output = self.pair_file(stored, &["--json"]);
        assert_eq!(output.status.code(), Some(2), "{}", text(&output));
        assert!(!self.root.join("electronic-135-paired").exists());
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        assert!(!said["remedy"].as_str().unwrap().is_empty());
        said["error"].as_str().unwrap().to_owned()
    }
}

fn peaks() -> String {
    fs::read_to_string(samples().join("stored/given-out/peaks.csv")).unwrap()
}

fn text(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

#[test]
fn the_sample_is_paired_into_a_new_folder_and_comes_to_the_verdict_of_its_twin() {
    let bench = Bench::new();
    let before = fs::read(bench.root.join("electronic-135/readings.csv")).unwrap();
    let shown = bench.pair(&["--show"]);
    assert_eq!(shown.status.code(), Some(0), "{}", text(&shown));
    assert!(!bench.root.join("electronic-135-paired").exists());
    let first = bench.pair(&[]);
    assert_eq!(first.status.code(), Some(0), "{}", text(&first));
    assert!(text(&first).contains("confirmed by the file of the tool"));
    let folder = bench.root.join("electronic-135-paired");
    let twin = fs::read_to_string(samples().join("electronic-135/readings.csv")).unwrap();
    assert_eq!(fs::read_to_string(folder.join("readings.csv")).unwrap(), twin);
    assert_eq!(fs::read(bench.root.join("electronic-135/readings.csv")).unwrap(), before);
    let record: Value = serde_json::from_slice(&fs::read(folder.join("pairing.json")).unwrap()).unwrap();
    assert_eq!(record["pairs"].as_array().unwrap().len(), 16);
    assert_eq!(record["clock"]["offset_s"], 219.0);
    assert_eq!(record["pairs"][1]["stored"], "6,7");
    assert!(text(&bench.pair(&[])).contains("unchanged"));
    let run = folder.to_str().unwrap();
    let evaluated =
        Command::new(env!("CARGO_BIN_EXE_leverarm")).args(["evaluate", run, "--gate"]).output().unwrap();
    assert_eq!(evaluated.status.code(), Some(0), "{}", text(&evaluated));
    // Paired once, there is nothing left to fill, and nothing that was filled is filled anew.
    let again = Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(["pair", run, "--stored", "given-out/peaks.csv", "--json"])
        .current_dir(&bench.root)
        .output()
        .unwrap();
    let said: Value = serde_json::from_slice(&again.stdout).unwrap();
    assert_eq!(said["error"], "stored-nothing-to-fill");
    fs::write(folder.join("readings.csv"), "x").unwrap();
    assert_eq!(bench.pair(&[]).status.code(), Some(2));
    assert_eq!(fs::read(folder.join("readings.csv")).unwrap(), b"x");
}

#[test]
fn doubtful_pairings_are_refused() {
    let bench = Bench::new();
    let without = |at: usize| {
        move |mut lines: Vec<String>| {
            lines.remove(at);
            lines
        }
    };
    assert_eq!(bench.refused(without(9)), "pairing-count");
    assert_eq!(
        bench.refused(|mut lines| {
            let last = lines[19].replace("656", "657").replace(":51", ":59");
            lines.push(last);
            lines
        }),
        "pairing-count"
    );
    // The values one row up, numbers and times as they were.
    let value = |line: &str| line.split(';').nth(3).unwrap().to_owned();
    let with = |line: &str, value: &str| {
        let mut cells: Vec<&str> = line.split(';').collect();
        cells[3] = value;
        cells.join(";")
    };
    assert_eq!(
        bench.refused(|mut lines| {
            let values: Vec<String> = lines[4..].iter().map(|line| value(line)).collect();
            for (line, value) in lines[4..].iter_mut().zip(values.iter().cycle().skip(1)) {
                *line = with(line, value);
            }
            lines
        }),
        "pairing-shift"
    );
    assert_eq!(
        bench.refused(|mut lines| {
            let (a, b) = (value(&lines[9]), value(&lines[10]));
            lines[9] = with(&lines[9], &b);
            lines[10] = with(&lines[10], &a);
            lines
        }),
        "pairing-swap"
    );
    assert_eq!(
        bench.refused(|lines| lines.iter().map(|line| line.replace(";Nm", ";lbf·in")).collect()),
        "pairing-implausible"
    );
    assert_eq!(
        bench.refused(|lines| lines.iter().map(|line| line.replace("13:31:34", "13:31:55")).collect()),
        "pairing-time"
    );
}

#[test]
fn tables_that_cannot_be_used_are_refused() {
    let bench = Bench::new();
    let replaced = |from: &'static str, to: &'static str| {
        move |lines: Vec<String>| lines.iter().map(|line| line.replace(from, to)).collect()
    };
    assert_eq!(bench.refused(replaced("TE135-2290", "TE135-2291")), "stored-serial");
    assert_eq!(bench.refused(replaced("Peak", "Value")), "stored-column");
    assert_eq!(bench.refused(replaced("Unit", "Peak")), "stored-column");
    assert_eq!(bench.refused(replaced("81,2;", "OL;")), "stored-cell");
    assert_eq!(bench.refused(replaced("81,2;", "81,23;")), "stored-cell");
    assert_eq!(bench.refused(replaced("81,2;", "81.2;")), "stored-cell");
    assert_eq!(bench.refused(replaced(";Nm", ";bar")), "stored-cell");
    assert_eq!(bench.refused(replaced("19.11.2026", "2026/11/19")), "stored-cell");
    assert_eq!(bench.refused(replaced("647;", "640;")), "stored-order");
    assert_eq!(bench.refused(|lines| lines[..4].to_vec()), "stored-empty");
    assert_eq!(bench.refusal("no-such.csv"), "stored-file");
    fs::write(bench.root.join("latin.csv"), b"Entr\xe9e;Peak\n").unwrap();
    assert_eq!(bench.refusal("latin.csv"), "stored-encoding");
    let mapping = bench.root.join("stored-columns/te-135.toml");
    let written = fs::read_to_string(&mapping).unwrap();
    fs::write(&mapping, written.replace("TE 135", "TE 200")).unwrap();
    assert_eq!(bench.refused(|lines| lines), "stored-model");
    fs::write(&mapping, written.replace("header", "haeder")).unwrap();
    assert_eq!(bench.refused(|lines| lines), "stored-mapping");
}

/// A ZIP archive of deflated parts.
fn archive(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for (name, bytes) in parts {
        let mut packer = DeflateEncoder::new(Vec::new(), Compression::default());
        packer.write_all(bytes).unwrap();
        let packed = packer.finish().unwrap();
        let mut crc = flate2::Crc::new();
        crc.update(bytes);
        let mut about = vec![20, 0, 0, 0, 8, 0, 0, 0, 0, 0];
        about.extend(crc.sum().to_le_bytes());
        about.extend((packed.len() as u32).to_le_bytes());
        about.extend((bytes.len() as u32).to_le_bytes());
        about.extend((name.len() as u16).to_le_bytes());
        about.extend([0, 0]);
        list.extend(b"PK\x01\x02\x14\x00");
        list.extend(&about);
        list.extend([0; 10]);
        list.extend((out.len() as u32).to_le_bytes());
        list.extend(name.as_bytes());
        out.extend(b"PK\x03\x04");
        out.extend(&about);
        out.extend(name.as_bytes());
        out.extend(packed);
    }
    let start = out.len() as u32;
    out.extend(&list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    let count = (parts.len() as u16).to_le_bytes();
    out.extend([count, count].concat());
    out.extend((list.len() as u32).to_le_bytes());
    out.extend(start.to_le_bytes());
    out.extend([0, 0]);
    out
}

const RELATIONS: &str = r#"<Relationships><Relationship Id="rId1" Type="http://x/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str =
    r#"<workbook xmlns:r="x"><sheets><sheet name="Peaks" sheetId="1" r:id="rId1"/></sheets></workbook>"#;
const BOOK_RELATIONS: &str = r#"<Relationships><Relationship Id="rId1" Type="http://x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;
const STYLES: &str = r#"<styleSheet><numFmts><numFmt numFmtId="164" formatCode="dd\.mm\.yyyy\ hh:mm:ss"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs></styleSheet>"#;
const SHARED: &str = "<sst><si><t>Entry</t></si><si><r><t>Pe</t></r><r><t>ak</t></r><rPh><t>no</t></rPh></si><si><t>When</t></si><si><t>TE135-2290</t></si></sst>";
const XLSX_MAPPING: &str = "format = 1\nmodel = \"TE 135\"\n[table]\nheader = 2\nserial_cell = \"B1\"\n[columns]\nindex = \"Entry\"\nvalue = \"Peak\"\ntime = \"When\"\n[value]\nunit = \"N·m\"\n";

/// The peaks as a sheet, newest first, numbers as binary numbers.
fn sheet() -> String {
    let mut rows: Vec<String> = vec![
        r#"<row r="1"><c r="B1" t="s"><v>3</v></c></row>"#.to_owned(),
        r#"<row r="2"><c r="A2" t="s"><v>0</v></c><c r="B2" t="s"><v>1</v></c><c r="C2" t="s"><v>2</v></c></row>"#.to_owned(),
    ];
    for (line, row) in peaks().lines().skip(4).collect::<Vec<_>>().iter().rev().zip(3..) {
        let cells: Vec<&str> = line.split(';').collect();
        let clock: Vec<f64> = cells[2].split(':').map(|part| part.parse().unwrap()).collect();
        // 2026-11-19 is the day 46345 of a spreadsheet.
        let day = 46345.0 + (clock[0] * 3600.0 + clock[1] * 60.0 + clock[2]) / 86400.0;
        let single: f32 = cells[3].replace(',', ".").parse().unwrap();
        rows.push(format!(
            r#"<row r="{row}"><c r="A{row}"><v>{}</v></c><c r="B{row}"><v>{}</v></c><c r="C{row}" s="1"><v>{day}</v></c></row>"#,
            cells[0], f64::from(single)
        ));
    }
    format!("<worksheet><sheetData>{}</sheetData></worksheet>", rows.concat())
}

fn workbook(sheet: &[u8], shared: &[u8]) -> Vec<u8> {
    archive(&[
        ("_rels/.rels", RELATIONS.as_bytes()),
        ("xl/workbook.xml", BOOK.as_bytes()),
        ("xl/_rels/workbook.xml.rels", BOOK_RELATIONS.as_bytes()),
        ("xl/styles.xml", STYLES.as_bytes()),
        ("xl/sharedStrings.xml", shared),
        ("xl/worksheets/sheet1.xml", sheet),
    ])
}

#[test]
fn a_spreadsheet_is_paired_as_a_text_is() {
    let bench = Bench::new();
    fs::write(bench.root.join("peaks.xlsx"), workbook(sheet().as_bytes(), SHARED.as_bytes())).unwrap();
    fs::write(bench.root.join("xlsx.toml"), XLSX_MAPPING).unwrap();
    let output = bench.pair_file("peaks.xlsx", &["--columns", "xlsx.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output));
    let folder = bench.root.join("electronic-135-paired");
    let twin = fs::read_to_string(samples().join("electronic-135/readings.csv")).unwrap();
    assert_eq!(fs::read_to_string(folder.join("readings.csv")).unwrap(), twin);
    let record: Value = serde_json::from_slice(&fs::read(folder.join("pairing.json")).unwrap()).unwrap();
    assert_eq!(record["pairs"][0]["place"]["sheet"], "Peaks");
    assert_eq!(record["pairs"][0]["place"]["row"], 18);
}

#[test]
fn hostile_spreadsheets_are_refused() {
    let bench = Bench::new();
    fs::write(bench.root.join("electronic-135/stored.toml"), XLSX_MAPPING).unwrap();
    let good = sheet();
    let refused = |bytes: &[u8]| {
        fs::write(bench.root.join("hostile.xlsx"), bytes).unwrap();
        bench.refusal("hostile.xlsx")
    };
    // A part that unpacks to a hundred million bytes.
    assert_eq!(refused(&workbook(&vec![b' '; 100_000_000], SHARED.as_bytes())), "stored-workbook");
    let shared = "<sst count=\"99999999999999999\" uniqueCount=\"99999999999999999\">".to_owned()
        + &"<si/>".repeat(600_000);
    assert_eq!(refused(&workbook(good.as_bytes(), shared.as_bytes())), "stored-workbook");
    let far = good.replace("r=\"A3\"", "r=\"ZZZZZZ999999999\"");
    assert!(refused(&workbook(far.as_bytes(), SHARED.as_bytes())).starts_with("stored-"));
    let unknown = good.replace("<v>3</v>", "<v>333</v>");
    assert_eq!(refused(&workbook(unknown.as_bytes(), SHARED.as_bytes())), "stored-workbook");
    assert_eq!(refused(&workbook(b"<worksheet><sheetData><row", SHARED.as_bytes())), "stored-workbook");
    let whole = workbook(good.as_bytes(), SHARED.as_bytes());
    assert_eq!(refused(&whole[..whole.len() / 2]), "stored-workbook");
    assert_eq!(refused(b"PK"), "stored-workbook");
    let mut damaged = whole;
    damaged[600] ^= 0x55;
    assert!(refused(&damaged).starts_with("stored-"));
}
