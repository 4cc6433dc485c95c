//! A laboratory's key, a small PDF of either kind, a source of bytes that always gives the same.

use std::sync::OnceLock;

use chrono::{DateTime, TimeZone, Utc};
use leverarm_seal::{SelfMade, Signer, SigningInfo, Trust, self_made, sign_pdf};
use pkcs8::rand_core::{Infallible, TryCryptoRng, TryRng};
use sha2::{Digest, Sha256};

pub const PASSPHRASE: &str = "for the tests only";

/// SHA-256 of a counter: the same bytes on every run, and good enough for keys that protect nothing.
pub struct Counted {
    seed: u64,
    count: u64,
}

impl Counted {
    pub fn new(seed: u64) -> Self {
        Self { seed, count: 0 }
    }

    pub fn below(&mut self, limit: usize) -> usize {
        (self.try_next_u64().unwrap() % limit as u64) as usize
    }
}

impl TryRng for Counted {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        Ok(self.try_next_u64()? as u32)
    }

    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        let mut bytes = [0; 8];
        self.try_fill_bytes(&mut bytes)?;
        Ok(u64::from_be_bytes(bytes))
    }

    fn try_fill_bytes(&mut self, out: &mut [u8]) -> Result<(), Infallible> {
        for part in out.chunks_mut(32) {
            self.count += 1;
            let hash = Sha256::digest([self.seed.to_be_bytes(), self.count.to_be_bytes()].concat());
            part.copy_from_slice(&hash[..part.len()]);
        }
        Ok(())
    }
}

impl TryCryptoRng for Counted {}

pub fn day(year: i32, month: u32, day: u32) -> DateTime<Utc> {
    Utc.with_ymd_and_hms(year, month, day, 10, 30, 0).unwrap()
}

pub fn now() -> DateTime<Utc> {
    day(2027, 1, 15)
}

pub fn made(seed: u64) -> SelfMade {
    let organisation = "Skeldravoe Torque Laboratory";
    self_made("Runa Hjaltevik", organisation, &mut Counted::new(seed), day(2026, 11, 1), 3, PASSPHRASE)
        .unwrap()
}

/// A laboratory that signs, and a verifier that knows it. Opening a key is slow on purpose, so each
/// is opened once.
pub fn laboratory(seed: u64) -> (&'static Signer, Trust) {
    static LABORATORIES: [OnceLock<(Signer, Trust)>; 3] = [const { OnceLock::new() }; 3];
    let (signer, trust) = LABORATORIES[usize::try_from(seed).unwrap()].get_or_init(|| {
        let made = made(seed);
        let signer = Signer::from_pem(&made.key_pem, &made.certificate_pem, PASSPHRASE).unwrap();
        (signer, Trust::nobody().known_pem(&made.certificate_pem).unwrap())
    });
    (signer, trust.clone())
}

pub fn info() -> SigningInfo {
    SigningInfo {
        time: day(2026, 11, 25),
        reason: "Issue of certificate SK-2026-0412-1".to_owned(),
        location: "Skeldravoe".to_owned(),
        contact: "laboratory@skeldravoe.example".to_owned(),
    }
}

pub fn signed(pdf: &[u8]) -> (Vec<u8>, Trust) {
    let (signer, trust) = laboratory(1);
    (sign_pdf(pdf, signer, &info()).unwrap(), trust)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A classic table of objects.
    Table,
    /// Streams of objects and a packed stream as their table.
    Streams,
}

pub fn packed(plain: &[u8]) -> Vec<u8> {
    use std::io::Write;
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(plain).unwrap();
    encoder.finish().unwrap()
}

pub fn stream(dictionary: &str, bytes: &[u8]) -> Vec<u8> {
    let head = format!("<<{dictionary}/Length {}>>\nstream\n", bytes.len());
    [head.as_bytes(), bytes, b"\nendstream"].concat()
}

const CATALOG: &str = "<</Type/Catalog/Pages 2 0 R/AF[6 0 R]/Names<</EmbeddedFiles<</Names[(result.json) 6 0 R]>>>>/MarkInfo<</Marked true>>/Lang(en)>>";
pub const ATTACHMENT: &[u8] = b"{\"number\": \"SK-2026-0412-1\"}\n";

/// One page with one line and one attachment.
pub fn small_pdf(kind: Kind) -> Vec<u8> {
    let file =
        stream("/Type/EmbeddedFile/Subtype/application#2Fjson/Filter/FlateDecode", &packed(ATTACHMENT));
    pdf_with(kind, &file)
}

/// The same with this object as the attachment's stream.
pub fn pdf_with(kind: Kind, file: &[u8]) -> Vec<u8> {
    let plain: Vec<(u32, Vec<u8>)> = vec![
        (1, CATALOG.as_bytes().to_vec()),
        (2, b"<</Type/Pages/Count 1/Kids[3 0 R]>>".to_vec()),
        (3, b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 200.5 100]/Contents 4 0 R/Resources<</Font<</F 8 0 R>>>>>>".to_vec()),
        (5, b"<</Title(Calibration certificate SK-2026-0412-1)/CreationDate(D:20261125103000Z)>>".to_vec()),
        (6, b"<</Type/Filespec/F(result.json)/UF(result.json)/AFRelationship/Data/EF<</F 7 0 R/UF 7 0 R>>>>".to_vec()),
        (8, b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>".to_vec()),
    ];
    let streams: Vec<(u32, Vec<u8>)> =
        vec![(4, stream("", b"BT /F 12 Tf 10 50 Td (102.4 N m) Tj ET")), (7, file.to_vec())];
    match kind {
        Kind::Table => with_table([plain, streams].concat()),
        Kind::Streams => with_streams(&plain, streams),
    }
}

/// A PDF of these objects with a classic table; the catalog is 1, the information 5.
pub fn with_table(mut objects: Vec<(u32, Vec<u8>)>) -> Vec<u8> {
    objects.sort();
    let mut out = b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n".to_vec();
    let size = objects.last().unwrap().0 + 1;
    let mut offsets = vec![None; size as usize];
    for (number, content) in &objects {
        offsets[*number as usize] = Some(out.len());
        out.extend(format!("{number} 0 obj\n").as_bytes());
        out.extend(content);
        out.extend(b"\nendobj\n");
    }
    let table = out.len();
    out.extend(format!("xref\n0 {size}\n").as_bytes());
    for offset in offsets {
        match offset {
            Some(offset) => out.extend(format!("{offset:010} 00000 n \n").as_bytes()),
            None => out.extend(b"0000000000 65535 f \n"),
        }
    }
    let id = "00112233445566778899aabbccddeeff";
    out.extend(format!("trailer\n<</Size {size}/Root 1 0 R/Info 5 0 R/ID[<{id}><{id}>]>>\n").as_bytes());
    out.extend(format!("startxref\n{table}\n%%EOF\n").as_bytes());
    out
}

/// Plain objects in object 9, a stream of objects; the table is object 10, with a PNG predictor.
fn with_streams(plain: &[(u32, Vec<u8>)], streams: Vec<(u32, Vec<u8>)>) -> Vec<u8> {
    let (mut list, mut body) = (String::new(), Vec::new());
    for (number, content) in plain {
        list.push_str(&format!("{number} {} ", body.len()));
        body.extend(content);
        body.push(b' ');
    }
    let dictionary = format!("/Type/ObjStm/N {}/First {}/Filter/FlateDecode", plain.len(), list.len());
    let objects = stream(&dictionary, &packed(&[list.as_bytes(), &body].concat()));
    let mut out = b"%PDF-1.7\n%\xE2\xE3\xCF\xD3\n".to_vec();
    let mut rows = vec![[0_u8; 4]; 11];
    for (index, (number, _)) in plain.iter().enumerate() {
        rows[*number as usize] = [2, 0, 9, index as u8];
    }
    for (number, content) in streams.into_iter().chain([(9, objects)]) {
        rows[number as usize] = [1, (out.len() >> 8) as u8, out.len() as u8, 0];
        out.extend(format!("{number} 0 obj\n").as_bytes());
        out.extend(content);
        out.extend(b"\nendobj\n");
    }
    let table = out.len();
    rows[10] = [1, (table >> 8) as u8, table as u8, 0];
    let mut above = [0_u8; 4];
    let mut predicted = Vec::new();
    for row in rows {
        predicted.push(2);
        predicted.extend(row.iter().zip(above).map(|(byte, up)| byte.wrapping_sub(up)));
        above = row;
    }
    let dictionary = "/Type/XRef/Size 11/W[1 2 1]/Root 1 0 R/Info 5 0 R/ID[(a)(b)]/Filter/FlateDecode/DecodeParms<</Predictor 12/Columns 4>>";
    out.extend(b"10 0 obj\n");
    out.extend(stream(dictionary, &packed(&predicted)));
    out.extend(format!("\nendobj\nstartxref\n{table}\n%%EOF\n").as_bytes());
    out
}

/// Where the place of the signature starts and ends, delimiters included.
pub fn contents_at(pdf: &[u8]) -> (usize, usize) {
    leverarm_seal::pdf::inspect(pdf).unwrap().signatures[0].contents_at
}

pub fn position(bytes: &[u8], word: &[u8]) -> usize {
    bytes.windows(word.len()).position(|window| window == word).unwrap()
}

pub fn replaced(bytes: &[u8], from: &[u8], to: &[u8]) -> Vec<u8> {
    let at = position(bytes, from);
    [&bytes[..at], to, &bytes[at + from.len()..]].concat()
}

/// An update with this content of one object, appended as any program would append it.
pub fn updated(pdf: &[u8], number: u32, content: &[u8]) -> Vec<u8> {
    let document = leverarm_seal::pdf::Document::open(pdf).unwrap();
    let size = document.trailer().integer("Size").unwrap();
    let word = b"startxref\n";
    let at = pdf.windows(word.len()).rposition(|window| window == word).unwrap() + word.len();
    let digits = pdf[at..].iter().take_while(|b| b.is_ascii_digit()).count();
    let previous = std::str::from_utf8(&pdf[at..at + digits]).unwrap();
    let mut out = pdf.to_vec();
    let offset = out.len();
    out.extend(format!("{number} 0 obj\n").as_bytes());
    out.extend(content);
    out.extend(b"\nendobj\n");
    let table = out.len();
    let root = match document.trailer().get("Root") {
        Some(leverarm_seal::pdf::Object::Reference(id)) => id.number,
        other => panic!("{other:?}"),
    };
    out.extend(format!("xref\n{number} 1\n{offset:010} 00000 n \n").as_bytes());
    out.extend(format!("trailer\n<</Size {size}/Root {root} 0 R/Prev {previous}>>\n").as_bytes());
    out.extend(format!("startxref\n{table}\n%%EOF\n").as_bytes());
    out
}
