//! The style sheet, and the hash by which the page's own policy lets it in and nothing else.

/// The style sheet, between `<style>` and `</style>` to the byte.
pub(super) const CSS: &str = include_str!("../../../templates/page.css");

/// Its hash (Content Security Policy Level 3, `hash-source`); a test says what it has to be.
pub(super) const HASH: &str = "sha256-/OU+ZlGA3QLGCflvSCyGRQBETpvDGHy7tCLd7p3MYo0=";

#[cfg(test)]
mod tests {
    use sha2::{Digest, Sha256};

    use super::*;

    /// RFC 4648, clause 4.
    fn base64(bytes: &[u8]) -> String {
        const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
        let mut out = String::new();
        for chunk in bytes.chunks(3) {
            let word = chunk.iter().chain([0, 0].iter()).take(3).fold(0_u32, |w, b| (w << 8) | u32::from(*b));
            for i in 0..4 {
                let six = ((word >> (18 - 6 * i)) & 63) as usize;
                let letter = LETTERS.get(six).copied().map_or('=', char::from);
                out.push(if i > chunk.len() { '=' } else { letter });
            }
        }
        out
    }

    #[test]
    fn base64_of_rfc_4648_clause_10() {
        assert_eq!(
            ["", "f", "fo", "foo", "foobar"].map(|s| base64(s.as_bytes())),
            ["", "Zg==", "Zm8=", "Zm9v", "Zm9vYmFy"]
        );
    }

    #[test]
    fn the_policy_lets_in_this_style_sheet() {
        assert_eq!(HASH, format!("sha256-{}", base64(&Sha256::digest(CSS.as_bytes()))));
    }

    /// The page is read back as XML, where these two would begin markup within the style sheet.
    #[test]
    fn the_style_sheet_holds_nothing_that_begins_markup() {
        assert!(!CSS.contains(['<', '&']));
        assert!(!CSS.contains("url(") && !CSS.contains("@import"));
    }
}
