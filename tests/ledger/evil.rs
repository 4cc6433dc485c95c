//! Texts that would be SQL if anybody took them for it.

use leverarm_ledger::event::*;
use leverarm_ledger::store::Store;
use leverarm_ledger::verify::verify;

use crate::house::*;

/// SQL in every text field: it is stored, read back and never run.
pub fn sql_is_text<S: Store>(store: S, open: impl FnOnce() -> S) {
    let mut house = House::furnished(store);
    let evil = [
        "'; DROP TABLE entry; --",
        "\" OR 1=1",
        "?1",
        "%s'||(SELECT hash FROM entry)||'",
        "Robert'); DELETE FROM file",
    ];
    for (index, evil) in evil.iter().enumerate() {
        let name = format!("{evil} {index}");
        let other = Customer {
            id: id(&name),
            name: text(evil),
            address: Some(text(evil)),
            contact: Some(text(evil)),
        };
        house.record("runa", Event::CustomerRegistered(other)).unwrap();
        let evil_tool = Tool {
            id: id(&name),
            customer: id(&name),
            maker: text(evil),
            model: text(evil),
            serial: text(evil),
            kind: text(evil),
            range: Some(text(evil)),
            claim: Some(text(evil)),
            heads: vec![text(evil)],
            interval_months: Some(u32::MAX),
        };
        house.record("runa", Event::ToolRegistered(evil_tool)).unwrap();
        let reference = Reference {
            id: id(&name),
            maker: text(evil),
            model: text(evil),
            serial: text(evil),
            range: Some(text(evil)),
            interval_uses: Some(u64::MAX),
        };
        house.record("idunn", Event::ReferenceRegistered(reference)).unwrap();
        let calibration = ReferenceCalibrated {
            reference: id(&name),
            certificate: id(evil),
            laboratory: text(evil),
            date: day("2026-01-01"),
            due: day("2027-01-01"),
            files: vec![file(&format!("'{index}; x"), b"RT-250")],
        };
        house.record("idunn", Event::ReferenceCalibrated(calibration)).unwrap();
        let mut job = received(&name);
        (job.customer, job.tool, job.condition) = (id(&name), id(&name), text(evil));
        (job.accessories, job.decision) = (vec![text(evil)], id(evil));
        house.record("torunn", Event::JobReceived(job)).unwrap();
        let mut added = run(&name, evil, "torunn");
        (added.reference, added.certificate, added.uses) = (id(&name), id(evil), u64::MAX);
        added.files = vec![file("readings.csv", b"readings")];
        house.record_with("torunn", Event::RunAdded(added), &[b"readings"]).unwrap();
        let mut judged = evaluated(&name, evil);
        judged.software = id(evil);
        let result = format!("result of {name}");
        house.record_with("torunn", Event::Evaluated(judged), &[result.as_bytes()]).unwrap();
        house.record("torunn", Event::Submitted(Submitted { job: id(&name) })).unwrap();
        house.record("idunn", Event::Returned(Returned { job: id(&name), remarks: text(evil) })).unwrap();
        house.record("torunn", Event::Submitted(Submitted { job: id(&name) })).unwrap();
        house.record("idunn", Event::Approved(Approved { job: id(&name) })).unwrap();
        let issue = leverarm_ledger::rules::Command::Issue {
            job: id(&name),
            series: id(evil),
            files: vec![file("c.pdf", b"certificate")],
        };
        house.command("idunn", issue, &[b"certificate"]).unwrap();
    }
    let state = house.ledger.state().clone();
    drop(house);
    let mut store = open();
    let report = verify(&mut store, &[state.head()], &mut |_, _| Ok(()));
    assert!(report.is_clean(), "{:?}", report.findings);
    let ledger = leverarm_ledger::Ledger::open(store).unwrap();
    assert_eq!(*ledger.state(), state);
    for (index, evil) in evil.iter().enumerate() {
        assert_eq!(state.customers()[&id(&format!("{evil} {index}"))].name, text(evil));
    }
}
