//! The certificate on paper: the same bytes twice, both sheets, every glyph
//! there, and complaints that name a line of the template.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod work;

use leverarm::certificate::render::Attachment;
use leverarm::certificate::{CertificateView, Paper, RenderError, Renderer};
use leverarm::metrology::decision::DecisionRule;
use leverarm::metrology::reading::Direction;
use work::Work;

const BOTH: [Direction; 2] = [Direction::Clockwise, Direction::CounterClockwise];

fn view(directions: &[Direction]) -> CertificateView {
    Work::new("iso-6789-2", DecisionRule::Guarded, directions).certificate().unwrap()
}

#[test]
#[ignore = "writes PDFs to look at; run with the variable PAPER_DIR"]
fn look() {
    let dir = std::path::PathBuf::from(std::env::var("PAPER_DIR").unwrap());
    let read = |name: &str| std::fs::read_to_string(format!("templates/{name}")).unwrap();
    let texts = ["certificate.typ", "style.typ", "results.typ"].map(|n| (n, read(n)));
    let renderer = Renderer::with_templates(&texts.each_ref().map(|(n, t)| (*n, t.as_str()))).unwrap_or_else(|e| panic!("{e}"));
    for (name, paper, directions) in [
        ("a4", Paper::A4, &BOTH[..1]),
        ("letter", Paper::UsLetter, &BOTH[..]),
    ] {
        let start = std::time::Instant::now();
        let pdf = renderer.render(&view(directions), paper).unwrap_or_else(|e| panic!("{e}"));
        println!("{name}: {} bytes in {:?}", pdf.len(), start.elapsed());
        std::fs::write(dir.join(format!("{name}.pdf")), pdf).unwrap();
    }
    for _ in 0..3 {
        let start = std::time::Instant::now();
        renderer.render(&view(&BOTH[..1]), Paper::A4).unwrap();
        println!("again: {:?}", start.elapsed());
    }
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

#[test]
#[ignore = "timing"]
fn floor() {
    let text = std::fs::read_to_string("/tmp/min.typ").unwrap();
    let renderer = Renderer::with_templates(&[("certificate.typ", &text)]).unwrap();
    for _ in 0..4 {
        let start = std::time::Instant::now();
        renderer.render(&view(&BOTH[..1]), Paper::A4).unwrap();
        println!("floor: {:?}", start.elapsed());
    }
}

#[test]
#[ignore = "timing"]
fn profile() {
    let read = |name: &str| std::fs::read_to_string(format!("templates/{name}")).unwrap();
    let texts = ["certificate.typ", "style.typ", "results.typ"].map(|n| (n, read(n)));
    let renderer = Renderer::with_templates(&texts.each_ref().map(|(n, t)| (*n, t.as_str()))).unwrap();
    let view = view(&BOTH[..1]);
    for _ in 0..40 {
        renderer.render(&view, Paper::A4).unwrap();
    }
}
