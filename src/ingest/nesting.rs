//! How deep the keys of a TOML text nest. A key of a hundred thousand parts is valid TOML, and the
//! tables that it makes would exhaust the stack when they are taken down: it is refused unread.

/// So many full stops may stand between the parts of a key.
const STOPS_MAX: usize = 32;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Within {
    Bare,
    Comment,
    /// a text: its quotation mark, and whether it may have several lines
    Text(u8, bool),
}

/// The first byte at which a key has too many parts.
pub(super) fn too_deep(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let mut within = Within::Bare;
    let (mut at, mut stops) = (0, 0);
    while let Some(byte) = bytes.get(at) {
        let mut step = 1;
        match (within, *byte) {
            (_, b'\n') => {
                stops = 0;
                if !matches!(within, Within::Text(_, true)) {
                    within = Within::Bare;
                }
            }
            (Within::Bare, b'#') => within = Within::Comment,
            (Within::Bare, mark @ (b'"' | b'\'')) => {
                let several = marks(bytes, at, mark) >= 3;
                within = Within::Text(mark, several);
                step = if several { 3 } else { 1 };
            }
            (Within::Bare, b',' | b'=' | b'{' | b'}' | b'[' | b']') => stops = 0,
            (Within::Bare, b'.') => {
                stops += 1;
                if stops > STOPS_MAX {
                    return Some(at);
                }
            }
            (Within::Text(b'"', _), b'\\') if bytes.get(at + 1) != Some(&b'\n') => step = 2,
            (Within::Text(mark, false), byte) if byte == mark => within = Within::Bare,
            (Within::Text(mark, true), byte) if byte == mark && marks(bytes, at, mark) >= 3 => {
                // A text may end in up to two marks of its own before the three that close it.
                step = marks(bytes, at, mark).min(5);
                within = Within::Bare;
            }
            _ => {}
        }
        at += step;
    }
    None
}

fn marks(bytes: &[u8], at: usize, mark: u8) -> usize {
    bytes.iter().skip(at).take(5).take_while(|byte| **byte == mark).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_keys_count() {
        let many = ".".repeat(100);
        assert_eq!(too_deep(&format!("a = \"{many}\" # {many}\n b = '{many}'")), None);
        assert_eq!(too_deep(&format!("a = \"\"\"{many}\n\\\"{many}\"\"\"\"\nb = '''{many}''' ")), None);
        assert_eq!(too_deep(&"1.5, ".repeat(200)), None);
        assert_eq!(too_deep(&format!("k{many} = 1")), Some(1 + STOPS_MAX));
        assert!(too_deep(&format!("a = \"open\nk{many} = 1")).is_some());
    }
}
