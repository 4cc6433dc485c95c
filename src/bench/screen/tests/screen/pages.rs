//! Cautions are never cut: what does not fit is turned, and cannot be acknowledged before its end.

use leverarm_screen::screen::Key;
use leverarm_session::view::{Ask, View};
use proptest::prelude::*;

use crate::{COLOURED, drawn, scenes, screen, text};

fn asked(cautions: Vec<String>) -> View {
    let (_, view) = scenes::asks().remove(0);
    View { ask: Some(Ask::Cautions { before: "the overload test".to_owned(), cautions }), ..view }
}

fn many() -> View {
    asked((1..=30).map(|number| format!("Caution {number} of the maker, to be read.")).collect())
}

#[test]
fn what_fits_is_acknowledged_at_once() {
    let mut screen = screen(60, 20, COLOURED);
    let view = asked(scenes::cautions());
    assert!(screen.takes(Key::Enter, &view), "nothing was drawn yet");
    assert!(drawn(&mut screen, &view).has_shown_all);
    for key in [Key::Enter, Key::Char(' '), Key::Char('y'), Key::Escape] {
        assert!(!screen.takes(key, &view), "{key:?}");
    }
}

#[test]
fn no_key_acknowledges_before_the_end() {
    let mut screen = screen(60, 20, COLOURED);
    let view = many();
    let mut pages = 1;
    let mut is_read = drawn(&mut screen, &view).has_shown_all;
    assert!(!is_read);
    while !is_read {
        assert!(text(&screen).contains(&format!("page {pages} of")));
        assert!(text(&screen).contains("Space reads on; acknowledge at the end"));
        assert!(!screen.takes(Key::Escape, &view));
        assert!(screen.takes(Key::Enter, &view));
        is_read = drawn(&mut screen, &view).has_shown_all;
        pages += 1;
    }
    assert!(pages > 2);
    assert!(text(&screen).contains("the end;"));
    assert!(!screen.takes(Key::Enter, &view));
    // It can be read again.
    assert!(screen.takes(Key::Char(' '), &view));
    drawn(&mut screen, &view);
    assert!(text(&screen).contains("page 1 of"));
    assert!(!screen.takes(Key::Enter, &view));
}

#[test]
fn other_cautions_begin_unread() {
    let mut screen = screen(60, 20, COLOURED);
    let view = asked(scenes::cautions());
    drawn(&mut screen, &view);
    let other = asked(vec!["Another one.".to_owned()]);
    assert!(screen.takes(Key::Enter, &other));
    drawn(&mut screen, &other);
    assert!(!screen.takes(Key::Enter, &other));
}

#[test]
fn a_terminal_that_is_too_small_acknowledges_nothing() {
    let mut screen = screen(59, 20, COLOURED);
    let view = asked(scenes::cautions());
    for _ in 0..3 {
        let drawn = drawn(&mut screen, &view);
        assert!(!drawn.is_large_enough && !drawn.has_shown_all);
        assert!(screen.takes(Key::Enter, &view));
    }
    assert!(text(&screen).contains("needs 60×20"));
    screen.backend_mut().resize(80, 24);
    assert!(drawn(&mut screen, &view).has_shown_all);
    assert!(!screen.takes(Key::Enter, &view));
}

#[test]
fn a_smaller_window_in_between_does_not_skip_a_page() {
    let mut screen = screen(80, 40, COLOURED);
    let view = many();
    drawn(&mut screen, &view);
    screen.backend_mut().resize(60, 20);
    assert!(!drawn(&mut screen, &view).has_shown_all);
    assert!(text(&screen).contains("page 1 of"));
    // Jumping back and forth is no reading on.
    screen.takes(Key::Previous, &view);
    assert!(!drawn(&mut screen, &view).has_shown_all);
}

#[test]
fn typing_is_never_kept() {
    let mut screen = screen(60, 20, COLOURED);
    let (_, view) = scenes::asks().remove(1);
    drawn(&mut screen, &view);
    for key in [Key::Char(' '), Key::Char('n'), Key::Enter, Key::Backspace, Key::Escape] {
        assert!(!screen.takes(key, &view));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    // Over all pages together every word of every caution is on the screen.
    #[test]
    fn every_word_of_every_caution_is_shown(
        cautions in prop::collection::vec("[a-z]{1,90}( [a-zäø·%0-9]{1,12}){0,30}", 0..12),
        columns in 60_u16..130,
        rows in 20_u16..50,
    ) {
        let view = asked(cautions.clone());
        let mut screen = screen(columns, rows, COLOURED);
        let mut seen = String::new();
        let mut pages = 0;
        loop {
            let drawn = drawn(&mut screen, &view);
            // The question's own rows, without what stands above and below on every page.
            seen.extend(text(&screen).lines().map(str::trim).flat_map(|line| [line, " "]));
            pages += 1;
            prop_assert!(pages < 200);
            if drawn.has_shown_all { break; }
            prop_assert!(screen.takes(Key::Char(' '), &view));
        }
        let bare = |text: &str| -> String { text.chars().filter(|c| !c.is_whitespace()).collect() };
        for caution in &cautions {
            for word in caution.split(' ').filter(|word| word.chars().count() < 50) {
                prop_assert!(seen.contains(word), "{word}");
            }
        }
        if pages == 1 {
            let all = bare(&seen);
            prop_assert!(cautions.iter().all(|caution| all.contains(&bare(caution))));
        }
    }
}
