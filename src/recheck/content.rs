//! The operators of a content stream (ISO 32000-1, 7.8.2), from hostile bytes: bounded in depth and
//! number, and anything that is not understood ends the reading.

/// Most operators of a page.
const OPERATORS_MAX: usize = 400_000;
/// Deepest nesting of arrays and dictionaries.
const DEPTH_MAX: usize = 16;
/// Most operands of one operator, nested ones included.
const OPERANDS_MAX: usize = 20_000;

/// An operand.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Operand {
    Number(f64),
    Name(String),
    String(Vec<u8>),
    Array(Vec<Operand>),
    Dictionary(Vec<(String, Operand)>),
    /// `true`, `false`, `null`
    Word,
}

/// Why a stream is not read on.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(super) enum ContentError {
    #[error("broken syntax at byte {at} of the page's content")]
    Syntax { at: usize },
    #[error("more than {limit} {what} on a page")]
    TooMany { what: &'static str, limit: usize },
    #[error("an image inside the page's content")]
    Inline,
}

pub(super) struct Reader<'a> {
    bytes: &'a [u8],
    at: usize,
    operators: usize,
    operands: usize,
}

impl<'a> Reader<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Reader<'a> {
        Reader { bytes, at: 0, operators: 0, operands: 0 }
    }

    /// The next operator with its operands; `None` at the end.
    pub(super) fn next(&mut self) -> Result<Option<(String, Vec<Operand>)>, ContentError> {
        let mut operands = Vec::new();
        self.operands = 0;
        loop {
            self.skip_white();
            let Some(byte) = self.peek() else {
                return if operands.is_empty() { Ok(None) } else { self.broken() };
            };
            if !matches!(byte, b'+' | b'-' | b'.' | b'0'..=b'9' | b'/' | b'(' | b'<' | b'[') {
                let word = self.word()?;
                match word.as_str() {
                    "true" | "false" | "null" => operands.push(Operand::Word),
                    "BI" => return Err(ContentError::Inline),
                    _ => {
                        self.operators += 1;
                        if self.operators > OPERATORS_MAX {
                            let what = "operators";
                            return Err(ContentError::TooMany { what, limit: OPERATORS_MAX });
                        }
                        return Ok(Some((word, operands)));
                    }
                }
                continue;
            }
            operands.push(self.operand(0)?);
        }
    }

    fn broken<T>(&self) -> Result<T, ContentError> {
        Err(ContentError::Syntax { at: self.at })
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn skip_white(&mut self) {
        while let Some(byte) = self.peek() {
            match byte {
                b'%' => {
                    while self.peek().is_some_and(|b| b != b'\n' && b != b'\r') {
                        self.at += 1;
                    }
                }
                0 | 9 | 10 | 12 | 13 | 32 => self.at += 1,
                _ => return,
            }
        }
    }

    fn regular(&mut self) -> &'a [u8] {
        let start = self.at;
        while self.peek().is_some_and(|b| {
            !matches!(
                b,
                0 | 9
                    | 10
                    | 12
                    | 13
                    | 32
                    | b'('
                    | b')'
                    | b'<'
                    | b'>'
                    | b'['
                    | b']'
                    | b'{'
                    | b'}'
                    | b'/'
                    | b'%'
            )
        }) {
            self.at += 1;
        }
        self.bytes.get(start..self.at).unwrap_or_default()
    }

    fn word(&mut self) -> Result<String, ContentError> {
        let at = self.at;
        let word = self.regular();
        if word.is_empty() || word.len() > 32 {
            return Err(ContentError::Syntax { at });
        }
        Ok(word.iter().map(|byte| char::from(*byte)).collect())
    }

    fn operand(&mut self, depth: usize) -> Result<Operand, ContentError> {
        self.operands += 1;
        if depth > DEPTH_MAX {
            return Err(ContentError::TooMany { what: "arrays in one another", limit: DEPTH_MAX });
        }
        if self.operands > OPERANDS_MAX {
            return Err(ContentError::TooMany { what: "operands of one operator", limit: OPERANDS_MAX });
        }
        self.skip_white();
        match (self.peek(), self.bytes.get(self.at + 1).copied()) {
            (Some(b'/'), _) => {
                self.at += 1;
                let name = self.regular();
                Ok(Operand::Name(name.iter().map(|byte| char::from(*byte)).collect()))
            }
            (Some(b'('), _) => self.literal(),
            (Some(b'<'), Some(b'<')) => self.dictionary(depth),
            (Some(b'<'), _) => self.hexadecimal(),
            (Some(b'['), _) => {
                self.at += 1;
                let mut items = Vec::new();
                loop {
                    self.skip_white();
                    if self.peek() == Some(b']') {
                        self.at += 1;
                        return Ok(Operand::Array(items));
                    }
                    items.push(self.operand(depth + 1)?);
                }
            }
            (Some(b'+' | b'-' | b'.' | b'0'..=b'9'), _) => {
                let at = self.at;
                let text = std::str::from_utf8(self.regular()).unwrap_or_default();
                let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
                number.map(Operand::Number).ok_or(ContentError::Syntax { at })
            }
            _ => match self.word()?.as_str() {
                "true" | "false" | "null" => Ok(Operand::Word),
                _ => self.broken(),
            },
        }
    }

    fn dictionary(&mut self, depth: usize) -> Result<Operand, ContentError> {
        self.at += 2;
        let mut entries = Vec::new();
        loop {
            self.skip_white();
            if self.bytes.get(self.at..self.at + 2) == Some(b">>") {
                self.at += 2;
                return Ok(Operand::Dictionary(entries));
            }
            let Operand::Name(key) = self.operand(depth + 1)? else { return self.broken() };
            entries.push((key, self.operand(depth + 1)?));
        }
    }

    fn hexadecimal(&mut self) -> Result<Operand, ContentError> {
        self.at += 1;
        let mut digits = Vec::new();
        loop {
            match self.peek() {
                Some(b'>') => break,
                Some(0 | 9 | 10 | 12 | 13 | 32) => {}
                Some(byte) => match char::from(byte).to_digit(16).and_then(|d| u8::try_from(d).ok()) {
                    Some(digit) => digits.push(digit),
                    None => return self.broken(),
                },
                None => return self.broken(),
            }
            self.at += 1;
        }
        self.at += 1;
        let byte = |pair: &[u8]| pair.first().map_or(0, |high| high * 16) + pair.get(1).copied().unwrap_or(0);
        Ok(Operand::String(digits.chunks(2).map(byte).collect()))
    }

    fn literal(&mut self) -> Result<Operand, ContentError> {
        self.at += 1;
        let mut out = Vec::new();
        let mut open = 1_usize;
        while let Some(byte) = self.peek() {
            self.at += 1;
            match byte {
                b'(' => open += 1,
                b')' if open == 1 => return Ok(Operand::String(out)),
                b')' => open -= 1,
                b'\\' => {
                    self.escape(&mut out)?;
                    continue;
                }
                b'\r' => {
                    if self.peek() == Some(b'\n') {
                        self.at += 1;
                    }
                    out.push(b'\n');
                    continue;
                }
                _ => {}
            }
            out.push(byte);
        }
        self.broken()
    }

    fn escape(&mut self, out: &mut Vec<u8>) -> Result<(), ContentError> {
        let Some(byte) = self.peek() else { return self.broken() };
        self.at += 1;
        match byte {
            b'n' => out.push(b'\n'),
            b'r' => out.push(b'\r'),
            b't' => out.push(b'\t'),
            b'b' => out.push(8),
            b'f' => out.push(12),
            b'\n' => {}
            b'\r' => {
                if self.peek() == Some(b'\n') {
                    self.at += 1;
                }
            }
            b'0'..=b'7' => {
                let mut value = u32::from(byte - b'0');
                for _ in 0..2 {
                    let Some(digit) = self.peek().filter(|b| (b'0'..=b'7').contains(b)) else { break };
                    value = value * 8 + u32::from(digit - b'0');
                    self.at += 1;
                }
                out.push(u8::try_from(value & 0xFF).unwrap_or_default());
            }
            other => out.push(other),
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn all(bytes: &[u8]) -> Result<Vec<(String, Vec<Operand>)>, ContentError> {
        let mut reader = Reader::new(bytes);
        let mut found = Vec::new();
        while let Some(operator) = reader.next()? {
            found.push(operator);
        }
        Ok(found)
    }

    // ISO 32000-1, 7.3.4: its examples of strings, and 9.4.3: TJ.
    #[test]
    fn operators_are_read_with_their_operands() {
        let found = all(b"/F1 12 Tf [(A\\051) -20.5 <4E6f7>]TJ /P<</MCID 0/A[true]>>BDC ET").unwrap();
        let words: Vec<&str> = found.iter().map(|(word, _)| word.as_str()).collect();
        assert_eq!(words, ["Tf", "TJ", "BDC", "ET"]);
        let strings =
            [Operand::String(b"A)".to_vec()), Operand::Number(-20.5), Operand::String(b"Nop".to_vec())];
        assert_eq!(found[1].1, [Operand::Array(strings.to_vec())]);
    }

    #[test]
    fn what_is_broken_or_too_deep_ends() {
        for bytes in [&b"(abc"[..], b"<41", b"[1 2", b"<</A", b"1 2", b"1.2.3 w", b"BI /W 1 ID x EI", b"[}"] {
            assert!(all(bytes).is_err(), "{bytes:?}");
        }
        assert!(all(&b"[".repeat(100_000)).is_err());
    }
}
