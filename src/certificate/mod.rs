//! The certificate: what it says, how its charts look, and the PDF.
//!
//! Data flows one way: [`compose()`] chooses words and digits, [`CertificateView`] holds every printed word as an
//! already rounded string, [`chart`] holds the charts as plain data, [`draw()`]
//! turns those into SVG and [`Renderer`] sets all of it with Typst as a tagged
//! PDF/A-3a and PDF/UA-1 file. Nothing here computes metrology or reads a clock:
//! the same view gives the same bytes.

pub mod chart;
pub mod compose;
pub mod draw;
pub mod number;
pub mod page;
pub mod proof;
pub mod render;
pub mod view;

pub use compose::{ComposeError, Issue, Judged, compose};
pub use draw::{DrawError, draw};
pub use render::{Paper, RenderError, Renderer};
pub use view::CertificateView;
