//! The Digital Calibration Certificate says the digits that are printed.

use leverarm::certificate::proof::verify_xml;

use crate::support::{SAMPLES, draft, issued};

#[test]
fn every_sample_gives_one_with_its_printed_digits() {
    for folders in SAMPLES {
        let draft = draft(folders, None);
        let dcc = leverarm_dcc::read(draft.xml.as_ref().unwrap()).unwrap();
        assert_eq!(dcc.admin.unique_identifier, draft.decided.number);
        let result: serde_json::Value = serde_json::from_slice(&draft.made.result).unwrap();
        let printed = &result["runs"][0]["points"][0]["printed"];
        let deviation = printed["mean_deviation"].as_str().unwrap().replace('\u{2212}', "-");
        let column =
            dcc.tables[0].columns.iter().find(|column| column.expanded.is_some() || !column.meta.is_empty());
        let column = column.unwrap_or_else(|| panic!("{folders:?}: no deviation"));
        assert_eq!(column.values[0].as_str(), deviation.trim_start_matches('+'), "{folders:?}");
        if let Some(expanded) = &column.expanded {
            assert_eq!(expanded.values[0].as_str(), printed["expanded"].as_str().unwrap());
            assert_eq!(expanded.k[0].as_str(), printed["k"].as_str().unwrap());
        }
    }
}

#[test]
fn its_signature_is_that_of_the_laboratory() {
    let xml = issued().xml.as_ref().unwrap();
    let signature = verify_xml(xml).unwrap();
    let own = crate::support::laboratory(0).0.signer().certificate().unwrap();
    assert_eq!(signature.signer, own.fingerprint);
    let text = String::from_utf8(xml.clone()).unwrap().replacen("2026-11-25", "2026-11-26", 1);
    assert!(verify_xml(text.as_bytes()).is_err());
}
