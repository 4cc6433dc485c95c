//! The one form of a signature.

use super::Algorithm;
use crate::{DCC, DS, SI};

const C14N: &str = "http://www.w3.org/2006/12/xml-c14n11";
const ENVELOPED: &str = "http://www.w3.org/2000/09/xmldsig#enveloped-signature";
const SHA256: &str = "http://www.w3.org/2001/04/xmlenc#sha256";

pub(super) fn signature_open() -> String {
    format!("<ds:Signature xmlns:ds=\"{DS}\">")
}

/// `SignedInfo`; by itself, as it is hashed, it shows the namespaces that it has from the elements around
/// it (Canonical XML 1.1, 2.4).
pub(super) fn signed_info(algorithm: Algorithm, digest: &str, by_itself: bool) -> String {
    let namespaces = match by_itself {
        true => format!(" xmlns:dcc=\"{DCC}\" xmlns:ds=\"{DS}\" xmlns:si=\"{SI}\""),
        false => String::new(),
    };
    let method = |name: &str, uri: &str| format!("<ds:{name} Algorithm=\"{uri}\"></ds:{name}>");
    format!(
        "<ds:SignedInfo{namespaces}>{}{}<ds:Reference URI=\"\"><ds:Transforms>{}{}</ds:Transforms>{}<ds:DigestValue>{digest}</ds:DigestValue></ds:Reference></ds:SignedInfo>",
        method("CanonicalizationMethod", C14N),
        method("SignatureMethod", algorithm.uri()),
        method("Transform", ENVELOPED),
        method("Transform", C14N),
        method("DigestMethod", SHA256),
    )
}

pub(super) fn between<'t>(text: &'t str, start: &str, end: &str) -> Option<&'t str> {
    text.split_once(start)?.1.split_once(end).map(|(inner, _)| inner)
}
