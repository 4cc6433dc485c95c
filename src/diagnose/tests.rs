#![allow(clippy::unwrap_used)]

use crate::diagnose::{entries, rulebook_errors, text};
use crate::ingest::{parse, store::Memory};

fn sample() -> Memory {
    Memory::new()
        .with("run.toml", "format = 1\n[run]\njob = \"A\\u001b[31m1\"\ncondition = \"as fond\"\nperformed = \"2026-11-18\"\nrulebook = \"iso-6789-2\"\n[tool]\niso = \"II B\"\nmaker = \"m\"\nmodel = \"m\"\nserial = \"1\"\nset_value = \"90\"\ndirection = \"clockwise\"\n[reference]\nfile = \"none.toml\"\n")
        .with("readings.csv", "series;target;indicated;reference;unit;status\npoints;90;90;\u{1b}[31m;N·m;ok\n")
}

#[test]
fn text_shows_place_excerpt_and_remedy() {
    let loaded = parse(&sample());
    let shown = text(&loaded.findings, &loaded.sources);
    assert_eq!(
        shown,
        "ERROR character-unprintable  run.toml:3:7\n\
         \u{20} 3 | job = \"A\\u001b[31m1\"\n\
         \u{20}   |       ^^^^^^^^^^^^^^\n\
         \u{20} The text holds the control character U+001B, which has no shape and can steer a terminal.\n\
         \u{20} given    A\u{fffd}[31m1\n\
         \u{20} wanted   letters, digits and signs that the certificate can print\n\
         \u{20} asked by leverarm, the run folder\n\
         \u{20} mend     remove the character; it often comes with text that was copied from elsewhere\n\
         \n\
         ERROR value-unknown  run.toml:4:13\n\
         \u{20} 4 | condition = \"as fond\"\n\
         \u{20}   |             ^^^^^^^^^\n\
         \u{20} 'as fond' is not a word that is known here.\n\
         \u{20} given    as fond\n\
         \u{20} wanted   as found; as left; new\n\
         \u{20} asked by leverarm, the run folder\n\
         \u{20} mend     did you mean \"as found\"?\n\
         \n\
         ERROR number-without-unit  run.toml:12:13\n\
         \u{20} 12 | set_value = \"90\"\n\
         \u{20}    |             ^^^^\n\
         \u{20} The unit is missing.\n\
         \u{20} given    90\n\
         \u{20} wanted   a number and its unit of torque\n\
         \u{20} asked by leverarm, the run folder\n\
         \u{20} mend     write one of N·m, cN·m, mN·m, kN·m, lbf·ft, lbf·in, ozf·in, kgf·m, kgf·cm\n\
         \n\
         ERROR file-missing  run.toml:15:8\n\
         \u{20} 15 | file = \"none.toml\"\n\
         \u{20}    |        ^^^^^^^^^^^\n\
         \u{20} There is no file 'none.toml'.\n\
         \u{20} given    none.toml\n\
         \u{20} wanted   a file of that name\n\
         \u{20} asked by leverarm, the run folder\n\
         \u{20} mend     put the file there or mend its path; paths are relative to the run folder, with / between folders\n\
         \n\
         ERROR number-unreadable  readings.csv:2:14\n\
         \u{20} 2 | points;90;90;\u{fffd}[31m;N·m;ok\n\
         \u{20}   |              ^^^^^\n\
         \u{20} '\u{fffd}[31m' is not a plain decimal number.\n\
         \u{20} given    \u{fffd}[31m\n\
         \u{20} wanted   a plain decimal number\n\
         \u{20} asked by leverarm, the run folder\n\
         \u{20} mend     write what the display showed, such as 99.87\n\
         \n\
         5 errors; further checks wait until run.toml and none.toml can be used\n"
    );
}

#[test]
fn json_has_the_same_findings_in_the_same_order() {
    let loaded = parse(&sample());
    let json = serde_json::to_value(entries(&loaded.findings, &loaded.sources)).unwrap();
    let list = json.as_array().unwrap();
    assert_eq!(list.len(), 5);
    assert_eq!(list[1]["check"], "value-unknown");
    assert_eq!(list[0]["severity"], "error");
    assert_eq!(
        (&list[1]["file"], &list[1]["line"], &list[1]["column"]),
        (&"run.toml".into(), &4.into(), &13.into())
    );
    assert_eq!(list[4]["file"], "readings.csv");
}

#[test]
fn nothing_found_is_said() {
    let loaded = parse(&sample());
    assert_eq!(text(&[], &loaded.sources), "no findings\n");
}

#[test]
fn a_rulebook_alone_has_its_places_too() {
    let broken = "format = 9\n";
    let errors = leverarm_metrology::rulebook::Rulebook::parse(broken).unwrap_err();
    let shown = rulebook_errors(broken, "own.toml", &errors);
    assert!(shown.starts_with("ERROR rulebook-invalid  own.toml:1:10\n"), "{shown}");
}
