//! A type study: the reproducibility and the effects of drive, interface and loading point, found
//! once on several tools of one model and used for later tools of that model where the rulebook
//! allows it.

use chrono::NaiveDate;

use crate::budget::Variation;
use crate::quantity::Percent;
use crate::tool::Tool;

/// A study of a model, on the laboratory's own record.
#[derive(Debug, Clone, PartialEq)]
pub struct TypeStudy {
    /// the laboratory's number for the study
    pub id: String,
    /// maker of the model
    pub maker: String,
    /// the model
    pub model: String,
    /// how many tools were measured
    pub tools: u32,
    /// when it was finished
    pub concluded: NaiveDate,
    /// the full widths b that it found, in percent of the reference torque
    pub widths: Vec<(Variation, Percent)>,
}

impl TypeStudy {
    /// Whether it is of this tool's maker and model, however they are capitalised or spaced.
    #[must_use]
    pub fn is_of(&self, tool: &Tool) -> bool {
        same_name(&self.maker, &tool.maker) && same_name(&self.model, &tool.model)
    }

    /// The full width that the study found for a variation.
    #[must_use]
    pub fn width(&self, of: Variation) -> Option<Percent> {
        self.widths.iter().find(|(variation, _)| *variation == of).map(|(_, width)| *width)
    }
}

/// Whether two names are one, however they are capitalised or spaced.
pub(crate) fn same_name(a: &str, b: &str) -> bool {
    let words = |name: &str| name.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>();
    words(a) == words(b)
}
