//! Snapshots: read the difference before you take it.

use crate::{ASCII, COLOURED, picture, scenes};

const SIZES: [(u16, u16); 4] = [(60, 20), (80, 24), (120, 40), (200, 60)];

fn pictures(scenes: Vec<(&'static str, leverarm_session::view::View)>) {
    for (name, view) in scenes {
        for (columns, rows) in SIZES {
            let picture = picture(&view, columns, rows, COLOURED);
            insta::assert_snapshot!(format!("{name}_{columns}x{rows}"), picture);
        }
        insta::assert_snapshot!(format!("{name}_ascii"), picture(&view, 80, 24, ASCII));
    }
}

#[test]
fn every_phase() {
    pictures(scenes::phases());
}

#[test]
fn trouble_and_what_is_rare() {
    pictures(scenes::troubles());
}

#[test]
fn every_question() {
    pictures(scenes::asks());
}

#[test]
fn too_small() {
    let (_, view) = &scenes::phases()[5];
    let (_, asked) = &scenes::asks()[0];
    for (columns, rows) in [(59, 24), (80, 19), (40, 10), (20, 4), (30, 2), (30, 1)] {
        insta::assert_snapshot!(format!("small_{columns}x{rows}"), picture(view, columns, rows, COLOURED));
    }
    insta::assert_snapshot!("small_asked", picture(asked, 50, 12, COLOURED));
}
