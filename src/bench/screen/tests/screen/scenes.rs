//! Moments of an invented session, for the tests, the bench and the tour.

#![allow(dead_code)]

use leverarm_metrology::reading::Direction;
use leverarm_session::view::{
    Ask, Bar, Instrument, KeyHint, Live, Meter, Phase, Row, Said, Step, Tone, View,
};

/// A pull at 100 N·m: the torque, where in the pull it is, and the seconds since 80 %.
pub fn pull(digits: &str, value: f64, highest: f64, phase: Phase, seconds: f64) -> View {
    View {
        job: "SK-2026-0412 as found".to_owned(),
        tool: "Brundholt TW-200, 40 N·m to 200 N·m, no. 7741".to_owned(),
        technician: "Runa Hjaltevik".to_owned(),
        instrument: Instrument::Speaks { name: "RT-250".to_owned() },
        step: Some(step()),
        live: Some(Live { digits: digits.to_owned(), unit: "N·m".to_owned(), phase }),
        bar: Some(Bar {
            end: 130.0,
            value,
            highest,
            target: 120.0,
            lowest_accepted: Some(115.4),
            highest_accepted: Some(125.0),
            limit: Some(127.5),
        }),
        meter: Some(Meter {
            seconds,
            seconds_min: 0.5,
            seconds_max: Some(4.0),
            is_running: phase == Phase::Slowly,
        }),
        ask: None,
        rows: rows(),
        said: said(),
        keys: keys(),
        has_sound: true,
    }
}

fn step() -> Step {
    Step {
        number: 5,
        steps: 12,
        title: "Test points".to_owned(),
        order: "Pull to 120 N·m clockwise, the last fifth slowly and evenly, until the wrench releases."
            .to_owned(),
        how: None,
        target: "120 N·m".to_owned(),
        direction: Some(Direction::Clockwise),
        reading: Some(4),
        readings: 5,
    }
}

fn rows() -> Vec<Row> {
    let row = |number, reference: &str, seconds: &str, void: Option<&str>| Row {
        number,
        reference: reference.to_owned(),
        indicated: None,
        seconds: Some(seconds.to_owned()),
        void: void.map(str::to_owned),
    };
    vec![
        row(11, "119.32 N·m", "1.2 s", None),
        row(12, "121.07 N·m", "0.3 s", Some("80 % to 100 % took 0.3 s, and 0.5 s are wanted")),
        row(13, "119.41 N·m", "0.9 s", None),
        row(14, "119.28 N·m", "1.0 s", None),
    ]
}

fn said() -> Vec<Said> {
    let said = |tone, text: &str| Said { tone, text: text.to_owned() };
    vec![
        said(Tone::Caution, "Reading 12 does not count: it was pulled too fast."),
        said(Tone::Plain, "Reading 12 is to be repeated."),
        said(Tone::Good, "Reading 14 taken: 119.28 N·m."),
    ]
}

fn keys() -> Vec<KeyHint> {
    let hint = |key, does: &str| KeyHint { key, does: does.to_owned() };
    vec![
        hint("x", "strike out the last"),
        hint("p", "pause"),
        hint("t", "another technician"),
        hint("s", "sound off"),
        hint("q", "leave"),
    ]
}

/// Every moment by name.
pub fn all() -> Vec<(&'static str, View)> {
    let mut scenes = phases();
    scenes.extend(troubles());
    scenes.extend(asks());
    scenes
}

pub fn phases() -> Vec<(&'static str, View)> {
    vec![
        ("settling", pull("0.03", 0.03, 0.0, Phase::Settling, 0.0)),
        ("ready", pull("-0.02", 0.0, 0.0, Phase::Ready, 0.0)),
        ("pulling", pull("61.88", 61.88, 61.88, Phase::Pulling, 0.0)),
        ("slowly", pull("118.62", 118.62, 118.62, Phase::Slowly, 0.42)),
        ("let_go", pull("104.10", 104.1, 119.36, Phase::LetGo, 1.13)),
        ("over_limit", pull("128.94", 128.94, 128.94, Phase::Slowly, 4.3)),
    ]
}

pub fn troubles() -> Vec<(&'static str, View)> {
    let calm = || pull("0.03", 0.03, 0.0, Phase::Settling, 0.0);
    let troubled = View {
        instrument: Instrument::Troubled {
            message: "The instrument has been silent for 3 s; the last line was cut after 7 bytes.".to_owned(),
            remedy: "Check the plug and the power of the display; the session goes on by itself when it speaks again."
                .to_owned(),
        },
        ..calm()
    };
    let sought = View {
        instrument: Instrument::Sought,
        step: None,
        live: None,
        bar: None,
        meter: None,
        rows: vec![],
        ..calm()
    };
    let mut preload = calm();
    if let Some(step) = &mut preload.step {
        step.title = "Output drive, position 3 of 4".to_owned();
        step.order = "Pull to 40 N·m counter-clockwise.".to_owned();
        step.how = Some("Turn the square drive by 90° from the mark before the first pull.".to_owned());
        step.target = "1475 lbf·in".to_owned();
        step.direction = Some(Direction::CounterClockwise);
        step.reading = Some(10);
        step.readings = 10;
    }
    preload.meter = Some(Meter { seconds: 0.0, seconds_min: 1.0, seconds_max: None, is_running: false });
    vec![("troubled", troubled), ("sought", sought), ("drive", preload)]
}

pub fn asks() -> Vec<(&'static str, View)> {
    let ask = |ask| View {
        ask: Some(ask),
        bar: None,
        meter: None,
        ..pull("0.01", 0.01, 0.0, Phase::Settling, 0.0)
    };
    let line = |typed: &str, fault: Option<&str>| Ask::Line {
        title: "Air temperature at the bench".to_owned(),
        hint: "in °C, for example 20.5".to_owned(),
        typed: typed.to_owned(),
        fault: fault.map(str::to_owned),
    };
    vec![
        (
            "cautions",
            ask(Ask::Cautions { before: "the preload to 200 N·m".to_owned(), cautions: cautions() }),
        ),
        ("line", ask(line("20.", None))),
        (
            "line_fault",
            ask(line("68", Some("68 °C is outside 18 °C to 28 °C. Was it read in °F? 68 °F are 20.0 °C."))),
        ),
        (
            "choice",
            ask(Ask::Choice {
                title: "Why does reading 14 not count?".to_owned(),
                choices: vec![
                    ('1', "jerky pull".to_owned()),
                    ('2', "force not at the mark of the grip".to_owned()),
                    ('3', "something else, to be typed".to_owned()),
                ],
            }),
        ),
        (
            "paused",
            ask(Ask::Paused {
                words: "Since 10:42 by Runa Hjaltevik. Nothing is taken until the work goes on.".to_owned(),
            }),
        ),
        (
            "finished",
            ask(Ask::Finished {
                lines: vec![
                    "65 readings taken, 3 struck out, in 12 steps.".to_owned(),
                    "The run folder is runs/SK-2026-0412; its readings are complete.".to_owned(),
                ],
            }),
        ),
    ]
}

pub fn cautions() -> Vec<String> {
    [
        "Stand clear of the line of the lever, and see that nobody else is in it.",
        "Pull, do not push; both feet on the floor, and expect the wrench to give way at its release.",
        "The guard of the bench is closed.",
        "Never go beyond 250 N·m, the limit of the reference, nor beyond what the maker allows.",
        "A tool that creaks, slips or shows a crack is put aside, not loaded again.",
    ]
    .map(str::to_owned)
    .to_vec()
}
