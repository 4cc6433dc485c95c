//! The certificate on paper: the same bytes twice, both sheets, every glyph
//! there, and complaints that name a line of the template.

use leverarm::certificate::render::Attachment;
use leverarm::certificate::{CertificateView, ComposeError, Paper, RenderError, Renderer};
use leverarm::metrology::decision::DecisionRule;
use leverarm::metrology::quantity::Percent;
use leverarm::metrology::reading::Direction;

use crate::work::Work;

const BOTH: [Direction; 2] = [Direction::Clockwise, Direction::CounterClockwise];

fn view(directions: &[Direction]) -> CertificateView {
    Work::new("iso-6789-2", DecisionRule::GUARDED, directions).certificate().unwrap()
}

#[test]
fn the_same_certificate_is_the_same_bytes() {
    let view = view(&BOTH);
    let first = Renderer::new().unwrap();
    let once = first.render(&view, Paper::A4).unwrap();
    assert_eq!(once, first.render(&view, Paper::A4).unwrap());
    assert_eq!(once, Renderer::new().unwrap().render(&view, Paper::A4).unwrap());
}

#[test]
fn both_sheets_render_with_an_attachment() {
    let view = view(&BOTH[..1]);
    let result = Attachment {
        name: "result.json".into(),
        mime: "application/json".into(),
        description: "the results, machine-readable".into(),
        data: b"{}".to_vec(),
    };
    let renderer = Renderer::new().unwrap();
    for paper in [Paper::A4, Paper::UsLetter] {
        let pdf = renderer.render_with(&view, paper, std::slice::from_ref(&result)).unwrap();
        assert!(pdf.starts_with(b"%PDF-1.7"));
        assert!(pdf.windows(11).any(|w| w == b"result.json"));
    }
}

#[test]
fn a_letter_without_a_glyph_is_refused_not_printed_as_a_box() {
    let mut view = view(&BOTH[..1]);
    view.customer.name = "扭矩".into();
    let error = Renderer::new().unwrap().render(&view, Paper::A4).unwrap_err();
    assert!(matches!(error, RenderError::Export(_)), "{error}");
}

#[test]
fn a_fault_in_a_template_names_its_line() {
    let templates = [("certificate.typ", "= Title\n#nothing-of-this-name\n")];
    let renderer = Renderer::with_templates(&templates).unwrap();
    let error = renderer.render(&view(&BOTH[..1]), Paper::A4).unwrap_err();
    assert!(error.to_string().contains("certificate.typ:2:2: unknown variable"), "{error}");
}

#[test]
fn two_figures_of_one_name_and_a_day_that_is_none_are_refused() {
    let renderer = Renderer::new().unwrap();
    let mut view = view(&BOTH[..1]);
    view.conditions.push(view.conditions[0].clone());
    let twice = renderer.render(&view, Paper::A4).unwrap_err();
    assert!(matches!(twice, RenderError::FigureTwice(_)), "{twice}");
    view.issued.day = 31;
    let error = renderer.render(&view, Paper::A4).unwrap_err();
    assert!(matches!(error, RenderError::Date(_)), "{error}");
}

/// Every printed word of a view.
fn printed(view: &CertificateView) -> String {
    serde_json::to_string_pretty(view).unwrap()
}

#[test]
fn a_calibration_says_this() {
    insta::assert_snapshot!(printed(&view(&BOTH[..1])));
}

#[test]
fn a_conformance_test_says_this_and_renders() {
    let mut work = Work::new("iso-6789-1", DecisionRule::EachReading, &BOTH[..1]);
    work.runs.remove(0);
    let view = work.certificate().unwrap();
    assert_eq!(view.title, "Declaration of conformance");
    insta::assert_snapshot!(printed(&view));
    Renderer::new().unwrap().render(&view, Paper::A4).unwrap();
}

#[test]
fn what_did_not_pass_is_no_declaration() {
    let mut work = Work::new("iso-6789-1", DecisionRule::EachReading, &BOTH[..1]);
    work.runs.truncate(1);
    assert_eq!(work.certificate().unwrap().title, "Report of a conformance test");
}

#[test]
fn a_claim_is_said_plainly_and_an_amendment_names_what_it_replaces() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH[..1]);
    for run in &mut work.runs {
        run.tool.claim = Some(Percent::new(2.0));
        run.terms.replaces = Some("SK-2026-0411-1".into());
        run.terms.change = Some("the serial number was misread".into());
    }
    let view = work.certificate().unwrap();
    assert!(view.decision.claim.as_ref().unwrap().contains("±2\u{a0}%"), "{:?}", view.decision);
    assert!(view.amendment.as_ref().unwrap().contains("SK-2026-0411-1"));
    assert!(view.verdicts[0].statement.contains("maker’s claim"));
    Renderer::new().unwrap().render(&view, Paper::UsLetter).unwrap();
}

#[test]
fn what_must_be_printed_and_is_not_on_record_is_listed_at_once() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH[..1]);
    work.runs[0].place = None;
    work.runs[1].people.approver = None;
    let error = work.certificate().unwrap_err();
    assert_eq!(error, ComposeError::Missing(vec!["place of the work", "who authorises the certificate"]));
}

#[test]
fn what_two_runs_do_not_share_is_listed_at_once() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH[..1]);
    work.runs[1].tool.serial = "26-01744".into();
    work.runs[1].tool.claim = Some(Percent::new(3.0));
    work.runs[1].customer.order = Some("4418".into());
    work.runs[1].agreement.as_mut().unwrap().rule = DecisionRule::Simple;
    let Err(ComposeError::Differ(differences)) = work.certificate() else { panic!("one certificate") };
    let what: Vec<&str> = differences.iter().map(|difference| difference.what).collect();
    assert_eq!(what, ["order", "serial number", "maker’s claim", "decision rule"]);
    work.runs.clear();
    assert!(matches!(work.certificate(), Err(ComposeError::NoRun)));
}

#[test]
fn what_a_repair_changed_is_printed_of_each_run() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH[..1]);
    work.runs[1].tool.head = Some("ratchet, insert 9x12".into());
    work.runs[1].people.technician = Some("Solva Brenninge".into());
    let view = work.certificate().unwrap();
    let heads: Vec<(&str, &str)> = view
        .item
        .iter()
        .filter(|fact| fact.label.starts_with("Head"))
        .map(|fact| (fact.label.as_str(), fact.value.as_str()))
        .collect();
    assert_eq!(
        heads,
        [("Head, as found", "Ratchet, insert 14x18"), ("Head, as left", "Ratchet, insert 9x12")]
    );
    assert_eq!(view.people.len(), 3);
}

#[test]
fn a_number_that_could_leave_its_folder_is_refused() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH[..1]);
    work.number = "../../evil".into();
    assert!(matches!(work.certificate(), Err(ComposeError::Number(_))));
}

#[test]
fn nothing_of_a_rulebooks_provenance_reaches_the_paper() {
    for (rulebook, rule) in [
        ("iso-6789-1", DecisionRule::EachReading),
        ("iso-6789-2", DecisionRule::GUARDED),
        ("asme-b107-300", DecisionRule::EachReading),
    ] {
        let view = Work::new(rulebook, rule, &BOTH[..1]).certificate().unwrap();
        let method = format!("{} {:?} {:?}", view.method.statement, view.decision, view.verdicts);
        for word in ["memory", "confirmed", "published", "leverarm", "committee", "were seen"] {
            assert!(!method.contains(word), "{rulebook}: {word}: {method}");
        }
    }
}

#[test]
fn limits_of_the_room_print_as_their_document_writes_them() {
    let view = Work::new("asme-b107-300", DecisionRule::EachReading, &BOTH[..1]).certificate().unwrap();
    let allowed = view.environment[0].allowed.replace('\u{a0}', " ");
    assert_eq!(allowed, "17.8 °C (64 °F) to 27.8 °C (82 °F), change at most 1.1 K (2 °F)");
}

#[test]
fn long_texts_render_on_both_sheets() {
    let mut work = Work::new("iso-6789-2", DecisionRule::GUARDED, &BOTH);
    work.number = "L".repeat(64);
    for run in &mut work.runs {
        run.tool.serial = "0123456789".repeat(8);
        run.tool.model = "M".repeat(90);
        run.customer.name = Some("donaudampfschifffahrt".repeat(6));
        run.laboratory.name = Some("Laboratory of a very long name ".repeat(4));
    }
    let renderer = Renderer::new().unwrap();
    for paper in [Paper::A4, Paper::UsLetter] {
        renderer.render(&work.certificate().unwrap(), paper).unwrap();
    }
}

/// Writes what the tests render into the folder named by `PAPER_DIR`, to look at.
#[test]
#[ignore = "for the eye: PAPER_DIR=/some/folder cargo test --release --test paper -- --ignored"]
fn look() {
    let folder = std::path::PathBuf::from(std::env::var("PAPER_DIR").unwrap());
    let renderer = Renderer::new().unwrap();
    let conformance = Work::new("iso-6789-1", DecisionRule::EachReading, &BOTH[..1]);
    for (name, paper, view) in [
        ("a4", Paper::A4, view(&BOTH[..1])),
        ("letter", Paper::UsLetter, view(&BOTH)),
        ("conformance", Paper::A4, conformance.certificate().unwrap()),
    ] {
        let start = std::time::Instant::now();
        let pdf = renderer.render(&view, paper).unwrap_or_else(|e| panic!("{e}"));
        println!("{name}: {} bytes in {:?}", pdf.len(), start.elapsed());
        std::fs::write(folder.join(format!("{name}.pdf")), pdf).unwrap();
    }
}
