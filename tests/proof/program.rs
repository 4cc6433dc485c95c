//! The program as the laboratory and its customer meet it.

use std::path::Path;
use std::process::{Command, Output};

fn leverarm(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_leverarm"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env("COLUMNS", "100")
        .env("LEVERARM_PASSPHRASE", crate::support::PASSPHRASE)
        .stdin(std::process::Stdio::null())
        .output()
        .unwrap()
}

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

fn path(folder: &Path, name: &str) -> String {
    folder.join(name).to_str().unwrap().to_owned()
}

#[test]
fn from_the_key_to_the_customer() {
    let scratch = tempfile::tempdir().unwrap();
    let keys = scratch.path().join("keys");
    let new = |name: &str| {
        leverarm(&[
            "key",
            "new",
            "--name",
            name,
            "--organisation",
            "Skeldravoe",
            "--out",
            keys.to_str().unwrap(),
        ])
    };
    assert_eq!(code(&new("Eskil Marnburg")), 0);
    let again = new("Eskil Marnburg");
    assert!(code(&again) == 2 && said(&again).contains("never overwritten"), "{}", said(&again));
    let (certificate, key) = (path(&keys, "certificate.pem"), path(&keys, "key.pem"));
    assert!(std::fs::read_to_string(&key).unwrap().contains("ENCRYPTED PRIVATE KEY"));
    let shown = leverarm(&["key", "show", &certificate]);
    assert!(code(&shown) == 0 && said(&shown).contains("fingerprint"), "{}", said(&shown));

    let out = path(scratch.path(), "out");
    let certify = || {
        leverarm(&[
            "certify",
            "sample-runs/click-wrench-full",
            "--out",
            &out,
            "--issued",
            "2026-11-25",
            "--gum-only",
            "--sign-with",
            &certificate,
            "--key",
            &key,
        ])
    };
    let first = certify();
    assert_eq!(code(&first), 0, "{}", said(&first));
    std::thread::sleep(std::time::Duration::from_millis(1_100));
    let second = certify();
    assert!(said(&second).contains("unchanged"), "{}", said(&second));

    let folder = Path::new(&out).join("SK-2026-0412-1");
    let pdf = path(&folder, "certificate.pdf");
    let stranger = leverarm(&["recheck", &pdf]);
    assert!(code(&stranger) == 1 && said(&stranger).contains("NOT KNOWN"), "{}", said(&stranger));
    assert_eq!(code(&leverarm(&["recheck", &pdf, "--any-signer"])), 0);
    for file in ["certificate.pdf", "result.json", "manifest.sha256"] {
        let known = leverarm(&["recheck", &path(&folder, file), "--trust", &certificate]);
        assert_eq!(code(&known), 0, "{file}: {}", said(&known));
    }
    let json = leverarm(&["recheck", &pdf, &pdf, "--trust", &certificate, "--json"]);
    let answers: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(answers[1]["report"]["conclusion"], "agrees");
    let none_of_ours = leverarm(&["recheck", "README.md"]);
    assert_eq!(code(&none_of_ours), 2, "{}", said(&none_of_ours));
}

#[test]
fn an_unsigned_certificate_is_said_to_be_so() {
    let scratch = tempfile::tempdir().unwrap();
    let out = path(scratch.path(), "out");
    let made = leverarm(&["certify", "sample-runs/screwdriver", "--out", &out, "--issued", "2026-11-25"]);
    assert!(code(&made) == 0 && said(&made).contains("not signed"), "{}", said(&made));
    let folder = std::fs::read_dir(&out).unwrap().next().unwrap().unwrap().path();
    let pdf = path(&folder, "certificate.pdf");
    assert_eq!(code(&leverarm(&["recheck", &pdf])), 1);
    let enough = leverarm(&["recheck", &pdf, "--unsigned-ok"]);
    assert_eq!(code(&enough), 0, "{}", said(&enough));
}

#[test]
fn a_wrong_passphrase_makes_no_certificate() {
    let scratch = tempfile::tempdir().unwrap();
    let keys = path(scratch.path(), "keys");
    leverarm(&["key", "new", "--name", "Eskil Marnburg", "--organisation", "Skeldravoe", "--out", &keys]);
    let (certificate, key) = (format!("{keys}/certificate.pem"), format!("{keys}/key.pem"));
    let wrong = path(scratch.path(), "wrong");
    std::fs::write(&wrong, "another passphrase\n").unwrap();
    let out = path(scratch.path(), "out");
    let made = leverarm(&[
        "certify",
        "sample-runs/screwdriver",
        "--out",
        &out,
        "--sign-with",
        &certificate,
        "--key",
        &key,
        "--passphrase-file",
        &wrong,
    ]);
    assert!(code(&made) == 2 && said(&made).contains("does not open"), "{}", said(&made));
    assert!(!Path::new(&out).exists());
}

#[test]
fn a_transducers_certificate_gives_its_reference_file() {
    let made = leverarm(&[
        "dcc",
        "reference",
        "tests/dcc/transducer.xml",
        "--id",
        "RT-250",
        "--resolution",
        "0.01 N·m",
    ]);
    assert_eq!(code(&made), 0, "{}", said(&made));
    let text = String::from_utf8(made.stdout).unwrap();
    assert!(text.contains("id = \"RT-250\"") && text.contains("[[curve]]"), "{text}");
    let refused = leverarm(&["dcc", "reference", "README.md"]);
    assert_eq!(code(&refused), 2);
}
