//! Files made to harm, and files that are simply wrong.

use leverarm_dcc::read::{MAX_ATTRIBUTES, MAX_BYTES, MAX_DEPTH, ReadFault};
use leverarm_dcc::{ReadError, read, write};
use proptest::prelude::*;

use super::sample::full;

const MINIMAL: &str = include_str!("minimal.xml");

fn fault(xml: &str) -> ReadError {
    let error = read(xml.as_bytes()).unwrap_err();
    assert!(!error.fault.remedy().is_empty());
    error
}

/// The error of the only quantity of the minimal example, after a change.
fn quantity_error(from: &str, to: &str) -> ReadError {
    assert!(MINIMAL.contains(from));
    let dcc = read(MINIMAL.replacen(from, to, 1).as_bytes()).unwrap();
    assert!(dcc.tables[0].columns.is_empty());
    dcc.tables[0].unreadable[0].error.clone()
}

#[test]
fn billion_laughs() {
    let dtd = "<!DOCTYPE d [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;&a;\">]>";
    let body = MINIMAL.split_once("?>").unwrap().1;
    assert_eq!(fault(&format!("<?xml version=\"1.0\"?>{dtd}{body}")).fault, ReadFault::Dtd);
    let entity = fault(&MINIMAL.replacen("X-1", "X&b;", 1));
    assert_eq!(entity.fault, ReadFault::Entity { given: "b".to_owned() });
    assert!(entity.place.path.ends_with("/dcc:coreData/dcc:uniqueIdentifier"), "{entity}");
    assert_eq!(entity.place.line, 5);
    let external = "<!DOCTYPE d SYSTEM \"file:///etc/passwd\">";
    assert_eq!(fault(&format!("{external}{body}")).fault, ReadFault::Dtd);
}

#[test]
fn depth_size_and_number() {
    let deep = "<a>".repeat(1_000_000);
    assert!(matches!(fault(&deep).fault, ReadFault::Limit { limit: MAX_DEPTH, .. }));
    let wide = format!("<a>{}</a>", "<b/>".repeat(300_000));
    assert!(matches!(fault(&wide).fault, ReadFault::Limit { what: "elements", .. }));
    let huge = " ".repeat(MAX_BYTES + 1);
    assert!(matches!(fault(&huge).fault, ReadFault::Limit { what: "bytes", .. }));
    let attributes: String = (0..100_000).map(|n| format!(" a{n}=\"\"")).collect();
    assert!(matches!(
        fault(&format!("<a{attributes}/>")).fault,
        ReadFault::Limit { limit: MAX_ATTRIBUTES, .. }
    ));
    let list = "1 ".repeat(1_000_000);
    let many = include_str!("example.xml").replacen("40 120 200", &list, 1);
    assert!(matches!(fault(&many).fault, ReadFault::Limit { what: "values of a list", .. }));
}

#[test]
fn many_lists_do_not_add_up_to_all_memory() {
    let quantity = format!(
        "<dcc:quantity><si:realListXMLList><si:valueXMLList>{}</si:valueXMLList><si:unitXMLList>\\one</si:unitXMLList></si:realListXMLList></dcc:quantity>",
        "1 ".repeat(9_000)
    );
    let start = MINIMAL.find("<dcc:quantity>").unwrap();
    let end = MINIMAL.find("</dcc:data>").unwrap();
    let xml = format!("{}{}{}", &MINIMAL[..start], quantity.repeat(200), &MINIMAL[end..]);
    assert!(matches!(fault(&xml).fault, ReadFault::Limit { what: "values of the file", .. }));
}

#[test]
fn what_is_no_xml() {
    for xml in [
        "",
        " ",
        "<",
        "<a",
        "<a>",
        "<a></b>",
        "<a/><a/>",
        "<a/>x",
        "<a b=\"1\" b=\"2\"/>",
        "<x:a/>",
        "%PDF-1.7",
    ] {
        assert!(matches!(fault(xml).fault, ReadFault::Xml { .. }), "{xml}");
    }
    let error = read(b"<a>\n\xff</a>").unwrap_err();
    assert_eq!((error.fault, error.place.line), (ReadFault::NotUtf8 { at: 4 }, 2));
    let latin = MINIMAL.replacen("UTF-8", "ISO-8859-1", 1);
    assert!(matches!(fault(&latin).fault, ReadFault::Encoding { .. }));
}

#[test]
fn another_root_namespace_or_version() {
    assert!(matches!(fault("<html/>").fault, ReadFault::Root { .. }));
    let other = fault(&MINIMAL.replacen("https://ptb.de/dcc", "https://ptb.de/dcc2", 1));
    assert_eq!(other.fault, ReadFault::Root { given: "digitalCalibrationCertificate".to_owned() });
    let old = fault(&MINIMAL.replacen("3.3.0", "2.4.0", 1));
    assert_eq!(old.fault, ReadFault::Version { given: "2.4.0".to_owned() });
    assert!(read(MINIMAL.replacen("3.3.0", "3.2.1", 1).as_bytes()).is_ok());
    // another prefix is the same name
    let prefixed = MINIMAL.replace("dcc:", "d:").replace("xmlns:dcc", "xmlns:d");
    assert!(read(prefixed.as_bytes()).is_ok());
    // the si elements of another namespace are no quantity at all
    let si = MINIMAL.replacen("https://ptb.de/si", "https://ptb.de/other", 1);
    assert!(read(si.as_bytes()).unwrap().tables.is_empty());
}

#[test]
fn numbers_that_are_none() {
    let error = quantity_error("40.2", "NaN");
    assert!(matches!(error.fault, ReadFault::Number { .. }));
    let place = "/dcc:digitalCalibrationCertificate/dcc:measurementResults/dcc:measurementResult/dcc:results/dcc:result/dcc:data/dcc:quantity/si:real/si:value, line 11";
    assert_eq!(error.place.to_string(), place);
    for (from, to) in [("40.2", "INF"), ("40.2", "40,2"), ("40.2", "1e999"), ("0.086", "NaN")] {
        assert!(matches!(quantity_error(from, to).fault, ReadFault::Number { .. }), "{to}");
    }
    for (from, to) in [("0.086", "-1"), (">2<", ">0.5<"), ("0.95", "1.5"), ("40.2", "")] {
        assert!(matches!(quantity_error(from, to).fault, ReadFault::Text { .. }), "{to}");
    }
    assert!(matches!(
        quantity_error(r"\newton\metre", r"\newton \metre").fault,
        ReadFault::Length { given: 2, values: 1 }
    ));
}

#[test]
fn lists_of_other_lengths() {
    let xml = include_str!("example.xml").replacen("0.086 0.247 0.405", "0.086 0.247", 1);
    let dcc = read(xml.as_bytes()).unwrap();
    let error = &dcc.tables[0].unreadable[0].error;
    assert_eq!(error.fault, ReadFault::Length { given: 2, values: 3 });
    assert!(error.place.path.ends_with("si:expandedMUXMLList/si:valueExpandedMUXMLList"), "{error}");
    let line = 1 + xml[..xml.find("0.086 0.247").unwrap()].matches('\n').count();
    assert_eq!(error.place.line, line);
}

#[test]
fn what_lacks_is_named() {
    let error = fault(&MINIMAL.replacen("<dcc:uniqueIdentifier>X-1</dcc:uniqueIdentifier>", "", 1));
    assert_eq!(error.fault, ReadFault::Missing { wanted: "uniqueIdentifier" });
    assert_eq!(
        error.to_string(),
        "/dcc:digitalCalibrationCertificate/dcc:administrativeData/dcc:coreData, line 5: it has no uniqueIdentifier"
    );
    let error = fault(&MINIMAL.replacen("2026-11-18", "18.11.2026", 1));
    assert!(matches!(error.fault, ReadFault::Text { wanted: "a date such as 2026-11-18", .. }));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    // Nothing that a byte can be makes it panic; that is all that is claimed here.
    #[test]
    fn changed_bytes_never_panic(changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8), cut in any::<prop::sample::Index>()) {
        let mut bytes = include_bytes!("example.xml").to_vec();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Ok(dcc) = read(&bytes) {
            prop_assert!(dcc.tables.len() <= 10);
            let _ = leverarm_dcc::as_reference(&dcc, &Default::default());
        }
        bytes.truncate(cut.index(bytes.len()));
        prop_assert!(read(&bytes).is_err() || bytes.ends_with(b">"));
    }
}

#[test]
fn no_cut_of_a_file_is_taken_for_the_whole() {
    let bytes = write(&full()).unwrap();
    let whole = bytes.len() - 1;
    for at in (0..whole).step_by(97) {
        assert!(read(&bytes[..at]).is_err(), "{at}");
    }
}
