//! Certificates of the samples, made in memory, and laboratories that sign them.

use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::sync::OnceLock;

use chrono::{DateTime, NaiveDate, TimeZone, Utc};
use leverarm::assess::{Assessed, Overrides, assess_loaded};
use leverarm::certificate::compose::Judged;
use leverarm::certificate::proof::{
    Decided, Gathered, LaboratoryKey, Made, Packed, Parts, RunSource, Sealing, document, gather, make, pack,
};
use leverarm::certificate::{Paper, Renderer};
use leverarm::ingest;
use leverarm::ingest::store::{Folder, Store, StoreError};
use leverarm::metrology::evaluate::{MonteCarloPlan, Options};
use leverarm::recheck::{Question, RecheckError, Report, recheck};
use leverarm_seal::{Trust, self_made};
use rand::SeedableRng;
use rand::rngs::StdRng;

pub const PASSPHRASE: &str = "for the tests only";

/// Every good sample, and as found with as left.
pub const SAMPLES: [&[&str]; 17] = [
    &["click-wrench-full"],
    &["mean-passes-reading-outside"],
    &["guard-band-zone"],
    &["capped-risk"],
    &["dial-wrench"],
    &["electronic-30"],
    &["electronic-135"],
    &["electronic-200"],
    &["screwdriver"],
    &["traced-screwdriver"],
    &["fixed-tool"],
    &["both-directions"],
    &["found-fails", "left-passes"],
    &["found-fails"],
    &["foot-pounds"],
    &["semicolon-comma"],
    &["conformance"],
];

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A sample whose laboratory says its country, which is invented like itself: XS is a code that
/// ISO 3166-1 leaves to its users.
struct WithCountry(Folder);

impl Store for WithCountry {
    fn read(&self, path: &str, limit: u64) -> Result<Vec<u8>, StoreError> {
        let mut bytes = self.0.read(path, limit)?;
        if path.ends_with("laboratory.toml") && !String::from_utf8_lossy(&bytes).contains("country") {
            bytes.extend(b"country = \"XS\"\n");
        }
        Ok(bytes)
    }
}

pub fn time() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2026, 11, 25, 10, 30, 0).unwrap()
}

pub fn renderer() -> &'static Renderer {
    static RENDERER: OnceLock<Renderer> = OnceLock::new();
    RENDERER.get_or_init(|| Renderer::new().unwrap())
}

/// The key of a laboratory, and a verifier that knows it. Opening a key is slow on purpose: once each.
pub fn laboratory(number: usize) -> &'static (LaboratoryKey, Trust) {
    static ALL: [OnceLock<(LaboratoryKey, Trust)>; 2] = [const { OnceLock::new() }; 2];
    ALL[number].get_or_init(|| {
        let mut random = StdRng::seed_from_u64(number as u64);
        let organisation = "Skeldravoe Torque Laboratory";
        let from = Utc.with_ymd_and_hms(2026, 1, 1, 0, 0, 0).unwrap();
        let made = self_made("Eskil Marnburg", organisation, &mut random, from, 20, PASSPHRASE).unwrap();
        let key = LaboratoryKey::from_pem(&made.key_pem, &made.certificate_pem, PASSPHRASE).unwrap();
        (key, Trust::nobody().known_pem(&made.certificate_pem).unwrap())
    })
}

/// A certificate before it is packed.
pub struct Draft {
    pub made: Made,
    pub decided: Decided,
    pub files: Gathered,
    pub xml: Option<Vec<u8>>,
}

pub fn draft(folders: &[&str], seed: Option<u64>) -> Draft {
    let stores: Vec<WithCountry> = folders
        .iter()
        .map(|folder| WithCountry(Folder::new(&root().join("sample-runs").join(folder))))
        .collect();
    let plan = seed.map(|seed| MonteCarloPlan::new(seed, NonZeroUsize::new(2).unwrap()));
    let overrides = Overrides { options: Options { monte_carlo: plan }, ..Overrides::default() };
    let (mut runs, mut inputs, mut country): (Vec<Assessed>, _, _) = (Vec::new(), Vec::new(), None);
    for store in &stores {
        let loaded = ingest::parse(store);
        inputs.push(loaded.inputs.clone());
        country = country.or_else(|| loaded.country.clone());
        let run = assess_loaded(loaded, &overrides).unwrap();
        runs.push(if runs.is_empty() { run } else { run.beside_as_found() });
    }
    let judged: Vec<Judged> = runs.iter().filter_map(Assessed::for_certificate).collect();
    assert_eq!(judged.len(), folders.len(), "{folders:?}");
    let decided = Decided {
        number: judged[0].run.terms.number.clone().unwrap(),
        issued: NaiveDate::from_ymd_opt(2026, 11, 25).unwrap(),
        paper: Paper::A4,
        curve: folders.len() > 1,
        given_number: None,
        given_approver: None,
        seed,
    };
    let sources: Vec<RunSource> = judged
        .iter()
        .zip(&inputs)
        .zip(&stores)
        .map(|((judged, inputs), store)| RunSource { run: judged.run, inputs, store })
        .collect();
    let files = gather(&sources);
    let made = make(&runs, &decided).unwrap();
    let xml = Some(document(&judged, &made.view, &decided, country.as_deref()).unwrap());
    Draft { made, decided, files, xml }
}

impl Draft {
    pub fn pack(&self, key: Option<&LaboratoryKey>) -> Packed {
        let parts =
            Parts { made: &self.made, decided: &self.decided, files: &self.files, xml: self.xml.clone() };
        pack(renderer(), &parts, key.map(|key| Sealing { key, at: time() })).unwrap()
    }
}

/// The certificate of one sample, signed by the first laboratory; gum only, as it is made often.
pub fn issued() -> &'static Packed {
    static ISSUED: OnceLock<Packed> = OnceLock::new();
    ISSUED.get_or_init(|| draft(&["click-wrench-full"], None).pack(Some(&laboratory(0).0)))
}

/// Rechecks as a customer who knows the first laboratory.
pub fn rechecked(pdf: &[u8]) -> Result<Report, RecheckError> {
    let question = Question {
        trust: &laboratory(0).1,
        known: &[],
        now: time() + chrono::Duration::days(30),
        withdrawn: None,
        unsigned_ok: false,
        any_signer: false,
        renderer: renderer(),
        threads: NonZeroUsize::MIN,
    };
    recheck(pdf, &question)
}

/// Every difference and every line that does not agree, as text.
pub fn told(report: &Report) -> String {
    let mut text = String::new();
    for line in &report.lines {
        text.push_str(&format!("{:?} {}: {}\n", line.outcome, line.part, line.words));
        for difference in &line.differences {
            text.push_str(&format!("  {difference}\n"));
        }
    }
    text
}
