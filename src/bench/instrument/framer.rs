//! Bytes in any pieces become lines, in bounded memory.

/// Cuts a stream of bytes into lines. The lines do not depend on how the bytes were cut on their way.
#[derive(Debug, Clone)]
pub struct Framer {
    terminator: Vec<u8>,
    longest: usize,
    /// the line so far; of one that is too long its last bytes only
    buffer: Vec<u8>,
    is_too_long: bool,
    too_long: u64,
}

impl Framer {
    /// For lines that end with `terminator` and hold at most `longest` bytes without it. An empty
    /// terminator counts as a line feed.
    #[must_use]
    pub fn new(terminator: &[u8], longest: usize) -> Framer {
        let terminator = if terminator.is_empty() { b"\n".to_vec() } else { terminator.to_vec() };
        Framer { terminator, longest, buffer: Vec::new(), is_too_long: false, too_long: 0 }
    }

    /// Takes bytes and hands over each line that is whole now, without its terminator.
    pub fn push(&mut self, mut bytes: &[u8], mut line: impl FnMut(&[u8])) {
        let Some(&last) = self.terminator.last() else { return };
        while let Some(at) = bytes.iter().position(|byte| *byte == last) {
            let (piece, rest) = bytes.split_at(at + 1);
            bytes = rest;
            if self.buffer.is_empty() && !self.is_too_long && piece.len() <= self.longest {
                // A whole line in one piece needs no copy.
                if let Some(whole) = piece.strip_suffix(self.terminator.as_slice()) {
                    line(whole);
                    continue;
                }
            }
            self.append(piece);
            if !self.buffer.ends_with(&self.terminator) {
                continue;
            }
            if self.is_too_long {
                self.too_long = self.too_long.saturating_add(1);
            } else {
                line(&self.buffer[..self.buffer.len() - self.terminator.len()]);
            }
            self.buffer.clear();
            self.is_too_long = false;
        }
        self.append(bytes);
    }

    fn append(&mut self, piece: &[u8]) {
        let room = self.longest.saturating_add(self.terminator.len());
        if !self.is_too_long && self.buffer.len().saturating_add(piece.len()) <= room {
            self.buffer.extend_from_slice(piece);
            return;
        }
        self.is_too_long = true;
        let keep = self.terminator.len();
        self.buffer.extend_from_slice(&piece[piece.len().saturating_sub(keep)..]);
        let spare = self.buffer.len().saturating_sub(keep);
        self.buffer.drain(..spare);
    }

    /// What stands there without its terminator; the framer begins anew. `None` where there is nothing,
    /// or the beginning of a line that is too long.
    pub fn take_rest(&mut self) -> Option<Vec<u8>> {
        let rest = std::mem::take(&mut self.buffer);
        if std::mem::take(&mut self.is_too_long) {
            self.too_long = self.too_long.saturating_add(1);
            return None;
        }
        Some(rest).filter(|rest| !rest.is_empty())
    }

    /// How many bytes wait for their terminator.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.buffer.len()
    }

    /// How many lines were dropped because they were too long.
    #[must_use]
    pub fn too_long(&self) -> u64 {
        self.too_long
    }

    /// How many bytes of memory the line so far holds.
    #[must_use]
    pub fn capacity(&self) -> usize {
        self.buffer.capacity()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use proptest::prelude::*;

    use super::*;

    fn lines(terminator: &[u8], longest: usize, pieces: &[&[u8]]) -> (Vec<Vec<u8>>, u64, usize) {
        let mut framer = Framer::new(terminator, longest);
        let mut found = Vec::new();
        for piece in pieces {
            framer.push(piece, |line| found.push(line.to_vec()));
            assert!(framer.capacity() <= 2 * (longest + 2 * terminator.len()) + 16);
        }
        (found, framer.too_long(), framer.waiting())
    }

    /// The definition, one byte at a time, with no bound on memory.
    fn defined(terminator: &[u8], longest: usize, bytes: &[u8]) -> (Vec<Vec<u8>>, u64) {
        let (mut found, mut too_long, mut line) = (Vec::new(), 0, Vec::new());
        for byte in bytes {
            line.push(*byte);
            if line.ends_with(terminator) {
                line.truncate(line.len() - terminator.len());
                if line.len() > longest {
                    too_long += 1
                } else {
                    found.push(line.clone())
                }
                line.clear();
            }
        }
        (found, too_long)
    }

    proptest! {
        #[test]
        fn any_cut_gives_the_same_lines(
            bytes in prop::collection::vec(prop::sample::select(b"ab\r\n\r\n;;\xff\x00".to_vec()), 0..300),
            cuts in prop::collection::vec(0_usize..300, 0..20),
            terminator in prop::sample::select(vec![&b"\n"[..], b"\r\n", b"\r", b";;", b"\r\n\r\n"]),
            longest in 1_usize..12,
        ) {
            let mut cuts: Vec<usize> = cuts.into_iter().map(|cut| cut.min(bytes.len())).collect();
            cuts.extend([0, bytes.len()]);
            cuts.sort_unstable();
            let pieces: Vec<&[u8]> = cuts.windows(2).map(|pair| &bytes[pair[0]..pair[1]]).collect();
            let (found, too_long, waiting) = lines(terminator, longest, &pieces);
            let (whole, whole_too_long, whole_waiting) = lines(terminator, longest, &[&bytes]);
            prop_assert_eq!(&found, &whole);
            prop_assert_eq!((too_long, waiting), (whole_too_long, whole_waiting));
            prop_assert_eq!((found, too_long), defined(terminator, longest, &bytes));
        }
    }

    #[test]
    fn a_line_without_end_takes_no_memory() {
        let mut framer = Framer::new(b"\r\n", 100);
        for _ in 0..10_000 {
            framer.push(&[b'x'; 4096], |_| {});
        }
        assert!(framer.capacity() < 1000, "{}", framer.capacity());
        let mut found = Vec::new();
        framer.push(b"\r\n1\r\n", |line| found.push(line.to_vec()));
        assert_eq!((found, framer.too_long()), (vec![b"1".to_vec()], 1));
    }
}
