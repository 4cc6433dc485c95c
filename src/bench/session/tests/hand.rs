//! A pull made of straight pieces; no code of it is shared with the detector.

/// A pull, in the unit of the display.
#[derive(Debug, Clone, Copy)]
pub struct Hand {
    pub target: f64,
    /// where it ends: the release, or where the hand turns
    pub top: f64,
    pub loading_s: f64,
    /// by what share it drops at the release; none for an indicating tool
    pub drop: Option<f64>,
    /// how far the hand goes on after the release
    pub beyond: f64,
    pub sign: f64,
    /// the hand holds at the top for so long
    pub hold_s: f64,
    /// what is left at the end
    pub rest: f64,
}

impl Hand {
    pub fn click(target: f64, top: f64) -> Hand {
        Hand { target, top, loading_s: 2.0, drop: Some(0.06), beyond: 0.0, sign: 1.0, hold_s: 0.0, rest: 0.0 }
    }

    pub fn show(target: f64, top: f64) -> Hand {
        Hand { drop: None, hold_s: 0.15, ..Hand::click(target, top) }
    }

    /// Knots of the torque against time from the start of the pull.
    pub fn knots(&self) -> Vec<(f64, f64)> {
        let eighty = 0.8 * self.target.min(self.top / 0.9);
        let rise = 0.2 * self.target / self.loading_s;
        let top_s = 0.5 + (self.top - eighty) / rise;
        let mut knots = vec![(0.0, 0.0), (0.5, eighty), (top_s, self.top)];
        let mut at = (top_s, self.top);
        let mut go = |seconds: f64, torque: f64, knots: &mut Vec<(f64, f64)>| {
            at = (at.0 + seconds, torque);
            knots.push(at);
        };
        if let Some(drop) = self.drop {
            let low = self.top * (1.0 - drop);
            go(0.006, low, &mut knots);
            go(0.15, low * 1.002, &mut knots);
            if self.beyond > 0.0 {
                go(0.3, self.top + self.beyond, &mut knots);
            }
        } else if self.hold_s > 0.0 {
            go(self.hold_s, self.top, &mut knots);
        }
        go(0.25, self.rest, &mut knots);
        knots
    }
}

pub fn along(knots: &[(f64, f64)], t: f64) -> f64 {
    match knots.iter().position(|(at, _)| *at > t) {
        Some(0) => 0.0,
        Some(i) => {
            let ((a, x), (b, y)) = (knots[i - 1], knots[i]);
            x + (y - x) * (t - a) / (b - a)
        }
        None => knots.last().map_or(0.0, |(_, torque)| *torque),
    }
}
