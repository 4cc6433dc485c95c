//! The pages `first-peak.md` and `peak.md` of `standards-notes`: prose from here, numbers from the
//! proofs. They are compared, and rewritten with `LEVERARM_BLESS=1`.

use std::fmt::Write;

use crate::first_peak::{Beyond, Case, Fate};
use crate::peak::Case as Peak;
use crate::tops::Shape;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../standards-notes/");

const HEAD: &str = include_str!("first-peak.head.md");
const PEAK_HEAD: &str = include_str!("peak.head.md");

pub fn check(name: &str, page: &str) {
    let path = format!("{FOLDER}{name}");
    if std::env::var_os("LEVERARM_BLESS").is_some() {
        std::fs::write(&path, page).unwrap();
    }
    let held = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(held == page, "standards-notes/{name} differs: LEVERARM_BLESS=1 rewrites it");
}

fn peak_row(page: &mut String, label: &str, cases: &[&Peak]) {
    let n = cases.len().max(1) as f64;
    let within = cases.iter().filter(|case| case.is_within()).count();
    let low = cases.iter().filter(|case| !case.is_within() && case.error < 0.0).count();
    let mean = |of: &dyn Fn(&Peak) -> f64| cases.iter().map(|case| of(case)).sum::<f64>() / n;
    let bias = mean(&|case| case.error / case.grain);
    let rms = mean(&|case| (case.error / case.grain).powi(2)).sqrt();
    let percent = mean(&|case| (case.error / case.truth).powi(2)).sqrt() * 100.0;
    let highest = mean(&|case| case.highest / case.grain);
    writeln!(
        page,
        "| {label} | {} | {within} | {low} | {} | {bias:+.2} σ | {rms:.2} σ | {percent:.3} % | {highest:+.2} σ |",
        cases.len(),
        cases.len() - within - low,
    )
    .unwrap();
}

/// The page of the highest torque.
pub fn peak(cases: &[Peak]) -> String {
    let mut page = PEAK_HEAD.to_owned();
    let mut table = |title: &str, rows: Vec<(String, Vec<&Peak>)>| {
        writeln!(
            page,
            "\n| {title} | pulls | within 3 σ + 0.02 % | too low | too high | mean | rms | rms of the torque | \
             mean of the highest sample |\n|---|---|---|---|---|---|---|---|---|"
        )
        .unwrap();
        rows.iter().for_each(|(label, cases)| peak_row(&mut page, label, cases));
    };
    let of = |keep: &dyn Fn(&Peak) -> bool| cases.iter().filter(|case| keep(case)).collect::<Vec<_>>();
    let shapes = Shape::ALL.map(|shape| (shape.words().to_owned(), of(&|case| case.shape == shape)));
    table("top", shapes.to_vec());
    let rates = [(20.0, 50.0), (50.0, 200.0), (200.0, 1000.0), (1000.0, 3000.0), (3000.0, 10_000.0)];
    let row = |(low, high): (f64, f64)| {
        (format!("{low} Hz to {high} Hz"), of(&|case| case.rate_hz >= low && case.rate_hz < high))
    };
    let mut rates: Vec<_> = rates.into_iter().map(row).collect();
    rates.push(("all".to_owned(), of(&|_| true)));
    table("sample rate", rates);
    page
}

fn name(beyond: Beyond) -> &'static str {
    match beyond {
        Beyond::Nothing => "within the domain",
        Beyond::DropInNoise => "drop at most five times the noise",
        Beyond::SampledTooSlowly => "more than 0.1 % from sample to sample",
        Beyond::HumTooFast => "hum that the sample rate cannot tell from torque",
        Beyond::Noisy => "noise above 0.03 % of the target at 1 kHz",
    }
}

fn row(page: &mut String, label: &str, cases: &[&Case]) {
    let count = |fate| cases.iter().filter(|case| case.fate == fate).count();
    let within = count(Fate::Within);
    let errors = cases.iter().filter(|case| case.fate == Fate::Within).map(|case| case.error * case.error);
    let rms = (errors.sum::<f64>() / within.max(1) as f64).sqrt() * 100.0;
    writeln!(
        page,
        "| {label} | {} | {within} | {} | {} | {} | {} | {rms:.3} % |",
        cases.len(),
        count(Fate::Low),
        count(Fate::High),
        count(Fate::Early),
        count(Fate::NotFound),
    )
    .unwrap();
}

fn table(page: &mut String, title: &str) {
    writeln!(page, "\n| {title} | pulls | within 0.1 % | too low | too high | too early | not found | rms |")
        .unwrap();
    writeln!(page, "|---|---|---|---|---|---|---|---|").unwrap();
}

pub fn first_peak(whole: &[Case], claimed: &[Case], false_clicks: usize) -> String {
    let mut page = HEAD.to_owned();
    writeln!(page, "\n## Ten thousand pulls over the whole span, by cause").unwrap();
    table(&mut page, "what stands in the way");
    for beyond in Beyond::ALL {
        let cases: Vec<&Case> = whole.iter().filter(|case| case.beyond == beyond).collect();
        row(&mut page, name(beyond), &cases);
    }
    row(&mut page, "all", &whole.iter().collect::<Vec<_>>());
    let loud: Vec<&Case> = whole.iter().filter(|case| case.beyond != Beyond::DropInNoise).collect();
    row(&mut page, "all whose drop is over five times the noise", &loud);

    writeln!(page, "\n## Ten thousand pulls within the domain").unwrap();
    table(&mut page, "sample rate");
    for (low, high) in [(50.0, 200.0), (200.0, 500.0), (500.0, 1000.0), (1000.0, 3000.0), (3000.0, 10_000.0)]
    {
        let cases: Vec<&Case> =
            claimed.iter().filter(|case| case.rate_hz >= low && case.rate_hz < high).collect();
        row(&mut page, &format!("{low} Hz to {high} Hz"), &cases);
    }
    row(&mut page, "all", &claimed.iter().collect::<Vec<_>>());
    table(&mut page, "drop");
    for (low, high) in [(0.01, 0.02), (0.02, 0.05), (0.05, 0.1), (0.1, 0.2)] {
        let cases: Vec<&Case> = claimed.iter().filter(|case| case.drop >= low && case.drop < high).collect();
        row(&mut page, &format!("{} % to {} %", low * 100.0, high * 100.0), &cases);
    }
    let worst =
        claimed.iter().map(|case| case.error.abs()).filter(|error| error.is_finite()).fold(0.0, f64::max);
    writeln!(page, "\nLargest error of those that were found: {:.2} %.", worst * 100.0).unwrap();
    let again = whole.iter().chain(claimed).filter(|case| case.again).count();
    writeln!(
        page,
        "\nSecond releases seen where there was one only: {again} of {}.",
        whole.len() + claimed.len()
    )
    .unwrap();
    writeln!(page, "\n## Ten thousand pulls of an indicating wrench, evaluated as a setting one").unwrap();
    writeln!(page, "\nFalse releases: {false_clicks}.").unwrap();
    page
}
