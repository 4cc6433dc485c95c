//! The edge out: one file a format, each returns bytes or text; [`folder`] alone writes files.

pub mod curve;
pub mod folder;
pub mod json;
pub mod lines;
pub mod sequence;
pub mod table_csv;
pub mod text;
pub mod trace;
pub mod under;
