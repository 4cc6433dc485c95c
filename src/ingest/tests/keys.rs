//! Every key is explained on its page and read.

use leverarm_metrology::finding::{Document, Place};

use super::files;
use crate::ingest::keys::SECTIONS;
use crate::ingest::{parse, readings};

/// The page in words, the table of keys and the reader agree: every key is explained, and every key
/// is read, for one of a wrong kind is refused.
#[test]
fn every_key_is_explained_and_read() {
    let page = include_str!("../../../standards-notes/run-folder.md");
    let mut listed: Vec<(Document, String, Vec<String>)> = Vec::new();
    let mut document = None;
    for line in page.lines() {
        if let Some(heading) = line.strip_prefix("## ") {
            document = match heading {
                "run.toml" => Some(Document::Run),
                "The reference file" => Some(Document::Reference),
                "The study file" => Some(Document::Study),
                "The laboratory file" => Some(Document::Laboratory),
                _ => Some(Document::Readings),
            };
            listed.extend(document.map(|document| (document, String::new(), Vec::new())));
        } else if let Some(heading) = line.strip_prefix("### ") {
            let table = heading.trim_matches(['[', ']']).replace("points of a curve", "curve.points");
            listed.extend(document.map(|document| (document, table, Vec::new())));
        } else if let Some(key) = line.strip_prefix("| `").and_then(|rest| rest.split('`').next()) {
            listed.last_mut().unwrap().2.push(key.to_owned());
        }
    }
    let columns = listed.pop().unwrap();
    assert_eq!((columns.0, columns.2), (Document::Readings, readings::COLUMNS.map(str::to_owned).to_vec()));
    let wanted: Vec<(Document, String, Vec<String>)> = SECTIONS
        .iter()
        .map(|s| (s.document, s.table.to_owned(), s.keys.iter().map(|key| (*key).to_owned()).collect()))
        .collect();
    assert_eq!(listed, wanted);
    for section in SECTIONS {
        for key in section.keys {
            let (file, text) = match section.document {
                Document::Run => ("run.toml", "format = 1\n"),
                Document::Reference => ("ref.toml", ""),
                Document::Study => ("study.toml", ""),
                _ => ("lab.toml", ""),
            };
            // No key is a list of moments.
            let wrong = format!("{key} = [1979-05-27T07:32:00Z]\n");
            let text = match (section.table, *key) {
                ("", "format") => wrong,
                ("", _) => format!("{text}{wrong}"),
                ("curve", _) => format!("[[curve]]\n{wrong}"),
                ("curve.points", _) => format!("[[curve]]\npoints = [{{ {} }}]\n", wrong.trim_end()),
                ("tool", "readable") => format!("{text}[tool]\ndivision = \"2 N·m\"\n{wrong}"),
                (table, _) => format!("{text}[{table}]\n{wrong}"),
            };
            let loaded = parse(&files().with(file, text.as_str()));
            let path = text.find("[1979").unwrap();
            let refused = loaded.findings.iter().any(|f| {
                matches!(f.place, Place::Bytes { document, start, .. }
                    if document == section.document && (path..path + 2).contains(&start))
            });
            assert!(refused, "[{}] {key}: {:#?}", section.table, loaded.findings);
        }
    }
}
