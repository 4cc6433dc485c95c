//! Unpacking of streams, bounded in what it gives.

use std::io::Read;

use super::error::PdfError;

/// `FlateDecode` (ISO 32000-1, 7.4.4), at most `limit` bytes.
pub(crate) fn inflate(packed: &[u8], limit: usize) -> Result<Vec<u8>, PdfError> {
    let mut plain = Vec::new();
    let bound = u64::try_from(limit).unwrap_or(u64::MAX).saturating_add(1);
    let read = flate2::read::ZlibDecoder::new(packed).take(bound).read_to_end(&mut plain);
    if plain.len() > limit {
        return Err(PdfError::Bomb { limit });
    }
    read.map_err(|_| PdfError::Damaged)?;
    Ok(plain)
}

/// Undoes a PNG predictor of one byte a pixel component (ISO 32000-1, 7.4.4.4; PNG, clause 9).
pub(crate) fn unpredict(bytes: &[u8], columns: usize, bytes_per_pixel: usize) -> Result<Vec<u8>, PdfError> {
    let row_length = columns.checked_mul(bytes_per_pixel).filter(|length| *length > 0);
    let row_length = row_length.ok_or(PdfError::Damaged)?;
    let packed_row = row_length.checked_add(1).ok_or(PdfError::Damaged)?;
    let mut plain = Vec::with_capacity(bytes.len());
    let mut above = vec![0_u8; row_length.min(bytes.len())];
    for packed in bytes.chunks(packed_row) {
        let (kind, packed) = packed.split_first().ok_or(PdfError::Damaged)?;
        if packed.len() != row_length {
            return Err(PdfError::Damaged);
        }
        let mut row: Vec<u8> = Vec::with_capacity(row_length);
        for (place, byte) in packed.iter().enumerate() {
            let before = place.checked_sub(bytes_per_pixel);
            let left = before.and_then(|p| row.get(p)).copied().unwrap_or(0);
            let up = above.get(place).copied().unwrap_or(0);
            let corner = before.and_then(|p| above.get(p)).copied().unwrap_or(0);
            let guess = match kind {
                0 => 0,
                1 => left,
                2 => up,
                3 => left.midpoint(up),
                4 => paeth(left, up, corner),
                _ => return Err(PdfError::Damaged),
            };
            row.push(byte.wrapping_add(guess));
        }
        plain.extend_from_slice(&row);
        above = row;
    }
    Ok(plain)
}

fn paeth(left: u8, up: u8, corner: u8) -> u8 {
    let estimate = i16::from(left) + i16::from(up) - i16::from(corner);
    let far = |from: u8| (estimate - i16::from(from)).abs();
    if far(left) <= far(up) && far(left) <= far(corner) {
        left
    } else if far(up) <= far(corner) {
        up
    } else {
        corner
    }
}
