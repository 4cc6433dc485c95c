//! The page of whole runs: what it says, that it can be read back, and that nothing typed becomes markup.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

use std::collections::BTreeSet;
use std::path::Path;

use chrono::NaiveDate;
use leverarm_metrology::rounding::RoundingRule;
use proptest::prelude::*;
use quick_xml::Reader;
use quick_xml::events::Event;

use super::{BYTES_MAX, PageError, PdfBeside, html, style};
use crate::assess::{Assessed, Overrides, assess};
use crate::certificate::chart::Chart;
use crate::certificate::compose::{Issue, Judged, compose};
use crate::certificate::view::CertificateView;
use crate::export::json::{CertificateRecord, RESULT_VERSION, ResultFile};

const UNSIGNED: PdfBeside<'_> = PdfBeside { name: "certificate.pdf", signed_by: None, sha256: None };
const SIGNED: PdfBeside<'_> = PdfBeside {
    name: "certificate.pdf",
    signed_by: Some("Skeldravoe Torque Laboratory"),
    sha256: Some("0f1e2d3c4b5a69788796a5b4c3d2e1f00f1e2d3c4b5a69788796a5b4c3d2e1f0"),
};

/// View and record of a certificate over these sample runs, made as `leverarm certify` makes them.
fn made(runs: &[&str]) -> (CertificateView, ResultFile) {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-runs");
    let overrides = Overrides::default();
    let assessed: Vec<Assessed> = runs
        .iter()
        .enumerate()
        .map(|(i, name)| {
            let run = assess(&samples.join(name), &overrides).expect("it is assessed");
            if i > 0 { run.beside_as_found() } else { run }
        })
        .collect();
    let judged: Vec<Judged<'_>> = assessed.iter().filter_map(Assessed::for_certificate).collect();
    let first = judged[0];
    let number = first.run.terms.number.clone().expect("samples are numbered");
    let issued = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
    let issue = Issue {
        number: number.clone(),
        issued,
        rounding: RoundingRule::default(),
        curve: false,
        inputs: vec![("run.toml".to_owned(), "a6".repeat(32))],
    };
    let view = compose(&judged, &issue).expect("it composes");
    let record = ResultFile {
        format: "leverarm result",
        version: RESULT_VERSION,
        program: env!("CARGO_PKG_VERSION"),
        certificate: Some(CertificateRecord {
            number,
            issued: issued.to_string(),
            purpose: first.rulebook.purpose,
            approver: first.run.people.approver.clone(),
            replaces: None,
        }),
        runs: assessed.iter().map(|run| run.record().unwrap().unwrap()).collect(),
        changes: vec![],
    };
    (view, record)
}

fn page(runs: &[&str], pdf: &PdfBeside<'_>) -> String {
    let (view, record) = made(runs);
    String::from_utf8(html(&view, &record, pdf).unwrap()).unwrap()
}

/// A page as it is read back.
#[derive(Debug, PartialEq)]
struct Outline {
    /// every tag in order, closing ones with a stroke
    tags: Vec<String>,
    ids: Vec<String>,
    /// what links and references of the page lead to
    targets: Vec<String>,
}

/// Reads a page as XML: every element closed by its own name, every `<` the beginning of a tag.
fn outline(page: &str) -> Outline {
    let mut reader = Reader::from_str(page);
    let mut outline = Outline { tags: vec![], ids: vec![], targets: vec![] };
    let mut depth = 0_i32;
    let mut marks = 0;
    loop {
        let event = reader.read_event().expect("well-formed");
        let (element, step) = match &event {
            Event::Eof => break,
            Event::Start(e) => (Some(e), 1),
            Event::Empty(e) => (Some(e), 0),
            Event::End(e) => {
                outline.tags.push(format!("/{}", e.name().as_ref()));
                (None, -1)
            }
            Event::Text(_) | Event::GeneralRef(_) => continue,
            Event::DocType(_) => (None, 0),
            other => panic!("the page holds {other:?}"),
        };
        marks += 1;
        depth += step;
        let Some(element) = element else { continue };
        outline.tags.push(element.name().as_ref().to_owned());
        for attribute in element.attributes() {
            let attribute = attribute.expect("an attribute with a value, once");
            let name = attribute.key.as_ref().to_owned();
            let value = attribute.value.into_owned();
            assert!(!name.starts_with("on") && name != "style", "{name} is no attribute of this page");
            match name.as_str() {
                "id" => outline.ids.push(value),
                "href" | "src" | "aria-labelledby" => outline.targets.push(value),
                _ => {}
            }
        }
    }
    assert_eq!(depth, 0);
    assert_eq!(page.matches('<').count(), marks, "a < that begins no tag");
    outline
}

fn check(page: &str) -> Outline {
    let outline = outline(page);
    let unique: BTreeSet<&String> = outline.ids.iter().collect();
    assert_eq!(unique.len(), outline.ids.len(), "ids are unique");
    for target in &outline.targets {
        let inner = target.strip_prefix('#').unwrap_or(target);
        assert!(
            target.starts_with("./") || unique.iter().any(|id| id.as_str() == inner),
            "{target} leads nowhere"
        );
    }
    assert_eq!(outline.tags.iter().filter(|tag| *tag == "h1").count(), 1);
    assert!(
        !outline.tags.iter().any(|tag| ["script", "img", "link", "iframe", "form"].contains(&tag.as_str()))
    );
    outline
}

/// Pages for the browser's tests and for the eye.
const PAGES: [(&str, &[&str]); 9] = [
    ("click-wrench-full", &["click-wrench-full"]),
    ("guard-band-zone", &["guard-band-zone"]),
    ("electronic-30", &["electronic-30"]),
    ("found-and-left", &["found-fails", "left-passes"]),
    ("both-directions", &["both-directions"]),
    ("conformance", &["conformance"]),
    ("foot-pounds", &["foot-pounds"]),
    ("fixed-tool", &["fixed-tool"]),
    ("mean-passes-reading-outside", &["mean-passes-reading-outside"]),
];

/// `LEVERARM_PAGES=FOLDER` keeps the pages there.
#[test]
fn every_page_is_whole_small_and_the_same_twice() {
    let keep = std::env::var_os("LEVERARM_PAGES");
    for (name, runs) in PAGES {
        let made = page(runs, &SIGNED);
        check(&made);
        assert_eq!(made, page(runs, &SIGNED));
        assert!(made.len() < 60_000, "{name}: {} bytes", made.len());
        if let Some(folder) = &keep {
            std::fs::write(Path::new(folder).join(format!("{name}.html")), &made).unwrap();
        }
    }
    let (view, record) = hostile(false);
    let made = String::from_utf8(html(&view, &record, &UNSIGNED).unwrap()).unwrap();
    check(&made);
    if let Some(folder) = &keep {
        std::fs::write(Path::new(folder).join("hostile.html"), &made).unwrap();
    }
}

/// The digits are those of the record, and so of the PDF and of `result.json`.
#[test]
fn every_printed_digit_of_a_point_stands_on_the_page() {
    for (name, runs) in PAGES {
        let (_, record) = made(runs);
        let page = page(runs, &UNSIGNED);
        for point in record.runs.iter().flat_map(|run| &run.points) {
            let printed = &point.printed;
            for digits in [Some(&printed.mean_deviation), printed.expanded.as_ref()].into_iter().flatten() {
                assert!(page.contains(&format!("<span class=\"value\">{digits}</span>")), "{name}: {digits}");
            }
            let word = format!("<b>{}", printed.verdict);
            assert!(page.contains(&word), "{name}: {word}");
        }
    }
}

/// Without its style sheet, as a reviewer reads it.
fn without_style(page: &str) -> String {
    page.replace(style::CSS, "…").replace(style::HASH, "…")
}

#[test]
fn as_found_and_as_left_read_like_this() {
    insta::assert_snapshot!(without_style(&page(&["found-fails", "left-passes"], &SIGNED)));
}

#[test]
fn a_declaration_without_uncertainty_reads_like_this() {
    insta::assert_snapshot!(without_style(&page(&["conformance"], &UNSIGNED)));
}

#[test]
fn work_done_before_is_spoken_of_only_where_the_tool_failed_as_found() {
    assert!(page(&["found-fails", "left-passes"], &UNSIGNED).contains("If you have worked with this tool"));
    assert!(page(&["found-fails"], &UNSIGNED).contains("If you have worked with this tool"));
    assert!(!page(&["click-wrench-full"], &UNSIGNED).contains("If you have worked with this tool"));
}

#[test]
fn a_view_and_a_record_of_different_certificates_are_refused() {
    let (view, _) = made(&["click-wrench-full"]);
    let (_, record) = made(&["guard-band-zone"]);
    let error = html(&view, &record, &UNSIGNED).unwrap_err();
    assert!(matches!(error, PageError::Differ { what: "number", .. }), "{error}");
    let (mut view, record) = made(&["click-wrench-full"]);
    view.conditions[0].directions[0].results[0].deviation = "+9.99".to_owned();
    let error = html(&view, &record, &UNSIGNED).unwrap_err();
    assert!(matches!(error, PageError::Differ { what: "mean deviation", .. }), "{error}");
}

#[test]
fn what_cannot_be_drawn_and_what_is_too_large_are_refused() {
    let (mut view, record) = made(&["click-wrench-full"]);
    let figure = view.conditions[0].directions[0].deviation.as_mut().unwrap();
    let Chart::Deviation(chart) = &mut figure.chart else { panic!("a chart of deviations") };
    chart.points[0].mean = f64::NAN;
    let error = html(&view, &record, &UNSIGNED).unwrap_err();
    assert!(matches!(error, PageError::NotDrawable(_)), "{error}");
    let (mut view, record) = made(&["click-wrench-full"]);
    view.statements = vec!["x".repeat(500); 1000];
    let error = html(&view, &record, &UNSIGNED).unwrap_err();
    assert!(matches!(error, PageError::TooLarge { bytes } if bytes > BYTES_MAX), "{error}");
    assert!(!error.remedy().is_empty());
}

/// Puts strings of somebody else wherever a person's own text can stand, in turn; everywhere, words and digits
/// of the program too, where that is asked.
fn spoil(view: &mut CertificateView, record: &mut ResultFile, texts: &[String], everywhere: bool) {
    let mut next = texts.iter().cycle().cloned();
    let mut put = |place: &mut String| *place = next.next().unwrap_or_default();
    record.certificate = None;
    put(&mut view.number);
    put(&mut view.item_line);
    for party in [&mut view.laboratory, &mut view.customer] {
        put(&mut party.name);
        party.lines.iter_mut().for_each(&mut put);
    }
    for fact in view.item.iter_mut().chain(&mut view.work) {
        put(&mut fact.value);
    }
    view.amendment.iter_mut().for_each(&mut put);
    view.interval.iter_mut().for_each(&mut put);
    view.statements.iter_mut().chain(&mut view.cautions).for_each(&mut put);
    view.decision.statement.iter_mut().for_each(&mut put);
    for condition in &mut view.conditions {
        condition.warnings.iter_mut().for_each(&mut put);
    }
    for run in &mut record.runs {
        put(&mut run.tool.maker);
        put(&mut run.tool.model);
        run.tool.head.iter_mut().for_each(&mut put);
    }
    if everywhere {
        spoil_the_rest(view, record, &mut put);
    }
}

/// What only the program writes: a page must not depend on that.
fn spoil_the_rest(view: &mut CertificateView, record: &mut ResultFile, put: &mut impl FnMut(&mut String)) {
    put(&mut view.title);
    put(&mut view.decision.rule);
    put(&mut view.method.name);
    put(&mut view.deviation_definition);
    view.item.iter_mut().chain(&mut view.work).for_each(|fact| put(&mut fact.label));
    record.runs.iter_mut().for_each(|run| put(&mut run.performed));
    for verdict in &mut view.verdicts {
        put(&mut verdict.words);
        put(&mut verdict.statement);
        verdict.notes.iter_mut().for_each(&mut *put);
    }
    for direction in view.conditions.iter_mut().flat_map(|condition| &mut condition.directions) {
        for row in &mut direction.results {
            put(&mut row.name);
            put(&mut row.verdict);
            put(&mut row.outside);
        }
        let Some(figure) = &mut direction.deviation else { continue };
        put(&mut figure.caption);
        let Chart::Deviation(chart) = &mut figure.chart else { continue };
        put(&mut chart.axis);
        for point in &mut chart.points {
            put(&mut point.label);
            put(&mut point.result);
        }
    }
}

/// A certificate in which every text is somebody's attempt.
fn hostile(everywhere: bool) -> (CertificateView, ResultFile) {
    let (mut view, mut record) = made(&["guard-band-zone"]);
    let attempts = [
        "<script>fetch('/x')</script>",
        "\"><img src=x onerror=alert(1)>",
        "' onfocus='alert(1)' autofocus='",
        "]]>--><!-- </style></title></main>",
        "&lt;b&gt; &#x3c;script&#x3e;",
        "\u{202e}ssap\u{202c} \u{2066}\u{200f}x",
        "javascript:alert(1)",
        "\u{0}\u{1b}[31m\u{ffff}\r\n\t",
    ];
    let mut texts: Vec<String> = attempts.map(str::to_owned).to_vec();
    texts.push("W".repeat(10_000));
    texts.push("חברה 扭矩扳手 ".repeat(40));
    spoil(&mut view, &mut record, &texts, everywhere);
    (view, record)
}

#[test]
fn attempts_at_markup_stay_text() {
    let (view, record) = hostile(true);
    let pdf = PdfBeside {
        name: "../\"><script>.pdf",
        signed_by: Some("<b>\u{202e}"),
        sha256: Some("'><svg/onload=x>"),
    };
    let page = String::from_utf8(html(&view, &record, &pdf).unwrap()).unwrap();
    check(&page);
    assert!(page.contains("&lt;script&gt;fetch(&#39;/x&#39;)&lt;/script&gt;"));
    assert!(!page.contains(['\u{202e}', '\u{2066}', '\u{0}', '\u{1b}', '\u{ffff}']));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// Whatever the texts are, the page has the elements that it has with harmless ones.
    #[test]
    fn no_text_adds_or_takes_an_element(
        texts in prop::collection::vec(any::<String>(), 1..40),
        name in any::<String>(),
        signer in any::<String>(),
    ) {
        let (view, record) = base();
        let pages = [vec!["harmless".to_owned()], texts].map(|texts| {
            let (mut view, mut record) = (view.clone(), record.clone());
            spoil(&mut view, &mut record, &texts, true);
            let pdf = PdfBeside { name: &name, signed_by: Some(&signer), sha256: Some(&signer) };
            check(&String::from_utf8(html(&view, &record, &pdf).unwrap()).unwrap())
        });
        prop_assert_eq!(&pages[0].tags, &pages[1].tags);
        prop_assert_eq!(&pages[0].ids, &pages[1].ids);
    }
}

/// Made once: evaluating a run for each case would take the time of the whole test.
fn base() -> &'static (CertificateView, ResultFile) {
    static BASE: std::sync::OnceLock<(CertificateView, ResultFile)> = std::sync::OnceLock::new();
    BASE.get_or_init(|| made(&["guard-band-zone"]))
}
