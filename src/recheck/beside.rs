//! A `result.json`, a `certificate.xml` or a manifest by itself: it is compared with the certificate
//! that stands beside it, which is rechecked.

use leverarm_seal::{Manifest, verify_detached};

use super::report::{Outcome, Report, SignerRecord};
use super::{Question, RecheckError, recheck};
use crate::certificate::proof::record::{MANIFEST, RESULT, XML};
use crate::certificate::proof::{XmlFault, verify_xml};

/// Rechecks `result.json` by the certificate beside it. It alone does not hold what it was computed
/// from: without the PDF nothing can be said of it.
///
/// # Errors
/// [`RecheckError`], as [`recheck`].
pub fn recheck_result(
    bytes: &[u8],
    pdf: Option<&[u8]>,
    question: &Question<'_>,
) -> Result<Report, RecheckError> {
    of(RESULT, bytes, pdf, Report::default(), question)
}

/// Rechecks `certificate.xml`: its own signature, and the certificate beside it.
///
/// # Errors
/// [`RecheckError`], as [`recheck`].
pub fn recheck_xml(
    bytes: &[u8],
    pdf: Option<&[u8]>,
    question: &Question<'_>,
) -> Result<Report, RecheckError> {
    let mut report = Report::default();
    match leverarm_dcc::read(bytes) {
        Ok(dcc) => {
            report.number = dcc.admin.unique_identifier;
            report.replaces = dcc.admin.replaces;
        }
        Err(error) => return Err(RecheckError::NotOurs { reason: error.to_string() }),
    }
    match verify_xml(bytes) {
        Ok(signature) => {
            let known = question.known.contains(&signature.signer);
            let fingerprint = signature.signer.to_string();
            let words = match known {
                true => "holds, by a signer who is known".to_owned(),
                false => format!("holds; the signer is NOT KNOWN: fingerprint {fingerprint}"),
            };
            report.say("XML signature", Outcome::Agrees, words);
            let subject = "the signer of the XML".to_owned();
            report.signer = Some(SignerRecord { subject, fingerprint, known, signed_at: None });
        }
        Err(XmlFault::Open(leverarm_dcc::sign::SignError::Unsigned)) => {
            report.say("XML signature", Outcome::Note, "none: nobody can tell whose it is");
        }
        Err(error) => report.say("XML signature", Outcome::Differs, error.to_string()),
    }
    of(XML, bytes, pdf, report, question)
}

/// Rechecks a manifest: its detached signature where one is given, and the certificate beside it.
///
/// # Errors
/// [`RecheckError`], as [`recheck`].
pub fn recheck_manifest(
    bytes: &[u8],
    signature: Option<&[u8]>,
    pdf: Option<&[u8]>,
    question: &Question<'_>,
) -> Result<Report, RecheckError> {
    let text =
        std::str::from_utf8(bytes).map_err(|error| RecheckError::NotOurs { reason: error.to_string() });
    let manifest =
        Manifest::parse(text?).map_err(|error| RecheckError::NotOurs { reason: error.to_string() })?;
    let mut report = Report { number: manifest.certificate().to_owned(), ..Report::default() };
    match signature {
        None => report.say("manifest", Outcome::Note, "no signature beside it (manifest.p7s)"),
        Some(signature) => {
            let found = verify_detached(bytes, signature, question.trust, question.now);
            let known = found.trusted.is_some();
            report.signer = found.signer.as_ref().map(|signer| SignerRecord {
                subject: signer.subject.clone(),
                fingerprint: signer.fingerprint.to_string(),
                known,
                signed_at: found.signed_at,
            });
            let words: Vec<String> = found.findings.iter().map(ToString::to_string).collect();
            match found.digest_ok && found.signature_ok && (known || words.len() == 1) {
                true if known => report.say("manifest", Outcome::Agrees, "its signature holds"),
                true => report.say(
                    "manifest",
                    Outcome::Agrees,
                    format!("its signature holds; {}", words.join("; ")),
                ),
                false => report.say("manifest", Outcome::Differs, words.join("; ")),
            }
        }
    }
    of(MANIFEST, bytes, pdf, report, question)
}

/// The file against the attachment of its name in the certificate beside it.
fn of(
    name: &'static str,
    bytes: &[u8],
    pdf: Option<&[u8]>,
    mut report: Report,
    question: &Question<'_>,
) -> Result<Report, RecheckError> {
    let Some(pdf) = pdf else {
        let words = "there is no certificate.pdf beside it, and it cannot be computed anew without one";
        report.say(name, Outcome::Missing, words);
        return Ok(report.concluded(question));
    };
    let whole = recheck(pdf, question)?;
    let inspection = leverarm_seal::pdf::inspect(pdf)?;
    let attached = inspection.files.iter().find(|file| file.name == name);
    match attached.is_some_and(|file| file.bytes == bytes) {
        true => report.say(name, Outcome::Agrees, "is the one inside the certificate.pdf beside it"),
        false => report.say(name, Outcome::Differs, "is not the one inside the certificate.pdf beside it"),
    }
    let same_signer = report.signer.as_ref().zip(whole.signer.as_ref());
    if same_signer.is_some_and(|(a, b)| a.fingerprint != b.fingerprint) {
        report.say("signer", Outcome::Differs, "is another than that of the certificate.pdf beside it");
    }
    report.number = whole.number;
    report.signer = whole.signer;
    report.replaces = whole.replaces;
    report.withdrawn = whole.withdrawn;
    report.lines.extend(whole.lines);
    Ok(report.concluded(question))
}
