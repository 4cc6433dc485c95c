//! What is said of texts that cannot be printed and of lines that are not TOML.

use super::{READINGS, RUN, files, run_with, told};
use crate::ingest::parse;

#[test]
fn what_cannot_be_printed_is_refused_at_its_place() {
    for (from, to, expected) in [
        ("job = \"SK-2026-0412\"", "job = \"SK\\n1\"", "character-unprintable run.toml:3:7"),
        ("job = \"SK-2026-0412\"", "job = \"SK 東京\"", "character-unprintable run.toml:3:11"),
        ("\"grip worn\"", "\"ok\", \"a\\u0007\"", "character-unprintable run.toml:38:18"),
    ] {
        assert_eq!(told(&run_with(from, to)), [expected]);
    }
    let readings = READINGS
        .replace("slipped, hand", "slipped\nh東d")
        .replace("points,,40,29.5", "points,\u{202e},40,29.5");
    assert_eq!(
        told(&parse(&files().with("readings.csv", readings))),
        ["character-unprintable readings.csv:4:64", "character-unprintable readings.csv:6:8"]
    );
    let own = leverarm_metrology::rulebook::embedded("iso-6789-1").unwrap().text;
    let own = own.replacen("title = \"", "title = \"東", 1);
    let run = RUN.replace("\"iso-6789-2\"", "\"own.toml\"");
    let loaded = parse(&files().with("run.toml", run).with("own.toml", own));
    assert!(told(&loaded)[0].starts_with("character-unprintable own.toml:"), "{:?}", told(&loaded));
    let mut loaded = parse(&files());
    loaded.override_text("people.approver", "--approver", "東");
    assert_eq!(told(&loaded), ["character-unprintable --approver"]);
}

#[test]
fn errors_of_syntax_are_said_in_plain_words() {
    for (to, said) in [
        ("job = “SK”", "curly quotation mark “"),
        ("job = SK-1", "no quotation marks"),
        ("job = \"SK-1", "never closed"),
        ("job = \"SK\\q\"", "backslash"),
        ("job", "no = behind"),
        ("job =", "`job` has no value"),
        ("job = \"a\"\njob = \"b\"", "`job` is there twice"),
        ("[run]", "[run] is there twice"),
        ("[tool", "not closed"),
        ("tool]", "[ before it"),
        ("uses = 3,120", "not a number of TOML"),
        ("job = \"a\u{7}\"", "control character U+0007"),
    ] {
        let loaded = run_with("job = \"SK-2026-0412\"", to);
        let finding = &loaded.findings[0];
        assert_eq!(finding.check.name, "toml-syntax", "{to}: {finding:?}");
        assert!(finding.message.contains(said), "{to}: {finding:?}");
    }
}
