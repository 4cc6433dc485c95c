//! What the screen said, and what is on disk: whether they agree.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use leverarm_pull::codec;
use leverarm_session::entry::{Did, Taking};
use leverarm_session::journal::{Decoded, decode};
use regex::Regex;
use sha2::{Digest, Sha256};

use crate::folder::Folder;

static TAKEN: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"(?:✓ Reading |✓ {1,3})(\d+):? (-?[0-9.]+ \S*m)\b").unwrap());
static VOID: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"(?:✗ Reading |! Reading |✗ {1,3})(\d+) ").unwrap());
static SHOWED: LazyLock<Regex> =
    LazyLock::new(|| Regex::new(r"✓ Reading (\d+): the tool showed (\S+ \S+)").unwrap());

/// What is remembered of a picture: readings that it says are taken, void, or read off the tool.
pub fn readings(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for line in text.lines() {
        if let Some(showed) = SHOWED.captures(line) {
            found.push(format!("showed {} {}", &showed[1], &showed[2]));
        }
        for taken in TAKEN.captures_iter(line) {
            found.push(format!("taken {} {}", &taken[1], &taken[2]));
        }
        for void in VOID.captures_iter(line) {
            found.push(format!("void {}", &void[1]));
        }
    }
    found
}

/// Nothing is remembered.
pub fn nothing(_: &str) -> Vec<String> {
    Vec::new()
}

/// The journal of a run folder.
pub fn journal(folder: &Folder) -> Decoded {
    decode(&folder.bytes("session.journal")).unwrap()
}

/// What the journal would let the screen say, in the same words, in the order of its entries.
pub fn sayable(decoded: &Decoded) -> Vec<String> {
    let mut found = Vec::new();
    for entry in &decoded.entries {
        match &entry.did {
            Did::Taken { reading } => found.push(format!("taken {} {}", reading.number, reading.reference)),
            Did::Voided { reading, .. } => found.push(format!("void {}", reading.number)),
            Did::Struck { reading, .. } => found.push(format!("void {reading}")),
            Did::Showed { reading, indicated } => found.push(format!("showed {reading} {indicated}")),
            _ => {}
        }
    }
    found
}

/// A reading with the reason why it is void, and what the tool showed.
pub struct Kept {
    pub reading: Taking,
    pub void: Option<String>,
}

/// The readings of a journal by number.
pub fn kept(decoded: &Decoded) -> BTreeMap<u32, Kept> {
    let mut all = BTreeMap::new();
    for entry in &decoded.entries {
        match &entry.did {
            Did::Taken { reading } => {
                all.insert(reading.number, Kept { reading: reading.clone(), void: None });
            }
            Did::Voided { reading, reason } => {
                all.insert(reading.number, Kept { reading: reading.clone(), void: Some(reason.clone()) });
            }
            Did::Struck { reading, reason } => all.get_mut(reading).unwrap().void = Some(reason.clone()),
            Did::Showed { reading, indicated } => {
                all.get_mut(reading).unwrap().reading.indicated = Some(indicated.clone());
            }
            _ => {}
        }
    }
    all
}

/// Every row of `readings.csv` is a reading of the journal with the same digits, and every trace is
/// there, is whole and holds the torque that was read. Returns how many readings and how many void.
pub fn agree(folder: &Folder) -> (usize, usize) {
    let decoded = journal(folder);
    assert!(!decoded.torn);
    assert!(matches!(decoded.entries.last().unwrap().did, Did::Finished));
    let kept = kept(&decoded);
    let csv = folder.bytes("readings.csv");
    let mut table = csv::Reader::from_reader(csv.as_slice());
    let header = table.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), kept.len());
    for (row, Kept { reading, void }) in rows.iter().zip(kept.values()) {
        let cell = |name: &str| &row[header.iter().position(|known| known == name).unwrap()];
        let torque = |name: &str| format!("{} {}", cell(name), cell("unit")).trim().to_owned();
        assert_eq!(torque("reference"), reading.reference);
        assert_eq!(torque("target"), reading.target);
        match &reading.indicated {
            Some(indicated) => assert_eq!(&torque("indicated"), indicated),
            None => assert_eq!(cell("indicated"), ""),
        }
        assert_eq!(cell("series"), reading.series);
        assert_eq!(cell("position"), reading.position);
        assert_eq!(cell("seconds"), reading.seconds.as_deref().unwrap_or_default());
        assert_eq!(cell("status"), if void.is_some() { "void" } else { "ok" });
        assert!(void.as_ref().is_none_or(|reason| cell("note").starts_with(reason.as_str())));
        assert_eq!(cell("trace"), reading.trace.as_ref().map_or("", |trace| trace.file.as_str()));
        trace(folder, reading);
    }
    (rows.len(), kept.values().filter(|kept| kept.void.is_some()).count())
}

fn trace(folder: &Folder, reading: &Taking) {
    let Some(named) = &reading.trace else {
        assert_eq!(reading.series, "zero", "reading {} has no trace", reading.number);
        return;
    };
    let bytes = folder.bytes(&named.file);
    let hash: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    assert_eq!(hash, named.sha256, "{}", named.file);
    let trace = codec::decode(&bytes).unwrap();
    let (read, unit) = reading.reference.split_once(' ').unwrap();
    assert_eq!(trace.unit().symbol(), unit);
    let read: f64 = read.parse().unwrap();
    // the notch against the mains' hum and the zero are between the samples and the reading
    let nearest =
        trace.values().iter().map(|value| (value.abs() - read.abs()).abs()).fold(f64::MAX, f64::min);
    assert!(nearest <= 0.003 * read.abs(), "{}: {read} is not in it, {nearest} off", named.file);
}
