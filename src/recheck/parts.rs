//! The attachments, by what they are.

use std::collections::BTreeSet;

use leverarm_seal::Manifest;
use leverarm_seal::pdf::EmbeddedFile;

use super::RecheckError;
use super::report::{Difference, Outcome, Report};
use crate::certificate::proof::IssueRecord;
use crate::certificate::proof::record::{ISSUE, MANIFEST, RESULT, SIGNATURE, XML};

/// The attachments of a certificate.
pub(super) struct Parts<'a> {
    /// in the order in which they are attached
    pub(super) files: Vec<&'a EmbeddedFile>,
    pub(super) issue: IssueRecord,
    pub(super) result: &'a [u8],
    pub(super) manifest: &'a [u8],
    /// the detached signature of the manifest
    pub(super) signature: Option<&'a [u8]>,
    pub(super) xml: Option<&'a [u8]>,
}

impl<'a> Parts<'a> {
    /// Of the embedded files. What hashes do not agree is reported; what must be there and is not makes
    /// the file none of ours.
    pub(super) fn of(files: &'a [EmbeddedFile], report: &mut Report) -> Result<Parts<'a>, RecheckError> {
        let find = |name: &str| files.iter().find(|file| file.name == name).map(|file| file.bytes.as_slice());
        let need = |name: &str| {
            find(name).ok_or_else(|| RecheckError::NotOurs { reason: format!("it holds no {name}") })
        };
        let issue = IssueRecord::parse(need(ISSUE)?)
            .map_err(|error| RecheckError::NotOurs { reason: error.to_string() })?;
        let (result, manifest) = (need(RESULT)?, need(MANIFEST)?);
        let parts = Parts {
            files: files.iter().collect(),
            issue,
            result,
            manifest,
            signature: find(SIGNATURE),
            xml: find(XML),
        };
        parts.compare_hashes(report);
        Ok(parts)
    }

    pub(super) fn bytes(&self, name: &str) -> Option<&'a [u8]> {
        self.files.iter().find(|file| file.name == name).map(|file| file.bytes.as_slice())
    }

    /// Each attachment against the manifest, and each of them accounted for.
    fn compare_hashes(&self, report: &mut Report) {
        let text = std::str::from_utf8(self.manifest).ok();
        let manifest = match text.map(Manifest::parse) {
            Some(Ok(manifest)) => manifest,
            Some(Err(error)) => return report.say("attachments", Outcome::Differs, error.to_string()),
            None => return report.say("attachments", Outcome::Differs, "the manifest is not text"),
        };
        let listed = self.files.iter().filter(|file| file.name != MANIFEST && file.name != SIGNATURE);
        let listed = listed.map(|file| (file.name.as_str(), file.bytes.as_slice()));
        let mut differences: Vec<Difference> = manifest
            .compare(listed)
            .into_iter()
            .map(|found| {
                use leverarm_seal::ManifestDifference as M;
                match found {
                    M::Changed { name, listed, found } => {
                        Difference::new(name, &listed.to_string(), &found.to_string())
                    }
                    M::Absent { name } => Difference::new(name, "an attachment", "none"),
                    M::Unlisted { name } => Difference::new(name, "none of that name", "an attachment"),
                    M::Twice { name } => Difference::new(name, "one attachment", "more than one"),
                }
            })
            .collect();
        if manifest.certificate() != self.issue.number {
            let found = manifest.certificate();
            differences.push(Difference::new("number in the manifest", &self.issue.number, found));
        }
        differences.extend(self.unaccounted());
        let count = self.files.len();
        report.compare(
            "attachments",
            format!("{count} files, each with the SHA-256 that the manifest lists"),
            differences,
        );
    }

    /// Attachments of no use: every one is ours or a file of a run.
    fn unaccounted(&self) -> Vec<Difference> {
        let ours = [ISSUE, RESULT, MANIFEST, SIGNATURE, XML];
        let of_runs: BTreeSet<&str> =
            self.issue.runs.iter().flat_map(|run| &run.files).map(|file| file.attachment.as_str()).collect();
        let stray = self
            .files
            .iter()
            .filter(|file| !(ours.contains(&file.name.as_str()) || of_runs.contains(file.name.as_str())));
        let stray =
            stray.map(|file| Difference::new(file.name.clone(), "no such attachment", "an attachment"));
        let hidden =
            self.files.iter().filter(|file| !file.association.listed || !file.association.associated);
        let hidden = hidden
            .map(|file| Difference::new(file.name.clone(), "listed and associated", "only one of both"));
        stray.chain(hidden).collect()
    }
}
