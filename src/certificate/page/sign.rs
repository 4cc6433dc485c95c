//! The drawn sign of a verdict: the same three shapes as in the certificate, told apart without colour.

use super::markup::Html;
use crate::certificate::view::Sign;

/// The name by which the style sheet colours a verdict.
pub(super) const fn class(sign: Sign) -> &'static str {
    match sign {
        Sign::Pass => "pass",
        Sign::Conditional => "conditional",
        Sign::Fail => "fail",
        Sign::None => "none",
    }
}

/// A ring with a stroke, a barred triangle, a full square with a cross, an empty ring. Words stand beside it.
pub(super) fn draw(out: &mut Html, sign: Sign) {
    let class = format!("sign {}", class(sign));
    let attributes = [
        ("class", class.as_str()),
        ("viewBox", "0 0 20 20"),
        ("aria-hidden", "true"),
        ("focusable", "false"),
    ];
    out.node("svg", &attributes, |out| match sign {
        Sign::Pass => {
            out.empty("circle", &[("cx", "10"), ("cy", "10"), ("r", "8.6")]);
            out.empty("path", &[("d", "M5.6 10.4 L9 13.6 L14.6 6.8")]);
        }
        Sign::Conditional => {
            out.empty("path", &[("d", "M10 1.6 L19 18 L1 18 Z")]);
            out.empty("path", &[("d", "M10 7.4 L10 14.4")]);
        }
        Sign::Fail => {
            out.empty(
                "rect",
                &[("class", "full"), ("x", "1"), ("y", "1"), ("width", "18"), ("height", "18")],
            );
            out.empty("path", &[("class", "cut"), ("d", "M5.6 5.6 L14.4 14.4 M5.6 14.4 L14.4 5.6")]);
        }
        Sign::None => {
            out.empty("circle", &[("cx", "10"), ("cy", "10"), ("r", "8.6"), ("stroke-dasharray", "3 2.4")]);
        }
    });
}

/// The laboratory's page bears the same mark as its paper: a lever that turns on a square drive.
pub(super) fn mark(out: &mut Html) {
    let attributes =
        [("class", "mark"), ("viewBox", "0 0 60 60"), ("aria-hidden", "true"), ("focusable", "false")];
    out.node("svg", &attributes, |out| {
        out.empty("path", &[("class", "fine"), ("d", "M54 50 A44 44 0 0 0 10 6")]);
        out.empty(
            "path",
            &[
                ("class", "fine"),
                ("stroke-dasharray", "0.9 4.1"),
                ("stroke-width", "4.5"),
                ("d", "M50.5 50 A40.5 40.5 0 0 0 10 9.5"),
            ],
        );
        out.empty("path", &[("class", "lever"), ("d", "M14.6 46.1 L56 11.4")]);
        out.empty(
            "rect",
            &[
                ("class", "drive"),
                ("x", "5"),
                ("y", "45"),
                ("width", "10"),
                ("height", "10"),
                ("transform", "rotate(5 10 50)"),
            ],
        );
    });
}

/// An engraved scale across the page.
pub(super) fn ruler(out: &mut Html) {
    let attributes = [
        ("class", "ruler"),
        ("width", "100%"),
        ("height", "10"),
        ("aria-hidden", "true"),
        ("focusable", "false"),
    ];
    out.node("svg", &attributes, |out| {
        out.node("defs", &[], |out| {
            let pattern = [("id", "ticks"), ("width", "40"), ("height", "10"), ("patternUnits", "userSpaceOnUse")];
            out.node("pattern", &pattern, |out| {
                out.empty("path", &[("d", "M0.5 0 V9 M4.5 0 V4 M8.5 0 V4 M12.5 0 V4 M16.5 0 V4 M20.5 0 V6.5 M24.5 0 V4 M28.5 0 V4 M32.5 0 V4 M36.5 0 V4")]);
            });
            let hatch = [("id", "hatch"), ("width", "6"), ("height", "6"), ("patternUnits", "userSpaceOnUse")];
            out.node("pattern", &hatch, |out| {
                out.empty("path", &[("d", "M-1 1 L1 -1 M0 6 L6 0 M5 7 L7 5")]);
            });
        });
        out.empty("rect", &[("width", "100%"), ("height", "10"), ("fill", "url(#ticks)")]);
        out.empty("line", &[("x1", "0"), ("x2", "100%"), ("y1", "0.5"), ("y2", "0.5")]);
    });
}
