//! The signatures, who made them, and whether the certificate still stands.

use leverarm_seal::{ChainFault, Finding, Verification, verify_detached};

use super::parts::Parts;
use super::rebuild::Rebuilt;
use super::report::{Outcome, Report, SignerRecord};
use super::{Question, RecheckError};

/// The fault of a file that cannot be read.
pub(super) fn unreadable(verification: &Verification) -> RecheckError {
    let found = verification.findings.iter().find_map(|finding| match finding {
        Finding::Unreadable(error) => Some(error.clone()),
        _ => None,
    });
    match found {
        Some(error) => RecheckError::Pdf(error),
        None => RecheckError::NotOurs { reason: "it cannot be inspected".to_owned() },
    }
}

/// Whether a finding is only that nobody vouches for the signer.
fn is_unknown(finding: &Finding) -> bool {
    matches!(finding, Finding::Chain(ChainFault::Unknown { .. }))
}

/// The signature of the PDF.
pub(super) fn of_pdf(
    verification: &Verification,
    parts: &Parts<'_>,
    question: &Question<'_>,
    report: &mut Report,
) {
    let Some(signer) = &verification.signer else {
        let unsigned = verification.findings.iter().all(|found| matches!(found, Finding::NoSignature));
        if unsigned && parts.signature.is_none() {
            let words = "none: nobody can tell whose it is, or whether it was changed as a whole";
            let outcome = Outcome::Note;
            return report.say("signature", outcome, words);
        }
        let words: Vec<String> = verification.findings.iter().map(Finding::to_string).collect();
        let words = format!("does not hold: {}", words.join("; "));
        return report.say("signature", Outcome::Differs, words);
    };
    let known = verification.trusted.is_some();
    report.signer = Some(SignerRecord {
        subject: signer.subject.clone(),
        fingerprint: signer.fingerprint.to_string(),
        known,
        signed_at: verification.signed_at,
    });
    let faults: Vec<String> = verification
        .findings
        .iter()
        .filter(|finding| finding.is_fault() && !is_unknown(finding))
        .map(Finding::to_string)
        .collect();
    if !faults.is_empty() || !verification.digest_ok || !verification.signature_ok {
        report.say("signature", Outcome::Differs, format!("does not hold: {}", faults.join("; ")));
    } else {
        let at = verification.signed_at.map(|at| at.format(" of %Y-%m-%d %H:%M UTC").to_string());
        let at = at.unwrap_or_default();
        report.say("signature", Outcome::Agrees, format!("holds over the whole file{at}"));
    }
    let words = match (known, question.any_signer) {
        (true, _) => format!("known: {}", signer.subject),
        (false, any) => format!(
            "NOT KNOWN: {}; fingerprint {}; {}",
            signer.subject,
            signer.fingerprint,
            match any {
                true => "accepted, as any signer was asked for",
                false => "compare it with the one that the laboratory publishes, then give it with --trust",
            }
        ),
    };
    report.say("signer", Outcome::Note, words);
    for finding in verification.findings.iter().filter(|finding| !finding.is_fault()) {
        report.say("signer", Outcome::Note, finding.to_string());
    }
}

/// The detached signature of the manifest: by the signer of the PDF, over the manifest in it.
pub(super) fn of_manifest(
    verification: &Verification,
    parts: &Parts<'_>,
    question: &Question<'_>,
    report: &mut Report,
) {
    let Some(signature) = parts.signature else {
        if verification.signer.is_some() {
            report.say("manifest", Outcome::Missing, "has no signature, though the PDF is signed");
        }
        return;
    };
    let found = verify_detached(parts.manifest, signature, question.trust, question.now);
    let mut faults: Vec<String> = found
        .findings
        .iter()
        .filter(|finding| finding.is_fault() && !is_unknown(finding))
        .map(Finding::to_string)
        .collect();
    let of = |signer: &Option<leverarm_seal::CertificateSummary>| signer.as_ref().map(|s| s.fingerprint);
    if of(&found.signer) != of(&verification.signer) {
        faults.push("it was not made by the signer of the PDF".to_owned());
    }
    if found.signed_at != verification.signed_at {
        faults.push("it was not made at the time of the signature of the PDF".to_owned());
    }
    if faults.is_empty() && found.digest_ok && found.signature_ok {
        report.say("manifest", Outcome::Agrees, "its signature holds, by the same signer");
    } else {
        report.say("manifest", Outcome::Differs, format!("its signature: {}", faults.join("; ")));
    }
}

/// Amendment and withdrawal.
pub(super) fn of_withdrawal(rebuilt: &Rebuilt, question: &Question<'_>, report: &mut Report) {
    if let Some(replaced) = &rebuilt.replaces {
        report.replaces = Some(replaced.clone());
        report.say("amendment", Outcome::Note, format!("it replaces certificate {replaced}"));
    }
    let Some(list) = question.withdrawn else { return };
    let entry = list.of_certificate(&report.number);
    report.withdrawn = Some(entry.is_some());
    let edition = format!("list {} of {}", list.edition, list.issued.format("%Y-%m-%d"));
    match entry {
        Some(entry) => {
            let by = entry.replaced_by.as_ref().map(|by| format!("; {by} replaces it")).unwrap_or_default();
            let words = format!("WITHDRAWN since {}: {}{by} ({edition})", entry.since, entry.reason);
            report.say("withdrawal", Outcome::Note, words);
        }
        None => report.say("withdrawal", Outcome::Note, format!("not withdrawn ({edition})")),
    }
}
