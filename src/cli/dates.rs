//! The days that a command is for, the same for every command.

use jiff::civil::Date;

use crate::app::Dates;

/// Days.
#[derive(Clone, Copy, Debug, clap::Args)]
pub(super) struct DateArgs {
    /// Only visits of this day, such as `2026-04-13`
    #[arg(long, value_name = "DATE", conflicts_with_all = ["from", "to"])]
    pub on: Option<Date>,
    /// Only visits of this day and later
    #[arg(long, value_name = "DATE")]
    pub from: Option<Date>,
    /// Only visits of this day and earlier
    #[arg(long, value_name = "DATE")]
    pub to: Option<Date>,
}

impl DateArgs {
    pub(super) fn dates(self) -> Dates {
        Dates { from: self.on.or(self.from), to: self.on.or(self.to) }
    }
}
