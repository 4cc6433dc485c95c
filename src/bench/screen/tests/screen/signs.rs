//! Nothing is said by colour alone, and nothing but ASCII is written where nothing else can be shown.

use leverarm_session::view::Phase;
use ratatui::backend::TestBackend;
use ratatui::style::Color;

use leverarm_screen::screen::Screen;

use crate::{ASCII, COLOURED, COLOURLESS, drawn, picture, scenes, screen, text};

fn colours(screen: &Screen<TestBackend>) -> Vec<Color> {
    let cells = screen.backend().buffer().content().iter();
    cells.flat_map(|cell| [cell.fg, cell.bg]).filter(|colour| *colour != Color::Reset).collect()
}

#[test]
fn without_colour_the_same_can_be_read() {
    for (name, view) in scenes::all() {
        let mut bare = screen(80, 24, COLOURLESS);
        drawn(&mut bare, &view);
        assert_eq!(colours(&bare), [], "{name}");
        assert_eq!(text(&bare), picture(&view, 80, 24, COLOURED), "{name}");
    }
}

// The sixteen colours that the terminal's user chose; no colour of ours, which might not be seen on his
// background.
#[test]
fn only_the_terminals_own_colours_are_used() {
    for (name, view) in scenes::all() {
        let mut screen = screen(120, 40, COLOURED);
        drawn(&mut screen, &view);
        let own = |colour: &Color| matches!(colour, Color::Rgb(..) | Color::Indexed(_));
        assert!(!colours(&screen).iter().any(own), "{name}");
        assert!(!colours(&screen).is_empty(), "{name}");
    }
}

#[test]
fn ascii_is_ascii() {
    for (name, view) in scenes::all() {
        for (columns, rows) in [(30, 6), (60, 20), (80, 24), (200, 60)] {
            let picture = picture(&view, columns, rows, ASCII);
            assert!(picture.is_ascii(), "{name}: {picture}");
        }
    }
}

#[test]
fn above_the_limit_a_sign_and_a_word_say_so_at_every_size() {
    let view = scenes::pull("128.94", 128.94, 128.94, Phase::Slowly, 1.0);
    for (columns, rows) in [(30, 4), (40, 10), (60, 20), (80, 24), (120, 40), (200, 60)] {
        let picture = picture(&view, columns, rows, COLOURED);
        assert!(picture.to_lowercase().contains("! above the limit"), "{columns}x{rows}: {picture}");
    }
    let (_, mut asked) = scenes::asks().remove(0);
    asked.bar = view.bar;
    assert!(picture(&asked, 60, 20, COLOURED).contains("! above the limit"));
}

#[test]
fn tones_and_void_readings_have_signs() {
    let picture = picture(&scenes::phases()[3].1, 120, 40, COLOURED);
    for words in [
        "✗  12 121.07 N·m",
        "void: 80 % to 100 %",
        "✓ Reading 14 taken",
        "! Reading 12 does",
        "! too fast yet",
    ] {
        assert!(picture.contains(words), "{words}: {picture}");
    }
}

// The eye finds the decimal point where it was.
#[test]
fn digits_stay_in_their_columns_while_the_torque_rises() {
    let column_of_unit = |digits: &str, value: f64| {
        let picture = picture(&scenes::pull(digits, value, value, Phase::Pulling, 0.0), 80, 24, COLOURED);
        let row =
            picture.lines().rev().find(|row| row.contains(" N·m") && row.contains('█')).unwrap().to_owned();
        row.chars().collect::<String>().find(" N·m").map(|at| row[..at].chars().count())
    };
    let first = column_of_unit("0.00", 0.0);
    for (digits, value) in [("-0.02", -0.02), ("9.99", 9.99), ("10.00", 10.0), ("100.00", 100.0)] {
        assert_eq!(column_of_unit(digits, value), first, "{digits}");
    }
}

#[test]
fn a_frame_that_did_not_change_writes_nothing() {
    let view = &scenes::phases()[3].1;
    let mut screen = screen(200, 60, COLOURED);
    drawn(&mut screen, view);
    let before = screen.backend().buffer().clone();
    drawn(&mut screen, view);
    assert_eq!(before.diff(screen.backend().buffer()).len(), 0);
}

#[test]
fn the_cursor_stands_behind_what_is_typed() {
    let (_, view) = &scenes::asks()[1];
    let mut screen = screen(80, 24, COLOURED);
    drawn(&mut screen, view);
    let at = screen.backend().cursor_position();
    assert!(screen.backend().cursor_visible());
    let row: String = (0..at.x).map(|x| screen.backend().buffer()[(x, at.y)].symbol()).collect();
    assert!(row.ends_with("> 20."), "{row:?}");
}
