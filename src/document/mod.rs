//! Documents: one file each, saying what its template is given. Every figure comes from the plan; here it is only put
//! into words and units.

mod certificate;
mod elements;
mod facts;
mod hazards;
mod house;
#[cfg(test)]
mod keys_tests;
mod label;
mod legible;
mod load_out;
mod mix_sheet;
mod notice;
mod page;
mod register;
mod rules;
#[cfg(test)]
mod second_tests;
mod service_report;
mod summary;
mod test_print;
mod used;
mod voice;

use serde_json::Value;

pub use certificate::certificate;
pub use house::{dress, furnish};
pub use label::{LabelBatch, LabelJob, LabelRun, check_elements, labels, on_other_stock};
pub use load_out::{Van, load_out};
pub use mix_sheet::{mix_sheet, mix_sheets, step_down};
pub use notice::notice;
pub use page::{Download, Known, index_page, page};
pub use register::register;
pub use rules::failed_rules;
pub use service_report::service_report;
pub use summary::summary;
pub use test_print::test_print;
pub use voice::{Fact, Voice, missing_texts};

use crate::typeset::Template;
use crate::wording::WordingError;

/// A document ready for its template.
#[derive(Clone, Debug)]
pub struct View {
    /// Which template.
    pub template: Template,
    /// The file name's stem.
    pub stem: String,
    /// What the template is given.
    pub data: Value,
}

/// What can go wrong in putting a plan into words.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DocumentError {
    /// The language file lacks something.
    #[error(transparent)]
    Wording(#[from] WordingError),
    /// A hazard statement has no text.
    #[error("{0}")]
    Statement(String),
    /// The link does not fit a code.
    #[error("the link is too long for a printed code")]
    Code,
}
