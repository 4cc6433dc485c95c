//! The sounds: so many strokes of the terminal's bell. Whoever drives the screen strikes them, or does
//! not.

use leverarm_session::Cue;

/// How often the bell is struck. A reading that counts is the only single stroke, so that a technician
/// who looks at the tool knows it by ear; that 80 % are passed is seen, not heard.
#[must_use]
pub const fn bells(cue: Cue) -> u8 {
    match cue {
        Cue::Slowly => 0,
        Cue::Taken => 1,
        Cue::Voided => 2,
        Cue::Done => 3,
        Cue::Stop | Cue::Trouble => 4,
    }
}
