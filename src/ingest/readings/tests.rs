#![allow(clippy::unwrap_used)]

use std::sync::Arc;

use leverarm_metrology::finding::Document;
use leverarm_metrology::reading::{Direction, Reading, Series};
use proptest::prelude::*;

use super::{Context, DecimalSign, parse};
use crate::ingest::{Source, SourceMap};

const HEADER: &str = "series,target,indicated,reference,unit,status";

fn clockwise() -> Context {
    Context { directions: Some(vec![Direction::Clockwise]), decimal: None }
}

fn both() -> Context {
    Context { directions: Some(vec![Direction::Clockwise, Direction::CounterClockwise]), decimal: None }
}

fn read(text: &str, context: &Context) -> (Vec<Reading>, Vec<String>) {
    let (readings, rows, findings) = parse(text.as_bytes(), context);
    let mut source = Source::new("readings.csv", Arc::new(text.as_bytes().to_vec()));
    source.readings = Some(rows);
    let mut sources = SourceMap::default();
    sources.insert(Document::Readings, source);
    let told = findings
        .iter()
        .map(|finding| {
            let at = sources.locate(&finding.place).position.unwrap_or((0, 0));
            format!("{} {}:{}", finding.check.name, at.0, at.1)
        })
        .collect();
    (readings, told)
}

fn told(text: &str) -> Vec<String> {
    read(text, &clockwise()).1
}

fn row(cells: &str) -> Vec<String> {
    told(&format!("{HEADER}\n{cells}\n"))
}

#[test]
fn dialects_of_several_countries_say_the_same() {
    let point = "series,target,indicated,reference,unit,status\npoints,100,100,99.87,N·m,ok\n";
    let wanted = read(point, &clockwise()).0;
    assert_eq!(wanted.len(), 1);
    assert_eq!(wanted[0].series, Series::Points);
    for other in [
        "series;target;indicated;reference;unit;status\npoints;100;100;99,87;N·m;ok\n",
        "series;target;indicated;reference;unit;status\npoints;100;100;99.87;N·m;ok\n",
        "series\ttarget\tindicated\treference\tunit\tstatus\npoints\t100\t100\t99,87\tN·m\tok\n",
        "series,target,indicated,reference,unit,status\npoints,100,100,\"99,87\",N·m,ok\n",
        "\u{feff}Status;Unit;Reference;Indicated;Target;Series\r\nok;Nm;99,87;100;100;points\r\n;;;;;\r\n\r\n",
        "series,target,indicated,reference,status\npoints,100 N·m,100 Nm,99.87 N.m,ok",
        "sep=;\r\nseries;target;indicated;reference;unit;status\r\npoints;100;100;99,87;N·m;ok\r\n",
        "\"sep=,\"\nseries,target,indicated,reference,unit,status\npoints,100,100,99.87,N·m,ok\n",
        "sep=\t\nseries\ttarget\tindicated\treference\tunit\tstatus\npoints\t100\t100\t99,87\tN·m\tok\n",
        "\n\nseries , target,indicated,reference,unit,status\n\n points, 100 ,100, 99.87,N·m, OK \n   \n",
    ] {
        let (readings, told) = read(other, &clockwise());
        assert_eq!(told, Vec::<String>::new(), "{other}");
        assert_eq!(readings, wanted, "{other}");
    }
}

#[test]
fn decimal_signs_that_are_not_certain_are_refused() {
    let semicolon = |rows: &str| told(&format!("series;target;indicated;reference;unit;status\n{rows}\n"));
    assert_eq!(semicolon("points;100;100;1.234;N·m;ok"), ["decimal-ambiguous 2:16"]);
    assert_eq!(semicolon("points;100;100;1,234;N·m;ok"), Vec::<String>::new());
    assert_eq!(semicolon("points;100;100;0.234;N·m;ok"), Vec::<String>::new());
    assert_eq!(semicolon("points;100;100;1.234;N·m;ok\npoints;100;100;99.9;N·m;ok"), Vec::<String>::new());
    assert_eq!(semicolon("points;100;100;1.234;N·m;ok\npoints;100;100;99,9;N·m;ok"), ["decimal-mixed 2:16"]);
    assert_eq!(semicolon("points;100;100;1.234;N·m;ok\npoints;100;100;1,234;N·m;ok"), ["decimal-mixed 3:16"]);
    assert_eq!(semicolon("points;100;100;99.8;N·m;ok\npoints;100;100;99,9;N·m;ok"), ["decimal-mixed 3:16"]);
    assert_eq!(row("points,100,100,\"1,234\",N·m,ok"), ["decimal-ambiguous 2:17"]);
    assert_eq!(row("points,100,100,1.234,N·m,ok"), Vec::<String>::new());
    let tabs = |number: &str| {
        told(&format!(
            "series\ttarget\tindicated\treference\tunit\tstatus\npoints\t100\t100\t{number}\tN·m\tok\n"
        ))
    };
    assert_eq!(tabs("1.234"), ["decimal-ambiguous 2:16"]);
    assert_eq!(tabs("1,234"), ["decimal-ambiguous 2:16"]);
}

#[test]
fn run_toml_settles_what_the_file_leaves_open() {
    let text = "series;target;indicated;reference;unit;status\npoints;100;100;1.234;N·m;ok\n";
    let context = |decimal| Context { decimal: Some(decimal), ..clockwise() };
    let (readings, told) = read(text, &context(DecimalSign::Point));
    assert_eq!((readings[0].reference.to_string().as_str(), told.len()), ("1.234 N·m", 0));
    assert_eq!(read(text, &context(DecimalSign::Comma)).1, ["decimal-mixed 2:16"]);
}

#[test]
fn cells_that_are_not_numbers() {
    for (cell, check) in [
        ("1e5", "number-unreadable"),
        ("NaN", "number-unreadable"),
        ("inf", "number-unreadable"),
        ("-", "number-unreadable"),
        ("", "cell-empty"),
        ("1.2.3", "digit-grouping"),
        ("\"1,234.5\"", "digit-grouping"),
        ("1 234.5", "digit-grouping"),
        ("1'234.5", "digit-grouping"),
        ("10 kgf/cm²", "unit-unknown"),
        ("10 nm", "unit-unknown"),
        ("99999999999999999999999999999999999", "number-unreadable"),
        ("1.23456789012345678901234567890123", "number-unreadable"),
    ] {
        let told = row(&format!("points,100,99.5,{cell},N·m,ok"));
        assert_eq!(told.len(), 1, "{cell}: {told:?}");
        assert!(told[0].starts_with(check), "{cell}: {told:?}");
    }
    assert_eq!(
        row("points,100,99.5,99.4,,ok"),
        ["number-without-unit 2:8", "number-without-unit 2:12", "number-without-unit 2:17"]
    );
    assert_eq!(row("points,100,99.5,99.4,psi,ok"), ["unit-unknown 2:22"]);
    assert_eq!(row("points,100,−99.5,99.4,N·m,ok"), Vec::<String>::new());
}

#[test]
fn words_and_shapes_that_are_refused() {
    assert_eq!(row("point,100,99.5,99.4,N·m,ok"), ["series-unknown 2:1"]);
    assert_eq!(row("points,100,99.5,99.4,N·m,okay"), ["status-unknown 2:26"]);
    assert_eq!(row("points,100,99.5,99.4,N·m,"), ["cell-empty 2:26"]);
    assert_eq!(row("points,100,99,5,99,4,N·m,ok"), ["csv-fields 2:1"]);
    assert_eq!(row("points,100,99.5"), ["csv-fields 2:1"]);
    assert_eq!(row("points,100,99.5,99.4,\"N·m,ok"), ["csv-quotes 2:22"]);
    assert_eq!(row("points,100,99.5,99.4,\"N\"·m,ok"), ["csv-quotes 2:22"]);
    assert_eq!(told(""), ["readings-empty 0:0"]);
    assert_eq!(told("\u{feff}\r\n \r\n"), ["readings-empty 0:0"]);
    assert_eq!(told("series"), ["csv-delimiter 1:1"]);
    assert_eq!(told("series;target,indicated\n"), ["csv-delimiter 1:1"]);
    assert_eq!(told("series,target,indicated,reference,unit,status,traget\n"), ["column-unknown 1:47"]);
    assert_eq!(told("series,traget,indicated,reference,unit,status\n"), ["column-unknown 1:8"]);
    assert_eq!(told("series,indicated,reference,unit,status\n"), ["column-missing 1:1"]);
    assert_eq!(told("series,target,indicated,reference,unit,status,Unit\n"), ["column-twice 1:47"]);
    assert_eq!(told("Serie;Soll;Anzeige;Normal;Einheit;Status\n"), ["column-unknown 1:1"]);
    assert_eq!(told("a;b;c;d;e;f\n"), ["column-unknown 1:1"]);
    assert_eq!(
        told("series;x;y;reference;unit;status\n"),
        ["column-unknown 1:8", "column-missing 1:1", "column-missing 1:1"]
    );
}

#[test]
fn a_tool_of_both_directions_needs_them_said() {
    let head = "series,target,indicated,reference,unit,status";
    let line = "points,100,99.5,99.4,N·m,ok";
    assert_eq!(read(&format!("{head}\n{line}\n{line}\n"), &both()).1, ["direction-missing 1:1"]);
    let text = format!("{head},direction\n{line},ccw\n{line},\n{line},up\n");
    let (readings, told) = read(&text, &both());
    assert_eq!(told, ["direction-missing 3:29", "direction-unknown 4:29"]);
    assert_eq!(readings[0].direction, Direction::CounterClockwise);
    assert_eq!(read(&format!("{head},direction\n{line},\n"), &clockwise()).1, Vec::<String>::new());
}

#[test]
fn times_are_of_one_kind() {
    let text = |first: &str, second: &str| {
        told(&format!("{HEADER},time\npoints,1,1.5,1.5,N·m,ok,{first}\npoints,1,1.5,1.5,N·m,ok,{second}\n"))
    };
    assert_eq!(text("2026-11-18 09:00:00", "2026-11-18T09:01:00"), Vec::<String>::new());
    assert_eq!(text("2026-11-18 09:00:00", "2026-11-18T09:01:00Z"), ["time-offset-mixed 3:25"]);
    assert_eq!(text("9 o'clock", ""), ["time-unreadable 2:25"]);
}

#[test]
fn row_numbers_count_bad_rows_and_leave_out_blank_ones() {
    let good = "points,100,99.5,99.4,N·m,ok";
    let text = format!("{HEADER}\n{good}\n\n{good},x\n,,,,,\n{good}\n");
    let (readings, told) = read(&text, &clockwise());
    assert_eq!(told, ["csv-fields 4:1"]);
    assert_eq!(readings.iter().map(|r| r.row).collect::<Vec<_>>(), [1, 3]);
}

#[test]
fn a_million_bad_rows_do_not_make_a_million_findings() {
    let text = format!("{HEADER}\n{}", "points,100,99.5,x,N·m,ok\n".repeat(1000));
    let (_, _, findings) = parse(text.as_bytes(), &clockwise());
    assert_eq!(findings.len(), 1);
    assert!(
        findings[0].message.ends_with("So it is in 1000 places: readings 1 to 1000"),
        "{}",
        findings[0].message
    );
    let mixed = ["1,5,x", "1,5,2", "1,5,x", "1,5,x", "1,5,OL", "1,5,x"];
    let text: String = mixed.iter().map(|cells| format!("points,{cells},N·m,ok\n")).collect();
    let (_, _, findings) = parse(format!("{HEADER}\n{text}").as_bytes(), &clockwise());
    assert_eq!(findings.len(), 2, "{findings:#?}");
    assert!(findings[0].message.ends_with("4 places: readings 1, 3 to 4 and 6"), "{}", findings[0].message);
    assert!(findings[1].message.contains("overload"), "{}", findings[1].message);
}

proptest! {
    #[test]
    fn what_is_written_is_read(values in prop::collection::vec((0_u32..1_000_000, 0_u32..5), 1..20)) {
        let number = |value: u32, decimals: u32| {
            let text = format!("{value:07}");
            let cut = text.len() - decimals as usize;
            if decimals == 0 { text } else { format!("{}.{}", &text[..cut], &text[cut..]) }
        };
        let rows: String = values
            .iter()
            .map(|(value, decimals)| format!("points,100.5,1,{},N·m,ok\n", number(*value, *decimals)))
            .collect();
        let (readings, told) = read(&format!("{HEADER}\n{rows}"), &clockwise());
        prop_assert_eq!(told, Vec::<String>::new());
        for (reading, (value, decimals)) in readings.iter().zip(&values) {
            prop_assert_eq!(reading.reference.decimals(), *decimals);
            prop_assert_eq!(reading.reference.digits().mantissa(), i128::from(*value));
        }
    }

    #[test]
    fn cells_are_found_where_the_reader_reads_them(cells in prop::collection::vec("[a-z\"\n·]{0,6}", 1..6)) {
        let quoted: Vec<String> = cells.iter().map(|cell| format!("\"{}\"", cell.replace('"', "\"\""))).collect();
        let row = quoted.join(",");
        let scan = super::cells::Scan::of(row.as_bytes(), 0, b',');
        prop_assert_eq!(scan.fault, None);
        let found: Vec<&str> = scan.cells.iter().map(|cell| &row[cell.clone()]).collect();
        prop_assert_eq!(found, quoted.iter().map(String::as_str).collect::<Vec<_>>());
    }
}

#[test]
#[ignore = "a measurement, not a test"]
fn a_million_rows() {
    let mut text = String::from("series,position,target,indicated,reference,unit,time,status,note\n");
    for i in 0..1_000_000_u32 {
        let (hour, minute, second) = (i / 3600 % 24, i / 60 % 60, i % 60);
        text.push_str(&format!(
            "points,,120,120,{}.{:02},N·m,2026-11-18T{hour:02}:{minute:02}:{second:02}+01:00,ok,\n",
            118 + i % 5,
            i % 100
        ));
    }
    for _ in 0..5 {
        let start = std::time::Instant::now();
        let (readings, _, findings) = parse(text.as_bytes(), &clockwise());
        eprintln!(
            "{} readings, {} bytes, {} findings: {:?}",
            readings.len(),
            text.len(),
            findings.len(),
            start.elapsed()
        );
    }
    eprintln!("a reading takes {} bytes", std::mem::size_of::<Reading>());
}
