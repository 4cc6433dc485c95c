//! What really happened in a pull.

use leverarm_metrology::quantity::Torque;

use crate::operator::Mistake;

/// A torque and its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// in the time of the rig, s
    pub time_s: f64,
    /// the torque, without noise, lag, hum, rounding and the zero of the display
    pub torque: Torque,
}

/// What really happened in a pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Truth {
    /// which pull of the rig, from 1
    pub number: u64,
    /// its target
    pub target: Torque,
    /// whether it was a preload
    pub is_preload: bool,
    /// what went wrong on purpose
    pub mistake: Option<Mistake>,
    /// when the hand began, s
    pub start_s: f64,
    /// the highest torque before the first release; none for an indicating tool, or without a release
    pub first_release: Option<Moment>,
    /// how often the tool released
    pub releases: u32,
    /// the highest torque of the whole pull
    pub peak: Moment,
    /// when the torque was at 80 % of the target first, s
    pub eighty_s: Option<f64>,
    /// when it was at the target first, s
    pub target_s: Option<f64>,
    /// when the torque was gone, s
    pub end_s: f64,
    /// what an indicating tool showed as its peak
    pub indicated: Option<Torque>,
    /// how many samples of the pull got lost
    pub dropped: u64,
    /// whether the connection was lost in it
    pub is_cut: bool,
}

impl Truth {
    /// From 80 % of the target to the target or, below it, to the first release or the peak, s.
    #[must_use]
    pub fn loading_s(&self) -> Option<f64> {
        let from = self.eighty_s?;
        let release = self.first_release.map(|release| release.time_s);
        let to = match (self.target_s, release) {
            (Some(target), Some(release)) => target.min(release),
            (Some(to), None) | (None, Some(to)) => to,
            (None, None) => self.peak.time_s,
        };
        (to > from).then_some(to - from)
    }
}
