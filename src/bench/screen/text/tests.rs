#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;

use super::{cut, shown, tail, width, wrap};
use crate::look::Look;

const UNICODE: Look = Look { is_ascii: false, has_colour: true };
const ASCII: Look = Look { is_ascii: true, has_colour: true };

#[test]
fn what_a_terminal_obeys_is_written_out() {
    assert_eq!(shown("a\x1b[2Jb\x07\r", UNICODE), "a\\x1b[2Jb\\x07\\x0d");
    assert_eq!(shown("\u{9b}31m", UNICODE), "\\x9b31m");
    assert_eq!(shown("to\u{202e}lla", UNICODE), "to\\u{202e}lla");
}

#[test]
fn marks_do_not_pile_up() {
    assert_eq!(shown("e\u{301}", UNICODE), "e\u{301}");
    assert_eq!(shown("e\u{301}\u{301}\u{301}", UNICODE), "e\u{301}\u{301}\\u{301}");
    assert_eq!(shown("\u{301}", UNICODE), "\\u{301}");
}

#[test]
fn a_cut_is_seen() {
    assert_eq!(cut("press slowly", 12, UNICODE), "press slowly");
    assert_eq!(cut("press slowly", 11, UNICODE), "press slow…");
    assert_eq!(cut("press slowly", 11, ASCII), "press slow~");
    assert_eq!(cut("日本語", 5, UNICODE), "日本…");
    assert_eq!(cut("日本語", 4, UNICODE), "日…");
    assert_eq!(cut("x", 0, UNICODE), "");
    assert_eq!(tail("20.5 °C", 4, UNICODE), "… °C");
}

#[test]
fn wrapping_breaks_between_words() {
    assert_eq!(wrap("stand clear of the lever", 12, UNICODE), ["stand clear", "of the lever"]);
    assert_eq!(wrap("abcdefgh ij", 5, UNICODE), ["abcde", "fgh", "ij"]);
    assert_eq!(wrap("one\ntwo", 9, UNICODE), ["one", "two"]);
}

#[test]
fn ascii_keeps_units_and_names_readable() {
    assert_eq!(shown("100 N·m ±4 % Sjöholm Ærø", ASCII), "100 N.m +/-4 % Sjoholm AEro");
}

proptest! {
    #[test]
    fn nothing_harmful_is_left_and_nothing_is_too_wide(text in any::<String>(), columns in 0_usize..90, is_ascii: bool) {
        let look = Look { is_ascii, has_colour: true };
        let all = shown(&text, look);
        prop_assert!(!all.contains(char::is_control));
        prop_assert!(!is_ascii || all.is_ascii());
        prop_assert!(width(&cut(&text, columns, look)) <= columns);
        prop_assert!(width(&tail(&text, columns.max(1), look)) <= columns.max(1));
    }

    #[test]
    fn wrapping_loses_nothing_but_spaces(text in any::<String>(), columns in 2_usize..90) {
        let lines = wrap(&text, columns, UNICODE);
        prop_assert!(lines.iter().all(|line| width(line) <= columns));
        let bare = |text: &str| -> String { text.chars().filter(|c| *c != ' ').collect() };
        let whole: String = text.split('\n').map(|part| bare(&shown(part, UNICODE))).collect();
        prop_assert_eq!(bare(&lines.concat()), whole);
    }
}
