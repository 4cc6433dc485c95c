//! Any view at any size is drawn.

use leverarm_metrology::reading::Direction;
use leverarm_screen::look::Look;
use leverarm_screen::screen::Key;
use leverarm_session::view::{
    Ask, Bar, Instrument, KeyHint, Live, Meter, Phase, Row, Said, Step, Tone, View,
};
use proptest::prelude::*;

use crate::{drawn, screen};

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[a-zA-Z0-9 .,·°/-]{0,40}",
        2 => any::<String>(),
        1 => "[\\x00-\\x1f\\x7f-\\x9f\u{200b}-\u{202e}\u{300}-\u{310}\u{ff9e}日本👩🇸\u{fe0f}a]{0,60}",
        1 => "(long word ){100,300}",
        1 => "[x日]{200,400}",
    ]
}

/// As an instrument writes numbers, and as it should not.
fn digits() -> impl Strategy<Value = String> {
    prop_oneof![3 => "-?[0-9]{1,4}[.,]?[0-9]{0,3}", 1 => "[0-9]{30,80}", 1 => words()]
}

fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -10.0..300.0,
        1 => prop::num::f64::ANY,
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, f64::MAX, f64::MIN_POSITIVE]),
    ]
}

fn instrument() -> impl Strategy<Value = Instrument> {
    prop_oneof![
        Just(Instrument::Sought),
        words().prop_map(|name| Instrument::Speaks { name }),
        (words(), words()).prop_map(|(message, remedy)| Instrument::Troubled { message, remedy }),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    let direction =
        prop::option::of(prop::sample::select(vec![Direction::Clockwise, Direction::CounterClockwise]));
    let target = prop_oneof!["[0-9]{1,5}(.[0-9]{1,2})? (N·m|lbf·ft|kgf·cm|mN·m)", words()];
    (
        (any::<usize>(), any::<usize>(), words(), words(), prop::option::of(words())),
        (target, direction, prop::option::of(any::<u32>()), any::<u32>()),
    )
        .prop_map(|((number, steps, title, order, how), (target, direction, reading, readings))| Step {
            number,
            steps,
            title,
            order,
            how,
            target,
            direction,
            reading,
            readings,
        })
}

fn live() -> impl Strategy<Value = Live> {
    let phases = vec![Phase::Settling, Phase::Ready, Phase::Pulling, Phase::Slowly, Phase::LetGo];
    let unit = prop_oneof![Just("N·m".to_owned()), words()];
    (digits(), unit, prop::sample::select(phases)).prop_map(|(digits, unit, phase)| Live {
        digits,
        unit,
        phase,
    })
}

fn bar() -> impl Strategy<Value = Bar> {
    let option = || prop::option::of(number());
    (number(), number(), number(), number(), option(), option(), option()).prop_map(
        |(end, value, highest, target, lowest_accepted, highest_accepted, limit)| Bar {
            end,
            value,
            highest,
            target,
            lowest_accepted,
            highest_accepted,
            limit,
        },
    )
}

fn meter() -> impl Strategy<Value = Meter> {
    (number(), number(), prop::option::of(number()), any::<bool>()).prop_map(
        |(seconds, seconds_min, seconds_max, is_running)| Meter {
            seconds,
            seconds_min,
            seconds_max,
            is_running,
        },
    )
}

fn ask() -> impl Strategy<Value = Ask> {
    let several = || prop::collection::vec(words(), 0..8);
    prop_oneof![
        (words(), several()).prop_map(|(before, cautions)| Ask::Cautions { before, cautions }),
        (words(), words(), words(), prop::option::of(words()))
            .prop_map(|(title, hint, typed, fault)| Ask::Line { title, hint, typed, fault }),
        (words(), prop::collection::vec((any::<char>(), words()), 0..8))
            .prop_map(|(title, choices)| Ask::Choice { title, choices }),
        words().prop_map(|words| Ask::Paused { words }),
        several().prop_map(|lines| Ask::Finished { lines }),
    ]
}

fn row() -> impl Strategy<Value = Row> {
    let option = || prop::option::of(words());
    (any::<u32>(), words(), option(), option(), option()).prop_map(
        |(number, reference, indicated, seconds, void)| Row { number, reference, indicated, seconds, void },
    )
}

fn said() -> impl Strategy<Value = Said> {
    let tones = vec![Tone::Good, Tone::Plain, Tone::Caution, Tone::Bad];
    (prop::sample::select(tones), words()).prop_map(|(tone, text)| Said { tone, text })
}

fn key() -> impl Strategy<Value = KeyHint> {
    (prop::sample::select(vec!["Enter", "x", "p", "\x1b", ""]), words())
        .prop_map(|(key, does)| KeyHint { key, does })
}

fn view() -> impl Strategy<Value = View> {
    (
        (words(), words(), words(), instrument(), prop::option::of(step())),
        (prop::option::of(live()), prop::option::of(bar()), prop::option::of(meter())),
        (
            prop::option::of(ask()),
            prop::collection::vec(row(), 0..20),
            prop::collection::vec(said(), 0..8),
            prop::collection::vec(key(), 0..9),
            any::<bool>(),
        ),
    )
        .prop_map(
            |(
                (job, tool, technician, instrument, step),
                (live, bar, meter),
                (ask, rows, said, keys, has_sound),
            )| View {
                job,
                tool,
                technician,
                instrument,
                step,
                live,
                bar,
                meter,
                ask,
                rows,
                said,
                keys,
                has_sound,
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn any_view_is_drawn_at_any_size(
        before in view(),
        after in view(),
        sizes in prop::array::uniform2((1_u16..=250, 1_u16..=80)),
        is_ascii: bool,
        has_colour: bool,
        keys in prop::collection::vec(prop::sample::select(
            vec![Key::Char(' '), Key::Enter, Key::Next, Key::Previous, Key::Escape]), 0..4),
    ) {
        let look = Look { is_ascii, has_colour };
        let mut screen = screen(sizes[0].0, sizes[0].1, look);
        drawn(&mut screen, &before);
        for key in keys {
            screen.takes(key, &before);
            drawn(&mut screen, &before);
        }
        drawn(&mut screen, &after);
        screen.backend_mut().resize(sizes[1].0, sizes[1].1);
        drawn(&mut screen, &after);
        for cell in screen.backend().buffer().content() {
            prop_assert!(!cell.symbol().contains(char::is_control));
            prop_assert!(!is_ascii || cell.symbol().is_ascii());
        }
    }
}
