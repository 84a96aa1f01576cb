//! The application between the command line and the modules that do the work: what is read once, how a job is planned, how its
//! documents are made. It returns values and prints nothing.

mod certify;
mod chosen;
mod context;
mod documents;
mod failure;
mod inputs;
mod issued;
mod job_folder;
mod label_now;
mod labels;
mod layout;
mod mailable;
mod mailing;
mod maker;
mod named;
mod page_index;
mod planned;
mod publish;
mod register;
mod route;
mod service_report;
mod status;
mod visit;

pub use certify::certify;
pub use chosen::{Dates, calendar, chosen};
pub use context::Context;
pub use documents::{Documents, Format, Kind, LabelOptions, Options, documents};
pub use failure::{Cause, Failure, valid};
pub use inputs::{Gathered, Inputs};
pub use issued::MAIL_LOG;
pub use job_folder::{JobFolder, There, check_jobs, past, read_checked};
pub use label_now::LabelNow;
pub use labels::{check_first, correction, label_batches, label_run, stock};
pub use layout::{files, label_notes, lay_out, pdf};
pub use mailable::{Mailable, Unmailed};
pub use mailing::{Message, SendLogView, Sending};
pub use maker::Production;
pub use named::named_files;
pub use planned::{Planned, job_words, output_folder, plan_file};
pub use publish::Publishing;
pub use register::register;
pub use route::{RouteKinds, van_view};
pub use service_report::gather;
pub use status::{Stands, Status};
pub use visit::Visit;
