//! Writes signed files for independent tools: `seal OUT [PDF …]` signs each PDF, and two small ones
//! of its own, with a key of its own, with an issued P-256 key and with an RSA key.
//!
//! Called by `independent.py`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing)]

#[allow(dead_code)]
mod support;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use leverarm_seal::{Manifest, Signer, Trust, sign_detached, sign_pdf, verify_pdf};
use support::{Kind, PASSPHRASE, day, info, made, small_pdf};

fn main() {
    let mut arguments = std::env::args_os().skip(1).map(PathBuf::from);
    let out = arguments.next().expect("usage: seal OUT [PDF …]");
    fs::create_dir_all(&out).unwrap();
    let mut pdfs =
        vec![("table".to_owned(), small_pdf(Kind::Table)), ("streams".to_owned(), small_pdf(Kind::Streams))];
    for (place, path) in arguments.enumerate() {
        pdfs.push((format!("given-{place}"), fs::read(path).unwrap()));
    }
    let own = made(1);
    fs::write(out.join("own.key.pem"), &own.key_pem).unwrap();
    fs::write(out.join("own.pem"), &own.certificate_pem).unwrap();
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/seal/data");
    let read = |name: &str| fs::read_to_string(data.join(name)).unwrap();
    let root = read("root.pem");
    fs::write(out.join("root.pem"), &root).unwrap();
    let issued = [read("leaf.pem"), read("middle.pem")].concat();
    fs::write(out.join("middle.pem"), read("middle.pem")).unwrap();
    let trust = Trust::nobody().known_pem(&own.certificate_pem).unwrap().roots_pem(&root).unwrap();
    let signers = [
        ("own", Signer::from_pem(&own.key_pem, &own.certificate_pem, PASSPHRASE).unwrap()),
        ("issued", Signer::from_pem(&read("leaf.key.pem"), &issued, PASSPHRASE).unwrap()),
        ("rsa", Signer::from_pem(&read("rsa.key.pem"), &read("rsa.pem"), PASSPHRASE).unwrap()),
    ];
    let mut info = info();
    info.time = day(2026, 12, 24);
    for (who, signer) in &signers {
        for (name, pdf) in &pdfs {
            let begun = Instant::now();
            let file = sign_pdf(pdf, signer, &info).unwrap();
            let signed = begun.elapsed();
            let verification = verify_pdf(&file, &trust, day(2026, 12, 25));
            let verified = begun.elapsed() - signed;
            assert!(verification.is_genuine(), "{:?}", verification.findings);
            println!(
                "{name}-{who}: {} -> {} bytes, signed in {signed:?}, verified in {verified:?}",
                pdf.len(),
                file.len()
            );
            fs::write(out.join(format!("{name}-{who}.pdf")), file).unwrap();
        }
        let manifest =
            Manifest::of("SK-2026-0412-1", [("result.json", support::ATTACHMENT)]).unwrap().to_text();
        let signature = sign_detached(manifest.as_bytes(), signer, info.time).unwrap();
        fs::write(out.join("attachments.sha256"), manifest).unwrap();
        fs::write(out.join(format!("attachments-{who}.p7s")), signature).unwrap();
    }
    fs::write(out.join("result.json"), support::ATTACHMENT).unwrap();
}
