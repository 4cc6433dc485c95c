//! From a sample to the screen, in real time, as the command itself measures it: from the arrival of the
//! newest sample to the end of the frame that shows it. Measured on demand, never in the normal tests:
//!
//! `cargo test --release -p leverarm --test live latency -- --ignored --nocapture --test-threads=1`

use std::time::{Duration, Instant};

use crate::dice::number;
use crate::folder::Folder;
use crate::person::{Person, after};
use crate::record::nothing;
use crate::terminal::Terminal;

fn measure(door: &str, rows: u16, columns: u16) -> (u64, u64) {
    let seconds = number("LEVERARM_LATENCY_S", 30);
    let folder = Folder::of("click-wrench-full");
    let arguments = ["bench", folder.run(), "--simulate", "--pace", "real", "--door", door, "--rate", "1000"];
    let mut terminal = Terminal::start(&arguments, rows, columns, nothing);
    let mut person = Person::new("Runa Hjaltevik");
    let begun = Instant::now();
    person.work_for(&mut terminal, Duration::from_secs(seconds));
    terminal.key("l");
    let (status, text) = terminal.end();
    assert!(status.success(), "{text}");
    let text: String = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let figure = |words: &str| -> u64 {
        let before = text.split(words).next().unwrap();
        before.rsplit(' ').find_map(|word| word.parse().ok()).unwrap()
    };
    let figures = (figure(" ms in half"), figure(" ms in 99 %"));
    println!(
        "{door}, {columns}x{rows}, {:.0} s: {} ms in half, {} ms in 99 %; {}",
        begun.elapsed().as_secs_f64(),
        figures.0,
        figures.1,
        after(&text, " samples; ").unwrap_or_default()
    );
    figures
}

#[test]
#[ignore = "a measurement"]
fn latency_of_a_socket_and_of_a_serial_port_on_small_and_large_screens() {
    for door in ["tcp", "pty"] {
        for (rows, columns) in [(24, 80), (60, 200)] {
            let (_, most) = measure(door, rows, columns);
            assert!(most < 50, "{most} ms");
        }
    }
}
